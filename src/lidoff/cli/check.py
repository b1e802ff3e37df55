"""`lidoff check`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from lidoff.cli.options import ItemPath, Json

if TYPE_CHECKING:
    from rich.console import Console


def check(item: ItemPath, /, *, json: Json = False) -> int:
    """Read a record; say what is wrong or missing, what matters most first."""
    from lidoff.circuit import check as check_record
    from lidoff.cli.show import answer

    result = check_record(item)
    document = result.as_json()
    errors = [problem for problem in result.problems if problem.level == "error"]
    more = f" ({_counted(len(errors) - 1, 'more error')} in the list)" if len(errors) > 1 else ""
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, str(item)),
        wrong=None if result.ok else f"{errors[0]}{more}",
    )


def _write(out: Console, document: Mapping[str, Any], name: str) -> None:
    from lidoff.cli.show import table

    if document["problems"]:
        rows = table("line", "what", "", numbers=(0,))
        for problem in document["problems"]:
            rows.add_row(str(problem["line"] or ""), problem["message"], problem["level"])
        out.print(rows)
    for missing in document["missing"]:
        out.print(f"Missing: {missing}")
    if document["ok"]:
        count = len(document["problems"])
        out.print(f"{name} reads well." if not count else f"{name} can be read; {_counted(count, 'warning')}.")


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
