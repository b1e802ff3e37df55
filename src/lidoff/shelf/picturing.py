"""The picture that answers a question: the figures it asks for, with the items that meet it standing out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from lidoff.shelf.charts import WIDE, Dot, dots_svg
from lidoff.shelf.errors import QueryError
from lidoff.shelf.measures import Measure
from lidoff.shelf.query import Query, Within
from lidoff.shelf.search import Found, find, main_figures


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
    everything, met = find(index, rest, limit=None), find(index, query, limit=None)
    # Without a comparison everything meets the question, and then nothing stands out.
    dots = _dots(index, everything, met if query.figures else None, asked)
    said = "; ".join(one.said for one in query.conditions)
    caption = f"{met.total} of {everything.total} items: {said}" if said else f"{everything.total} items"
    x, y = (asked[0], None) if len(asked) == 1 else (asked[0], asked[1])
    return dots_svg(dots, x, y, asked=query.figures, caption=caption, width=width, paper=paper)


def _dots(index: Path, everything: Found, met: Found | None, asked: Sequence[Measure]) -> list[Dot]:
    figures = main_figures(index, [hit.number for hit in everything.hits], [one.name for one in asked])
    meeting = {hit.number: hit for hit in (met.hits if met is not None else ())}
    found = []
    for hit in everything.hits:
        own = dict(figures.get(hit.number, {}))
        if hit.number in meeting and meeting[hit.number].states:
            own.update(meeting[hit.number].states[0].figures)
        found.append(Dot(number=hit.number, title=hit.title, figures=own, met=hit.number in meeting))
    return found
