"""`lidoff shelf pack` and `lidoff shelf unpack`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import ItemPath, Json

if TYPE_CHECKING:
    from rich.console import Console


def pack(
    item: ItemPath,
    /,
    *,
    output: Annotated[
        Path | None,
        Parameter(name=["--output", "-o"], help="The file to write; without it NAME.lidoff.zip beside the folder."),
    ] = None,
    json: Json = False,
) -> int:
    """Pack an item into one file: the record, photos, recordings and all else in its folder, byte for byte."""
    from lidoff.cli.show import answer
    from lidoff.shelf import pack as packed_into

    made = packed_into(item, output)

    def text(out: Console) -> None:
        out.print(f"{made.file}: {len(made.names)} files, {made.size} bytes.", soft_wrap=True)

    return answer(made.as_json(), as_json=json, text=text, warnings=[f"left out: {one}" for one in made.left_out])


def unpack(
    file: Annotated[Path, Parameter(help="A packed item.")],
    /,
    *,
    folder: Annotated[
        Path | None,
        Parameter(name=["--folder", "-o"], help="The folder to make; without it, by its own name beside the file."),
    ] = None,
    json: Json = False,
) -> int:
    """Unpack an item into a new folder, after everything in the file was checked. Nothing is ever written over."""
    from lidoff.cli.show import answer
    from lidoff.shelf import unpack as unpacked_into

    made = unpacked_into(file, folder)

    def text(out: Console) -> None:
        out.print(f"{made.folder}: {len(made.names)} files.", soft_wrap=True)

    return answer(made.as_json(), as_json=json, text=text, warnings=made.warnings)
