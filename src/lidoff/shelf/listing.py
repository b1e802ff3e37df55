"""What was found as a table: the figures that were asked for, those that are always told, and the highest risk."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from lidoff.shelf.measures import BY_NAME, Measure
from lidoff.shelf.search import Found, Hit, main_figures
from lidoff.standards.risk import LEVELS

_ALWAYS: Final = ("input.power", "light.percent_flicker", "input.power_factor")
_MOST: Final = 4  # columns of figures: more do not fit beside each other


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A cell: what is seen, and what it is sorted by; `key` is empty where nothing is known."""

    text: str
    key: str
    numeric: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """An item with its cells, and what has to be said of it."""

    hit: Hit
    cells: tuple[Cell, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Listing:
    """The rows, with the heads of their cells and whether each holds numbers."""

    heads: tuple[str, ...]
    numeric: tuple[bool, ...]
    rows: tuple[Listed, ...]


def listed(index: Path, found: Found) -> Listing:
    """What was found, a row each. Raises ShelfError where the index cannot be read."""
    compared = [one.measure for one in found.query.figures]
    asked = list(dict.fromkeys([*compared, *(BY_NAME[name] for name in _ALWAYS)]))[:_MOST]
    return Listing(
        heads=("item", "kind", *(one.title for one in asked), "highest risk found"),
        numeric=(False, False, *(True for _ in asked), False),
        rows=tuple(_row(hit, asked, figures) for hit, figures in _with_figures(index, found, asked)),
    )


def _with_figures(index: Path, found: Found, asked: Sequence[Measure]) -> Iterator[tuple[Hit, dict[str, float]]]:
    figures = main_figures(index, [hit.number for hit in found.hits], [one.name for one in asked])
    for hit in found.hits:
        own = dict(figures.get(hit.number, {}))
        if hit.states:
            own.update(hit.states[0].figures)
        yield hit, own


def _row(hit: Hit, asked: Sequence[Measure], figures: Mapping[str, float]) -> Listed:
    told = [
        Cell(text=one.shown(figures[one.name]), key=repr(figures[one.name]), numeric=True)
        if one.name in figures
        else Cell(text="–", key="", numeric=True)
        for one in asked
    ]
    risk = hit.risk or ("none found" if hit.sentence else "not judged")
    # Sorted by how much: the worst level has the largest key, what was not judged has none.
    level = str(LEVELS.index(hit.risk) + 1) if hit.risk else "0" if hit.sentence else ""
    states = [one.state for one in hit.states if one.state]
    notes = [
        *([f"In the state: {', '.join(states)}."] if states else []),
        *(["No longer where it was; what stands here is what was known of it."] if not hit.there else []),
        *([hit.problem] if hit.problem else []),
    ]
    head = Cell(text=hit.title, key=hit.title.casefold()), Cell(text=hit.kind or "–", key=hit.kind)
    return Listed(hit=hit, cells=(*head, *told, Cell(text=risk, key=level)), notes=tuple(notes))
