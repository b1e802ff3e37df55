"""`lidoff demo`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import Json

if TYPE_CHECKING:
    from rich.console import Console


def demo(
    folder: Annotated[Path, Parameter(help="Where to put the records; made if need be.")] = Path("demo"),
    /,
    *,
    everything: Annotated[
        bool,
        Parameter(
            name="--everything",
            negative=(),
            show_default=False,
            help="Both forms, PDF, stills and animation as well; takes a minute or two.",
        ),
    ] = False,
    json: Json = False,
) -> int:
    """Write the invented example records and report on each.

    A record that is there already is left as it is, and reported on as it is.
    """
    import lidoff
    from lidoff.cli.show import answer, before_solving
    from lidoff.cli.waiting import stages_told
    from lidoff.demo import write_items

    placed = write_items(folder)
    for one in placed:
        if one.how == "changed":
            print(f"{one.folder / 'item.toml'} has been changed and is left as it is.", file=sys.stderr)
    before_solving()
    from lidoff.account import take
    from lidoff.writeup import Extras, write

    rows: list[dict[str, Any]] = []
    for one in placed:
        item = lidoff.open(one.folder)
        print(f"Working on {item.title} …", file=sys.stderr, flush=True)
        with stages_told() as told:
            account = take(item, told)
        if everything:
            extras = Extras(pdf=True, stills=True, animation=True)
            written = write(account, one.folder, forms=("full", "short"), extras=extras)
        else:
            written = write(account, one.folder)
        rows.append(
            {
                "title": item.title,
                "record": str(one.folder),
                "how": one.how,
                "report": str(written.page),
                "files": [str(path) for path in written.files],
            }
        )
    return answer({"items": rows}, as_json=json, text=lambda out: _write(out, rows))


def _write(out: Console, rows: list[dict[str, Any]]) -> None:
    out.print("The write-ups of the invented items:")
    for row in rows:
        out.print()
        out.print(row["title"], style="bold")
        out.print(row["report"], soft_wrap=True)
