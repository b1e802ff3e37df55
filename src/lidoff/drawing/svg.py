"""Pieces of SVG as text: elements, text with a width that can be reckoned with, and the document around them.

Colours stand twice. The plain attribute serves readers of SVG that know little CSS (print, PDF); where the reader
knows custom properties, a style rule lets the page around the picture set them, with the same colour as fallback.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Final
from xml.sax.saxutils import escape, quoteattr

from lidoff.errors import LidoffError

FONT: Final = "Helvetica, Arial, 'DejaVu Sans', sans-serif"

# Okabe and Ito, "Color Universal Design" (2008), the eight colours that most colour-blind people tell apart.
# From memory; "ink" is their black, taken from the page so that it turns light on a dark page.
OKABE_ITO: Final[Mapping[str, str]] = MappingProxyType(
    {
        "black": "#000000",
        "orange": "#e69f00",
        "sky blue": "#56b4e9",
        "bluish green": "#009e73",
        "yellow": "#f0e442",
        "blue": "#0072b2",
        "vermillion": "#d55e00",
        "reddish purple": "#cc79a7",
    }
)

# What a colour is used for; a page may set `--lidoff-current` and the like.
ROLES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "ink": "currentColor",
        "current": OKABE_ITO["blue"],
        "light": OKABE_ITO["orange"],
        "switch": OKABE_ITO["vermillion"],
        "rectifier": OKABE_ITO["bluish green"],
        "down": OKABE_ITO["reddish purple"],
        "power": OKABE_ITO["blue"],
    }
)


class DrawingError(LidoffError):
    """What was asked for cannot be drawn; the text says why and what to do."""


def number(value: float) -> str:
    """A coordinate to two decimals, without trailing zeros.

    Raises DrawingError where it is not finite.
    """
    if not math.isfinite(value):
        raise DrawingError("A wave with a value that is not finite cannot be drawn; solve the circuit again")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, *children: str, **attributes: object) -> str:
    """An element; `stroke_width` becomes `stroke-width`, `class_` becomes `class`, None leaves an attribute out."""
    words = []
    for key, value in attributes.items():
        if value is None:
            continue
        shown = number(value) if isinstance(value, float) else str(value)
        words.append(f" {key.rstrip('_').replace('_', '-')}={quoteattr(shown)}")
    inner = "".join(children)
    return f"<{name}{''.join(words)}>{inner}</{name}>" if inner else f"<{name}{''.join(words)}/>"


def group(*children: str, **attributes: object) -> str:
    """A group of elements."""
    return element("g", *children, **attributes)


def stroke(role: str) -> dict[str, str]:
    """Attributes of a line in the colour of that role."""
    return {"stroke": ROLES[role], "class_": f"s-{role}"}


def fill(role: str) -> dict[str, str]:
    """Attributes of an area in the colour of that role."""
    return {"fill": ROLES[role], "class_": f"f-{role}"}


def label(
    x: float,
    y: float,
    words: str,
    size: float,
    *,
    anchor: str = "start",
    weight: str | None = None,
    opacity: float | None = None,
    italic: bool = False,
) -> str:
    """One line of upright text with its baseline at `y`; it stays text, to be found and read aloud."""
    return element(
        "text",
        escape(words),
        x=float(x),
        y=float(y),
        font_size=float(size),
        text_anchor=None if anchor == "start" else anchor,
        font_weight=weight,
        font_style="italic" if italic else None,
        fill_opacity=opacity,
        fill="currentColor",
    )


def line(x1: float, y1: float, x2: float, y2: float, **attributes: object) -> str:
    """A straight line; ink, 1 wide, unless `attributes` say otherwise."""
    given: dict[str, object] = {"stroke": "currentColor", "stroke_width": 1.0, **attributes}
    return element("line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2), **given)


def path(points: Sequence[tuple[float, float]], *, closed: bool = False) -> str:
    """The `d` of straight segments through the points."""
    steps = " ".join(f"{number(x)},{number(y)}" for x, y in points)
    return f"M{steps}{'Z' if closed else ''}"


# Advance widths of DejaVu Sans as shares of the font size, measured from the font and rounded up: it is the widest of
# the sans faces that readers of SVG fall back on, so that what fits in it fits in the others.
_ADVANCE: Final[Mapping[str, float]] = MappingProxyType(
    {
        character: width
        for width, characters in (
            (0.28, "'ijl"),
            (0.30, "IJ"),
            (0.32, " ,.·"),
            (0.34, "/:;\\|"),
            (0.37, "f-"),
            (0.42, "()[]tr!²"),
            (0.51, '*_`°–"'),
            (0.56, "szc?L"),
            (0.62, "FkvxyPTYaeoéöäà"),
            (0.64, "ß$0123456789ESbdghnpqu{}µü"),
            (0.70, "KABVXZΔCR"),
            (0.79, "UNHΩ&DGOQ"),
            (0.84, "w#+<=>^~±×−÷"),
            (0.87, "M"),
            (1.00, "%½mW@—…"),
        )
        for character in characters
    }
)
_BOLD: Final = 1.11  # how much wider bold is on average


def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """How wide the text may come out at most [same unit as `size`], whatever sans face the reader has."""
    width = sum(0.0 if unicodedata.combining(character) else _ADVANCE.get(character, 1.0) for character in words)
    return width * size * (_BOLD if bold else 1.0)


def wrapped(words: str, size: float, room: float) -> list[str]:
    """The text in lines that fit into the room."""
    lines: list[str] = []
    for word in words.split():
        if lines and text_width(f"{lines[-1]} {word}", size) <= room:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def fitted(words: str, size: float, room: float) -> str:
    """The text, shortened with an ellipsis to the room there is."""
    if text_width(words, size) <= room:
        return words
    kept = words
    while kept and text_width(kept + "…", size) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…" if kept.strip() else ""


def document(
    width: float,
    height: float,
    body: Iterable[str],
    *,
    name: str,
    title: str,
    description: str,
    paper: bool = False,
    attributes: Mapping[str, object] | None = None,
) -> str:
    """A whole picture: `name` becomes its class, title and description are read out by screen readers.

    With `paper` it brings its own light ground, for a file that is opened by itself; without, it takes ink and ground
    from the page.
    """
    rules = "".join(
        f".lidoff .{letter}-{role}{{{prop}:var(--lidoff-{role},{colour})}}"
        for role, colour in ROLES.items()
        for letter, prop in (("s", "stroke"), ("f", "fill"))
    )
    style = element("style", f"@supports (color:var(--x)){{{rules}}}")
    ground = element("rect", width=float(width), height=float(height), fill="#fdfcf8") if paper else ""
    return element(
        "svg",
        element("title", escape(title)),
        element("desc", escape(description)),
        style,
        ground,
        *body,
        xmlns="http://www.w3.org/2000/svg",
        class_=f"lidoff {name}",
        viewBox=f"0 0 {number(width)} {number(height)}",
        width="100%" if not paper else number(width),
        height=number(height) if paper else None,
        style=f"max-width:{number(width)}px;height:auto" if not paper else None,
        color="#1b1b1b" if paper else None,
        font_family=FONT,
        role="img",
        **(attributes or {}),
    )
