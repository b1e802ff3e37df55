"""`lidoff faults`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from lidoff.cli.options import Changes, ItemPath, Json, State

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.hazards import Pictured

_NAMED: Final = 4  # joins named in one sentence


def faults(item: ItemPath, /, *, state: State = None, set_: Changes = None, json: Json = False) -> int:
    """Fail the parts of an item one at a time and say what then happens, worst first.

    An aid to thinking after IEC 62368-1 and IEC 60335-1 clause 19, not a test to them.
    """
    import lidoff
    from lidoff.account.pictured import pictured_joins
    from lidoff.circuit import build
    from lidoff.cli.changes import parse_changes
    from lidoff.cli.show import answer, before_solving
    from lidoff.studies import faults as study

    record = lidoff.open(item)
    changes = parse_changes(record, set_)
    before_solving()
    document = study(build(record, state=state, changes=changes), record).as_json()
    pictured = pictured_joins(record)
    if pictured:
        document["undecided"].append(_unproven(pictured))
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, record.title or str(item)),
        warnings=[str(problem) for problem in record.warnings],
    )


def _unproven(joins: Sequence[Pictured]) -> str:
    """That what hangs on a picture is no more than likely."""
    named = ", ".join(str(join) for join in joins[:_NAMED])
    more = f" and {len(joins) - _NAMED} more" if len(joins) > _NAMED else ""
    return f"Whether these joins are right, which only a picture shows: {named}{more}. Every fault above rests on them."


def _write(out: Console, document: Mapping[str, Any], title: str) -> None:
    from lidoff.cli.show import table

    state, found = document["state"], document["faults"]
    out.print(f"{title}{f', {state}' if state else ''}: {len(found)} single faults", style="bold")
    out.print()
    for level in (4, 3, 2, 1):
        count = sum(fault["severity"] == level for fault in found)
        out.print(f"{'■' * level}{'□' * (4 - level)} {count:3} {'▪' * count}")
    out.print()
    rows = table("severity", "what happens")
    for fault in found:
        rows.add_row("■" * fault["severity"] + "□" * (4 - fault["severity"]), fault["outcome"])
    out.print(rows)
    if document["undecided"]:
        out.print("\nNot decided, because the record does not say:")
        for sentence in document["undecided"]:
            out.print(f"- {sentence}")
    out.print(
        "\nSeverity 4: what may kill can be touched, or nothing clears a short; 3: fire, bursting, a burn or a shock; "
        "2: a part over its rating, or harmful light; 1: no more than dark or dim. Temperatures are rough estimates. "
        "This is an aid to thinking, not a test, and says nothing of how likely a fault is."
    )
