"""Pictures of what has a published limit, read again: bars under marks, bands about a mean, a band over frequencies."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from tests.drawing.hand_views import dark, phase_cut
from tests.drawing.svg_reading import all_of, parsed, points_of, size_of, text_boxes

from lidoff.drawing import DrawingError, harmonics_svg, light_svg, spectrum_svg
from lidoff.figures import Comparison, Edge, Item, estimate
from lidoff.figures.modulation import most_modulation
from lidoff.standards.harmonic_limits import CLASS_A, CLASS_C_ROUTE_3

LIGHT = {"frequency": 100.0, "percent_flicker": 100.0}


def bars(values: dict[int, float], limits: dict[int, float], unit: str = "%", **said: object) -> Comparison:
    items = tuple(Item(name=f"h{n}", value=v, limit=limits[n], unit=unit) for n, v in values.items())
    given = {"id": "harmonics-class-c-route-3", "title": "", "basis": CLASS_C_ROUTE_3.row("3"), "items": items}
    return Comparison(**(given | said))  # type: ignore[arg-type]


def rects(svg: str, role: str) -> list[dict[str, str]]:
    return [e.attrib for e in all_of(parsed(svg), "rect") if f"f-{role}" in e.attrib.get("class", "").split()]


def no_text_meets_another(svg: str) -> None:
    boxes = text_boxes(parsed(svg))
    for k, box in enumerate(boxes):
        for other in boxes[k + 1 :]:
            assert not box.meets(other, 0.5), (box.what, other.what)


def in_the_frame(svg: str) -> None:
    width, height = size_of(parsed(svg))
    for box in text_boxes(parsed(svg)):
        assert box.x0 >= -1.0, box
        assert box.x1 <= width + 1.0, box
        assert box.y1 <= height + 1.0, box


@pytest.mark.parametrize("narrow", [False, True])
def test_bars_and_marks_stand_in_proportion(narrow: bool) -> None:
    """Route 3: 40, 20 and 10 % against 35, 25 and 30: heights 4 : 2 : 1, marks at 35, 25 and 30 fortieths."""
    svg = harmonics_svg([bars({3: 40.0, 5: 20.0, 7: 10.0}, {3: 35.0, 5: 25.0, 7: 30.0})], narrow=narrow)
    over = rects(svg, "switch")[1:]  # the first of each colour is the key
    under = rects(svg, "current")[1:]
    under = [one for one in under if float(one["width"]) > 12.0 or float(one["height"]) > 12.0][-2:]
    assert len(over) == 1
    tall = [float(over[0]["height"]), *(float(one["height"]) for one in under)]
    assert tall[1] / tall[0] == pytest.approx(0.5, abs=0.01)
    assert tall[2] / tall[0] == pytest.approx(0.25, abs=0.01)
    bottom = float(over[0]["y"]) + tall[0]
    marks = [
        float(line.attrib["y1"])
        for line in all_of(parsed(svg), "line")
        if line.attrib.get("stroke-width") == "2.4" and float(line.attrib["y1"]) > 60.0
    ]
    heights = [(bottom - y) / tall[0] for y in marks]
    assert heights == pytest.approx([35 / 40, 25 / 40, 30 / 40], abs=0.01)
    no_text_meets_another(svg)
    in_the_frame(svg)


def test_a_limit_far_above_is_an_arrow_and_even_orders_of_nothing_are_left_out() -> None:
    """Class A: 20 mA against 2.3 A; the second order is a ten-thousandth of the third."""
    one = bars({2: 2e-6, 3: 0.02}, {2: 1.08, 3: 2.30}, "A", id="harmonics-class-a", basis=CLASS_A.row(3), applies=False)
    svg = harmonics_svg([one])
    words = [box.what for box in text_boxes(parsed(svg))]
    assert "lies under the limit, for comparison" in words
    assert "3" in words
    assert "2" not in words
    arrows = [e for e in all_of(parsed(svg), "path") if e.attrib.get("fill") == "currentColor"]
    assert len(arrows) == 2  # one in the key


def test_side_by_side_a_wave_may_miss_two_routes_and_meet_the_third() -> None:
    names = [f"harmonics-class-c-route-{n}" for n in (1, 2, 3)]
    waves = [bars({3: 30.0}, {3: limit}, id=name) for name, limit in zip(names, (20.0, 25.0, 35.0), strict=True)]
    svg = harmonics_svg(waves)
    words = [box.what for box in text_boxes(parsed(svg))]
    assert words.count("lies over the limit") == 2
    assert words.count("lies under the limit") == 1
    assert [w for w in words if w.startswith("Class C")] == [f"Class C, route {n}" for n in (1, 2, 3)]
    assert "route 1: over the limit; Class C, route 2: over" in "".join(parsed(svg)[1].itertext())
    assert "pass" not in svg


def test_route_2_missed_by_its_timing_alone_says_so() -> None:
    one = bars({3: 60.0, 5: 20.0}, {3: 86.0, 5: 61.0}, id="harmonics-class-c-route-2")
    late = Item(name="start of the current", value=75.0, limit=60.0, unit="degrees")
    wave = Comparison(id=one.id, title="", basis=one.basis, items=(*one.items, late))
    text = " ".join(box.what for box in text_boxes(parsed(harmonics_svg([wave]))))
    assert "lies over the limit by its timing or distortion" in text


def test_without_harmonics_there_is_nothing_to_draw() -> None:
    with pytest.raises(DrawingError, match="harmonic"):
        harmonics_svg([bars({}, {})])


@pytest.mark.parametrize("narrow", [False, True])
def test_the_bands_of_light_are_as_wide_as_the_lines_at_its_frequency(narrow: bool) -> None:
    """IEEE 1789 at 100 Hz: 8 % and 3.33 % about the mean, so bands of 16 % and 6.67 % of the mean's height."""
    svg = light_svg(phase_cut(90.0), LIGHT, narrow=narrow)
    wide = [one for one in rects(svg, "rectifier") if float(one["width"]) > 200.0]
    heights = [float(one["height"]) for one in wide]
    assert heights[0] / heights[1] == pytest.approx(0.08 / (0.0333), rel=0.02)
    middles = [float(one["y"]) + 0.5 * float(one["height"]) for one in wide]
    assert middles[0] == pytest.approx(middles[1], abs=0.02)
    dark_line = next(float(b.y0 + 0.76 * (b.y1 - b.y0) / 0.98) for b in text_boxes(parsed(svg)) if b.what == "dark")
    assert heights[0] / (dark_line - middles[0]) == pytest.approx(0.16, abs=0.005)
    no_text_meets_another(svg)
    in_the_frame(svg)


def test_the_dot_stands_at_its_frequency_and_swing() -> None:
    """10 % at 100 Hz: one decade of those from 10 Hz to 4 kHz across, two of three from 0.1 % to 100 % up."""
    svg = light_svg(phase_cut(90.0), {"frequency": 100.0, "percent_flicker": 10.0})
    dot = all_of(parsed(svg), "circle")[0].attrib
    left, top, width, height = 602.0, 58.5, 340.0, 240.0
    assert float(dot["cx"]) == pytest.approx(left + width * math.log(10.0) / math.log(400.0), abs=0.1)
    assert float(dot["cy"]) == pytest.approx(top + height / 3.0, abs=0.1)


def test_the_lines_of_light_in_the_plane_end_where_no_limit_is_set() -> None:
    svg = light_svg(phase_cut(90.0), LIGHT)
    areas = [
        points_of(e.attrib["d"]) for e in all_of(parsed(svg), "path") if "f-rectifier" in e.attrib.get("class", "")
    ]
    assert len(areas) == 2
    for practice, area in zip(("low risk", "no effect"), areas, strict=True):
        at = 602.0 + 340.0 * math.log(20.0 / 10.0) / math.log(400.0)
        xs, ys = np.array(area[:12]).T
        most = most_modulation(practice, 20.0)  # type: ignore[arg-type]
        assert most is not None
        level = 58.5 + 240.0 * (1.0 - math.log(max(most, 0.1) / 0.1) / math.log(1000.0))
        assert np.interp(at, xs, ys) == pytest.approx(level, abs=0.6)


def test_no_light_no_picture() -> None:
    for view, light in ((phase_cut(light=False), LIGHT), (dark(), LIGHT), (phase_cut(), {"percent_flicker": None})):
        with pytest.raises(DrawingError, match="no light"):
            light_svg(view, light)


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("limit", ["lighting", "residential"])
def test_the_band_over_frequency_is_twenty_decibels_where_it_is_known(narrow: bool, limit: str) -> None:
    edges = (Edge(time=0.005, step=0.2, rise=0.0), Edge(time=0.015, step=-0.2, rise=0.0))
    found = estimate(edges, 50.0, load=1600.0, limit=limit)
    svg = spectrum_svg(found, narrow=narrow)
    bands = [points_of(e.attrib["d"]) for e in all_of(parsed(svg), "path") if "f-current" in e.attrib.get("class", "")]
    assert len(bands) == 2
    known = bands[0]
    grid = sorted(float(e.attrib["y1"]) for e in all_of(parsed(svg), "line") if e.attrib["y1"] == e.attrib["y2"])
    twenty = max(b - a for a, b in pairwise(grid[3:]))  # after the three keys
    half = len(known) // 2
    for (x, high), (x2, low) in zip(known[:half], reversed(known[half:]), strict=True):
        assert x == pytest.approx(x2, abs=0.01)
        assert low - high == pytest.approx(twenty, rel=0.01)
    words = [box.what for box in text_boxes(parsed(svg))]
    assert "medium" in words or "medium waves" in words
    assert ("10 kHz" in words) == (limit == "lighting")
    no_text_meets_another(svg)
    in_the_frame(svg)


def test_the_limit_steps_where_the_table_does() -> None:
    found = estimate((Edge(time=0.0, step=0.2, rise=0.0),), 50.0, load=1600.0)
    svg = spectrum_svg(found)
    limit = next(
        points_of(e.attrib["d"])
        for e in all_of(parsed(svg), "path")
        if e.attrib.get("class") == "s-switch" and e.attrib.get("fill") == "none"
    )
    steps = [(a, b) for a, b in pairwise(limit) if a[0] == b[0]]
    assert len(steps) >= 3  # 50 kHz, 150 kHz, 5 MHz


def test_no_steps_no_spectrum_picture() -> None:
    with pytest.raises(DrawingError, match="no spectrum"):
        spectrum_svg(estimate((), 50.0))


@pytest.mark.parametrize("paper", [False, True])
def test_colours_follow_the_page_and_text_stays_text(paper: bool) -> None:
    pictures = (
        light_svg(phase_cut(), LIGHT, paper=paper),
        harmonics_svg([bars({3: 40.0}, {3: 35.0})], paper=paper),
        spectrum_svg(estimate((Edge(time=0.0, step=0.2, rise=0.0),), 50.0, load=1600.0), paper=paper),
    )
    for svg in pictures:
        assert "var(--lidoff-current" in svg
        assert all_of(parsed(svg), "text")
        assert "<script" not in svg
        assert ("#fdfcf8" in svg) == paper
