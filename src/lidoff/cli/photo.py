"""`lidoff photo`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from lidoff.cli.options import ItemPath, Json, UsageError

if TYPE_CHECKING:
    from lidoff.photos.intake import TakenIn


def photo(
    item: ItemPath,
    /,
    *files: Annotated[Path, Parameter(help="The photos: JPEG, PNG, WebP, or HEIC with the extra heif.")],
    side: Annotated[
        Literal["top", "bottom"] | None, Parameter(name="--side", help="Which side of the board it shows.")
    ] = None,
    shows: Annotated[
        Literal["copper", "parts", "plug", "cord", "label", "light-through", "other"] | None,
        Parameter(name="--shows", help="What it is a photo of."),
    ] = None,
    note: Annotated[str | None, Parameter(name="--note", help="A remark to keep with it.")] = None,
    json: Json = False,
) -> int:
    """Take photos into a record: turned upright, the place they were taken at removed.

    A copy goes into the record's photos folder, a [[photo]] into item.toml; your file stays as it is. With several
    files it is all of them or none.
    """
    from lidoff.cli.show import answer
    from lidoff.photos.intake import take_in

    if not files:
        raise UsageError("No photo was named; see: lidoff photo --help")
    taken = take_in(item, files, side=side, shows=shows, note=note)
    document: dict[str, Any] = {"photos": [_as_json(one) for one in taken]}
    sentences = "\n".join(map(_sentence, taken))
    return answer(document, as_json=json, text=lambda out: out.print(sentences, soft_wrap=True))


def _as_json(one: TakenIn) -> dict[str, Any]:
    return {
        "file": one.file,
        "from": str(one.original),
        "width": one.size[0],
        "height": one.size[1],
        "coded_anew": one.coded_anew,
        "place_removed": one.had_place,
        "was_there": one.was_there,
    }


def _sentence(one: TakenIn) -> str:
    if one.was_there:
        return f"{one.original} is in the record already: {one.file}."
    extra = "; the place it was taken at was removed" if one.had_place else ""
    return f"Took {one.original} in as {one.file} ({one.size[0]} by {one.size[1]} pixels{extra})."
