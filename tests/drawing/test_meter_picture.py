"""What a power meter makes of a wave, against what the textbook says of sines."""

from __future__ import annotations

import math
from itertools import pairwise
from xml.etree import ElementTree

import numpy as np
import pytest

from lidoff.drawing import CycleView
from lidoff.drawing.meter_picture import meter_svg, product_of
from lidoff.drawing.still import Frame, cursor_svg, wave_still_svg


def sines(volts: float, amps: float, late: float) -> CycleView:
    """A sine of voltage and one of current `late` degrees behind it, by their rms values."""
    angle = np.arange(3600) / 10.0
    turn = np.radians(angle)
    return CycleView(
        angle=angle,
        voltage=math.sqrt(2.0) * volts * np.sin(turn),
        current=math.sqrt(2.0) * amps * np.sin(turn - math.radians(late)),
        light=None,
        parts=(),
        frequency=50.0,
    )


@pytest.mark.parametrize("late", [0.0, 30.0, 60.0, 90.0])
def test_power_of_two_sines(late: float) -> None:
    """P = V I cos φ, S = V I: IEEE Std 1459-2010, 3.1.1 (from memory)."""
    found = product_of(sines(230.0, 0.5, late))
    assert found.voltage == pytest.approx(230.0)
    assert found.current == pytest.approx(0.5)
    assert found.apparent == pytest.approx(115.0)
    assert found.power == pytest.approx(115.0 * math.cos(math.radians(late)), abs=1e-9)
    assert found.factor == pytest.approx(math.cos(math.radians(late)), abs=1e-9)


def test_energy_flows_back_half_of_the_time_a_quarter_turn_late_and_never_in_step() -> None:
    """A quarter turn late as much energy comes back as goes in: p = −V I sin 2ωt, a textbook's reactive power."""
    assert product_of(sines(230.0, 0.5, 90.0)).back == pytest.approx(0.5, abs=1e-6)
    assert product_of(sines(230.0, 0.5, 0.0)).back == 0.0
    nothing = product_of(sines(230.0, 0.0, 0.0))
    assert nothing.factor is None
    assert nothing.back == 0.0


@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("late", [0.0, 45.0, 90.0])
def test_the_picture_holds_what_it_says_and_stays_inside(late: float, narrow: bool) -> None:
    svg = meter_svg(sines(230.0, 0.5, late), written=("81 W", "115 VA"), narrow=narrow)
    root = ElementTree.fromstring(svg)
    width, height = (float(value) for value in root.attrib["viewBox"].split()[2:])
    texts = ["".join(one.itertext()) for one in root.iter("{http://www.w3.org/2000/svg}text")]
    assert {"81 W", "115 VA", "mean power", "voltage times current, at every instant"} <= set(texts)
    for one in root.iter("{http://www.w3.org/2000/svg}text"):
        assert 0.0 <= float(one.attrib["x"]) <= width
        assert 0.0 < float(one.attrib["y"]) <= height
    filled = [one for one in root.iter("{http://www.w3.org/2000/svg}path") if one.get("fill-opacity")]
    assert len(filled) == (1 if late == 0.0 else 2)


def test_the_words_of_the_two_lines_never_lie_on_each_other() -> None:
    for late in (0.0, 10.0, 45.0, 80.0, 90.0):
        root = ElementTree.fromstring(meter_svg(sines(230.0, 0.5, late)))
        rows = sorted(
            float(one.attrib["y"])
            for one in root.iter("{http://www.w3.org/2000/svg}text")
            if float(one.attrib["x"]) > 820.0 and float(one.attrib["y"]) > 200.0
        )[:4]
        assert min(b - a for a, b in pairwise(rows)) >= 14.0, late


def test_the_cursor_lies_on_the_curves() -> None:
    """At 90° both sines stand at their peaks, at the top of the lane: the two dots lie on one height."""
    view, frame = sines(230.0, 0.5, 0.0), Frame(width=1200.0, height=400.0, size=24.0)
    root = ElementTree.fromstring(cursor_svg(view, frame, 90.0))
    dots = list(root.iter("{http://www.w3.org/2000/svg}circle"))
    assert len(dots) == 2
    assert dots[0].attrib["cy"] == dots[1].attrib["cy"]
    still = ElementTree.fromstring(wave_still_svg(view, frame))
    assert still.attrib["viewBox"] == root.attrib["viewBox"] == "0 0 1200 400"
