"""`lidoff shelf page`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from lidoff.cli.options import Json
from lidoff.cli.shelf_options import Filter, Sentence, ShelfPlace, place_of, query_of


def page(
    sentence: Sentence = "",
    /,
    *,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="The .html file to write.")] = Path("shelf.html"),
    count: Annotated[
        list[str] | None,
        Parameter(
            name="--count", negative=(), consume_multiple=False,
            help="What to count on it, as for lidoff shelf count; may be given several times.",
        ),
    ] = None,
    options: Filter | None = None,
    shelf: ShelfPlace = None,
    json: Json = False,
) -> int:  # fmt: skip
    """Write the shelf as one page: pictures, counts and a table that can be sorted. It needs no network."""
    from lidoff.cli.show import answer
    from lidoff.shelf.page import page_of, write_page

    made = page_of(place_of(shelf), query_of(sentence, options), count)
    write_page(output, made.html)
    return answer(
        {"page": str(output), "items": made.items, **made.query.as_json()},
        as_json=json,
        text=lambda out: out.print(str(output), soft_wrap=True),
    )
