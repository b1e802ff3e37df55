"""Figures along a travel: dead travel, snaps, the way back, and input that cannot be drawn."""

from __future__ import annotations

from typing import Any

import pytest
from tests.drawing.svg_reading import all_of, parsed, size_of, text_boxes

from lidoff.drawing import DrawingError, sweep_svg, turn_svg, vary_svg


def _points(light: list[float], *, key: str = "position") -> list[dict[str, Any]]:
    last = len(light) - 1
    return [
        {key: k / last, "input": {"power": 2.0 + 100.0 * v, "current_rms": v}, "light": {"mean_current": v}}
        for k, v in enumerate(light)
    ]


UP = _points([0.02, 0.015, 0.01, 0.005, 0.0004, 0.0003, 0.0002, 0.0001, 0.0001])
DOWN = _points([0.02, 0.015, 0.01, 0.0004, 0.0004, 0.0003, 0.0002, 0.0001, 0.0001])
TURN = {"ref": "VR1", "up": UP, "down": DOWN, "dead_travel": 5 / 9, "floor": 0.005, "snap_on": 0.25, "snap_off": 0.5}


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("snaps", [(None, None), (0.25, 0.5), (0.5, 0.25), (0.98, 0.97), (0.01, 0.02), (0.5, 0.5)])
def test_texts_stay_inside_and_apart(snaps: tuple[float | None, float | None], narrow: bool) -> None:
    """Wherever the snaps lie, no text leaves the picture and none lies on another."""
    root = parsed(turn_svg({**TURN, "snap_on": snaps[0], "snap_off": snaps[1]}, narrow=narrow))
    width, height = size_of(root)
    boxes = text_boxes(root)
    for k, box in enumerate(boxes):
        assert box.x0 >= 0.0, box
        assert box.x1 <= width + 1.0, box
        assert box.y1 <= height, box
        for other in boxes[k + 1 :]:
            assert not box.meets(other), (box, other)
    if narrow:
        assert min(float(text.attrib["font-size"]) for text in all_of(root, "text")) >= 11.0


def test_dead_travel_is_shaded_where_it_is() -> None:
    """The shade covers the points within 5 % of the light's range above its least: here the upper half."""
    root = parsed(turn_svg(TURN))
    shade = next(r for r in all_of(root, "rect") if r.attrib.get("fill-opacity") == "0.08")
    ticks = {"".join(t.itertext()): float(t.attrib["x"]) for t in all_of(root, "text")}
    zero, full = ticks["0 %"], ticks["100 %"]
    start = (float(shade.attrib["x"]) - zero) / (full - zero)
    width = float(shade.attrib["width"]) / (full - zero)
    assert (start, width) == (pytest.approx(0.5, abs=1e-3), pytest.approx(0.5, abs=1e-3))
    assert "dead travel: 56 % of the way" in {"".join(t.itertext()) for t in all_of(root, "text")}


def test_way_back_is_drawn_only_where_it_differs() -> None:
    """Two curves that are one are drawn as one."""
    assert "turning down again" in turn_svg(TURN)
    assert "turning down again" not in turn_svg({**TURN, "down": UP})


def test_any_value_along_its_own_unit() -> None:
    """`vary` shows the value in its unit; points without light leave that lane out."""
    points = [{"value": 1000.0 * k, "input": {"power": 10.0 / k}, "light": None} for k in (1, 2, 3)]
    svg = vary_svg({"key": "R1.value", "points": points}, unit="ohm")
    shown = {"".join(t.itertext()) for t in all_of(parsed(svg), "text")}
    assert {"R1.value", "1.00 kΩ", "3.00 kΩ", "power from the mains"} <= shown
    assert "light (mean LED current)" not in shown


def test_what_cannot_be_drawn_is_said() -> None:
    """One point, no range, no figures: a sentence each."""
    with pytest.raises(DrawingError, match="at least two points"):
        sweep_svg(UP[:1])
    with pytest.raises(DrawingError, match="same value"):
        sweep_svg([UP[0], UP[0]])
    with pytest.raises(DrawingError, match="figure to draw"):
        sweep_svg([{"position": 0.0, "input": {}}, {"position": 1.0, "input": None}])
