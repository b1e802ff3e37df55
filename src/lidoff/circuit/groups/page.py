"""docs/groups.md, written from the registry: `python -m lidoff.circuit.groups.page > docs/groups.md`."""

from __future__ import annotations

import sys

from lidoff.circuit.groups.model import Example, Family
from lidoff.circuit.groups.registry import FAMILIES
from lidoff.circuit.groups.usual import USUAL
from lidoff.circuit.groups.words import listed, marked

_HEAD = """# What parts form

Lidoff names the groups that an item's parts form: which diodes are a rectifier, which capacitor a dropper, what the
knob charges. It does so from the connections, the kinds and the values alone. The order of the parts, the names of the
nodes, which way round an unpolarised part was written and which way up the plug stands change nothing.

    from lidoff.circuit import build
    from lidoff.circuit.groups import recognise

    groups = recognise(build(lidoff.open("item.toml")))
    for group in groups.best:
        print(group.title, group.roles, group.figures, group.why, *group.remarks)
    print(groups.sentence)        # These three parts belong to nothing I know: Q1, R2 and R3.

A part belongs to one group as its own and may be shared by others: the smoothing capacitor of a charger also belongs to
the converter it feeds. Where two readings want the same part, the one that explains more comes first (`rank` 1) and the
other stays with a higher rank. What no family knows is listed, not guessed at.

Fuses, closed switches, thermostats, inrush thermistors and chokes are looked through: a capacitor behind a fuse still
stands across the mains. Resistors of like value in series or side by side count as one.

This page is written from the registry of families. Each record below is a test: those under *Is one* must give exactly
the groups named, those under *Is none* must not.
"""


def page() -> str:
    """The whole page."""
    parts = [_HEAD]
    parts += [_family(family) for family in FAMILIES]
    parts.append(_usual())
    return "\n".join(parts)


def _family(family: Family) -> str:
    lines = [f"## {family.title}", "", family.about, "", "| name | what it is |", "|---|---|"]
    lines += [f"| `{name}` | {words} |" for name, words in family.names.items()]
    for heading, examples in (("Is one", family.examples), ("Is none", family.counter_examples)):
        lines += ["", f"### {heading}"]
        for example in examples:
            lines += ["", *_example(example)]
    return "\n".join([*lines, ""])


def _example(example: Example) -> list[str]:
    lines = [example.about]
    if example.finds:
        found = listed(f"`{name}` ({', '.join(refs)})" for name, refs in example.finds)
        lines[0] += f" Gives {found}."
    return [*lines, "", "```toml", *example.record.rstrip().splitlines(), "```"]


def _usual() -> str:
    lines = [
        "## Usual values",
        "",
        "A value outside these ranges is pointed at, with the value that one misread band or digit would make of it.",
        "What is met on small mains products; common practice, no source.",
        "",
        "| role | from | about | to |",
        "|---|---|---|---|",
    ]
    for row in USUAL.values():
        values = " | ".join(marked(value, row.unit) for value in (row.low, row.typical, row.high))
        lines.append(f"| {row.name} | {values} |")
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    sys.stdout.write(page())
