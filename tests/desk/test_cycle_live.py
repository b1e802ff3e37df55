"""The cycle page's session with the solver: frames, the way of the currents, what is carried along, what is refused."""

from __future__ import annotations

import itertools
import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
from tests.desk.records import HEATER

from lidoff.circuit import build, with_values
from lidoff.cycle import solve
from lidoff.demo import shipped
from lidoff.desk import live_tries
from lidoff.desk.live import Session
from lidoff.desk.live_drawing import live_drawing
from lidoff.desk.live_frame import ROW_OF_PARTS, Layout, layout_of
from lidoff.desk.live_scene import scene_of
from lidoff.desk.live_tries import TryError
from lidoff.quantity import parse
from lidoff.record import Item, examine
from lidoff.studies import turn

DIMMED = """
lidoff = 1
[item]
title = "Lamp on a diac dimmer"
[[part]]
ref = "VR1"
kind = "potentiometer"
value = "470k"
clockwise = "a"
nodes = { a = "load", wiper = "w" }
[[part]]
ref = "R1"
kind = "resistor"
value = "3k3"
nodes = ["w", "t"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "100n"
nodes = ["t", "live"]
[[part]]
ref = "D1"
kind = "diac"
breakover = "32 V"
breakback = "20 V"
nodes = ["t", "g"]
[[part]]
ref = "Q1"
kind = "triac"
nodes = { mt1 = "live", mt2 = "load", gate = "g" }
[[part]]
ref = "R2"
kind = "resistor"
value = "529 R"
nodes = ["load", "neutral"]
"""


def item_of(text: str) -> Item:
    item, _ = examine(text, Path("item.toml"))
    return item


@dataclass(frozen=True)
class Frame:
    """A frame read back."""

    tag: int
    settled: bool
    direct: bool
    carried: bool
    cycles: int
    figures: Mapping[str, float]
    power: Mapping[str, float]
    rows: np.ndarray
    spans: list[tuple[str, float, float]]
    sentences: list[str]


def read(data: bytes, layout: Layout) -> Frame:
    tag, settled, direct, carried, cycles, _, points, spans, text = np.frombuffer(data[:36], "<i4").tolist()
    count = ROW_OF_PARTS + 2 * len(layout.refs) + len(layout.pins)
    numbers = np.frombuffer(data[36 : len(data) - text], "<f4")
    figures, rest = np.split(numbers, [len(layout.figures)])
    parts, rest = np.split(rest, [2 * len(layout.refs)])
    rows, rest = np.split(rest, [count * points])
    assert rest.shape[0] == 3 * spans
    return Frame(
        tag=tag,
        settled=bool(settled),
        direct=bool(direct),
        carried=bool(carried),
        cycles=cycles,
        figures={one.key: float(value) for one, value in zip(layout.figures, figures, strict=True)},
        power=dict(zip(layout.refs, parts[::2].tolist(), strict=True)),
        rows=rows.reshape(count, points),
        spans=[(layout.switching[int(which)], a, b) for which, a, b in rest.reshape(-1, 3).tolist()],
        sentences=json.loads(data[len(data) - text :]),
    )


def answer(session: Session, values: Mapping[str, Any], *, tag: int = 1, rest: bool = False) -> Frame:
    return read(session.answer(tag, values, rest=rest), session.layout)


@pytest.fixture(scope="module")
def lamp() -> Item:
    return item_of(shipped("globe-lamp"))


def test_a_diode_before_a_heater_halves_its_power():
    """A half-wave rectified sine into a resistor: half the power, power factor 1/√2 (textbook of power electronics).

    230 V into 529 ohm are 100 W; the diode's own drop takes a little of the half.
    """
    session = Session(build(item_of(HEATER)))
    half = answer(session, {})
    assert half.figures["input.power"] == pytest.approx(50.0, rel=0.01)
    assert half.figures["input.power_factor"] == pytest.approx(1.0 / math.sqrt(2.0), rel=0.005)
    assert half.spans == [("D1", pytest.approx(0.0, abs=1.5), pytest.approx(180.0, abs=1.5))]
    whole = answer(session, {"S2.closed": True})
    assert whole.figures["input.power"] == pytest.approx(100.0, rel=1e-3)
    assert whole.carried
    off = answer(session, {"S1.closed": False})
    assert abs(off.figures["input.power"]) < 1e-3


def test_the_waves_of_a_frame_bear_its_figures_out(lamp: Item):
    """Power as the mean of voltage times current, rms current as the root of the mean square: their definitions."""
    session = Session(build(lamp))
    frame = answer(session, {"supply.voltage": 126.0, "VR1.position": 0.2}, tag=77)
    time, voltage, current = frame.rows[:3].astype(float)
    assert frame.tag == 77
    assert frame.settled
    assert not frame.direct
    assert time[0] == 0.0
    assert time[-1] == pytest.approx(1.0 / 60.0, rel=1e-6)
    mean = np.trapezoid(voltage * current, time) * 60.0
    assert mean == pytest.approx(frame.figures["input.power"], rel=0.01)
    rms = math.sqrt(np.trapezoid(current**2, time) * 60.0)
    assert rms == pytest.approx(frame.figures["input.current_rms"], rel=0.01)
    # 126 V less what the source resistance drops, about 20 mV.
    assert math.sqrt(np.trapezoid(voltage**2, time) * 60.0) == pytest.approx(126.0, rel=1e-3)
    assert sum(frame.power.values()) == pytest.approx(frame.figures["input.power"], rel=0.01)


@pytest.mark.parametrize("name", ["globe-lamp", "night-light", "lamp-charger"])
def test_the_currents_of_the_picture_obey_kirchhoff(name: str):
    """What flows into each point of the picture flows out of it again, at several instants (Kirchhoff's current law).

    At live, what comes out of the terminal is the input current.
    """
    item = item_of(shipped(name))
    circuit = build(item)
    session = Session(circuit)
    frame = answer(session, {})
    drawn = live_drawing(circuit, session.layout, item.drawing)
    root = ElementTree.fromstring(drawn.svg.replace(' xmlns="http://www.w3.org/2000/svg"', ""))
    pins = {(c.get("cx"), c.get("cy")): str(c.get("data-pin")) for c in root.iter("circle") if c.get("data-pin")}
    wires = [(str(w.get("points")).split(), drawn.wires[int(w.get("data-wire", ""))]) for w in root.iter("polyline")]
    terminals = {}
    for group in root.iter("g"):
        if group.get("data-terminal"):
            point = next(one for one in group.iter("circle") if one.get("r") == "1")
            terminals[point.get("cx"), point.get("cy")] = group.get("data-terminal")
    assert len(terminals) == 2
    assert len(pins) == sum(len(e.pins) for e in circuit.elements)
    places = {tuple(points[end].split(",")) for points, _ in wires for end in (0, -1)}
    most = float(np.abs(frame.rows[2]).max())
    for share in (0.1, 0.3, 0.55, 0.8):
        rows = [np.interp(share / circuit.supply.frequency, frame.rows[0], row) for row in frame.rows]
        looked = 0
        for place in places:
            out = 0.0
            for points, mix in wires:
                amps = sum(rows[row] * factor for row, factor in mix)
                out += amps * ((tuple(points[0].split(",")) == place) - (tuple(points[-1].split(",")) == place))
            if place in terminals:
                if terminals[place] == "live":
                    assert out == pytest.approx(float(rows[2]), abs=2e-3 * most)
                continue
            if place in pins:
                ref, _, pin = pins[place].rpartition(".")
                row, factor = session.layout.lead(circuit, ref, pin)
                out += rows[row] * factor
            assert abs(out) < 2e-3 * most, place
            looked += 1
        assert looked > 10


def test_every_stroke_of_a_lead_knows_its_pin(lamp: Item):
    circuit = build(lamp)
    layout = layout_of(circuit)
    drawn = live_drawing(circuit, layout, lamp.drawing)
    root = ElementTree.fromstring(drawn.svg.replace(' xmlns="http://www.w3.org/2000/svg"', ""))
    found = set()
    for part in root.iter("g"):
        at = {(c.get("cx"), c.get("cy")): str(c.get("data-pin")) for c in part.iter("circle") if c.get("data-pin")}
        for stroke in part if part.get("data-ref") else ():
            if stroke.get("data-lead") is None:
                continue
            words = str(stroke.get("d")).removeprefix("M").split(" ")
            pin = next(at[tuple(word.split(","))] for word in words if tuple(word.split(",")) in at)
            ref, _, name = pin.rpartition(".")
            assert drawn.leads[int(stroke.get("data-lead", ""))] == (layout.lead(circuit, ref, name),)
            found.add(pin)
    assert found == {f"{e.ref}.{pin}" for e in circuit.elements for pin in e.pins}


def test_the_knob_stands_clear_of_everything_else(lamp: Item):
    circuit = build(lamp)
    drawn = live_drawing(circuit, layout_of(circuit), lamp.drawing)
    root = ElementTree.fromstring(drawn.svg.replace(' xmlns="http://www.w3.org/2000/svg"', ""))
    knob = next(one for one in root.iter("g") if one.get("data-knob") == "VR1")
    x, y = float(knob.get("data-x", "")), float(knob.get("data-y", ""))
    left, top, width, height = (float(word) for word in str(root.get("viewBox")).split())
    assert left + 20 < x < left + width - 20
    assert top + 20 < y < top + height - 20
    for body in root.iter("rect"):
        if body.get("data-body"):
            bx, by, bw, bh = (float(body.get(name, "")) for name in ("x", "y", "width", "height"))
            assert not (bx < x + 20 and x - 20 < bx + bw and by < y + 20 and y - 20 < by + bh)
    for wire in root.iter("polyline"):
        points = [tuple(map(float, one.split(","))) for one in str(wire.get("points")).split()]
        for (ax, ay), (bx, by) in itertools.pairwise(points):
            near_x, near_y = min(max(x, min(ax, bx)), max(ax, bx)), min(max(y, min(ay, by)), max(ay, by))
            assert math.hypot(near_x - x, near_y - y) > 20


def test_both_positions_of_a_switch_are_drawn():
    item = item_of(HEATER)
    circuit = build(item)
    root = ElementTree.fromstring(live_drawing(circuit, layout_of(circuit)).svg)
    for ref in ("S1", "S2"):
        part = next(one for one in root.iter() if one.get("data-switch") == ref)
        assert sorted(str(one.get("data-when")) for one in part if one.get("data-when")) == ["closed", "open"]


# What is carried along ----------------------------------------------------------------------------------------------


def test_a_dimmer_comes_on_later_than_it_goes_off():
    """The snap-on of a dimmer with diac and one timing capacitor: dark from rest where it stays on coming from above.

    Known of every such dimmer (application notes on phase control call it hysteresis or snap-on; no clause). The
    places are held against the study that turns the knob.
    """
    circuit = build(item_of(DIMMED))
    study = turn(circuit, "VR1", points=41)
    session = Session(circuit)
    answer(session, {"VR1.position": 0.0})
    for stop in (*study.up, *study.down):
        frame = answer(session, {"VR1.position": stop.value})
        assert stop.power is not None
        assert frame.figures["input.power"] == pytest.approx(stop.power, abs=0.02), stop.value
    assert answer(session, {"VR1.position": 1.0}, rest=True).figures["input.power"] < 1.0
    dark = answer(session, {"VR1.position": 0.8})
    answer(session, {"VR1.position": 0.6})
    lit = answer(session, {"VR1.position": 0.8})
    assert dark.figures["input.power"] < 1.0
    assert lit.figures["input.power"] > 5.0


def test_where_no_rhythm_is_found_one_sentence_says_so():
    """A dimmer before a rectifier with a large capacitor fires at random; what is shown is marked as wandering."""
    load = """value = "10 R"
nodes = ["load", "q"]
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { ac1 = "q", ac2 = "neutral", plus = "p", minus = "m" }
[[part]]
ref = "C2"
kind = "capacitor"
value = "2u2"
nodes = ["p", "m"]
[[part]]
ref = "R3"
kind = "resistor"
value = "10k"
nodes = ["p", "m"]"""
    text = DIMMED.replace('value = "529 R"\nnodes = ["load", "neutral"]', load)
    assert text != DIMMED
    session = Session(build(item_of(text)))
    frame = answer(session, {"VR1.position": 0.5})
    assert not frame.settled
    assert frame.cycles == 12
    assert len(frame.sentences) == 1
    assert frame.sentences[0].startswith("No steady rhythm was found")
    assert frame.rows[0][-1] == pytest.approx(4 / 50.0, rel=1e-5)  # four cycles are drawn
    calm = answer(session, {"VR1.position": 0.0})
    assert calm.settled
    assert calm.sentences == []


def test_a_jump_of_the_knob_is_walked():
    """A click at another place passes all between, as a hand does, so that it ends as the slow way does.

    A real jerk from dark to 0.8 would wake this dimmer (see `studies.turn`).
    """
    session = Session(build(item_of(DIMMED)))
    answer(session, {"VR1.position": 1.0}, rest=True)
    frame = answer(session, {"VR1.position": 0.7})
    assert frame.carried
    assert frame.figures["input.power"] < 1.0
    assert answer(session, {"VR1.position": 0.1}).figures["input.power"] > 80.0
    assert answer(session, {"VR1.position": 0.8}).figures["input.power"] > 5.0


def test_another_part_and_a_wish_start_from_rest(lamp: Item):
    session = Session(build(lamp))
    assert not answer(session, {}).carried
    assert answer(session, {"VR1.position": 0.1}).carried
    assert not answer(session, {"VR1.position": 0.1, "R3.value": "1k2"}).carried
    assert answer(session, {"VR1.position": 0.1, "R3.value": "1k2", "supply.voltage": 125.0}).carried
    assert not answer(session, {"VR1.position": 0.1, "R3.value": "1k2"}, rest=True).carried


# Values that are tried ----------------------------------------------------------------------------------------------


def test_a_value_is_read_as_the_record_reads_it(lamp: Item):
    """What is tried gives what the record gives with that value written in it."""
    tried = answer(Session(build(lamp)), {"R3.value": "2k2"})
    written = item_of(shipped("globe-lamp").replace('marking = "brown black red gold"', 'value = "2k2"'))
    figures = solve(build(written)).figures(comparisons=False)
    assert tried.figures["input.power"] == pytest.approx(figures["input"]["power"], rel=1e-5)
    assert tried.figures["light.mean_current"] == pytest.approx(figures["light"]["mean_current"], rel=1e-5)
    by_number = solve(with_values(build(lamp), {"R3.value": 2200.0})).figures(comparisons=False)
    assert tried.figures["input.power"] == pytest.approx(by_number["input"]["power"], rel=1e-5)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [(0.1, "ohm", "0R1"), (0.0, "ohm", "0R"), (2200.0, "ohm", "2k2"), (1e-7, "F", "100n"), (32.0, "V", "32 V")],
)
def test_a_value_stands_as_one_would_type_it(value: float, unit: str, text: str):
    """Letter code of IEC 60062; its clause on values below one allows the zero before the letter (from memory)."""
    assert live_tries.shown(value, unit) == text
    assert parse(text, unit) == pytest.approx(value)


HOB = """
lidoff = 1
[item]
title = "Warming plate with rows of elements"
[supply]
voltage = "230 V"
resistance = 0
[[block]]
name = "row"
repeat = 4
nodes = ["live", "neutral"]
[[part]]
ref = "R1"
kind = "resistor"
value = "100 R"
block = "row"
nodes = ["in", "out"]
"""


@pytest.mark.parametrize(
    ("series", "rows", "watts"),
    [("4", "1", 132.25), ("5", "1", 105.8), ("2", "1", 264.5), ("4", "2", 264.5)],
)
def test_how_often_a_block_is_there_is_tried(series: str, rows: str, watts: float):
    """230 V across rows of that many times 100 ohm: Joule's law with resistors in series and in parallel."""
    session = Session(build(item_of(HOB)))
    assert answer(session, {}).figures["input.power"] == pytest.approx(132.25, rel=1e-3)
    frame = answer(session, {"row.repeat": series, "row.parallel": rows})
    assert not frame.carried
    assert frame.figures["input.power"] == pytest.approx(watts, rel=1e-3)
    # The wave is that of one member, the power that of all.
    assert np.abs(frame.rows[ROW_OF_PARTS]).max() == pytest.approx(230.0 * math.sqrt(2.0) / int(series), rel=1e-3)
    assert frame.power["row/R1"] == pytest.approx(watts, rel=1e-3)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"row.repeat": "0"}, "must be at least 1"),
        ({"row.repeat": "2.5"}, "must be a whole number"),
        ({"row.repeat": "many"}, "many"),
        ({"row.repeat": "1e9999"}, ""),
        ({"row.nodes": "4"}, "there is no such part"),
        ({"column.repeat": "4"}, "there is no such part"),
    ],
)
def test_a_count_that_cannot_be_is_refused(values: dict[str, Any], words: str):
    session = Session(build(item_of(HOB)))
    with pytest.raises(TryError) as refused:
        session.answer(1, values)
    assert refused.value.at == next(iter(values))
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("values", "at", "words"),
    [
        ({"R3.value": "2kk"}, "R3.value", "2kk"),
        ({"R3.value": "-5"}, "R3.value", "must be above"),
        ({"R3.value": "0"}, "R3.value", "must be above 0"),
        ({"R3.value": "1e400"}, "R3.value", ""),
        ({"R3.value": True}, "R3.value", "is not a value that can be read"),
        ({"R3.value": ["1k"]}, "R3.value", "is not a value that can be read"),
        ({"R3.value": "1" * 100}, "R3.value", "is not a value that can be read"),
        ({"R3.colour": "1"}, "R3.colour", "is not a value that can be tried here"),
        ({"R99.value": "1k"}, "R99.value", "there is no such part in this state"),
        ({"VR1.position": 1.5}, "VR1.position", "must be at most 1"),
        ({"VR1.position": float("nan")}, "VR1.position", ""),
        ({"VR1.taper": "log"}, "VR1.taper", "is not a value that can be tried here"),
        ({"supply.frequency": 50}, "supply.frequency", "there is no such part"),
        ({"supply.voltage": -230}, "supply.voltage", "must be above"),
        ({f"R{k}.value": 1 for k in range(400)}, "The page", "more values at once"),
    ],
)
def test_what_cannot_be_tried_is_refused_by_name(lamp: Item, values: dict[str, Any], at: str, words: str):
    session = Session(build(lamp))
    before = answer(session, {"VR1.position": 0.1})
    with pytest.raises(TryError) as refused:
        session.answer(2, values)
    assert refused.value.at == at
    assert words in str(refused.value)
    assert "\n" not in str(refused.value)
    after = answer(session, {"VR1.position": 0.1})
    assert after.carried
    assert after.figures["input.power"] == pytest.approx(before.figures["input.power"], rel=1e-3)


# States -------------------------------------------------------------------------------------------------------------


def test_a_bench_supply_gives_a_point_and_no_cycle(lamp: Item):
    """The rods alone at 95 V limited to 8 mA: the supply is in its limit, and the power is volts times 8 mA."""
    circuit = build(lamp, state="rods on the bench supply")
    session = Session(circuit)
    frame = answer(session, {})
    assert frame.direct
    assert frame.spans == []
    assert frame.rows.shape[1] == 1
    assert frame.figures["input.current_rms"] == pytest.approx(8e-3, rel=0.03)
    volts = frame.rows[ROW_OF_PARTS][0]
    assert frame.figures["input.power"] == pytest.approx(volts * frame.figures["input.current_rms"], rel=0.01)
    assert answer(session, {"supply.dc": "60 V"}).figures["input.current_rms"] < 1e-3
    scene = scene_of(lamp, circuit, session.layout)
    assert scene["direct"]
    assert scene["supply"]["dc"] == 95.0


def test_the_scene_is_plain_data_and_its_picture_breaks_no_policy(lamp: Item):
    session = Session(build(lamp))
    scene = json.loads(json.dumps(scene_of(lamp, session.circuit, session.layout)))
    assert scene["knobs"] == [{"ref": "VR1", "position": 0.0, "clockwise": "a", "told": True, "words": "150k"}]
    assert scene["supply"]["low"] == 108
    assert scene["supply"]["high"] == 132
    svg = scene["picture"]["svg"]
    assert "<style" not in svg
    assert "style=" not in svg
    assert "<script" not in svg
    origin = {one["name"]: one["origin"] for part in scene["parts"] for one in part["tries"]}
    assert origin["LED1.forward_voltage"] == "not known, the middle is taken"
    told = scene_of(lamp, session.circuit, session.layout, inferred=["LED1.forward_voltage"])
    assert "inferred from the readings" in {one["origin"] for part in told["parts"] for one in part["tries"]}
    assert origin["R1.value"] == "from its marking"
    assert origin["Q1.gate_current"] == "assumed"


def test_a_record_without_light_has_other_figures():
    session = Session(build(item_of(HEATER)))
    scene = scene_of(item_of(HEATER), session.circuit, session.layout)
    assert not scene["lit"]
    assert [one["key"] for one in scene["figures"] if one["large"]] == [
        "input.power",
        "input.current_rms",
        "input.power_factor",
        "input.current_peak",
        "input.thd",
    ]
    assert scene["switches"] == [
        {"ref": "S1", "closed": True, "title": "switch"},
        {"ref": "S2", "closed": False, "title": "switch"},
    ]
