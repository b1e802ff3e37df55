"""The picture of single faults, read again: rows worst first, marks under what they lead to."""

from __future__ import annotations

from typing import Any

import pytest
from tests.drawing.svg_reading import all_of, parsed, size_of, text_boxes

from lidoff.drawing import DrawingError, faults_svg


def fault(part: str, severity: int, outcome: str = "", **more: Any) -> dict[str, Any]:
    return {
        "part": part,
        "mode": "short",
        "severity": severity,
        "outcome": outcome or f"{part} shorted: something happens.",
        "overstressed": [],
        "fuse": None,
        "touched": [],
        "live_when_off": [],
    } | more


def over(quantity: str) -> dict[str, Any]:
    return {"part": "R1", "quantity": quantity, "value": 3.0, "rating": 1.0, "times": 3.0}


FAULTS = [
    fault("C1", 1),
    fault("C1", 1),
    fault("R1", 3, overstressed=[over("power")]),
    fault("D1", 2, overstressed=[over("current")]),
    fault("LED1", 4, touched=[{"what": "bare end", "reached": "by hand"}]),
    fault("BR1", 4),
    fault("BR1", 4, fuse={"opens": True, "credited": True}),
]


def dots(svg: str) -> list[tuple[float, float, int]]:
    """Place and severity of each mark below the key."""
    found = [
        (float(c.attrib["cx"]), float(c.attrib["cy"]), int(c.attrib["data-severity"]))
        for c in all_of(parsed(svg), "circle")
    ]
    return found[4:]


def rows(svg: str) -> dict[str, float]:
    """Each part's name with the height that it stands at."""
    parts = {one["part"] for one in FAULTS}
    return {box.what: 0.5 * (box.y0 + box.y1) for box in text_boxes(parsed(svg)) if box.what in parts}


@pytest.mark.parametrize("narrow", [False, True])
def test_worst_parts_stand_first_with_their_marks(narrow: bool) -> None:
    svg = faults_svg(FAULTS, narrow=narrow)
    height = rows(svg)
    order = sorted(height, key=lambda part: height[part])
    assert set(order[:2]) == {"LED1", "BR1"}
    assert order[2:] == ["R1", "D1", "C1"]
    marks = dots(svg)
    columns = sorted({round(x) for x, _, _ in marks})
    assert len(columns) == 5

    def at(part: str) -> list[tuple[int, int]]:
        return [(columns.index(round(x)), level) for x, y, level in marks if abs(y - height[part]) < 8.0]

    assert at("LED1") == [(0, 4)]  # live to the touch
    assert at("BR1") == [(1, 4)]  # a short circuit, in two ways
    assert at("R1") == [(2, 3)]  # too hot
    assert at("D1") == [(3, 2)]  # over a rating
    assert at("C1") == [(4, 1)]
    words = [box.what for box in text_boxes(parsed(svg))]
    assert words.count("×2") == 2


@pytest.mark.parametrize("narrow", [False, True])
def test_texts_stay_inside_and_apart(narrow: bool) -> None:
    svg = faults_svg(
        [*FAULTS, fault("gap live to end cap", 3, "gap live to end cap bridged: " + 40 * "long ")], narrow=narrow
    )
    width, height = size_of(parsed(svg))
    boxes = text_boxes(parsed(svg))
    for k, box in enumerate(boxes):
        assert box.x0 >= 0.0
        assert box.x1 <= width + 1.0, box
        assert box.y1 <= height
        for other in boxes[k + 1 :]:
            assert not box.meets(other, 0.5), (box.what, other.what)


def test_a_hot_part_does_not_lend_its_severity_to_a_voltage() -> None:
    """A fault of severity 3 for its heat also brings a capacitor over its voltage: that mark is one of 2."""
    svg = faults_svg([fault("R1", 3, overstressed=[over("power"), over("voltage")])])
    assert sorted(level for _, _, level in dots(svg)) == [2, 3]


def test_more_parts_than_rows_are_counted() -> None:
    svg = faults_svg([fault(f"R{n}", 1) for n in range(20)])
    assert "and 6 more parts: no worse than dark or dim" in [box.what for box in text_boxes(parsed(svg))]


def test_no_faults_no_picture() -> None:
    with pytest.raises(DrawingError, match="no faults"):
        faults_svg([])
