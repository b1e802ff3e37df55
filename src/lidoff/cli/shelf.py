"""`lidoff shelf`: the commands of the collection, put together from their modules."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from cyclopts import App

from lidoff.cli.shelf_compare import compare
from lidoff.cli.shelf_count import chart, count
from lidoff.cli.shelf_find import find, list_
from lidoff.cli.shelf_keep import add, forget, rebuild
from lidoff.cli.shelf_pack import pack, unpack
from lidoff.cli.shelf_page import page

shelf = App(
    name="shelf",
    help="The collection: put items on a shelf, find, compare and count them, pack one into a file.",
    help_flags=["--help", "-h"],
    version_flags=[],
)
_COMMANDS: Final[tuple[Callable[..., int], ...]] = (
    add, list_, find, compare, count, chart, page, rebuild, forget, pack, unpack,
)  # fmt: skip
for _place, _command in enumerate(_COMMANDS):
    shelf.command(_command, name=_command.__name__.rstrip("_"), sort_key=_place)
