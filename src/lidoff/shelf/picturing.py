"""The picture that answers a question: the figures it asks for, with the items that meet it standing out."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from lidoff.shelf.charts import NARROW, WIDE, Dot, dots_svg
from lidoff.shelf.errors import QueryError
from lidoff.shelf.measures import BY_NAME, Measure
from lidoff.shelf.query import Query, Within
from lidoff.shelf.search import figures_in, meeting_states, numbers_in
from lidoff.shelf.store import reading


def picture(
    index: Path,
    query: Query,
    measures: Sequence[Measure] = (),
    *,
    width: float = WIDE,
    paper: bool = False,
) -> str:
    """Items as dots over one or two figures: those of `measures`, else the first two that the question compares.

    Every item that meets the rest of the question is there; those that meet all of it are filled, in the state that
    meets it, the others stand with their first state. Raises QueryError where no figure is named.
    """
    asked = list(dict.fromkeys([*measures, *(one.measure for one in query.figures)]))[:2]
    if not asked:
        raise QueryError("name a figure to be drawn, or compare one, such as “flicker over 80 %”.")
    rest = Query(conditions=tuple(one for one in query.conditions if not isinstance(one, Within)))
    with reading(index) as connection:
        everything, met = numbers_in(connection, rest), numbers_in(connection, query)
        # Without a comparison everything meets the question, and then nothing stands out.
        dots = _dots(connection, query, everything, met if query.figures else (), asked)
    said = "; ".join(one.said for one in query.conditions)
    caption = f"{len(met)} of {len(everything)} items: {said}" if said else f"{len(everything)} items"
    x, y = (asked[0], None) if len(asked) == 1 else (asked[0], asked[1])
    return dots_svg(dots, x, y, asked=query.figures, caption=caption, width=width, paper=paper)


def pictures(index: Path, query: Query) -> tuple[str, str] | None:
    """What `picture` draws, for a page and for a telephone; of a question without figures, power against flicker.

    None where no item has those figures.
    """
    measures = () if query.figures else (BY_NAME["input.power"], BY_NAME["light.percent_flicker"])
    try:
        return picture(index, query, measures, width=WIDE), picture(index, query, measures, width=NARROW)
    except QueryError:
        return None


def _dots(
    connection: sqlite3.Connection,
    query: Query,
    everything: Sequence[int],
    met: Sequence[int],
    asked: Sequence[Measure],
) -> list[Dot]:
    figures = figures_in(connection, everything, [one.name for one in asked])
    for number, places in meeting_states(connection, query, met).items():
        figures.setdefault(number, {}).update(places[0].figures)
    titles = dict(connection.execute("SELECT id, title FROM item"))
    standing = set(met)
    return [
        Dot(number=number, title=titles[number], figures=figures.get(number, {}), met=number in standing)
        for number in everything
    ]
