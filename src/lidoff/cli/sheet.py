"""`lidoff sheet`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

from cyclopts import Parameter

from lidoff.cli.options import Json, UsageError


def sheet(
    *,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="The .pdf file to write.")] = Path("sheet.pdf"),
    paper: Annotated[Literal["a4", "letter"], Parameter(help="What it is printed on.")] = "a4",
    json: Json = False,
) -> int:
    """Write the sheet to print and lay a board on before it is photographed.

    Its markers give a photo its pose and its scale at once. Print at 100 % and measure the line of 100 mm.
    """
    from lidoff.cli.show import answer
    from lidoff.photos.kept import write_whole
    from lidoff.photos.sheet_page import sheet_pdf

    if output.suffix.lower() != ".pdf":
        raise UsageError(f"{output} does not end in .pdf; name the sheet so that nothing else is written over")
    write_whole(output, sheet_pdf(paper))
    return answer(
        {"file": str(output), "paper": paper},
        as_json=json,
        text=lambda out: out.print(f"Wrote {output}. Print it at 100 % and measure its line: 100 mm.", soft_wrap=True),
    )
