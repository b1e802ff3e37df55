"""Verdicts: the contract's rules, the mains nobody read, what the meter explains."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from tests.readings.records import CHARGER, HALF_WAVE, HEATER, MEASURED, UNREAD, item_of, reading

import lidoff
from lidoff.readings import Judged, judge
from lidoff.record import Item


def only(item: Item) -> Judged:
    (judged,) = judge(item).readings
    return judged


def strip_figures(folder: Path) -> dict[str, float]:
    """The strip's input figures in the state in which the mains was measured."""
    figures: dict[str, float] = lidoff.solve(item_of(folder), state="full").figures()["input"]
    return figures


def test_sigma_is_half_width_over_root_three(tmp_path: Path) -> None:
    """Share and floor add to the half-width of a rectangular distribution (contract; JCGM 100, 4.3.7)."""
    judged = only(item_of(tmp_path, reading("power", "8.1 W")))
    assert judged.sigma == pytest.approx((0.01 * 8.1 + 0.2) / math.sqrt(3.0), rel=1e-9)


def test_about_makes_the_last_digit_doubtful(tmp_path: Path) -> None:
    """ "about 8 W" adds its last digit as a second rectangular doubt."""
    judged = only(item_of(tmp_path, reading("power", "about 8 W")))
    assert judged.sigma == pytest.approx(math.hypot(0.28, 1.0) / math.sqrt(3.0), rel=1e-9)


def test_coarse_display_counts(tmp_path: Path) -> None:
    """A display that shows whole watts cannot be more accurate than half of one."""
    meters = '[[meter]]\nname = "coarse"\nkind = "power-meter"\n'
    meters += 'accuracy = { power = "1 %" }\nresolution = { power = "1 W" }\n'
    judged = only(item_of(tmp_path, meters, reading("power", "8 W", "coarse")))
    assert judged.sigma == pytest.approx(0.5 / math.sqrt(3.0), rel=1e-9)


@pytest.mark.parametrize(
    ("times", "verdict"), [(0.0, "agrees"), (1.8, "agrees"), (2.5, "doubtful"), (3.5, "contradicts")]
)
def test_two_and_three_u(tmp_path: Path, times: float, verdict: str) -> None:
    """Agrees within 2u, doubtful to 3u, contradicts beyond, u from meter, parts and mains together."""
    judged = only(item_of(tmp_path, reading("power", "9.0 W")))
    assert judged.computed is not None
    assert judged.u is not None
    # The meter's own part changes a little with the reading: found by going there.
    value = judged.computed
    for _ in range(20):
        u = math.hypot(judged.u, (0.01 * value + 0.2) / math.sqrt(3.0))
        value = judged.computed + times * u
    assert only(item_of(tmp_path, reading("power", f"{value:.6f} W"))).verdict == verdict


def test_computed_value_is_that_of_the_figures(tmp_path: Path) -> None:
    """What `readings` holds a reading against is what `figures` prints."""
    figures = strip_figures(tmp_path)
    item = item_of(
        tmp_path,
        reading("power", "9 W"),
        reading("current", "45 mA"),
        reading("power_factor", "0.9"),
        reading("apparent_power", "10 VA"),
    )
    found = [one.computed for one in judge(item).readings]
    assert found == pytest.approx([figures[k] for k in ("power", "current_rms", "power_factor", "apparent_power")])


def test_u_without_the_meter_of_a_resistor(tmp_path: Path) -> None:
    """P = V²/R: u(P)/P = sqrt(4 u²(V)/V² + u²(R)/R²), each rectangular (closed form, JCGM 100, 5.1.6)."""
    judged = only(item_of(tmp_path, reading("power", "108 W"), parts=HEATER))
    expected = math.sqrt(4.0 * 0.01**2 / 3.0 + 0.02**2 / 3.0) * 108.88
    assert judged.u == pytest.approx(expected, rel=0.02)
    assert judged.low95 == pytest.approx(judged.computed - 2.0 * expected, rel=5e-3)


@pytest.mark.parametrize("quantity", ["power", "current", "apparent_power", "current_peak"])
def test_without_volts_nothing_can_be_told(tmp_path: Path, quantity: str) -> None:
    """Where nobody read the mains voltage, a verdict on power or current is at best cannot-tell, even when it fits."""
    value = {"power": "8.0 W", "current": "40 mA", "apparent_power": "9 VA", "current_peak": "70 mA"}[quantity]
    judgement = judge(item_of(tmp_path, reading(quantity, value, state="unread")))
    assert judgement.readings[0].verdict == "cannot-tell"
    assert "Nobody read the mains voltage" in judgement.readings[0].why
    first = judgement.next[0]
    assert (first.quantity, first.at, first.state) == ("voltage", "input", "unread")
    assert first.gain > 0.5


def test_the_why_shows_what_ten_percent_of_mains_do(tmp_path: Path) -> None:
    """±10 % of mains moves an unsmoothed string's power by about ±40 %: the sentence shows the numbers."""
    judged = only(item_of(tmp_path, reading("power", "8.0 W", state="unread")))
    nominal = lidoff.solve(item_of(tmp_path), state="unread").figures()["input"]["power"]
    ends = [
        lidoff.solve(item_of(tmp_path), state="unread", changes={"supply.voltage": volts}).figures()["input"]["power"]
        for volts in (207.0, 253.0)
    ]
    assert f"{ends[0]:.3g}" in judged.why
    assert f"{ends[1]:.3g}" in judged.why
    assert 0.3 < 1.0 - ends[0] / nominal < 0.5
    assert 0.3 < ends[1] / nominal - 1.0 < 0.6


def test_far_off_without_volts_is_said(tmp_path: Path) -> None:
    """A value outside of all that the mains allows stays cannot-tell, but the sentence says so."""
    judged = only(item_of(tmp_path, reading("power", "40 W", state="unread")))
    assert judged.verdict == "cannot-tell"
    assert "outside even of that" in judged.why


def test_a_reading_of_the_volts_serves(tmp_path: Path) -> None:
    """A voltage read in that state stands for the mains: power is then judged at that voltage."""
    at_243 = lidoff.solve(item_of(tmp_path), state="unread", changes={"supply.voltage": 243.0}).figures()["input"][
        "power"
    ]
    item = item_of(
        tmp_path, reading("power", f"{at_243:.3f} W", state="unread"), reading("voltage", "243 V", state="unread")
    )
    power, volts = judge(item).readings
    assert power.verdict == "agrees"
    assert power.computed == pytest.approx(at_243, rel=2e-3)
    assert volts.verdict == "agrees"
    assert volts.computed == pytest.approx(230.0)


def test_a_power_factor_needs_no_volts(tmp_path: Path) -> None:
    """A power factor hardly hangs on the volts: it can be judged without them."""
    assert only(item_of(tmp_path, reading("power_factor", "0.91", state="unread"))).verdict == "agrees"


def test_power_factor_story(tmp_path: Path) -> None:
    """Displacement is 1.00 and distortion alone lowers the factor: the meter reports the true one."""
    judged = only(item_of(tmp_path, reading("power_factor", "0.91")))
    assert "displacement factor of 1.00" in judged.why
    assert "true power factor" in judged.why


def test_too_vague_to_tell(tmp_path: Path) -> None:
    """Where u without the meter exceeds a fifth of the computed value the verdict is cannot-tell."""
    parts = HEATER.replace("2 %", "60 %")
    judged = only(item_of(tmp_path, reading("power", "108 W"), parts=parts))
    assert judged.u is not None
    assert judged.computed is not None
    assert judged.u > 0.2 * judged.computed
    assert judged.verdict == "cannot-tell"
    assert "the parts" in judged.why


def test_plainly_wrong_is_called_so(tmp_path: Path) -> None:
    """Twice the power contradicts, with the distance in u."""
    judged = only(item_of(tmp_path, reading("power", "20 W")))
    assert judged.verdict == "contradicts"
    assert "times u" in judged.why


# What the meter makes of the wave -----------------------------------------------------------------------------------


def test_averaging_meter_on_pulses(tmp_path: Path) -> None:
    """An averaging meter on a charger's pulses shows far too little: that reading agrees, and the sentence says why."""
    item = item_of(tmp_path, reading("current", "30 mA", "old meter"), parts=CHARGER)
    judged = only(item)
    assert judged.true is not None
    assert judged.computed is not None
    assert judged.computed < 0.65 * judged.true
    again = only(item_of(tmp_path, reading("current", f"{judged.computed} A", "old meter"), parts=CHARGER))
    assert again.verdict == "agrees"
    assert f"{1.0 - judged.computed / judged.true:.0%}".replace("%", " % low") in again.why


def test_true_value_on_an_averaging_meter_contradicts(tmp_path: Path) -> None:
    """A meter of that kind cannot have shown the true value."""
    true = only(item_of(tmp_path, reading("current", "30 mA", "old meter"), parts=CHARGER)).true
    judged = only(item_of(tmp_path, reading("current", f"{true} A", "old meter"), parts=CHARGER))
    assert judged.verdict == "contradicts"
    assert "rms of everything" in judged.why


def test_clamp_loses_the_mean_of_a_half_wave(tmp_path: Path) -> None:
    """A half-wave of peak I has rms I/2 and, less its mean I/pi, I sqrt(1/4 - 1/pi²) (closed form)."""
    judged = only(item_of(tmp_path, reading("current", "130 mA", "clamp"), parts=HALF_WAVE))
    assert judged.true is not None
    assert judged.computed is not None
    assert judged.computed / judged.true == pytest.approx(2.0 * math.sqrt(0.25 - 1.0 / math.pi**2), rel=5e-3)
    assert "no mean" in judged.why


@pytest.mark.parametrize("with_mean", [True, False])
def test_either_coupling_of_a_hand_meter_is_allowed(tmp_path: Path, with_mean: bool) -> None:
    """Volts on a smoothed rail: a hand meter may take the mean in or leave it out; either is said."""
    seen = only(item_of(tmp_path, reading("voltage", "250 V", "hand meter", at=["p", "m"])))
    assert seen.true is not None
    assert seen.computed is not None
    assert seen.computed < 0.6 * seen.true
    value = seen.true if with_mean else seen.computed
    judged = only(item_of(tmp_path, reading("voltage", f"{value} V", "hand meter", at=["p", "m"])))
    assert judged.verdict == "agrees"
    assert ("takes the mean in" in judged.why) == with_mean


def test_crest_factor_beyond_the_limit(tmp_path: Path) -> None:
    """A crest factor beyond the meter's limit widens what it may show, and is said."""
    meters = '[[meter]]\nname = "small"\nkind = "power-meter"\naccuracy = { current = "1 %" }\ncrest_factor_limit = 2\n'
    judged = only(item_of(tmp_path, meters, reading("current", "60 mA", "small"), parts=CHARGER))
    assert "crest factor" in judged.why


def test_meters_input_resistance_loads_the_circuit(tmp_path: Path) -> None:
    """A 150 kohm voltmeter on a 100 V divider of two 100 kohm: 100 x (60/160) = 37.5 V, not 50 V (closed form)."""
    parts = "\n".join(
        f'[[part]]\nref = "R{k}"\nkind = "resistor"\nvalue = "100k"\nnodes = {nodes}\n'
        for k, nodes in ((1, '["live", "t"]'), (2, '["t", "neutral"]'))
    )
    meters = (
        '[[meter]]\nname = "pointer"\nkind = "multimeter-true-rms"\naccuracy = { voltage_ac = "1 %" }\n'
        'input_resistance = "150k"\n'
    )
    states = '[[state]]\nname = "full"\nsupply = { voltage = "100 V", measured = true }\n'
    judged = only(
        item_of(tmp_path, meters, reading("voltage_ac", "37.5 V", "pointer", at="R2"), parts=parts, states=states)
    )
    assert judged.computed == pytest.approx(37.5, rel=1e-3)
    assert judged.verdict == "agrees"


# Places and quantities ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("quantity", "value", "at"),
    [
        ("voltage_dc", "220 V", ["p", "m"]),
        ("voltage", "70 V", "R1"),
        ("current_dc", "35 mA", "LED1"),
        ("power", "3 W", "R1"),
        ("percent_flicker", "100 %", "LED1"),
        ("frequency", "50 Hz", "input"),
        ("thd", "0.46", "input"),
        ("crest_factor", "1.8", "input"),
        ("displacement_factor", "1.0", "input"),
        ("reactive_power", "4 var", "input"),
        ("voltage_peak", "340 V", ["p", "m"]),
    ],
)
def test_quantities_at_places_are_computed(tmp_path: Path, quantity: str, value: str, at: object) -> None:
    """Readings at the input, at parts and between nodes each have a computed value."""
    judged = only(item_of(tmp_path, reading(quantity, value, None, at=at)))
    assert judged.computed is not None
    assert judged.verdict in ("agrees", "doubtful", "contradicts")


@pytest.mark.parametrize(
    ("quantity", "value", "reason"),
    [
        ("temperature", "85 C", "no thermal resistances"),
        ("illuminance", "300 lx", "distance"),
        ("energy", "1 kWh", "time over which"),
    ],
)
def test_what_cannot_be_computed_is_said(tmp_path: Path, quantity: str, value: str, reason: str) -> None:
    """A quantity that no circuit tells is cannot-tell with its reason."""
    judged = only(item_of(tmp_path, reading(quantity, value, None)))
    assert judged.verdict == "cannot-tell"
    assert judged.computed is None
    assert reason in judged.why


def test_light_frequency_of_a_light_meter(tmp_path: Path) -> None:
    """A light meter counts the light's 100 Hz, a mains meter the 50 Hz."""
    meters = '[[meter]]\nname = "probe"\nkind = "light-meter"\naccuracy = { frequency = "1 %" }\n'
    judged = only(item_of(tmp_path, meters, reading("frequency", "100 Hz", "probe")))
    assert judged.computed == pytest.approx(100.0)


def test_a_circuit_that_cannot_be_solved_stops_nothing(tmp_path: Path) -> None:
    """Half a record gives half an answer: the readings stand there with the reason, and definitions still bind them."""
    item = item_of(
        tmp_path,
        reading("power", "15 W", state=None),
        reading("apparent_power", "12 VA", state=None),
        parts="",
        states="",
    )
    judgement = judge(item)
    assert {one.verdict for one in judgement.readings} == {"contradicts"}
    assert "cannot be solved" in judgement.readings[0].why
    assert judgement.contradictions[0].id == "power-above-volt-amperes"


def test_no_readings_at_all(tmp_path: Path) -> None:
    """A record without readings gets none judged, and the first thing to measure."""
    judgement = judge(item_of(tmp_path, states=UNREAD))
    assert judgement.readings == ()
    assert judgement.next[0].quantity == "voltage"


def test_a_reading_without_a_state_where_states_differ(tmp_path: Path) -> None:
    """One sentence: which state is not written, and what each would give."""
    judgement = judge(item_of(tmp_path, reading("power", "9 W", state=None)))
    assert judgement.readings[0].verdict == "cannot-tell"
    assert "says no state" in judgement.readings[0].why
    assert "'full'" in judgement.readings[0].why
    assert "'unread'" in judgement.readings[0].why


def test_a_reading_without_a_state_where_it_makes_no_difference(tmp_path: Path) -> None:
    """Where all states give the same, no state is needed."""
    states = MEASURED + MEASURED.replace("full", "again")
    assert only(item_of(tmp_path, reading("power", "9 W", state=None), states=states)).computed is not None


def test_json_has_the_contracts_keys(tmp_path: Path) -> None:
    """The keys that others rely on, in plain JSON types."""
    import json

    document = lidoff.readings(item_of(tmp_path, reading("power", "9 W")))
    json.dumps(document, allow_nan=False)
    assert {"readings", "inferred", "next", "recordings"} <= set(document)
    assert {
        "quantity", "state", "measured", "unit", "sigma", "computed", "computed_low95", "computed_high95", "verdict",
        "why",
    } <= set(document["readings"][0])  # fmt: skip
    assert document["inferred"] == []


def test_never_says_safe(tmp_path: Path) -> None:
    """No sentence says that anything is safe."""
    import json

    text = json.dumps(lidoff.readings(item_of(tmp_path, reading("power", "9 W", state="unread"))))
    assert "safe" not in text.lower()


def test_a_reading_at_the_meters_floor_says_little(tmp_path: Path) -> None:
    """A tenth of a watt on a meter that may be 0.2 W off agrees with anything near: said."""
    parts = HEATER.replace("529R", "500k")
    judged = only(item_of(tmp_path, reading("power", "0.1 W"), parts=parts))
    assert judged.verdict == "agrees"
    assert "says little" in judged.why
