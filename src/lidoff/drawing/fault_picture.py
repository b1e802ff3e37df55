"""Single faults as a picture: a row for each part, worst first, and a mark under everything that its faults lead to.

Works on what `faults --json` prints, so that a stored result is drawn without working anything out again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from lidoff.drawing.svg import DrawingError, document, element, fill, fitted, label, line, stroke, text_width, wrapped

_MOST: Final = 14  # rows
_COLOURS: Final[Mapping[int, tuple[str, float, float]]] = {  # severity: role, opacity, radius in text sizes
    4: ("switch", 1.0, 0.72),
    3: ("light", 1.0, 0.60),
    2: ("current", 0.8, 0.46),
    1: ("ink", 0.45, 0.28),
}
_WORDS: Final[Mapping[int, str]] = {
    4: "may kill, or nothing clears it",
    3: "fire, a burn or a shock",
    2: "over a rating, or harmful light",
    1: "dark or dim",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Page:
    """Sizes of the two forms of the picture [SVG units]."""

    width: float
    left: float  # room for the part's name
    column: float
    size: float
    row: float
    words: bool  # whether the worst fault is told beside the marks


_WIDE: Final = _Page(width=960.0, left=120.0, column=78.0, size=14.0, row=30.0, words=True)
_NARROW: Final = _Page(width=360.0, left=84.0, column=53.0, size=12.0, row=27.0, words=False)
_COLUMNS: Final = ("live to the touch", "short circuit", "too hot", "over a rating", "other")


@dataclass(frozen=True, slots=True)
class _Row:
    part: str
    faults: tuple[Mapping[str, Any], ...]

    @property
    def worst(self) -> Mapping[str, Any]:
        return self.faults[0]

    def marks(self) -> dict[int, tuple[int, int]]:
        """Column to worst severity and how many faults lead there."""
        found: dict[int, tuple[int, int]] = {}
        for fault in self.faults:
            for column in _leads_to(fault):
                severity, count = found.get(column, (0, 0))
                # A fault is drawn at its own severity where it is the reason for it, else no higher than what it is.
                found[column] = (max(severity, _as_bad_as(fault, column)), count + 1)
        return found


def _leads_to(fault: Mapping[str, Any]) -> list[int]:
    """The columns that a fault belongs in."""
    columns = []
    if fault.get("touched") or fault.get("live_when_off"):
        columns.append(0)
    fuse = fault.get("fuse") or {}
    if fuse.get("opens") or (fault["severity"] >= 4 and not fault.get("touched")):
        columns.append(1)
    over = [one for one in fault.get("overstressed", ()) if (one.get("times") or 0.0) > 1.0]
    if any(one["quantity"] == "power" for one in over):
        columns.append(2)
    if any(one["quantity"] != "power" for one in over):
        columns.append(3)
    return columns or [4]


def _as_bad_as(fault: Mapping[str, Any], column: int) -> int:
    severity = int(fault["severity"])
    if column == 3:
        return min(severity, 2)
    if column == 2:
        return min(severity, 3)
    return severity


def _rows(faults: Sequence[Mapping[str, Any]]) -> list[_Row]:
    """One row for each part, worst first, its own faults worst first."""
    by_part: dict[str, list[Mapping[str, Any]]] = {}
    for fault in sorted(faults, key=lambda one: -int(one["severity"])):
        by_part.setdefault(str(fault["part"]), []).append(fault)
    return [_Row(part, tuple(found)) for part, found in by_part.items()]


def faults_svg(faults: Sequence[Mapping[str, Any]], *, narrow: bool = False, paper: bool = False) -> str:
    """The single faults of an item as an SVG picture; `faults` are the mappings of `faults --json`.

    `narrow` is the form for a phone (360 wide, text of 12); `paper` gives the picture its own light ground. Raises
    DrawingError without faults.
    """
    rows = _rows(faults)
    if not rows:
        raise DrawingError("There are no faults to draw")
    page = _NARROW if narrow else _WIDE
    shown, rest = rows[:_MOST], rows[_MOST:]
    key, top = _key(page)
    heads, top = _heads(page, top)
    body = [key, *heads]
    bottom = top + page.row * len(shown)
    for column in range(len(_COLUMNS)):
        x = _middle(page, column)
        body.append(line(x, top, x, bottom, stroke_opacity=0.12))
    for k, row in enumerate(shown):
        body += _drawn(row, page, top + k * page.row)
    if rest:
        worst = max(int(row.worst["severity"]) for row in rest)
        more = f"and {len(rest)} more parts: no worse than {_WORDS[worst]}"
        for words in wrapped(more, page.size, page.width - 16.0):
            bottom += 1.4 * page.size
            body.append(label(8.0, bottom, words, page.size, opacity=0.75))
    told = "; ".join(f"{row.part}: severity {row.worst['severity']} of 4" for row in shown)
    return document(
        page.width,
        bottom + 0.8 * page.size,
        body,
        name="faults",
        title="If one part fails",
        description=told,
        paper=paper,
    )


def _middle(page: _Page, column: int) -> float:
    return page.left + (column + 0.5) * page.column


def _key(page: _Page) -> tuple[str, float]:
    """What the marks mean, above the picture."""
    size, x, y, parts = page.size, 8.0, 1.2 * page.size, []
    for severity, words in _WORDS.items():
        wide = 1.9 * size + text_width(words, size) + 1.2 * size
        if x + wide - 1.2 * size > page.width and x > 8.0:
            x, y = 8.0, y + 1.6 * size
        parts.append(_dot(x + 0.8 * size, y - 0.35 * size, severity, size))
        parts.append(label(x + 1.9 * size, y, words, size))
        x += wide
    return "".join(parts), y + 0.8 * size


def _heads(page: _Page, top: float) -> tuple[list[str], float]:
    size = page.size
    lines = [wrapped(words, size, page.column - 4.0) for words in _COLUMNS]
    deep = max(len(one) for one in lines)
    body = [
        label(_middle(page, column), top + (1.2 + 1.15 * (deep - len(one) + k)) * size, words, size, anchor="middle")
        for column, one in enumerate(lines)
        for k, words in enumerate(one)
    ]
    return body, top + (0.8 + 1.15 * deep) * size


def _dot(x: float, y: float, severity: int, size: float) -> str:
    role, opacity, radius = _COLOURS[severity]
    return element(
        "circle",
        cx=x,
        cy=y,
        r=radius * size,
        fill_opacity=opacity,
        fill=fill(role)["fill"],
        stroke=stroke(role)["stroke"],
        stroke_width=1.0,
        class_=f"f-{role} s-{role}",
        data_severity=severity,
    )


def _drawn(row: _Row, page: _Page, top: float) -> list[str]:
    size, middle = page.size, top + 0.5 * page.row
    base = middle + 0.36 * size
    body = [
        line(8.0, top, page.width - 8.0, top, stroke_opacity=0.12),
        label(8.0, base, fitted(row.part, size, page.left - 14.0), size, weight="bold"),
    ]
    for column, (severity, count) in row.marks().items():
        x = _middle(page, column)
        body.append(_dot(x, middle, severity, size))
        if count > 1:
            body.append(label(x + 0.95 * size, base, f"×{count}", size, opacity=0.75))
    if page.words:
        left = page.left + len(_COLUMNS) * page.column + 16.0
        body.append(label(left, base, fitted(_short(row.worst), size, page.width - left - 8.0), size))
    return body


def _short(fault: Mapping[str, Any]) -> str:
    """The worst fault in as many words as fit: how it fails, and the first thing that comes of it."""
    said = str(fault["outcome"]).removeprefix(f"{fault['part']} ")
    return said.partition(";")[0].rstrip(".")
