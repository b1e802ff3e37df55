"""Recognition on whole circuits: the five reference circuits and the invented records of tests/reference/groups."""

from __future__ import annotations

import time
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

import lidoff
from lidoff.circuit import Circuit, Element, build, with_values
from lidoff.circuit.groups import Groups, recognise
from lidoff.record import read_text

REFERENCE = Path(__file__).resolve().parents[1] / "reference"
EXPECTED = tomllib.loads((REFERENCE / "groups" / "expected.toml").read_text(encoding="utf-8"))
FIVE = {
    "bulk_charger": {
        "input-stage": ["R1"],
        "bridge-rectifier": ["BR1"],
        "capacitor-input": ["BR1", "C1"],
        "converter-front-end": ["BR1", "C1", "U1"],
    },
    "dimmer_lamp": {
        "phase-control": ["C1", "D1", "Q1", "R1", "VR1"],
        "snubber": ["C2", "Q1", "R2"],
        "load": ["R9"],
    },
    "dropper": {
        "capacitor-dropper": ["BR1", "C1", "R1", "R2"],
        "bridge-rectifier": ["BR1"],
        "capacitor-input": ["BR1", "C2"],
        "led-string": ["LED1"],
    },
    "regulator_lamp": {
        "bridge-rectifier": ["BR1"],
        "capacitor-input": ["BR1", "C1"],
        "current-source": ["U1"],
        "led-string": ["LED1", "U1"],
    },
    "strip": {"bridge-rectifier": ["BR1"], "led-string": ["LED1"], "ballast": ["LED1", "R1"]},
}


def circuit_of(name: str) -> Circuit:
    folder = "cycle" if name in FIVE else "groups"
    return build(lidoff.open(REFERENCE / folder / f"{name}.toml"))


def groups_of(name: str) -> Groups:
    return recognise(circuit_of(name))


def wanted(table: dict[str, list[str] | list[list[str]]]) -> list[tuple[str, tuple[str, ...]]]:
    rows = []
    for name, refs in table.items():
        if name != "unexplained":
            several = refs if isinstance(refs[0], list) else [refs]
            rows += [(name, tuple(one)) for one in several]
    return sorted(rows)


@pytest.mark.parametrize("name", [*FIVE, *EXPECTED])
def test_a_circuit_reads_as_a_practitioner_reads_it(name: str) -> None:
    """All groups, with all their parts, and what is left over (tests/reference/groups/expected.toml)."""
    groups = groups_of(name)
    table = FIVE.get(name) or EXPECTED[name]
    assert sorted((group.name, group.refs) for group in groups.best) == wanted(table)
    assert groups.unexplained == tuple(table.get("unexplained", ()))


def test_there_are_twenty_circuits_and_each_record_has_its_answer() -> None:
    records = {path.stem for path in (REFERENCE / "groups").glob("*.toml")} - {"expected"}
    assert records == set(EXPECTED)
    assert len(records) >= 20


def test_what_is_left_over_is_said_in_a_sentence() -> None:
    groups = groups_of("aquarium_light_with_riddle")
    assert groups.sentence == "These three parts belong to nothing I know: Q1, R2 and R3."
    assert groups_of("strip").sentence == ""
    one = recognise(
        build(
            read_text(
                "lidoff = 1\npart = [\n"
                '  { ref = "VR1", kind = "potentiometer", value = "1k", nodes = { a = "live", wiper = "a" } },\n'
                '  { ref = "EH1", kind = "heater", power = "5 W", voltage = "230 V", nodes = ["a", "neutral"] },\n]\n',
                "x.toml",
            )
        )
    )
    assert one.sentence == "This one part belongs to nothing I know: VR1."


def test_a_dimmer_that_charges_through_a_string_says_so() -> None:
    """The lesson of the dimmed strip: string voltage, the angle it costs, and the dead travel to expect."""
    groups = groups_of("shelf_light_on_dimmer")
    (dimmer,) = groups.named("phase-control")
    assert dimmer.roles["LED1"] == "in the charging path"
    assert dimmer.shared == ("LED1",)
    # 40 LEDs of 2.9 V and two diodes; 120 V mains has a peak of 169.7 V; arcsin of their ratio.
    assert dimmer.figures["string voltage in the charging path"] == (pytest.approx(117.4, abs=0.1), "V")
    assert dimmer.figures["mains peak"] == (pytest.approx(169.7, abs=0.1), "V")
    assert dimmer.figures["angle at which charging can begin"] == (pytest.approx(43.8, abs=0.1), "deg")
    said = " ".join(dimmer.remarks)
    assert "C1 charges through the LED string LED1" in said
    assert "44° into the half-cycle" in said


@pytest.mark.parametrize("name", ["hall_light_three_wire", "bedside_dimmer_two_stages", "dimmer_lamp"])
def test_a_dimmer_that_does_not_charge_through_a_string_does_not_say_so(name: str) -> None:
    """A third wire goes round the string; a lamp lets current through at once."""
    (dimmer,) = groups_of(name).named("phase-control")
    assert "string voltage in the charging path" not in dimmer.figures
    assert "LED string" not in " ".join(dimmer.remarks)


def test_a_string_beyond_the_mains_peak_is_said_to_be() -> None:
    circuit = with_values(circuit_of("shelf_light_on_dimmer"), {"LED1.series": 70.0})
    (dimmer,) = recognise(circuit).named("phase-control")
    assert any("more than the mains peak" in remark for remark in dimmer.remarks)


def test_a_smoothing_capacitor_beside_the_string_is_mentioned() -> None:
    circuit = circuit_of("shelf_light_on_dimmer")
    extra = Element(ref="C9", kind="capacitor", nodes=("p", "m"), values=type(circuit.alias)(value=10e-6, esr=0.0))
    (dimmer,) = recognise(replace(circuit, elements=(*circuit.elements, extra))).named("phase-control")
    assert any("smoothing capacitor beside the string" in remark for remark in dimmer.remarks)


def test_a_knob_without_end_resistor_is_warned_about() -> None:
    (dimmer,) = groups_of("fan_dimmer_no_end_resistor").named("phase-control")
    assert any(remark.startswith("No fixed resistor was found in a row with VR1") for remark in dimmer.remarks)
    assert dimmer.figures["shortest time constant"] == (0.0, "s")
    (other,) = groups_of("shelf_light_on_dimmer").named("phase-control")
    assert not any("No fixed resistor" in remark for remark in other.remarks)
    assert other.having("end resistor") == ("R1",)


def test_two_time_constants_are_told_apart() -> None:
    """R1 lies across the knob, R2 is the end resistor, R3 and C3 the second stage: 470 k beside 1 M, 4k7, 68 n."""
    (dimmer,) = groups_of("bedside_dimmer_two_stages").named("phase-control")
    assert "two time constants" in dimmer.title
    assert dimmer.roles["R1"] == "resistor across the knob"
    assert dimmer.roles["R2"] == "end resistor"
    assert dimmer.roles["R3"] == "second-stage resistor"
    assert dimmer.roles["C2"] == "first timing capacitor"
    assert dimmer.roles["C3"] == "second timing capacitor"
    assert dimmer.figures["shortest time constant"][0] == pytest.approx(4.7e3 * 68e-9)
    assert dimmer.figures["longest time constant"][0] == pytest.approx((4.7e3 + 470e3 / 1.47) * 68e-9)


def test_the_misread_snubber_is_pointed_at() -> None:
    groups = groups_of("shelf_light_misread_snubber")
    (pair,) = groups.named("no-snubber")
    assert pair.remarks == (
        "A 150 kΩ snubber resistor is a thousand times the usual (about 100 Ω): measure R2 with a leg lifted before "
        "you "
        "publish; one misread band gives 150 Ω.",
    )
    assert not groups.named("snubber")


def test_overlapping_readings_are_ranked() -> None:
    """The pumped supply may be a dropper or a doubler; a small first capacitor makes it a dropper first."""
    groups = groups_of("insect_trap_pump")
    readings = [group for group in groups.of("C1") if "C1" in group.own]
    assert [(group.name, group.rank) for group in readings] == [("capacitor-dropper", 1), ("voltage-doubler", 2)]
    large = recognise(with_values(circuit_of("insect_trap_pump"), {"C1.value": 22e-6}))
    assert next(group.name for group in large.of("C1") if "C1" in group.own) == "voltage-doubler"


@pytest.mark.parametrize(
    ("name", "pole"),
    [("shelf_light_on_dimmer", "live"), ("ceiling_fan_capacitor", "neutral"), ("drill_control", "both")],
)
def test_the_switch_names_the_pole_that_it_breaks(name: str, pole: str) -> None:
    (switch,) = groups_of(name).named("mains-switch")
    assert f"breaks {'both poles' if pole == 'both' else f'the {pole} pole'}" in switch.title


def test_a_part_may_be_in_two_groups_but_is_the_own_part_of_one() -> None:
    groups = groups_of("bulk_charger")
    assert [(group.name, "C1" in group.own) for group in groups.of("C1")] == [
        ("capacitor-input", True),
        ("converter-front-end", False),
    ]


def test_a_state_on_a_bench_supply_is_read_without_mains() -> None:
    """The reference strip alone on 200 V dc: its string and ballast remain, and nothing is said of mains."""
    text = (REFERENCE / "cycle" / "strip.toml").read_text(encoding="utf-8")
    text += (
        '[[state]]\nname = "bench"\nremove = ["BR1"]\nsupply = { dc = "200 V", limit = "10 mA", nodes = ["p", "m"] }\n'
    )
    groups = recognise(build(read_text(text, "strip.toml"), "bench"))
    assert sorted(group.name for group in groups.best) == ["ballast", "led-string"]
    assert not any("mains" in name for group in groups.groups for name in group.figures)


def crowd() -> Circuit:
    """Forty parts on one plug: four of the records side by side, their nodes and refs kept apart."""
    parts: list[Element] = []
    circuit = circuit_of("strip")
    for k, name in enumerate(
        ("shelf_light_on_dimmer", "plug_in_charger", "night_light_with_zener", "tube_lamp_valley_fill")
    ):
        circuit = circuit_of(name)
        for element in circuit.elements:
            nodes = tuple(n if n in ("live", "neutral", "earth", None) else f"{n}{k}" for n in element.nodes)
            parts.append(replace(element, ref=f"{element.ref}{k}", nodes=nodes))
    return replace(circuit, elements=tuple(parts[:40]))


def test_forty_parts_take_less_than_fifty_milliseconds() -> None:
    """The fastest of ten, for the machine has other work too; the groups are those of the four items."""
    circuit = crowd()
    assert len(circuit.elements) == 40
    spent = []
    for _ in range(10):
        begin = time.perf_counter()
        groups = recognise(circuit)
        spent.append(time.perf_counter() - begin)
    assert min(spent) < 0.050
    assert {"phase-control", "converter-front-end", "capacitor-dropper", "snubber"} <= {g.name for g in groups.best}


def test_sixty_parts_in_one_string_stay_quick() -> None:
    """Thirty LEDs with a resistor behind each: one string, its ballast spread along it."""
    text = 'lidoff = 1\npart = [\n  { ref = "D1", kind = "diode", nodes = { anode = "live", cathode = "n0" } },\n'
    for k in range(30):
        end = "neutral" if k == 29 else f"n{k + 1}"
        pins = f'{{ anode = "n{k}", cathode = "m{k}" }}'
        text += f'  {{ ref = "LED{k + 1}", kind = "led", forward_voltage = "3 V", nodes = {pins} }},\n'
        text += f'  {{ ref = "R{k + 1}", kind = "resistor", value = "150R", nodes = ["m{k}", "{end}"] }},\n'
    circuit = build(read_text(text + "]\n", "x.toml"))
    spent = []
    for _ in range(3):
        begin = time.perf_counter()
        groups = recognise(circuit)
        spent.append(time.perf_counter() - begin)
    assert len(groups.named("led-string")[0].own) == 30
    assert groups.named("ballast")[0].title == "ballast resistors spread along the string"
    assert groups.named("ballast")[0].figures["resistance"][0] == pytest.approx(4500.0)
    assert min(spent) < 0.5
