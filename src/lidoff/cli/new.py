"""`lidoff new`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lidoff.cli.options import Json


def new(
    folder: Annotated[Path, Parameter(help="The folder to make; one that holds a record is left alone.")],
    /,
    *,
    json: Json = False,
) -> int:
    """Start a record of an item, asking nothing that can be left open."""
    from lidoff.cli.show import answer
    from lidoff.record import new as start

    file = start(folder)
    return answer(
        {"record": str(file)},
        as_json=json,
        text=lambda out: out.print(f"Started {file}. Write into it what you see; then: lidoff check {folder}"),
    )
