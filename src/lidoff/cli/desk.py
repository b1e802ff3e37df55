"""`lidoff desk`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lidoff.cli.shelf_options import ShelfPlace


def desk(
    folder: Annotated[Path, Parameter(help="A record folder, or a folder that holds records.")] = Path("."),  # noqa: PTH201
    /,
    *,
    port: Annotated[int, Parameter(help="The port on this machine; 0 takes any that is free.")] = 0,
    photos: Annotated[
        Path | None, Parameter(help="A folder in which photographs arrive, such as a card; it is only read.")
    ] = None,
    shelf: ShelfPlace = None,
    browser: Annotated[
        bool, Parameter(negative="--no-browser", show_default=False, help="Whether to open the browser.")
    ] = True,
) -> int:
    """The local web app: enter an item, look at it, write it up.

    It can be reached from this machine only, with the link that is printed. Ctrl-C stops it; nothing is lost by that.
    """
    from lidoff.cli.run import DONE
    from lidoff.cli.show import before_solving
    from lidoff.desk.serving import serve

    before_solving()
    serve(
        folder,
        port=port,
        browser=browser,
        photos=photos,
        shelf=shelf,
        told=lambda link: print(f"The desk is open: {link}", flush=True),
    )
    return DONE
