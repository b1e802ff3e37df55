"""The printed sheet as a PDF: one page for each frame, with a line to measure and what to do with it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from lidoff.photos.sheet import FRAMES, LINE, Frame, cells

Paper = Literal["a4", "letter"]

# mm; ISO 216 and ANSI/ASME Y14.1.
_PAPERS: Final = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
_TOP: Final = 11.0  # mm; printers leave 4 to 6 mm of the paper white
_INK, _SOFT = "#1c1b19", "#5f5b54"

_STEPS: Final = (
    "Print at 100 %, with no fitting to the page. Glue or tape the sheet flat on something stiff.",
    "Unplug the item, let its capacitors discharge and measure that they are, before the board is taken out.",
    "Lay the board inside the frame, the side to be photographed up. No marker need be whole all round, but leave at "
    "least four in view on two sides.",
    "Photograph from straight above, as near as the whole frame allows, at the camera's own 1× lens. Light from two "
    "sides or a window, no flash; with glare take three to five shots with the lamp moved and the camera still.",
)


def sheet_pdf(paper: Paper = "a4") -> bytes:
    """The sheet as a PDF. Raises PhotoError where OpenCV, which knows the markers, is missing."""
    import typst

    width, height = _PAPERS[paper]
    pages = "\n#pagebreak()\n".join("\n".join(_page(frame, width, height)) for frame in FRAMES)
    source = f"""#set document(title: "Marker frames for board photographs", date: none)
#set page(width: {width}mm, height: {height}mm, margin: 0mm, fill: white)
#set text(size: 8.5pt, fill: rgb("{_INK}"), font: ("Libertinus Serif",), lang: "en")
#set par(leading: 0.5em)
{pages}
"""
    return bytes(typst.compile(source.encode()))


def _page(frame: Frame, width: float, height: float) -> Iterator[str]:
    left = (width - frame.width) / 2
    top = _TOP + frame.reach
    # A hairline shows where the board goes; it is too thin and pale to be taken for the board's edge.
    yield (
        f"#place(dx: {left:.3f}mm, dy: {top:.3f}mm, rect(width: {frame.width}mm, height: {frame.height}mm, "
        f'stroke: (paint: rgb("#cfcac0"), thickness: 0.2pt, dash: "dotted")))'
    )
    for number, (x, y) in frame.places().items():
        yield from _marker(cells(number), left + x, top + y, frame.marker / 7)
    foot = top + frame.height + frame.reach + 7
    yield from _measured_line(width, foot)
    yield (f"#place(dx: {(width - 150) / 2:.3f}mm, dy: {foot + 9.5:.3f}mm, block(width: 150mm)[{_words(frame)}])")


def _marker(white: NDArray[np.bool_], x: float, y: float, cell: float) -> Iterator[str]:
    yield _box(x, y, 7 * cell, 7 * cell, "black")
    # Rows and columns of white cells are both drawn, so that no seam shows between two that touch.
    for turned, grid in ((False, white), (True, white.T)):
        for row, line in enumerate(grid):
            edges = np.flatnonzero(np.diff(np.concatenate([[False], line, [False]]).astype(int)))
            for start, end in zip(edges[::2], edges[1::2], strict=True):
                at, wide, down, high = start * cell, (end - start) * cell, row * cell, cell
                if turned:
                    at, wide, down, high = down, high, at, wide
                yield _box(x + at, y + down, wide, high, "white")


def _box(x: float, y: float, wide: float, high: float, fill: str) -> str:
    size = f"width: {wide:.4f}mm, height: {high:.4f}mm"
    return f"#place(dx: {x:.4f}mm, dy: {y:.4f}mm, rect({size}, fill: {fill}, stroke: none))"


def _measured_line(width: float, y: float) -> Iterator[str]:
    x = (width - LINE) / 2
    yield f"#place(dx: {x:.3f}mm, dy: {y:.3f}mm, line(length: {LINE}mm, stroke: 0.3pt))"
    for tick in range(11):
        high = 4.0 if tick in (0, 5, 10) else 2.2
        yield (
            f"#place(dx: {x + tick * LINE / 10:.3f}mm, dy: {y - high / 2:.3f}mm, "
            f"line(angle: 90deg, length: {high}mm, stroke: 0.3pt))"
        )
    yield (
        f"#place(dx: {x:.3f}mm, dy: {y + 3.2:.3f}mm, block(width: {LINE}mm, align(center, text(size: 8pt, "
        f'fill: rgb("{_SOFT}"))[{LINE:g} mm from end to end. Measure it with a steel rule.])))'
    )


def _words(frame: Frame) -> str:
    steps = "\n".join(f"+ {step}" for step in _STEPS)
    return (
        f'#text(size: 12pt, weight: "bold")[Frame for boards up to {frame.width - 6:g} by {frame.height - 6:g} mm]\n\n'
        f"{steps}\n+ If the line above is not {LINE:g} mm long, tell Lidoff what it measures: "
        f"`lidoff trace ITEM --line 99.4`.\n"
    )
