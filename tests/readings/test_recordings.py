"""Recordings: files of all sorts, the cycle found in them, what the probe did undone, what they look like."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
from tests.readings.records import CHARGER, MEASURED, STRIP, item_of

import lidoff
from lidoff.circuit import build, with_values
from lidoff.cycle import solve
from lidoff.readings import Recorded, judge
from lidoff.readings.meters import high_pass
from lidoff.readings.recordings.cycles import averaged, cut, frequency_of, phase_of, turned
from lidoff.readings.recordings.repair import half_wave

VOLTS = 230.0 * math.sqrt(2.0)


def waves(
    cycles: float = 5.0, rate: float = 10_000.0, frequency: float = 50.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time, mains voltage and a third-harmonic-rich current in step with it."""
    time = np.arange(round(cycles / frequency * rate)) / rate
    angle = 2.0 * math.pi * frequency * time + 0.7
    return time, VOLTS * np.sin(angle), 0.05 * (np.sin(angle) + 0.3 * np.sin(3.0 * angle))


def table(*columns: np.ndarray, separator: str = ",", heading: str = "") -> str:
    rows = [separator.join(f"{value:.9g}" for value in row) for row in zip(*columns, strict=True)]
    return "\n".join(([heading] if heading else []) + rows) + "\n"


def recorded(
    folder: Path, text: str | bytes, settings: str, *, parts: str = "", head: str = "", states: str = ""
) -> Recorded:
    (folder / "recordings").mkdir(exist_ok=True)
    file = folder / "recordings" / "clamp.csv"
    file.write_bytes(text if isinstance(text, bytes) else text.encode())
    item = item_of(
        folder, f'[[recording]]\nfile = "recordings/clamp.csv"\n{settings}\n', parts=parts, states=states, head=head
    )
    (one,) = judge(item).recordings
    json.dumps(one.as_json(), allow_nan=False)
    return one


PLAIN = 'columns = { time = "t", voltage = "CH1", current = "CH2" }'
EXPECTED = {"current_rms": 0.05 * math.sqrt((1.0 + 0.09) / 2.0), "power": VOLTS * 0.05 / 2.0}


def agrees(one: Recorded, **expected: float) -> None:
    assert one.figures is not None, one.problems
    for key, value in {**EXPECTED, **expected}.items():
        assert one.figures[key] == pytest.approx(value, rel=2e-3), key


# Files of all sorts


def test_plain_csv(tmp_path: Path) -> None:
    """Headings, commas, SI units: rms, power, power factor and distortion in closed form."""
    one = recorded(tmp_path, table(*waves(), heading="t,CH1,CH2"), PLAIN)
    agrees(one, power_factor=1.0 / math.sqrt(1.09), thd=0.3, displacement_factor=1.0, voltage_rms=230.0)
    assert one.cycles == 5
    assert one.frequency == pytest.approx(50.0)
    assert one.problems == ()


@pytest.mark.parametrize("separator", [",", ";", "\t", " "])
@pytest.mark.parametrize("order", [(0, 1, 2), (2, 0, 1), (1, 2, 0)])
def test_any_separator_and_order(tmp_path: Path, separator: str, order: tuple[int, ...]) -> None:
    """Columns by number, in any order, with any separator and no headings."""
    columns = waves()
    text = table(*(columns[k] for k in order), separator=separator)
    places = {name: order.index(k) + 1 for k, name in enumerate(("time", "voltage", "current"))}
    agrees(recorded(tmp_path, text, f"columns = {{ {', '.join(f'{k} = {v}' for k, v in places.items())} }}"))


def test_decimal_commas(tmp_path: Path) -> None:
    """Semicolons between columns and commas in numbers, as some programs export."""
    text = table(*waves(), separator=";", heading="t;CH1;CH2").replace(".", ",")
    agrees(recorded(tmp_path, text, PLAIN))


def test_units_and_scales(tmp_path: Path) -> None:
    """Milliseconds, a 200:1 voltage probe and a clamp of 10 A/V, or of 100 mV/A."""
    time, voltage, current = waves()
    text = table(1e3 * time, voltage / 200.0, current / 10.0, heading="t,CH1,CH2")
    agrees(
        recorded(tmp_path, text, f'{PLAIN}\nunits = {{ time = "ms" }}\nscale = {{ voltage = 200, current = "10 A/V" }}')
    )
    text = table(time, voltage, 0.1 * current, heading="t,CH1,CH2")
    agrees(recorded(tmp_path, text, f'{PLAIN}\nscale = {{ current = "100 mV/A" }}'))


def test_lines_of_the_scope_above_the_samples(tmp_path: Path) -> None:
    """Scopes write their settings above the table: passed over, the headings found."""
    text = "Model,A1\nSample Interval,0.0001\n\nt,CH1,CH2\nin s,Volt,Ampere\n" + table(*waves())
    agrees(recorded(tmp_path, text, PLAIN.replace('"t"', "1").replace('"CH1"', "2").replace('"CH2"', "3")))


def test_no_time_column(tmp_path: Path) -> None:
    """The sample rate stands in for a time column."""
    text = table(*waves()[1:], heading="CH1,CH2")
    agrees(recorded(tmp_path, text, 'columns = { voltage = "CH1", current = "CH2" }\nsample_rate = "10 kHz"'))


def test_headings_guess_the_columns(tmp_path: Path) -> None:
    """Where no columns are written, plain headings tell them."""
    agrees(recorded(tmp_path, table(*waves(), heading="Time (s),Voltage (V),Current (A)"), ""))


def test_gaps_and_holes(tmp_path: Path) -> None:
    """Missing samples and values that are no numbers are bridged over and counted."""
    rows = table(*waves(), heading="t,CH1,CH2").splitlines()
    del rows[101:103]
    rows[300] = rows[300].rsplit(",", 1)[0] + ",overload"
    one = recorded(tmp_path, "\n".join(rows), PLAIN)
    agrees(one)
    assert any("gaps" in problem for problem in one.problems)
    assert any("no numbers" in problem for problem in one.problems)


def test_uneven_times(tmp_path: Path) -> None:
    """Times that jitter are drawn anew evenly."""
    random = np.random.default_rng(1)
    time, *_ = waves(rate=20_000.0)
    time = np.sort(time + random.uniform(-6e-5, 6e-5, time.size))
    angle = 100.0 * math.pi * time + 0.7
    current = 0.05 * (np.sin(angle) + 0.3 * np.sin(3.0 * angle))
    agrees(recorded(tmp_path, table(time, VOLTS * np.sin(angle), current, heading="t,CH1,CH2"), PLAIN))


def test_current_alone(tmp_path: Path) -> None:
    """Without a voltage the current's own figures stand, and what needs volts is null."""
    time, _, current = waves()
    one = recorded(tmp_path, table(time, current, heading="t,CH2"), 'columns = { time = "t", current = "CH2" }')
    assert one.figures is not None
    assert one.figures["current_rms"] == pytest.approx(EXPECTED["current_rms"], rel=1e-3)
    assert one.figures["power"] is None
    assert one.figures["power_factor"] is None
    assert max(look.certainty for look in one.looks_like) < 0.85


# The cycle


@pytest.mark.parametrize("frequency", [49.3, 50.0, 50.7, 59.6, 60.2])
@pytest.mark.parametrize("cycles", [2.3, 7.7, 33.4])
def test_the_frequency_is_found(frequency: float, cycles: float) -> None:
    """From the data alone, to better than one part in a thousand (one in ten thousand over many cycles)."""
    time, _, current = waves(cycles, 6000.0, frequency)
    found = frequency_of(current, float(time[1]))
    assert found == pytest.approx(frequency, rel=2e-3 if cycles < 5 else 2e-4)


def test_parts_of_cycles_are_cut_off(tmp_path: Path) -> None:
    """Seven cycles and a half at 49.6 Hz: seven are taken, and the figures are those of whole cycles."""
    one = recorded(tmp_path, table(*waves(7.5, 10_000.0, 49.6), heading="t,CH1,CH2"), PLAIN)
    assert one.cycles == 7
    assert one.frequency == pytest.approx(49.6, rel=1e-4)
    agrees(one)


def test_nearly_whole_is_taken_whole() -> None:
    """Within 1 % of whole nominal cycles a recording is taken as it is (contract)."""
    whole = cut(1008, 1e-4, None, 50.0)
    assert whole is not None
    assert (whole.cycles, whole.whole) == (5, True)
    odd = cut(1040, 1e-4, 50.0, 50.0)
    assert odd is not None
    assert (odd.cycles, odd.whole) == (5, False)


def test_a_cycle_turned_begins_at_its_zero() -> None:
    """The average cycle begins at the voltage's rising zero."""
    _, voltage, _ = waves()
    mean, every = averaged(voltage, 5, 200)
    assert every.shape == (5, 200)
    turned_wave = turned(mean, phase_of(mean))
    assert abs(turned_wave[0]) < 1e-6 * VOLTS
    assert turned_wave[50] == pytest.approx(VOLTS, rel=1e-6)


# What the probe did


def test_half_wave_behind_an_ac_clamp(tmp_path: Path) -> None:
    """A half-wave behind a clamp of 9 Hz corner: recognised, the mean put back; its power factor is 0.707 again."""
    time, voltage, _ = waves(1.0, 30_000.0)
    load = np.maximum(voltage, 0.0) / 1000.0
    shown = high_pass(load, 0.02, 9.0)
    one = recorded(tmp_path, table(time, voltage, shown, heading="t,CH1,CH2"), PLAIN)
    assert one.figures is not None
    assert one.figures["power_factor"] == pytest.approx(
        float(np.mean(voltage * shown)) / (230.0 * shown.std()), rel=1e-3
    )
    assert one.corrected is not None
    assert one.corrected.figures["power_factor"] == pytest.approx(1.0 / math.sqrt(2.0), rel=3e-3)
    assert one.corrected.figures["current_rms"] == pytest.approx(math.sqrt(float(np.mean(load**2))), rel=5e-3)
    assert one.looks_like[0].kind == "half-wave"
    assert "17.7 ms" in one.corrected.what[0]


def test_the_time_constant_is_that_of_the_clamp() -> None:
    """The droop of the blocked half gives back the clamp's time constant."""
    _, voltage, _ = waves(1.0, 30_000.0)
    voltage = turned(voltage, phase_of(voltage))
    for corner in (2.0, 9.0, 20.0):
        found = half_wave(voltage, high_pass(np.maximum(voltage, 0.0), 0.02, corner), 0.02)
        assert found is not None
        assert found.time_constant == pytest.approx(1.0 / (2.0 * math.pi * corner), rel=0.03)


def test_a_full_wave_is_no_half_wave() -> None:
    """A resistor's current is left as it is."""
    _, voltage, current = waves(1.0, 30_000.0)
    assert half_wave(voltage, voltage / 500.0, 0.02) is None
    assert half_wave(voltage, current, 0.02) is None


def test_an_offset_is_taken_out(tmp_path: Path) -> None:
    """The figures keep the mean as recorded; beside them stand those without the offset."""
    time, voltage, current = waves()
    one = recorded(tmp_path, table(time, voltage, current + 0.02, heading="t,CH1,CH2"), PLAIN)
    assert one.figures is not None
    assert one.figures["current_mean"] == pytest.approx(0.02, rel=1e-3)
    assert one.corrected is not None
    assert one.corrected.figures["current_rms"] == pytest.approx(EXPECTED["current_rms"], rel=2e-3)
    assert any("mean of the current" in problem for problem in one.problems)


def test_a_clamp_the_wrong_way_round(tmp_path: Path) -> None:
    """Power below nothing: said, and turned round beside it."""
    time, voltage, current = waves()
    one = recorded(tmp_path, table(time, voltage, -current, heading="t,CH1,CH2"), PLAIN)
    assert any("wrong way" in problem for problem in one.problems)
    assert one.corrected is not None
    assert one.corrected.figures["power"] == pytest.approx(EXPECTED["power"], rel=2e-3)


# Bad input


def sentence(one: Recorded, *words: str) -> None:
    assert one.problems, "nothing was said"
    text = " ".join(one.problems)
    for word in words:
        assert word in text, text


def test_three_samples(tmp_path: Path) -> None:
    """Three samples hold no cycle: one sentence."""
    one = recorded(tmp_path, "t,CH1,CH2\n0,1,2\n0.001,2,3\n0.002,3,4\n", PLAIN)
    assert one.figures is None
    assert len(one.problems) == 1
    sentence(one, "3 samples are too few")


def test_noise(tmp_path: Path) -> None:
    """Noise is called noise, and looks like nothing in particular."""
    random = np.random.default_rng(4)
    time, voltage, _ = waves()
    one = recorded(tmp_path, table(time, voltage, 0.01 * random.standard_normal(time.size), heading="t,CH1,CH2"), PLAIN)
    sentence(one, "noise")
    assert one.looks_like[0].kind == "other"


def test_the_wrong_frequency(tmp_path: Path) -> None:
    """The record says 50 Hz, the recording repeats at 60 Hz: said."""
    head = '[supply]\nfrequency = "50 Hz"\n'
    one = recorded(tmp_path, table(*waves(6.0, 12_000.0, 60.0), heading="t,CH1,CH2"), PLAIN, head=head)
    sentence(one, "60 Hz", "50 Hz")
    agrees(one)


def test_no_mains_frequency(tmp_path: Path) -> None:
    """A recording at 400 Hz (or with its time column in the wrong unit) is no mains cycle: said."""
    one = recorded(tmp_path, table(*waves(40.0, 40_000.0, 400.0), heading="t,CH1,CH2"), PLAIN)
    sentence(one, "400 Hz", "no mains frequency")


def test_less_than_a_cycle(tmp_path: Path) -> None:
    """Eleven milliseconds hold no cycle."""
    one = recorded(tmp_path, table(*waves(0.55), heading="t,CH1,CH2"), PLAIN)
    assert one.figures is None
    sentence(one, "less than one mains cycle")


def test_a_log_is_no_wave(tmp_path: Path) -> None:
    """One reading a second is a log of readings."""
    time = np.arange(100.0)
    one = recorded(tmp_path, table(time, np.full(100, 230.0), np.full(100, 8.8), heading="t,CH1,CH2"), PLAIN)
    sentence(one, "log of readings")


@pytest.mark.parametrize(
    ("text", "settings", "words"),
    [
        (b"", PLAIN, ("empty",)),
        (b"\x00\x01\x02" * 500, PLAIN, ("not a text file",)),
        (b"hello\nworld\n", PLAIN, ("no rows of numbers",)),
        (b"a,b,c\n1,2,3\n2,3,4\n", PLAIN, ('headed "t"', '"a"')),
        (b"1,2\n2,3\n", "columns = { time = 1, current = 5 }", ("no column 5",)),
        (b"1,2,3\n2,3,4\n", "", ("columns",)),
    ],
)
def test_bad_files(tmp_path: Path, text: bytes, settings: str, words: tuple[str, ...]) -> None:
    """Each bad file is one sentence that names the file; the rest of the record goes on."""
    one = recorded(tmp_path, text, settings)
    assert one.figures is None
    assert len(one.problems) == 1
    sentence(one, "recordings/clamp.csv", *words)


def test_no_such_file(tmp_path: Path) -> None:
    """A file that is not there is said, and nothing is raised."""
    item = item_of(tmp_path, '[[recording]]\nfile = "recordings/gone.csv"\n', parts="", states="")
    (one,) = judge(item).recordings
    sentence(one, "gone.csv", "no such file")


def test_a_probe_set_to_the_wrong_factor(tmp_path: Path) -> None:
    """Twenty-three volts of "mains" point to the probe."""
    time, voltage, current = waves()
    sentence(recorded(tmp_path, table(time, voltage / 10.0, current, heading="t,CH1,CH2"), PLAIN), "no mains voltage")


def test_a_range_that_was_too_small(tmp_path: Path) -> None:
    """Cut-off tops are noticed."""
    time, voltage, current = waves()
    clipped = np.clip(current, -0.03, 0.03)
    sentence(recorded(tmp_path, table(time, voltage, clipped, heading="t,CH1,CH2"), PLAIN), "cut off")


# What it looks like, and the computed cycle under it


def computed_waves(circuit: object) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    solution = solve(circuit)  # type: ignore[arg-type]
    voltage, current = solution.input_waves()
    return solution.time[::8], voltage[::8], current[::8]


@pytest.mark.parametrize(
    ("name", "changes", "kind"),
    [
        ("bulk_charger", {}, "capacitor-input"),
        ("bulk_charger", {"C1.value": 1e-6}, "capacitor-input"),
        ("bulk_charger", {"C1.value": 47e-6}, "capacitor-input"),
        ("regulator_lamp", {}, "capacitor-input"),
        ("dropper", {}, "dropper"),
        ("dropper", {"C1.value": 1e-6}, "dropper"),
        ("dimmer_lamp", {}, "phase-cut"),
        ("dimmer_lamp", {"VR1.position": 0.05}, "phase-cut"),
        ("dimmer_lamp", {"VR1.position": 0.6}, "phase-cut"),
        ("strip", {}, "other"),
    ],
)
def test_computed_cycles_are_recognised(
    tmp_path: Path, reference: Path, name: str, changes: dict[str, float], kind: str
) -> None:
    """The reference circuits' computed waves, written out as recordings, look like what they are."""
    circuit = with_values(build(lidoff.open(reference / "cycle" / f"{name}.toml")), changes)
    one = recorded(tmp_path, table(*computed_waves(circuit), heading="t,CH1,CH2"), PLAIN)
    assert one.looks_like[0].kind == kind
    assert one.looks_like[0].certainty > 0.6
    assert sum(look.certainty for look in one.looks_like) == pytest.approx(1.0, abs=0.08)


@pytest.mark.parametrize(("lag", "kind"), [(0.0, "resistive"), (25.0, "motor")])
def test_a_resistor_and_a_coil(tmp_path: Path, lag: float, kind: str) -> None:
    """A sine in step is resistive; one that lags is a motor's."""
    time, voltage, _ = waves()
    current = 0.5 * np.sin(100.0 * math.pi * time + 0.7 - math.radians(lag))
    one = recorded(tmp_path, table(time, voltage, current, heading="t,CH1,CH2"), PLAIN)
    assert one.looks_like[0].kind == kind


def test_overlay_of_its_own_circuit(tmp_path: Path) -> None:
    """A recording of the very circuit lies on the computed cycle: next to nothing is left."""
    circuit = build(item_of(tmp_path, parts=CHARGER), state="full")
    one = recorded(
        tmp_path, table(*computed_waves(circuit), heading="t,CH1,CH2"), PLAIN, parts=CHARGER, states=MEASURED
    )
    assert one.overlay is not None
    assert one.overlay.residual is not None
    assert one.overlay.residual < 0.03


def test_overlay_of_another_circuit(tmp_path: Path) -> None:
    """A recording of another circuit leaves much, and that is said."""
    circuit = build(item_of(tmp_path, parts=STRIP), state="full")
    one = recorded(
        tmp_path, table(*computed_waves(circuit), heading="t,CH1,CH2"), PLAIN, parts=CHARGER, states=MEASURED
    )
    assert one.overlay is not None
    assert one.overlay.residual is not None
    assert one.overlay.residual > 0.3
    assert "what is left" in one.overlay.why


def test_one_cycle_of_pulses_without_a_voltage(tmp_path: Path) -> None:
    """A single 60 Hz cycle of narrow pulses does not tell its own length: it is taken whole."""
    time = np.arange(500) / 30_000.0
    angle = 2.0 * math.pi * 60.0 * time
    pulses = np.where(np.abs(np.sin(angle)) > 0.95, np.sign(np.sin(angle)), 0.0)
    one = recorded(tmp_path, table(time, pulses, heading="t,CH2"), 'columns = { time = "t", current = "CH2" }')
    assert one.cycles == 1
    assert one.frequency == pytest.approx(60.0, rel=1e-3)
    assert one.figures is not None
    assert one.figures["current_rms"] == pytest.approx(math.sqrt(float((pulses**2).mean())), rel=1e-3)


def test_half_wave_without_a_voltage(tmp_path: Path) -> None:
    """A half-wave behind an ac clamp is known by its shape even where no voltage was recorded."""
    time = np.arange(1000) / 50_000.0
    load = np.maximum(np.sin(100.0 * math.pi * time + 1.1), 0.0)
    text = table(time, high_pass(load, 0.02, 9.0), heading="t,CH2")
    one = recorded(tmp_path, text, 'columns = { time = "t", current = "CH2" }')
    assert one.looks_like[0].kind == "half-wave"
    assert one.corrected is not None
    assert one.corrected.figures["current_mean"] == pytest.approx(1.0 / math.pi, rel=0.02)
