"""`lidoff shelf compare`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import Json
from lidoff.cli.shelf_options import ShelfPlace, place_of

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.shelf import Comparison


def compare(
    *items: Annotated[str, Parameter(help="Two to six: their numbers, folders, titles, or words that fit one alone.")],
    different: Annotated[
        bool, Parameter(name="--different", negative=(), show_default=False, help="Only the lines that differ.")
    ] = False,
    shelf: ShelfPlace = None,
    json: Json = False,
) -> int:
    """Set items side by side: figures, groups, parts, findings and what was seen, with the differences marked."""
    from lidoff.cli.show import answer
    from lidoff.shelf import compare as side_by_side

    found = side_by_side(place_of(shelf), items)
    return answer(
        found.as_json(),
        as_json=json,
        text=lambda out: _write(out, found, different),
        warnings=[f"{hit.path}: is no longer there." for hit in found.items if not hit.there],
    )


def _write(out: Console, found: Comparison, different: bool) -> None:
    from lidoff.cli.show import table
    from lidoff.shelf.comparing import SECTIONS

    shown = found.differences if different else found.rows
    rows = table("", "", *(f"{hit.number} {hit.title}" for hit in found.items))
    for section, heading in SECTIONS.items():
        own = [row for row in shown if row.section == section]
        if not own:
            continue
        rows.add_row("", heading, style="bold")
        for row in own:
            rows.add_row("≠" if row.differs else "", row.name, *row.shown)
        rows.add_section()
    out.print(rows)
    out.print(f"{found.sentence} ≠ marks what differs: figures whose ranges do not meet, or that lie over 5 % apart.")
