"""`lidoff shelf count` and `lidoff shelf chart`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import Json, UsageError
from lidoff.cli.shelf_options import Filter, Sentence, ShelfPlace, place_of, query_of

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.shelf import Count

Output = Annotated[Path | None, Parameter(name=["--output", "-o"], help="The .svg file to write.", show_default=False)]
_MOST = 40  # cells of a bar on the terminal


def count(
    what: Annotated[
        str,
        Parameter(
            help="A question of the look list, a rule, class, region, kind, groups, findings, risk, parts, or a "
            'sentence such as "how many plug fuses had no filler".'
        ),
    ],
    /,
    *,
    options: Filter | None = None,
    output: Output = None,
    shelf: ShelfPlace = None,
    json: Json = False,
) -> int:  # fmt: skip
    """Count over the collection, with bars; what nobody looked at is never counted as a no."""
    from lidoff.cli.show import answer
    from lidoff.shelf import bars_svg
    from lidoff.shelf import count as counted

    found = counted(place_of(shelf), what, query_of("", options))
    if output is not None:
        _write_svg(output, bars_svg(found, paper=True))
    document = {**found.as_json(), "file": str(output) if output else None}
    return answer(document, as_json=json, text=lambda out: _write(out, found, output))


def chart(
    sentence: Sentence = "",
    /,
    *,
    over: Annotated[
        list[str] | None,
        Parameter(
            name="--over", negative=(), consume_multiple=False,
            help="A figure to draw, such as power; twice for a plane. Without it, those that are compared.",
        ),
    ] = None,
    options: Filter | None = None,
    output: Output = None,
    shelf: ShelfPlace = None,
    json: Json = False,
) -> int:  # fmt: skip
    """Draw items as dots over one or two figures, those that meet the question filled."""
    from lidoff.cli.show import answer
    from lidoff.shelf import measure, picture

    query = query_of(sentence, options)
    svg = picture(place_of(shelf), query, [measure(one) for one in over or ()], paper=True)
    document = {**query.as_json(), "file": str(output) if output else None}
    if output is None:
        document["svg"] = svg
    else:
        _write_svg(output, svg)

    def text(out: Console) -> None:
        if output is None:
            print(svg)
        else:
            out.print(query.understood, style="dim")
            out.print(f"Drew {output}.", soft_wrap=True)

    return answer(document, as_json=json, text=text)


def _write(out: Console, found: Count, output: Path | None) -> None:
    from rich.text import Text

    out.print(found.title, style="bold")
    if found.query.conditions:
        out.print(found.query.understood, style="dim")
    out.print()
    top = max((bar.count for bar in found.bars), default=0) or 1
    wide = max((len(bar.label) for bar in found.bars), default=0)
    for bar in found.bars:
        cells = round(_MOST * bar.count / top)
        line = Text(f"{bar.label:<{wide}}  ")
        line.append(("░" if bar.tone == "open" else "█") * max(cells, 1 if bar.count else 0),
                    style="red" if bar.tone == "asked" else "cyan" if bar.tone == "plain" else "dim")  # fmt: skip
        line.append(f" {bar.count}")
        out.print(line)
    out.print()
    out.print(found.sentence)
    if output is not None:
        out.print(f"Drew {output}.", soft_wrap=True)


def _write_svg(path: Path, svg: str) -> None:
    """Writes a picture in one go; a failure leaves what was there."""
    from lidoff.shelf import ShelfError

    if path.suffix.lower() != ".svg":
        raise UsageError(f"{path} does not end in .svg; name the picture so that nothing else is written over")
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_text(f"{svg}\n", encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise ShelfError(f"{path} cannot be written: {error.strerror or error}; name another place") from error
