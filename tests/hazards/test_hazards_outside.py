"""Rules and risk levels against figures from outside: standards' tables, a published example, closed forms."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path

import pytest

from lidoff.account.hazards import facts_of
from lidoff.hazards import Facts, Finding, Step, Undecided, Working, rate, rule
from lidoff.record import read_text
from lidoff.standards.plugs import CORDS
from lidoff.standards.risk import EXAMPLE

STANDARDS = Path(__file__).resolve().parents[1] / "reference" / "standards"


def judged(id: str, record: str, **given: object) -> tuple[list[Finding], list[Undecided]]:
    item = read_text(f"lidoff = 1\n{record}\n", "case.toml")
    return rule(id).judge(Facts(item=item, **given))  # type: ignore[arg-type]


def test_published_example_folding_chair() -> None:
    """2010/15/EU (repeated in (EU) 2019/417), section 6.1: 1 x 1/50 x 1/10 x 1 = 1/500, severity 1, low."""
    steps = [
        Step(what=str(row.key[0]), probability=row.number, origin="published")
        for row in EXAMPLE.rows
        if row.key[0] not in ("severity", "level")
    ]
    risk = rate(steps, int(EXAMPLE.number("severity")))
    assert len(steps) == 4
    assert risk.probability == pytest.approx(1 / 500)
    assert risk.level == EXAMPLE.row("level").value == "low"
    assert not risk.flips, "published steps are taken as they stand"


def test_level_that_flips_is_said() -> None:
    """1/4000 at severity 3 is high, its neighbours medium and serious ((EU) 2024/3173, Annex II, 3.6.2)."""
    steps = [Step(what="a", probability=1 / 50), Step(what="b", probability=1 / 80)]
    risk = rate(steps, 3)
    assert (risk.level, risk.low, risk.high) == ("high", "medium", "serious")
    # Two steps each off by 3: the logarithms add as squares.
    assert risk.factor == pytest.approx(math.exp(math.sqrt(2.0) * math.log(3.0)))
    assert risk.flips
    assert "between medium and serious" in risk.words


@pytest.mark.parametrize("row", list(csv.DictReader((STANDARDS / "creepage.csv").read_text().splitlines())))
def test_creepage_rule_turns_at_each_row(row: dict[str, str]) -> None:
    """IEC 60664-1 Table F.5, pollution degree 2, group III: a hair less is found, a hair more is not."""
    names = list(row)
    volts, need = float(row[names[0]]), float(row["2 III"])

    def found(millimetres: float) -> list[Finding]:
        gap = f'gap = [{{ between = ["p", "m"], creepage = "{millimetres:.4f} mm", insulation = "basic" }}]'
        return judged(
            "creepage-too-small", gap, working=(Working(between=("p", "m"), rms=volts, peak=volts * math.sqrt(2.0)),)
        )[0]

    assert found(0.99 * need)
    assert not found(1.01 * need)


@pytest.mark.parametrize(
    ("region", "insulation", "need"),
    [("GB", "basic", 1.5), ("GB", "reinforced", 3.0), ("US", "basic", 0.5), ("US", "reinforced", 1.5)],
)
def test_clearance_by_region(region: str, insulation: str, need: float) -> None:
    """IEC 60664-1 Tables F.1 and F.2: category II at 300 V takes 2500 V, at 150 V 1500 V; reinforced the next step."""

    def found(millimetres: float) -> list[Finding]:
        return judged(
            "clearance-too-small",
            f'item = {{ region = "{region}" }}\ngap = [{{ between = ["live", "x"], clearance = "{millimetres} mm", '
            f'insulation = "{insulation}" }}]',
        )[0]

    assert found(need - 0.02)
    assert not found(need)


def test_appliance_creepage_is_not_interpolated() -> None:
    """IEC 60335-1 Table 17 has 5 mm for reinforced insulation at 230 V, where IEC 60664-1 comes to 4.6 mm."""
    gap = 'gap = [{ between = ["live", "x"], creepage = "4.8 mm", insulation = "reinforced", pollution_degree = 2 }]'
    working = (Working(between=("live", "x"), rms=230.0, peak=325.0),)
    for kind, fires in (("appliance", True), ("dimmer", False)):
        record = f'item = {{ region = "EU", kind = "{kind}" }}\n{gap}'
        assert bool(judged("creepage-too-small", record, working=working)[0]) == fires


def test_creepage_is_never_less_than_clearance() -> None:
    """IEC 60664-1, 5.3: pollution degree 1 asks for 0.52 mm along the surface, and 1.5 mm through air at 230 V."""
    working = (Working(between=("live", "x"), rms=230.0, peak=325.0),)
    record = (
        'item = { region = "EU" }\ngap = [{ between = ["live", "x"], creepage = "1.2 mm", insulation = "basic", '
        "pollution_degree = 1 }]"
    )
    findings, _ = judged("creepage-too-small", record, working=working)
    assert "never less than the clearance, 1.5 mm" in findings[0].because[0]


@pytest.mark.parametrize("print", ["2x0.5mm2", "2X0.5mm²", "H03VVH2-F 2X0.5", "2x0,5 mm²"])
def test_prints_of_cords_are_read(print: str) -> None:
    """However half a square millimetre is printed, 13 A is too much for it."""
    record = (
        f'item = {{ region = "GB" }}\nplug = {{ kind = "BS 1363", fuse = "13 A" }}\n'
        f'wire = [{{ ref = "W1", print = "{print}", from = "plug" }}]'
    )
    assert judged("plug-fuse-too-big-for-cord", record)[0]


@pytest.mark.parametrize("area", [float(area) for area in CORDS.axis(0) if CORDS.get(area, "largest fuse") is not None])
@pytest.mark.parametrize("fuse", [3.0, 5.0, 13.0])
def test_fuse_against_cord(area: float, fuse: float) -> None:
    """BS 1363 Table 2 row by row: 3 A on 0.5 mm2, 13 A from 0.75 mm2 on; practice 5 A on 0.75 mm2."""
    record = (
        f'item = {{ region = "GB" }}\nplug = {{ kind = "BS 1363", fuse = "{fuse:g} A" }}\n'
        f'wire = [{{ ref = "W1", print = "3G{area:g}mm2", from = "plug" }}]'
    )
    assert bool(judged("plug-fuse-too-big-for-cord", record)[0]) == (area == 0.5 and fuse > 3.0)
    assert bool(judged("plug-fuse-above-practice", record)[0]) == (area == 0.75 and fuse > 5.0)


@pytest.mark.parametrize("row", list(csv.DictReader((STANDARDS / "conductor_resistance.csv").read_text().splitlines())))
def test_conductor_by_each_row(row: dict[str, str]) -> None:
    """IEC 60228 class 5: at the table's resistance nothing, a fifth over it a finding, whatever the size."""
    area, limit = float(row[next(iter(row))]), float(row["5/6 plain"])

    def found(per_km: float) -> tuple[list[Finding], list[Undecided]]:
        return judged(
            "conductor-too-thin",
            f'wire = [{{ ref = "W1", print = "2x{area:g}mm2", length = "10 m", '
            f'resistance = {{ value = "{per_km / 100:.6f} R", method = "one core, four-wire" }} }}]',
        )

    assert found(0.99 * limit) == ([], [])
    assert found(1.2 * limit)[0]
    assert found(1.05 * limit)[1], "within the doubt of length and temperature"


def test_thin_copper_is_not_called_another_metal() -> None:
    """0.11 ohm over 1.4 m and 2.4 g/m: a quarter of a square millimetre of copper, sold as a half."""
    wire = (
        'wire = [{ ref = "W1", print = "2x0.5mm2", length = "1.4 m", mass = "2.4 g/m", core = "copper", '
        'told_by = ["scraped", "weighed"], resistance = { value = "0.11 R", method = "1 A and millivolts" } }]'
    )
    thin, _ = judged("conductor-too-thin", wire)
    assert thin
    assert "0.27 mm²" in " ".join(thin[0].because)
    assert judged("core-not-copper", wire) == ([], [])


def test_ohms_alone_never_name_the_metal() -> None:
    """Resistance of any size, without mass or scraping, leaves the metal open."""
    for ohms in (0.01, 0.05, 0.11, 0.5, 5.0):
        findings, undecided = judged(
            "core-not-copper",
            f'wire = [{{ ref = "W1", print = "2x0.5mm2", length = "1.4 m", '
            f'resistance = {{ value = "{ohms} R", method = "one core, four-wire" }} }}]',
        )
        assert not findings
        assert undecided


CHARGER = """item = { region = "EU", kind = "appliance" }
supply = { voltage = "230 V", frequency = "50 Hz" }
part = [
  { ref = "F1", kind = "fuse", rating = "1 A", nodes = ["live", "a"] },
  { ref = "C1", kind = "capacitor", value = "CAP", marking = "X2", nodes = ["a", "neutral"] },
  BLEED
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C2", kind = "capacitor", value = "10u", nodes = ["p", "m"] },
  { ref = "R9", kind = "resistor", value = "47k", rating = { power = "5 W" }, nodes = ["p", "m"] },
]"""


@pytest.mark.parametrize(
    ("farads", "ohms", "fires"),
    [
        ("330n", "1M", False),  # 34 V after 0.7452 s from the crest, by the exponential
        ("330n", "1.5M", True),  # 1.118 s
        ("100n", None, False),  # up to 0.1 uF is exempt
        ("220n", None, True),
    ],
)
def test_discharge_against_the_exponential(farads: str, ohms: str | None, fires: bool) -> None:
    """34 V a second after unplugging (IEC 60335-1, 22.5), with the plug pulled in the solved circuit."""
    bleed = f'{{ ref = "R1", kind = "resistor", value = "{ohms}", nodes = ["a", "neutral"] }},' if ohms else ""
    facts = facts_of(read_text("lidoff = 1\n" + CHARGER.replace("CAP", farads).replace("BLEED", bleed), "case.toml"))
    findings, undecided = rule("pins-stay-charged").judge(facts)
    assert not undecided
    assert bool(findings) == fires
    if ohms == "1M":
        assert facts.unplugged is not None
        assert facts.unplugged.pins.to_34 == pytest.approx(0.7452, rel=0.01)


def test_touch_current_of_two_y_capacitors() -> None:
    """Two equal Y capacitors from the mains to a shell: U·ω·C flows through a body that is small against them."""
    record = """lidoff = 1
item = { class = "II", kind = "appliance", region = "EU" }
supply = { voltage = "230 V", frequency = "50 Hz", resistance = "0.4 R" }
part = [
  { ref = "H1", kind = "heater", power = "100 W", voltage = "230 V", nodes = ["live", "neutral"] },
  { ref = "C1", kind = "capacitor", value = "4n7", rating = { class = "Y2" }, nodes = ["live", "shell"] },
  { ref = "C2", kind = "capacitor", value = "4n7", rating = { class = "Y2" }, nodes = ["neutral", "shell"] },
]
surface = [{ name = "shell", reached = "by hand", node = "shell" }]
"""
    facts = facts_of(read_text(record, "case.toml"))
    expected = 230.0 * 2.0 * math.pi * 50.0 * 4.7e-9
    assert facts.touched[0].touch.current_rms == pytest.approx(expected, rel=0.01)
    findings, _ = rule("touch-current-too-high").judge(facts)
    assert "0.34 mA rms; 0.25 mA is the limit" in findings[0].because[0]
    assert rule("live-surface").judge(facts) == ([], [])


def test_chosen_step_counts_as_given() -> None:
    """A probability that the user chose replaces ours, is marked, and is taken as it stands."""
    bad = rule("cord-grip-missing").bad.facts()
    chosen = replace(bad, chosen={"cord-grip-missing.1": 1e-4})
    before, after = (rule("cord-grip-missing").judge(facts)[0][0].risk for facts in (bad, chosen))
    assert after.steps[0].origin == "chosen"
    assert after.probability == pytest.approx(before.probability * 1e-4 / 0.3)
    assert after.factor < before.factor


def test_finding_without_evidence_cannot_be_built() -> None:
    """A finding stands on evidence, a reason and a basis, or not at all."""
    good = rule("cord-grip-missing").judge(rule("cord-grip-missing").bad.facts())[0][0]
    for field in ("evidence", "because", "basis"):
        with pytest.raises(ValueError, match=f"has no {field}"):
            replace(good, **{field: ()})
    with pytest.raises(ValueError, match="has no evidence"):
        replace(good, evidence=(" ",))


def _warm_resistor(marking: str) -> tuple[list[Finding], list[Undecided]]:
    """R1 of 10 kohm across 230 V takes 5.29 W (Ohm's law); the whole chain from print to finding."""
    marked = f'marking = "{marking}", ' if marking else ""
    part = f'{{ ref = "R1", kind = "resistor", value = "10k", {marked}nodes = ["live", "neutral"] }}'
    item = read_text(f'lidoff = 1\nsupply = {{ voltage = "230 V" }}\npart = [{part}]\n', "case.toml")
    return rule("resistor-over-power").judge(facts_of(item))


def test_a_printed_rating_is_judged_like_a_written_one() -> None:
    """Bad: 2 W printed. Good: 7 W printed. Undecided: nothing printed, and a quarter of a watt is a guess."""
    found, undecided = _warm_resistor("10K 2W")
    assert [one.id for one in found] == ["resistor-over-power"]
    assert "R1 rating, from its marking: 2.00 W" in found[0].evidence
    assert undecided == []
    assert _warm_resistor("10K 7W") == ([], [])
    found, undecided = _warm_resistor("")
    assert found == []
    assert "rating of R1 for power" in undecided[0].needs[0]


def test_a_printed_temperature_is_judged_like_a_written_one() -> None:
    """IEC 60384-4 habit: 85 and 105 °C are the two grades that are printed (from memory)."""

    def at_97(marking: str) -> tuple[list[Finding], list[Undecided]]:
        part = f'{{ ref = "C1", kind = "capacitor", value = "4u7", {marking}nodes = ["live", "neutral"] }}'
        read = '{ quantity = "temperature", value = "97 °C", at = "C1" }'
        return judged("part-over-temperature", f"part = [{part}]\nreading = [{read}]")

    found, undecided = at_97('marking = "4u7 400V 85°C", ')
    assert "C1 rating, from its marking: 85 °C" in found[0].evidence
    assert undecided == []
    assert at_97('marking = "4u7 400V 105°C", ') == ([], [])
    found, undecided = at_97("")
    assert (found, len(undecided)) == ([], 1)


def test_a_glow_is_not_judged_for_slow_flicker() -> None:
    """An open switch of 100 Mohm leaves 3 uA of 50 Hz behind one diode: by numbers all swing, to the eye nothing."""
    record = """item = { kind = "luminaire" }
part = [
  { ref = "S1", kind = "switch", closed = CLOSED, nodes = ["live", "a"] },
  { ref = "R1", kind = "resistor", value = "4k7", nodes = ["a", "b"] },
  { ref = "D1", kind = "diode", nodes = { anode = "b", cathode = "c" } },
  { ref = "LED1", kind = "led", series = 30, forward_voltage = "3 V", nodes = { anode = "c", cathode = "neutral" } },
]
"""

    def found(closed: str) -> list[Finding]:
        item = read_text(f"lidoff = 1\n{record.replace('CLOSED', closed)}", "case.toml")
        return rule("flicker-below-90-hz").judge(facts_of(item))[0]

    assert len(found("true")) == 1
    assert found("false") == []
