"""A part as it stands on the drawing: its symbol in a pose, its words beside it, the room both take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from lidoff.drawing.shapes import Point, Pose, Rect, Symbol, around, posed
from lidoff.drawing.svg import text_width
from lidoff.drawing.symbols import SIDE_PINS, TWO_PORTS, symbol_for
from lidoff.drawing.words import short_ref, value_text

if TYPE_CHECKING:
    from lidoff.circuit import Element

SIZE: Final = 13.0  # of the words [SVG units]
LINE: Final = 15.0 / SIZE  # from one line of them to the next, as a share of the size
_ONE_LINE: Final = 84.0  # designator and value stand on one line above a lying part up to this width


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """One line of text: where its baseline starts (or has its middle or end), and how it is written."""

    at: Point
    text: str
    anchor: str = "start"
    bold: bool = False
    role: str = "value"  # "ref", "value", "figure" or "caption"
    size: float = SIZE

    @property
    def rect(self) -> Rect:
        """The room it takes at most."""
        width = text_width(self.text, self.size, bold=self.bold)
        left = self.at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return Rect(left, self.at[1] - 0.78 * self.size, left + width, self.at[1] + 0.24 * self.size)

    def moved(self, dx: float, dy: float) -> Words:
        """The same words elsewhere."""
        return Words(
            at=(self.at[0] + dx, self.at[1] + dy),
            text=self.text,
            anchor=self.anchor,
            bold=self.bold,
            role=self.role,
            size=self.size,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """A part at a place: symbol in its pose and words, both in the drawing's own coordinates around `at`."""

    ref: str
    kind: str
    at: Point
    symbol: Symbol
    words: tuple[Words, ...]

    def pin(self, name: str) -> Point:
        """Where that pin is."""
        x, y = self.symbol.pins[name].at
        return x + self.at[0], y + self.at[1]

    @property
    def body(self) -> Rect:
        """The box of the symbol's body."""
        return self.symbol.body.moved(*self.at)

    @property
    def texts(self) -> tuple[Words, ...]:
        """The words where they are."""
        return tuple(words.moved(*self.at) for words in self.words)

    @property
    def keep(self) -> Rect:
        """Body, pins and words together."""
        pins = [self.pin(name) for name in self.symbol.pins]
        return around([self.body, *(Rect(x, y, x, y) for x, y in pins), *(w.rect for w in self.texts)])

    def moved(self, dx: float, dy: float) -> Stand:
        """The part shifted."""
        return Stand(
            ref=self.ref,
            kind=self.kind,
            at=(self.at[0] + dx, self.at[1] + dy),
            symbol=self.symbol,
            words=self.words,
        )


def stand_for(
    element: Element,
    pose: Pose,
    *,
    half: float = 40.0,
    figure: str = "",
    count: str = "",
    size: float = SIZE,
    values: bool = True,
) -> Stand:
    """The part around the origin.

    `half` is half the distance between the rails of a two-port, `figure` a further line of text, `count` goes with the
    designator of a member of a block that has no frame of its own ("× 12"). `size` is that of the words; without
    `values` the value is left out.
    """
    symbol = posed(
        symbol_for(
            element.kind,
            tuple(element.pins),
            closed=bool(element.values.get("closed", True)),
            reverse=element.values.get("polarity") in ("pnp", "p"),
            half=half,
        ),
        pose,
    )
    name = f"{short_ref(element.ref)}{f' {count}' if count else ''}"
    value = value_text(element) if values else ""
    lines = [("ref", name), *([("value", value)] if value else []), *([("figure", figure)] if figure else [])]
    words = _words(element, symbol, pose, lines, size)
    return Stand(ref=element.ref, kind=element.kind, at=(0.0, 0.0), symbol=symbol, words=words)


def _words(
    element: Element, symbol: Symbol, pose: Pose, lines: Sequence[tuple[str, str]], size: float
) -> tuple[Words, ...]:
    body = symbol.body
    line = LINE * size
    if element.kind in TWO_PORTS:
        return _above(body.y0, _merged(lines, 120.0, size), size)
    side = symbol.pins[SIDE_PINS[element.kind][2]].out if _has_side(element) else (0.0, 0.0)
    if not pose.lying:
        left = side[0] > 0.0
        x, anchor = (body.x0 - 6.0, "end") if left else (body.x1 + 6.0, "start")
        first = 0.36 * size - 0.5 * line * (len(lines) - 1)
        return tuple(
            Words(at=(x, first + k * line), text=text, anchor=anchor, role=role, size=size)
            for k, (role, text) in enumerate(lines)
        )
    merged = _merged(lines, _ONE_LINE, size)
    if side[1] < 0.0:
        first = body.y1 + 5.0 + 0.78 * size
        return tuple(
            Words(at=(0.0, first + k * line), text=text, anchor="middle", role=role, size=size)
            for k, (role, text) in enumerate(merged)
        )
    return _above(body.y0, merged, size)


def _has_side(element: Element) -> bool:
    return element.kind in SIDE_PINS and len(element.pins) == 3


def _merged(lines: Sequence[tuple[str, str]], room: float, size: float) -> list[tuple[str, str]]:
    """Designator and value on one line where they fit."""
    if len(lines) > 1 and lines[1][0] == "value":
        both = f"{lines[0][1]}  {lines[1][1]}"
        if text_width(both, size) <= room:
            return [("ref", both), *lines[2:]]
    return list(lines)


def _above(top: float, lines: Sequence[tuple[str, str]], size: float) -> tuple[Words, ...]:
    last = top - 5.0 - 0.24 * size
    return tuple(
        Words(at=(0.0, last - (len(lines) - 1 - k) * LINE * size), text=text, anchor="middle", role=role, size=size)
        for k, (role, text) in enumerate(lines)
    )


def counts_of(elements: Sequence[Element]) -> Mapping[str, str]:
    """How often each folded part is there: "× 12", or "× 12 × 2" for two rows of twelve; nothing for a single one."""
    return {e.ref: block_count(e) for e in elements if e.block}


def block_count(element: Element) -> str:
    """How often a member of a block is there."""
    rows = f" × {element.parallel:g}" if element.parallel != 1.0 else ""
    return f"× {element.series:g}{rows}" if rows or element.series != 1.0 else ""
