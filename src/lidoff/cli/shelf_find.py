"""`lidoff shelf list` and `lidoff shelf find`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import Json
from lidoff.cli.shelf_options import Filter, Sentence, ShelfPlace, place_of, query_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console
    from rich.text import Text

    from lidoff.shelf import Found, Hit

Limit = Annotated[int, Parameter(name="--limit", help="How many are told in full.")]


def list_(*, shelf: ShelfPlace = None, limit: Limit = 200, json: Json = False) -> int:
    """List what is on the shelf, and what is no longer where it was."""
    from lidoff.cli.show import answer
    from lidoff.shelf import find as ask
    from lidoff.shelf import folders_path, read_places

    index = place_of(shelf)
    found = ask(index, limit=limit)
    places = read_places(folders_path(index))

    def text(out: Console) -> None:
        _write(out, found)
        out.print()
        for place in places:
            out.print(f"{place}{'' if place.exists() else ': not there now'}", style="dim", soft_wrap=True)

    document = {"index": str(index), "folders": [str(one) for one in places], **found.as_json()}
    return answer(document, as_json=json, text=text, warnings=_warnings(found))


def find(
    sentence: Sentence = "",
    /,
    *,
    options: Filter | None = None,
    shelf: ShelfPlace = None,
    limit: Limit = 50,
    json: Json = False,
) -> int:
    """Find items by words, figures, parts, groups, findings and what was seen.

    In one sentence, such as "strips over 8 W with flicker over 80 %", or by options; what was understood is said back.
    Figures that are compared have to be met in one and the same state of an item.
    """
    from lidoff.cli.show import answer
    from lidoff.shelf import find as ask

    found = ask(place_of(shelf), query_of(sentence, options), limit=limit)

    def text(out: Console) -> None:
        out.print(found.query.understood, style="dim")
        if found.query.passed_over:
            out.print(f"Passed over: {', '.join(found.query.passed_over)}.", style="dim")
        out.print()
        _write(out, found)

    return answer(found.as_json(), as_json=json, text=text, warnings=_warnings(found))


def _warnings(found: Found) -> list[str]:
    gone = [hit for hit in found.hits if not hit.there]
    told = [f"{hit.path}: is no longer there; what is shown is what was known of it." for hit in gone]
    return told + [f"{hit.path}: {hit.problem}" for hit in found.hits if hit.status == "unreadable"]


def _write(out: Console, found: Found) -> None:
    from lidoff.cli.show import table

    asked = list(dict.fromkeys(one.measure for one in found.query.figures))
    rows = table("no.", "item", *(one.title for one in asked), "highest risk", numbers=(0, *range(2, 2 + len(asked))))
    for hit in found.hits:
        first = hit.states[0].figures if hit.states else {}
        figures = {**first, **hit.figures}
        told = [one.shown(figures[one.name]) if one.name in figures else "–" for one in asked]
        rows.add_row(str(hit.number), _item(hit), *told, hit.risk or ("none found" if hit.sentence else "not judged"))
    if found.hits:
        out.print(rows)
    more = found.total - len(found.hits)
    out.print(f"{found.sentence}{f' {more} more are not shown; see --limit.' if more else ''}")


def _item(hit: Hit) -> Text:
    from rich.text import Text

    told = Text(hit.title)
    states = ", ".join(one.state for one in hit.states if one.state)
    notes: Sequence[str] = [
        *([f"in: {states}"] if states else []),
        *(["gone since"] if not hit.there else []),
        *(["cannot be read"] if hit.status == "unreadable" else ["not solved"] if hit.status == "unsolved" else []),
        *(["quick"] if hit.depth == "quick" else []),
    ]
    if notes:
        told.append(f"  ({'; '.join(notes)})", style="dim")
    if hit.excerpt and hit.title.casefold() != _bare(hit.excerpt).casefold():
        told.append("\n")
        told.append_text(_marked(hit.excerpt))
    return told


def _bare(excerpt: str) -> str:
    from lidoff.shelf.search import CLOSE, OPEN

    return excerpt.replace(OPEN, "").replace(CLOSE, "")


def _marked(excerpt: str) -> Text:
    """The excerpt with what was found set in bold."""
    from rich.text import Text

    from lidoff.shelf.search import CLOSE, OPEN

    told = Text(style="dim")
    for place, piece in enumerate(excerpt.split(OPEN)):
        inside, closed, rest = piece.partition(CLOSE)
        told.append(inside, style="bold" if place and closed else "")
        told.append(rest)
    return told
