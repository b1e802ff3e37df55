"""The cycle dial: angles clockwise from the top, thickness by current, disc by light."""

from __future__ import annotations

import math

import pytest
from tests.drawing.hand_views import dark, phase_cut
from tests.drawing.svg_reading import all_of, parsed, points_of, size_of, text_boxes

from lidoff.drawing import cycle_dial_svg

VIEWS = {"cut": phase_cut(), "late": phase_cut(170.0), "no source": phase_cut(light=False), "dark": dark()}


def _centre(root: object) -> tuple[float, float]:
    circle = all_of(root, "circle")[0]  # type: ignore[arg-type]
    return float(circle.attrib["cx"]), float(circle.attrib["cy"])


def _angle(centre: tuple[float, float], point: tuple[float, float]) -> float:
    return math.degrees(math.atan2(point[0] - centre[0], centre[1] - point[1])) % 360.0


@pytest.mark.parametrize("alpha", [20.0, 90.0, 150.0])
def test_arcs_stand_at_their_angles(alpha: float) -> None:
    """An arc begins at the firing angle and ends at the zero crossing, clockwise from the top."""
    root = parsed(cycle_dial_svg(phase_cut(alpha)))
    centre = _centre(root)
    arcs = [p for p in all_of(root, "path") if "A" in p.attrib["d"] and p.attrib.get("class") == "s-switch"]
    ends = []
    for arc in arcs:
        move, bow = arc.attrib["d"].split(" ", 1)
        ends.append((_angle(centre, points_of(move)[0]), _angle(centre, points_of(bow)[-1])))
        assert bow.split()[3] == "1"  # the sweep flag of an arc that runs clockwise
    assert [e[0] for e in ends] == [pytest.approx(alpha, abs=0.1), pytest.approx(180.0 + alpha, abs=0.1)]
    assert [e[1] % 360.0 for e in ends] == [pytest.approx(180.0, abs=0.1), pytest.approx(0.0, abs=0.1)]


def test_ring_is_as_thick_as_the_current() -> None:
    """At 135 degrees of a sine cut at 90 the ring is sin 135 / 1 = 0.707 of its thickest; before 90 it is a line."""
    root = parsed(cycle_dial_svg(phase_cut(90.0)))
    centre = _centre(root)
    ring = next(p for p in all_of(root, "path") if p.attrib.get("fill-opacity") == "0.9")
    outer, inner = (points_of(part) for part in ring.attrib["d"].split("Z")[:2])

    def thickness(degrees: float) -> float:
        radii = []
        for edge in (outer, inner):
            near = min(edge, key=lambda p: abs(_angle(centre, p) - degrees))
            assert abs(_angle(centre, near) - degrees) < 6.0
            radii.append(math.dist(centre, near))
        return abs(radii[0] - radii[1])

    assert thickness(135.0) / thickness(91.0) == pytest.approx(math.sin(math.radians(135.0)), abs=0.06)
    assert thickness(45.0) < 0.5


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("name", VIEWS)
def test_texts_stay_inside_and_apart(name: str, narrow: bool) -> None:
    """No text leaves the picture and none lies on another; on a phone none is under 11 px."""
    root = parsed(cycle_dial_svg(VIEWS[name], narrow=narrow))
    width, height = size_of(root)
    boxes = text_boxes(root)
    for k, box in enumerate(boxes):
        assert box.x0 >= 0.0, box
        assert box.x1 <= width, box
        assert box.y0 >= 0.0, box
        assert box.y1 <= height, box
        for other in boxes[k + 1 :]:
            assert not box.meets(other), (box, other)
    if narrow:
        assert width == 360.0
        assert min(float(text.attrib["font-size"]) for text in all_of(root, "text")) >= 11.0


def test_it_says_how_to_read_it() -> None:
    """Someone who never saw a dial finds every part of it explained on the picture."""
    shown = " ".join("".join(t.itertext()) for t in all_of(parsed(cycle_dial_svg(phase_cut())), "text"))
    for words in ("How to read it", "one mains cycle, 20 ms", "clockwise", "Q1", "input current", "light"):
        assert words in shown
    assert "Q1 does not conduct" in cycle_dial_svg(dark())
    assert "it stays dark" in cycle_dial_svg(dark())
