"""`lidoff decode`."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import Json, UsageError

if TYPE_CHECKING:
    from rich.console import Console


def decode(
    *marking: Annotated[str, Parameter(help="The marking as seen: 104K, or: brown green red gold.")],
    kind: Annotated[str | None, Parameter(name="--kind", help="The part kind, where it is known.")] = None,
    measured: Annotated[
        str | None,
        Parameter(name="--measured", help='What a meter says of it, such as "0.1 R"; re-ranks the readings.'),
    ] = None,
    photo: Annotated[
        Path | None,
        Parameter(name="--photo", help="Read the print on a photo of the part instead; all readings are listed."),
    ] = None,
    json: Json = False,
) -> int:
    """Every reading of a marking, best first, with the reason.

    The words are joined with blanks to one marking. A colour that is doubtful is written brown|orange. A photo needs
    the optional text reader (pip install lidoff[text]); it works on this machine alone and takes none of its readings.
    """
    import lidoff
    from lidoff.cli.show import answer

    if photo is not None:
        if marking:
            raise UsageError("Give a marking or a photo, not both; see: lidoff decode --help")
        return _from_photo(photo, kind=kind, measured=measured, as_json=json)
    if not marking:
        raise UsageError("No marking was given; see: lidoff decode --help")
    document = lidoff.decode(" ".join(marking), kind=kind, measured=measured)
    found = bool(document["candidates"])
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document),
        wrong=None if found else f'"{document["marking"]}" is not a marking that can be read.',
    )


def _write(out: Console, document: Mapping[str, Any]) -> None:
    from lidoff.cli.show import headline, table

    candidates = document["candidates"]
    if not candidates:
        return
    headline(out, [(candidates[0]["text"], candidates[0]["kind"])])
    out.print()
    rows = table("reading", "kind", "why")
    for candidate in candidates:
        basis = candidate.get("basis")
        why = f"{candidate['why']} ({basis})" if basis and basis not in candidate["why"] else candidate["why"]
        rows.add_row(candidate["text"], candidate["kind"], why)
    out.print(rows)
    if not document.get("settled", True):
        for step in document.get("would_settle", ()):
            out.print(f"Would settle it: {step}")


def _from_photo(photo: Path, *, kind: str | None, measured: str | None, as_json: bool) -> int:
    from lidoff.cli.show import answer
    from lidoff.markings import decode as decode_marking
    from lidoff.photos import markings_from, read_lettering

    decode_marking("0", kind=kind, measured=measured)  # refuses a wrong question before the seconds of reading
    document = markings_from(read_lettering(photo), kind=kind, measured=measured).as_json(str(photo))
    wrong = None
    if not document["letterings"]:
        wrong = f"{photo}: no print was made out."
    elif not document["candidates"]:
        of_kind = f" as a {kind} marking" if kind else ""
        wrong = f"{photo}: nothing that was read can be understood{of_kind}."
    return answer(document, as_json=as_json, text=lambda out: _write_photo(out, document), wrong=wrong)


def _write_photo(out: Console, document: Mapping[str, Any]) -> None:
    """Two tables, what was read and what it can mean: nothing stands large, since nothing is taken."""
    from lidoff.cli.show import table

    if document["letterings"]:
        reads = table("print", "confidence", "photo turned", "view", numbers=(1, 2))
        for one in document["letterings"]:
            reads.add_row(one["text"], f"{one['confidence']:.2f}", f"{one['rotation']}°", one["view"])
        out.print(reads)
        out.print()
    if document["candidates"]:
        rows = table("if it reads", "it can be", "kind", "why")
        for one in document["candidates"]:
            supposed = f"supposes {one['supposes']}; " if one["supposes"] else ""
            rows.add_row(one["read"], one["text"], one["kind"], f"{supposed}{one['why']}")
        out.print(rows)
        out.print("Not settled: the reader of print is often sure of what is wrong.")
    for step in document["would_settle"]:
        out.print(f"Would settle it: {step}")
