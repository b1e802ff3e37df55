"""Fuses against short circuits, surges against switches, temperatures against limits: at the borders of the tables."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from lidoff.account.hazards import hazards_of
from lidoff.circuit import build
from lidoff.hazards import Facts, rule
from lidoff.hazards.given import surged
from lidoff.hazards.model import Finding, Undecided
from lidoff.record import read_text
from lidoff.standards.temperatures import OTHER, TOUCH

CHARGER = """part = [
  {{ ref = "F1", kind = "fuse", {fuse}, nodes = ["live", "a"] }},
  {{ ref = "BR1", kind = "bridge", nodes = {{ ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" }} }},
  {{ ref = "C1", kind = "capacitor", value = "10u", nodes = ["p", "m"] }},
  {{ ref = "U1", kind = "converter", power = "5 W", nodes = {{ plus = "p", minus = "m" }} }},
]
"""


def judged(id: str, record: str, **given: Any) -> tuple[list[Finding], list[Undecided]]:
    item = read_text(f"lidoff = 1\n{record}", Path("case.toml"))
    circuit = build(item) if item.parts else None
    return rule(id).judge(Facts(item=item, circuit=circuit, **given))


def short(current: float) -> dict[str, Any]:
    verdict = {"part": "F1", "opens": True, "credited": False, "current": current}
    return {"part": "C1", "mode": "short", "outcome": "", "severity": 4, "overstressed": [], "fuses": [verdict]}


@pytest.mark.parametrize(
    ("marking", "breaks"),
    [
        # IEC 60127-2: low 35 A or ten times the rated current, enhanced 150 A, high 1500 A.
        ("T1AL250V", 35.0),
        ("T6.3AL250V", 63.0),
        ("T2AE250V", 150.0),
        ("T2AH250V", 1500.0),
        ("F3.15AH250V", 1500.0),
    ],
)
def test_each_letter_turns_at_its_own_current(marking: str, breaks: float) -> None:
    record = 'item = { region = "EU" }\n' + CHARGER.format(fuse=f'marking = "{marking}"')
    assert judged("fuse-cannot-break", record, faults=(short(0.99 * breaks),)) == ([], [])
    found, undecided = judged("fuse-cannot-break", record, faults=(short(1.01 * breaks),))
    assert len(found) == 1
    assert not undecided
    assert f"made to break {breaks:.0f} A" in found[0].because[0]
    assert found[0].confidence == "worked out"


def test_without_faults_the_mains_impedance_tells() -> None:
    """230 V over 0.4 ohm (IEC 60725) is 575 A; over a measured 8 ohm at the end of a long lead 29 A."""
    record = 'item = { region = "EU" }\n' + CHARGER.format(fuse='marking = "T1AL250V"')
    found, _ = judged("fuse-cannot-break", record)
    assert "580 A flow in a dead short right behind it" in found[0].because[0]
    assert found[0].confidence == "likely"
    assert judged("fuse-cannot-break", 'supply = { resistance = "8 R" }\n' + record) == ([], [])


def test_a_sound_plug_fuse_stands_behind_a_small_one_and_an_empty_one_does_not() -> None:
    """BS 1362: 6 kA (from memory). Without a look at its filler nobody can tell."""
    board = CHARGER.format(fuse='marking = "T1AL250V"')
    plug = 'item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "3 A" }\n'

    def with_filler(seen: str) -> tuple[list[Finding], list[Undecided]]:
        sighting = f'sighting = [{{ about = "plug-fuse-filler", seen = "{seen}" }}]\n' if seen else ""
        return judged("fuse-cannot-break", plug + sighting + board, faults=(short(475.0),))

    assert with_filler("filler") == ([], [])
    assert with_filler("no filler")[0]
    found, undecided = with_filler("")
    assert not found
    assert "filled with sand" in undecided[0].needs[0]


def test_a_plug_fuse_at_a_socket_that_gives_more_than_6_kiloamperes() -> None:
    record = (
        'item = { region = "GB" }\nplug = { kind = "BS 1363", fuse = "13 A" }\n'
        'supply = { resistance = "0R03" }\n'
        'part = [{ ref = "H1", kind = "heater", power = "1 kW", voltage = "230 V", nodes = ["live", "neutral"] }]\n'
    )
    found, _ = judged("fuse-cannot-break", record)
    assert "plug fuse is made to break 6000 A" in found[0].because[0]
    assert judged("fuse-cannot-break", record.replace("0R03", "0R1")) == ([], [])


@pytest.mark.parametrize(
    ("rating", "peak", "fires"), [("6 A", 59.0, False), ("6 A", 61.0, True), ("16 A", 155.0, False)]
)
def test_a_switch_makes_ten_times_its_print(rating: str, peak: float, fires: bool) -> None:
    """IEC 61058-1, lamp loads: ten times the rated current (from memory)."""
    record = (
        f'part = [{{ ref = "S1", kind = "switch", rating = {{ current = "{rating}" }}, nodes = ["live", "a"] }},\n'
        '{ ref = "L1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["a", "neutral"] }]\n'
    )
    found, undecided = judged("inrush-over-rating", record, switched_on=surged("S1", peak))
    assert bool(found) == fires
    assert not undecided


def test_surges_through_the_studies() -> None:
    """A 470 uF smoothing capacitor straight on the mains through a 1 A switch: hundreds of amperes, and it is said."""
    item = read_text(
        'lidoff = 1\nitem = { region = "EU" }\npart = [\n'
        '{ ref = "S1", kind = "switch", rating = { current = "1 A" }, nodes = ["live", "a"] },\n'
        '{ ref = "BR1", kind = "bridge", rating = { current = "2 A" }, nodes = { ac1 = "a", ac2 = "neutral", '
        'plus = "p", minus = "m" } },\n'
        '{ ref = "C1", kind = "capacitor", value = "470u", rating = { voltage = "400 V" }, nodes = ["p", "m"] },\n'
        '{ ref = "R1", kind = "resistor", value = "2k", rating = { power = "80 W" }, nodes = ["p", "m"] },\n]\n',
        Path("case.toml"),
    )
    found = hazards_of(item).finding("inrush-over-rating")
    assert [one.about for one in found] == [("S1",)]
    assert "times the 1 A" in found[0].because[0]


SHELL = 'surface = [{ name = "shell", reached = "by hand", node = "insulated" }]\n'


def at(place: str, degrees: float, quantity: str = "temperature") -> str:
    unit = "K" if quantity == "temperature_rise" else "°C"
    return f'reading = [{{ quantity = "{quantity}", value = "{degrees:.0f} {unit}", at = "{place}" }}]\n'


@pytest.mark.parametrize(
    ("kind", "low", "high"),
    [
        # IEC 62368-1, Table 38, touched for 1 s to 10 s: metal 60, plastic 77 (read).
        ("adapter", TOUCH.number("touched 1 s to 10 s", "metal"), TOUCH.number("touched 1 s to 10 s", "plastic")),
        # IEC 60598-1, Table 12.1: metal 70, other 75 (from memory).
        ("luminaire", OTHER.number("luminaire, touched metal"), OTHER.number("luminaire, touched other")),
    ],
)
def test_a_surface_by_degrees(kind: str, low: float, high: float) -> None:
    def told(degrees: float) -> tuple[int, int]:
        found, undecided = judged(
            "too-hot-to-touch", f'item = {{ kind = "{kind}" }}\n' + SHELL + at("surface:shell", degrees)
        )
        return len(found), len(undecided)

    assert told(low) == (0, 0)
    assert told(low + 2) == (0, 1)
    assert told(high) == (0, 1)
    assert told(high + 2) == (1, 0)


def test_what_is_held_in_use_is_asked_about_sooner() -> None:
    handle = SHELL.replace("shell", "handle")
    found, undecided = judged("too-hot-to-touch", handle + at("surface:handle", 52.0))
    assert not found
    assert "How long handle is held" in undecided[0].needs[0]
    assert judged("too-hot-to-touch", SHELL + at("surface:shell", 52.0)) == ([], [])


def test_a_surface_that_only_a_tool_reaches_is_not_touched() -> None:
    inside = SHELL.replace("by hand", "with a tool")
    assert judged("too-hot-to-touch", inside + at("surface:shell", 110.0)) == ([], [])


def test_a_rise_is_taken_above_25_degrees() -> None:
    """IEC 60335-1, Table 3 (1994 national text): limits are rises above 25 degC."""
    found, _ = judged("too-hot-to-touch", SHELL + at("surface:shell", 60.0, "temperature_rise"))
    assert "85 °C" in found[0].because[0]


@pytest.mark.parametrize(
    ("wire", "degrees", "fires", "asks"),
    [
        # PVC cord 50 K above 25 degC (from memory).
        ('print = "2x0.75mm2"', 75.0, 0, 0),
        ('print = "2x0.75mm2"', 78.0, 1, 0),
        ('print = "H05V2V2-F 2x0.75"', 85.0, 0, 1),
        ('length = "1.4 m"', 85.0, 0, 1),
    ],
)
def test_a_cord_by_its_print(wire: str, degrees: float, fires: int, asks: int) -> None:
    record = f'wire = [{{ ref = "W1", {wire} }}]\n' + at("wire:W1", degrees)
    found, undecided = judged("part-over-temperature", record)
    assert (len(found), len(undecided)) == (fires, asks)


def test_an_unmarked_capacitor_is_asked_about_and_never_judged() -> None:
    """IEC 60335-1, Table 3: 50 K for X and Y capacitors without a T mark, 20 K for others."""
    for grade, free, asked in (('class = "X2"', 74.0, 77.0), ('voltage = "400 V"', 44.0, 47.0)):
        parts = (
            f'part = [{{ ref = "C1", kind = "capacitor", value = "100n", rating = {{ {grade} }}, '
            'nodes = ["live", "neutral"] }]\n'
        )
        assert judged("part-over-temperature", parts + at("C1", free)) == ([], [])
        found, undecided = judged("part-over-temperature", parts + at("C1", asked))
        assert not found
        assert len(undecided) == 1


def test_readings_of_other_things_are_left_alone() -> None:
    record = SHELL + 'reading = [{ quantity = "power", value = "95 W" }]\n'
    for id in ("too-hot-to-touch", "part-over-temperature"):
        assert judged(id, record) == ([], [])


def test_findings_print_as_json() -> None:
    found, _ = judged("too-hot-to-touch", SHELL + at("surface:shell", 96.0))
    printed = json.loads(json.dumps(found[0].as_json()))
    assert printed["evidence"] == ["Reading of temperature at surface:shell: 96 °C"]


def test_a_print_gives_a_fuse_its_amperes() -> None:
    """A fuse known by its print alone clears a short like one whose rating was written down (T1AH: 1 A, 1500 A)."""
    parts = CHARGER.format(fuse='marking = "T1AH250V"').replace(
        '"BR1", kind = "bridge",', '"BR1", kind = "bridge", rating = { voltage = "1000 V", current = "1 A" },'
    )
    item = read_text(f'lidoff = 1\nitem = {{ region = "EU" }}\n{parts}', Path("case.toml"))
    found = hazards_of(item)
    assert not found.finding("short-not-cleared")
    assert not found.finding("fuse-cannot-break")


def test_a_fusible_resistor_that_was_seen_is_there_to_open() -> None:
    parts = (
        'part = [{ ref = "R1", kind = "resistor", value = "10R", rating = { power = "1 W" }, nodes = ["live", "a"] },\n'
        '{ ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },\n'
        '{ ref = "C1", kind = "capacitor", value = "4u7", nodes = ["p", "m"] },\n'
        '{ ref = "U1", kind = "converter", power = "3 W", nodes = { plus = "p", minus = "m" } }]\n'
    )
    seen = 'sighting = [{ about = "board-fuse", seen = "fusible resistor" }]\n'
    for extra, fires in (("", True), (seen, False)):
        item = read_text(f'lidoff = 1\nitem = {{ region = "EU" }}\n{extra}{parts}', Path("case.toml"))
        assert bool(hazards_of(item).finding("single-fault-overheats")) == fires


@pytest.mark.parametrize("quantity", ["resistance", "earth_resistance"])
def test_the_earth_of_a_surface_in_ohms(quantity: str) -> None:
    """0.3 ohm is the most to 5 m of cord (DIN VDE 0701-0702)."""
    surface = 'item = { class = "I" }\nsurface = [{ name = "grille", reached = "by hand", node = "earth" }]\n'
    reading = f'reading = [{{ quantity = "{quantity}", value = "OHMS R", at = ["earth", "surface:grille"] }}]\n'
    assert judged("earth-bond-high", surface + reading.replace("OHMS", "0.35"))[0]
    assert judged("earth-bond-high", surface + reading.replace("OHMS", "0.05")) == ([], [])


@pytest.mark.parametrize(("kind", "least"), [("I", 1.0), ("II", 2.0)])
def test_insulation_in_ohms_by_class(kind: str, least: float) -> None:
    """UK in-service code: 1 megohm for class I, 2 for class II."""
    reading = 'reading = [{ quantity = "insulation_resistance", value = "OHMS MR", at = ["live", "surface:shell"] }]\n'
    item = f'item = {{ class = "{kind}" }}\n' + SHELL
    assert judged("insulation-low", item + reading.replace("OHMS", f"{0.9 * least}"))[0]
    assert judged("insulation-low", item + reading.replace("OHMS", f"{1.1 * least}")) == ([], [])
    found, undecided = judged("insulation-low", SHELL + reading.replace("OHMS", "1.5"))
    assert not found
    assert "class II needs 2 MΩ" in undecided[0].needs[0]


def test_what_is_meant_to_be_hot_is_asked_about() -> None:
    plate = SHELL.replace("shell", "sole plate")
    found, undecided = judged("too-hot-to-touch", plate + at("surface:sole plate", 180.0))
    assert not found
    assert "Is sole plate there to be hot" in undecided[0].needs[0]


def test_an_open_string_lets_its_capacitor_rise_to_the_crest() -> None:
    """A dropper without its string charges to the crest of the mains less a little: 325 V at 230 V, whatever the LEDs.

    The short of a class X dropper is none of the faults of IEC 60335-1, 19.11.2 (from memory), that of another one is.
    """
    parts = (
        'part=[{ ref = "R1", kind = "resistor", value = "100R", rating = { power = "1 W" }, nodes = ["live", "a"] },\n'
        '{ ref = "C1", kind = "capacitor", value = "220n", GRADE nodes = ["a", "b"] },\n'
        '{ ref = "BR1", kind = "bridge", nodes = { ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" } },\n'
        '{ ref = "C2", kind = "capacitor", value = "10u", rating = { voltage = "63 V" }, nodes = ["p", "m"] },\n'
        '{ ref = "LED1", kind = "led", series = 12, forward_voltage="3 V", nodes = { anode = "p", cathode = "m" } }]\n'
    )

    def found(grade: str) -> set[str]:
        text = f'lidoff = 1\nitem = {{ region = "EU" }}\n{parts.replace("GRADE", grade)}'
        made = hazards_of(read_text(text, Path("case.toml")))
        bursts = made.finding("single-fault-bursts")
        assert [one.about for one in bursts] == [("C2",)]
        assert "LED1 open: C2 gets 320 V against 63 V, 5.1 times." in bursts[0].because
        return {one.id for one in made.findings}

    assert "single-fault-overheats" not in found('rating = { class = "X2", voltage_ac = "275 V" },')
    assert "single-fault-overheats" in found('rating = { voltage = "630 V" }, marking = "224J630",')


@pytest.mark.parametrize(("grade", "count"), [("Y1", 0), ("Y2", 1), ("X2", 1)])
def test_a_y1_capacitor_may_stand_alone_before_what_is_touched(grade: str, count: int) -> None:
    """IEC 62368-1, 5.5.2: one Y1 bridges reinforced insulation; Y2 only two in a row (from memory)."""
    record = CHARGER.format(fuse='rating = { current = "1 A" }').replace(
        "\n]\n",
        f'\n  {{ ref = "C2", kind = "capacitor", value = "1n", rating = {{ class = "{grade}" }}, '
        'nodes = ["m", "shell"] },\n]\nsurface = [{ name = "shell", reached = "by hand", node = "shell" }]\n',
    )
    felt = [{"what": "shell", "reached": "by hand"}]
    fault = {
        "part": "C2",
        "mode": "short",
        "outcome": "C2 shorted.",
        "severity": 4,
        "overstressed": [],
        "touched": felt,
    }
    findings, _ = judged("single-fault-exposes", record, faults=(fault,))
    assert len(findings) == count
