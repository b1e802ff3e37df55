"""`lidoff trace`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import Json, UsageError
from lidoff.cli.trace_item import NOTHING_SAID, ItemOptions

if TYPE_CHECKING:
    from collections.abc import Mapping

    from rich.console import Console

    from lidoff.photos.joins import Joins
    from lidoff.photos.tracing import Traced


def trace(
    item: Annotated[Path | None, Parameter(help="A record folder, or a record's .toml file.")] = None,
    /,
    *,
    photo: Annotated[
        Path | None, Parameter(help="Without an item: one photo of a copper side; --pads goes with it.")
    ] = None,
    pads: Annotated[
        Path | None,
        Parameter(help='Its pads, in pixels of the upright photo: [{"id": "P001", "x": 532.7, "y": 140.8}].'),
    ] = None,
    answers: Annotated[
        Path | None,
        Parameter(help="Pieces of copper as lists of pad ids: each question is answered from it, as with a meter."),
    ] = None,
    options: ItemOptions = NOTHING_SAID,
    json: Json = False,
) -> int:
    """Propose which pads the copper joins, from photos of the board; ask about what is doubtful.

    With an item, from the photos of its record. With --photo and --pads, from one photo alone; nothing is kept. What
    a picture does not bear is refused with the reason, and then nothing is accepted.
    """
    if item is not None:
        if photo is not None or answers is not None:
            raise UsageError("Give an item, or --photo with --pads, not both; see: lidoff trace --help")
        from lidoff.cli.trace_item import trace_item

        return trace_item(item, options, pads=pads, json=json)
    if photo is None or pads is None:
        raise UsageError("Name an item, or a photo with --photo and its pads with --pads; see: lidoff trace --help")
    return _bare(photo, pads, answers, json=json)


def _bare(photo: Path, pads: Path, answers: Path | None, *, json: bool) -> int:
    import numpy as np

    from lidoff.cli.show import answer
    from lidoff.photos.pads import read_pads, read_pieces
    from lidoff.photos.picture import open_upright
    from lidoff.photos.questions import answered_from
    from lidoff.photos.tracing import trace_copper

    placed = read_pads(pads)
    told = None if answers is None else read_pieces(answers, placed)
    traced = trace_copper(np.asarray(open_upright(photo, longest=None)), placed)
    joins, asked = (traced.joins, 0) if told is None else answered_from(traced.joins, told)
    document = _document(traced, joins, asked if told is not None else len(joins.doubtful))
    return answer(
        document, as_json=json, text=lambda out: _text(out, document, traced.unsure), warnings=traced.warnings
    )


def _document(traced: Traced, joins: Joins, questions: int) -> dict[str, Any]:
    return {
        "pieces": [list(piece) for piece in joins.pieces],
        "joins": [
            {
                "a": one.a,
                "b": one.b,
                "score": round(one.score, 4),
                "status": one.status,
                "weakest": None if one.weakest is None else [round(at, 1) for at in one.weakest],
                "view": one.view,
                "margin": None if one.margin is None else round(one.margin, 3),
                "why": one.why,
            }
            for one in joins.joins
        ],
        "questions": questions,
        "doubtful": [[one.a, one.b] for one in joins.doubtful],
        "refused": traced.refused,
    }


def _text(out: Console, document: Mapping[str, Any], unsure: tuple[str, ...]) -> None:
    from lidoff.cli.show import table

    if document["refused"]:
        out.print(f"Refused: {document['refused']}", soft_wrap=True)
    shown = table("piece", "pads")
    for number, piece in enumerate((one for one in document["pieces"] if len(one) > 1), start=1):
        shown.add_row(str(number), " ".join(piece))
    if shown.row_count:
        out.print(shown)
    alone = [piece[0] for piece in document["pieces"] if len(piece) == 1]
    if alone:
        out.print(f"Joined to nothing so far: {' '.join(alone)}", soft_wrap=True)
    if document["doubtful"]:
        out.print(f"To be measured, weakest first ({len(document['doubtful'])}):")
        for a, b in document["doubtful"]:
            out.print(f"  {a} – {b}")
    if unsure:
        out.print(f"On no copper that could be made out: {' '.join(unsure)}", soft_wrap=True)
    out.print(
        "A picture shows what it shows: measure before you rely on a join, with the item unplugged and discharged.",
        soft_wrap=True,
    )
