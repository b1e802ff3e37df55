"""The waveform picture: what stands where, readable at phone width, and honest where nothing happens."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.drawing.hand_views import dark, phase_cut
from tests.drawing.svg_reading import all_of, parsed, points_of, size_of, text_boxes

from lidoff.drawing import DrawingError, view_of, waveform_svg
from lidoff.drawing.curve import round_below, thinned
from lidoff.drawing.svg import OKABE_ITO, ROLES
from lidoff.drawing.view import Conduction, joined_round, spans_above, together

VIEWS = {"cut": phase_cut(), "late": phase_cut(170.0), "no source": phase_cut(light=False), "dark": dark()}


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("name", VIEWS)
def test_texts_stay_inside_and_apart(name: str, narrow: bool) -> None:
    """No text leaves the picture and none lies on another."""
    root = parsed(waveform_svg(VIEWS[name], narrow=narrow))
    width, height = size_of(root)
    boxes = text_boxes(root)
    for box in boxes:
        assert box.x0 >= -0.5, box
        assert box.x1 <= width + 0.5, box
        assert box.y0 >= 0.0, box
        assert box.y1 <= height, box
    for k, box in enumerate(boxes):
        for other in boxes[k + 1 :]:
            assert not box.meets(other), (box, other)


def test_narrow_form_is_readable_on_a_phone() -> None:
    """At 360 px every text is at least 11 px high."""
    root = parsed(waveform_svg(phase_cut(), narrow=True))
    assert size_of(root)[0] == 360.0
    assert min(float(text.attrib["font-size"]) for text in all_of(root, "text")) >= 11.0


@pytest.mark.parametrize("alpha", [30.0, 90.0, 135.0])
def test_bars_stand_where_the_part_conducts(alpha: float) -> None:
    """The bar of a part begins at its firing angle on the axis of degrees and ends at the zero crossing."""
    root = parsed(waveform_svg(phase_cut(alpha)))
    ticks = {"".join(t.itertext()): float(t.attrib["x"]) for t in all_of(root, "text")}
    zero, full = ticks["0°"], ticks["360°"]
    bars = [r for r in all_of(root, "rect") if r.attrib.get("rx")]
    found = [(float(r.attrib["x"]), float(r.attrib["width"])) for r in bars]
    read = [(360.0 * (x - zero) / (full - zero), 360.0 * width / (full - zero)) for x, width in found]
    assert read == [pytest.approx((a, 180.0 - alpha), abs=0.05) for a in (alpha, 180.0 + alpha)]


def test_description_tells_the_spans() -> None:
    """Who cannot see the picture hears the peaks, the spans and the light."""
    root = parsed(waveform_svg(phase_cut(90.0)))
    words = "".join(all_of(root, "desc")[0].itertext())
    assert "Q1 conducts from 90 to 180 and 270 to 360 degrees." in words
    assert "peaks at 1.00 A" in words
    assert "325 V" in words
    assert root.attrib["role"] == "img"


def test_nothing_is_said_to_happen_where_nothing_does() -> None:
    """A part that never conducts and a light that stays dark are named as that."""
    root = parsed(waveform_svg(dark()))
    shown = {"".join(t.itertext()) for t in all_of(root, "text")}
    assert "not at all" in shown
    assert "no light" in shown
    words = "".join(all_of(root, "desc")[0].itertext())
    assert "Q1 does not conduct." in words
    assert "There is no light." in words


def test_a_rhythm_is_cut_to_what_can_be_read() -> None:
    """Of a long rhythm four cycles are shown, and the description says so."""
    root = parsed(waveform_svg(phase_cut(cycles=9)))
    assert "It repeats after 9 cycles, of which 4 are shown." in "".join(all_of(root, "desc")[0].itertext())
    assert view_of(phase_cut(cycles=9), most_cycles=1).span == 360.0


def test_self_contained() -> None:
    """Nothing is loaded from anywhere: no addresses but the name of SVG itself, no script, no image."""
    svg = waveform_svg(phase_cut())
    assert svg.count("http") == 1
    assert "xmlns=" in svg
    for word in ("<script", "<image", "url(", "@import", "href"):
        assert word not in svg


def test_colours_are_of_the_published_palette() -> None:
    """Line colours are those of Okabe and Ito (Color Universal Design, 2008; eight values from memory)."""
    assert set(ROLES.values()) - {"currentColor"} <= set(OKABE_ITO.values())
    assert OKABE_ITO["vermillion"] == "#d55e00"
    assert OKABE_ITO["blue"] == "#0072b2"


def test_wave_that_is_not_finite_is_refused() -> None:
    """A solution that broke down gives a sentence, not a broken file."""
    view = phase_cut()
    view.current[10] = math.nan
    with pytest.raises(DrawingError, match="not finite"):
        waveform_svg(view)


@given(
    st.lists(st.floats(-50, 50), min_size=2, max_size=60),
    st.floats(0.05, 5.0),
    st.booleans(),
)
def test_thinned_curve_keeps_to_the_wave(values: list[float], tolerance: float, close: bool) -> None:
    """No point of the wave is farther from the thinned curve than the tolerance, and the ends stay."""
    y = np.array([*values, values[0]] if close else values)
    x = np.cos(np.linspace(0.0, 2.0 * math.pi, len(y))) * 100.0 if close else np.arange(len(y)) * 3.0
    kept = thinned(x, y, tolerance)
    assert kept[0] == (x[0], y[0])
    assert kept[-1] == (x[-1], y[-1])
    for px, py in zip(x, y, strict=True):
        assert min(_distance(px, py, a, b) for a, b in itertools.pairwise(kept)) <= tolerance + 1e-9


def _distance(px: float, py: float, a: tuple[float, float], b: tuple[float, float]) -> float:
    dx, dy = b[0] - a[0], b[1] - a[1]
    length = dx * dx + dy * dy
    share = 0.0 if length == 0.0 else min(max(((px - a[0]) * dx + (py - a[1]) * dy) / length, 0.0), 1.0)
    return math.hypot(px - a[0] - share * dx, py - a[1] - share * dy)


@given(st.floats(1e-6, 1e6))
def test_scale_marks_are_round_and_below(value: float) -> None:
    """The mark of a scale is not above the peak and not under five ninths of it."""
    mark = round_below(value)
    assert 0.55 * value <= mark <= value * (1.0 + 1e-9)


def test_spans_of_a_wave() -> None:
    """Spans are found at the threshold; one that runs over the end of the cycle can be put in one piece."""
    angle = np.arange(3600) * 0.1
    wave = np.abs(np.sin(np.radians(angle)))
    # |sin| is above one half from 30 to 150 degrees and from 210 to 330: elementary.
    assert spans_above(wave, 0.5, angle) == (
        pytest.approx((30.0, 150.0), abs=0.06),
        pytest.approx((210.0, 330.0), abs=0.06),
    )
    wave = np.abs(np.cos(np.radians(angle)))
    spans = spans_above(wave, 0.5, angle)
    assert len(spans) == 3
    assert joined_round(spans, 360.0) == [
        pytest.approx((120.0, 240.0), abs=0.06),
        pytest.approx((300.0, 420.0), abs=0.06),
    ]
    assert spans_above(wave, 0.0, angle) == (pytest.approx((0.0, 360.0)),)
    assert spans_above(wave, 2.0, angle) == ()


def test_curve_of_the_current_is_the_current() -> None:
    """The thick curve, read against its own scale, gives the wave back within half a percent of its peak."""
    view = phase_cut(60.0)
    root = parsed(waveform_svg(view))
    curve = next(p for p in all_of(root, "path") if p.attrib.get("class") == "s-current")
    points = points_of(curve.attrib["d"])
    ticks = {"".join(t.itertext()): float(t.attrib["x"]) for t in all_of(root, "text")}
    zero, full = ticks["0°"], ticks["360°"]
    ys = [y for _, y in points]
    middle, half = 0.5 * (min(ys) + max(ys)), 0.5 * (max(ys) - min(ys))
    xs = np.array([(x - zero) / (full - zero) * 360.0 for x, _ in points])
    read = np.interp(view.angle, xs, [(middle - y) / half for y in ys])
    away = np.abs(view.angle % 180.0 - 60.0) > 0.5  # beside the jumps
    assert np.abs(read - view.current)[away].max() < 0.005


def test_parts_that_conduct_together_share_a_row() -> None:
    """Two diodes of a bridge that carry the same half-cycle stand as one; a part of another kind does not join them."""
    spans = ((10.0, 170.0),)
    parts = (
        Conduction(ref="D1", kind="diode", spans=spans),
        Conduction(ref="D2", kind="diode", spans=((190.0, 350.0),)),
        Conduction(ref="D4", kind="diode", spans=((10.6, 169.5),)),
        Conduction(ref="LED1", kind="led", spans=spans),
    )
    found = together(parts)
    assert [(part.ref, part.count) for part in found] == [("D1, D4", 2), ("D2", 1), ("LED1", 1)]
    svg = waveform_svg(replace(phase_cut(), parts=found))
    assert "D1 and D4 conduct from 10 to 170 degrees." in svg
