"""`lidoff decode`."""

from __future__ import annotations

from collections.abc import Mapping
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
    json: Json = False,
) -> int:
    """Every reading of a marking, best first, with the reason.

    The words are joined with blanks to one marking. A colour that is doubtful is written brown|orange.
    """
    import lidoff
    from lidoff.cli.show import answer

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
