"""Reads the pictures again, for tests: elements by name and class, texts with their boxes, points of paths."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import dataclass

from lidoff.drawing.svg import text_width

NS = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Box:
    x0: float
    y0: float
    x1: float
    y1: float
    what: str = ""

    def meets(self, other: Box, slack: float = 0.0) -> bool:
        return (
            self.x0 < other.x1 - slack
            and other.x0 < self.x1 - slack
            and self.y0 < other.y1 - slack
            and other.y0 < self.y1 - slack
        )


def parsed(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def all_of(root: ET.Element, name: str) -> list[ET.Element]:
    return list(root.iter(NS + name))


def size_of(root: ET.Element) -> tuple[float, float]:
    x, y, width, height = (float(word) for word in root.attrib["viewBox"].split())
    assert (x, y) == (0.0, 0.0)
    return width, height


def text_boxes(root: ET.Element) -> list[Box]:
    """The box each text takes at most, whatever sans face the reader has."""
    boxes = []
    for text in all_of(root, "text"):
        words = "".join(text.itertext())
        size = float(text.attrib["font-size"])
        width = text_width(words, size, bold=text.attrib.get("font-weight") == "bold")
        x, y = float(text.attrib["x"]), float(text.attrib["y"])
        left = {"start": x, "middle": x - width / 2, "end": x - width}[text.attrib.get("text-anchor", "start")]
        boxes.append(Box(left, y - 0.76 * size, left + width, y + 0.22 * size, words))
    return boxes


def points_of(d: str) -> list[tuple[float, float]]:
    return [(float(a), float(b)) for a, b in re.findall(r"(-?[\d.]+),(-?[\d.]+)", d)]
