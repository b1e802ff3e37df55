"""docs/rework-families.md, written from the registries: `python -m lidoff.rework.pages > docs/rework-families.md`."""

from __future__ import annotations

import sys

from lidoff.rework.families.registry import FAMILIES
from lidoff.rework.family import Family
from lidoff.rework.goals import GOALS

_HEAD = """# Goals and design families

Written from the registries. How a rework is worked out, and what it is good for, stands in [rework](rework.md).

## Goals

| goal | what it asks | example |
|---|---|---|
"""
_FAMILIES = """
## Families

Each family is one module of `src/lidoff/rework/families`. One that can move none of the goals is not tried; one that is
tried and does not reach them is listed with the reason and the nearest it comes.
"""


def page() -> str:
    """The whole page."""
    goals = "\n".join(f"| `{g.name}` | {g.about} | `--goal {g.example}` |" for g in GOALS.values())
    return "\n".join([_HEAD + goals, _FAMILIES, *map(_family, FAMILIES)])


def _family(family: Family) -> str:
    lines = [
        f"### {family.title}",
        "",
        family.about,
        "",
        f"- Moves: {', '.join(f'`{name}`' for name in family.serves)}.",
        f"- Equations: {'; '.join(f'`{one}`' for one in family.equations)}.",
        f"- Source: {family.source}",
        f"- Limits: {family.limits}",
        *(f"- Caution: {one}" for one in family.cautions),
        "",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.stdout.write(page())
