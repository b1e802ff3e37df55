"""The picture of before and after: two panels on common scales, whole as a file of its own."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from lidoff.drawing import DrawingError
from lidoff.rework import comparison_svg
from lidoff.rework.saving import files_of

pytestmark = pytest.mark.xdist_group("rework-globe")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def steady(reworked):
    return reworked("globe-lamp", "light=8–13 %", "ieee_1789=no-effect")


@pytest.mark.parametrize("narrow", [False, True])
def test_both_halves_stand_inside_the_picture_and_tell_their_figures(steady, narrow):
    one = steady.offered[0]
    text = comparison_svg(steady.before_solution, one.proof.solution, full=steady.full, narrow=narrow)
    root = ElementTree.fromstring(text)
    _, _, width, height = (float(part) for part in root.get("viewBox").split())
    words = [element.text for element in root.iter(f"{SVG}text")]
    assert "as found" in words
    assert "reworked" in words
    assert any("light 100 % of full" in word for word in words)
    share = next(extent for extent in one.extents if extent.goal.name == "light").nominal
    assert any(f"light {100 * share:.3g} % of full" in word for word in words)
    assert not any("e+" in word for word in words)
    for element in root.iter(f"{SVG}text"):
        assert 0.0 <= float(element.get("x")) <= width
        assert 0.0 < float(element.get("y")) <= height
    for element in root.iter(f"{SVG}path"):
        numbers = [float(n) for pair in element.get("d").strip("MZ").split() for n in pair.split(",")]
        assert all(-0.5 <= x <= width for x in numbers[::2])
        assert all(-0.5 <= y <= height for y in numbers[1::2])


def test_light_of_both_is_drawn_to_one_scale(steady):
    one = steady.offered[0]
    root = ElementTree.fromstring(comparison_svg(steady.before_solution, one.proof.solution, full=steady.full))
    areas = [e for e in root.iter(f"{SVG}path") if e.get("class") == "f-light"]
    tall = []
    for area in areas:
        ys = [float(pair.split(",")[1]) for pair in area.get("d").strip("MZ").split()]
        tall.append(max(ys) - min(ys))
    before, after = (float(s.light.max()) for s in (steady.before_solution, one.proof.solution))
    assert tall[1] / tall[0] == pytest.approx(after / before, rel=0.02)


def test_a_bench_supply_has_no_cycle_to_draw(steady):
    from pathlib import Path

    from lidoff.circuit import build
    from lidoff.cycle import solve
    from lidoff.demo.items import shipped
    from lidoff.record import read_text

    item = read_text(shipped("globe-lamp"), Path("globe-lamp") / "item.toml")
    direct = solve(build(item, state="rods on the bench supply"))
    with pytest.raises(DrawingError, match="bench supply"):
        comparison_svg(direct, steady.before_solution)


def test_every_offered_design_has_its_files(steady):
    files = files_of(steady)
    assert len(files) == 3 * len(steady.offered)
    for place, one in enumerate(steady.offered, 1):
        assert files[f"{place}-{one.family}/item.toml"] == one.record
        assert files[f"{place}-{one.family}/before-and-after.svg"].startswith("<svg")
