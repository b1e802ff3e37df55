"""Measured data from outside: 126 appliance cycles and three power-meter logs (see the licence notes beside them)."""

from __future__ import annotations

import csv
import math
from collections import Counter, defaultdict
from pathlib import Path

import numpy as np
import pytest
from tests.readings.records import item_of, reading

import lidoff
from lidoff.figures import harmonics
from lidoff.readings import Recorded, judge
from lidoff.readings.uncertainty import Estimates, propagate

pytestmark = pytest.mark.open_data

KIND_OF = {
    "incandescent bulb": "resistive",
    "water kettle": "resistive",
    "coffee maker": "resistive",
    "CFL": "capacitor-input",
    "laptop charger": "capacitor-input",
    "hair iron": "half-wave",
    "fan": "motor",
    "fridge": "motor",
    "vacuum": "motor",
    "fridge defroster": "motor",
}
NOISE = {9, 13, 121}  # switched off, as the notes of the collection have it
REVERSED = 32  # negative power

# What was recognised when this was written, of ten each; half of the laptop cycles are of chargers hardly on.
AT_LEAST = {
    "incandescent bulb": 10,
    "water kettle": 10,
    "coffee maker": 10,
    "CFL": 8,
    "laptop charger": 3,
    "hair iron": 10,
    "fan": 10,
    "fridge": 9,
    "vacuum": 10,
    "fridge defroster": 10,
}


class Cycles:
    """The open cycles: rows of the table of figures, and what the program makes of each as a recording."""

    def __init__(self, folder: Path, work: Path) -> None:
        data = folder / "open-data" / "appliance_cycles"
        self.voltage = np.load(data / "voltage_V.npy")
        self.current = np.load(data / "current_A.npy")
        with (data / "figures.csv").open() as file:
            self.rows = list(csv.DictReader(file))
        self.recorded = self._read(work)

    def _read(self, work: Path) -> tuple[Recorded, ...]:
        (work / "recordings").mkdir(parents=True)
        pieces = ['lidoff = 1\n[item]\ntitle = "Loads on one socket"\nregion = "US"\n']
        for k, row in enumerate(self.rows):
            name = f"recordings/row{row['original_row']}.csv"
            lines = ["t,CH1,CH2"] + [
                f"{j / 30_000!r},{float(v)!r},{float(i)!r}"
                for j, (v, i) in enumerate(zip(self.voltage[k], self.current[k], strict=True))
            ]
            (work / name).write_text("\n".join(lines) + "\n")
            pieces.append(
                f'[[recording]]\nfile = "{name}"\ncolumns = {{ time = "t", voltage = "CH1", current = "CH2" }}\n'
            )
        (work / "item.toml").write_text("".join(pieces))
        return judge(lidoff.open(work)).recordings


@pytest.fixture(scope="module")
def cycles(open_data: Path, tmp_path_factory: pytest.TempPathFactory) -> Cycles:
    return Cycles(open_data, tmp_path_factory.mktemp("cycles") / "item")


def test_figures_to_a_thousandth(cycles: Cycles) -> None:
    """Every figure of every cycle within 0.1 % of the table made from the raw data by others (figures.csv)."""
    names = {
        "Vrms": "voltage_rms", "Irms": "current_rms", "P_W": "power", "S_VA": "apparent_power", "PF": "power_factor",
        "crest_I": "crest_factor", "mean_I_A": "current_mean", "peak_abs_I_A": "current_peak",
    }  # fmt: skip
    assert len(cycles.recorded) == 126
    for row, one in zip(cycles.rows, cycles.recorded, strict=True):
        assert one.figures is not None
        assert one.cycles == 1
        for column, key in names.items():
            assert one.figures[key] == pytest.approx(float(row[column]), rel=1e-3), (row["original_row"], key)
    # The table's distortion runs to order 50; the program's own figure, as its contract has it, to order 40.
    for k, row in enumerate(cycles.rows):
        size = np.abs(harmonics(cycles.current[k], 1, 50))
        thd = float(np.sqrt((size[2:] ** 2).sum()) / size[1])
        assert thd == pytest.approx(float(row["THD_I_2..50"]), rel=1e-3)


def test_classes_are_recognised(cycles: Cycles) -> None:
    """Each class at least as well as when this was written; the confusion table stands in the failure."""
    confusion: dict[str, Counter[str]] = defaultdict(Counter)
    for row, one in zip(cycles.rows, cycles.recorded, strict=True):
        confusion[row["class_inferred"]][one.looks_like[0].kind] += 1
    for label, least in AT_LEAST.items():
        assert confusion[label][KIND_OF[label]] >= least, {name: dict(found) for name, found in confusion.items()}


def test_noisy_rows_are_named(cycles: Cycles) -> None:
    """Rows 9, 13 and 121 (switched off) are called noise, row 32 has its clamp the wrong way round; no other kettle."""
    said = {
        int(row["original_row"]): " ".join(one.problems) for row, one in zip(cycles.rows, cycles.recorded, strict=True)
    }
    for row in NOISE:
        assert "noise" in said[row]
    assert "wrong way round" in said[REVERSED]
    clean = [
        int(row["original_row"]) for row in cycles.rows if row["class_inferred"] in ("water kettle", "coffee maker")
    ]
    assert all(not said[row] for row in clean)


def test_half_waves_behind_the_clamp_are_undone(cycles: Cycles) -> None:
    """Hair irons: power factor 0.84 as recorded, 0.707 once the blocked mean is back; the clamp's 17.6 ms is found."""
    for row, one in zip(cycles.rows, cycles.recorded, strict=True):
        if row["class_inferred"] != "hair iron":
            continue
        assert one.figures is not None
        assert one.figures["power_factor"] == pytest.approx(0.838, abs=0.005)
        assert one.corrected is not None
        assert one.corrected.figures["power_factor"] == pytest.approx(0.707, abs=0.01)
        constant = float(one.corrected.what[0].split("constant of ")[1].split(" ms")[0])
        assert constant == pytest.approx(17.6, abs=2.5)


def medians(folder: Path, which: str) -> dict[str, float]:
    """Medians of a log over the seconds in which the load was on."""
    name = f"2combi_kettle+vacuum_train_data_{which}.csv"
    with (folder / "open-data" / "meter_logs" / name).open() as file:
        rows = [row for row in csv.DictReader(file) if float(row["RMS Current"]) > 1.0]
    names = {
        "current": "RMS Current", "current_peak": "Peak Current", "apparent_power": "Apparent (W)",
        "power": "Active (W)", "reactive_power": "Reactive (W)", "power_factor": "Power Factor",
    }  # fmt: skip
    return {key: float(np.median([float(row[column]) for row in rows])) for key, column in names.items()}


def log_item(folder: Path, values: dict[str, float]) -> lidoff.Item:
    meter = '[[meter]]\nname = "logger"\nkind = "power-meter"\n[meter.accuracy]\n' + "".join(
        f'{key} = "{"0.01" if key == "power_factor" else "1 %"}"\n' for key in values
    )
    units = {"current": "A", "current_peak": "A", "apparent_power": "VA", "power": "W", "reactive_power": "var"}
    pieces = [
        reading(key, f"{value:.5g} {units.get(key, '')}".strip(), "logger", None)
        for key, value in values.items()
        if key != "reactive_power"
    ]
    return item_of(folder, meter, *pieces, parts="", states="")


def test_a_kettles_peak_is_not_to_be_trusted(open_data: Path, tmp_path: Path) -> None:
    """The kettle's log: power, volt-amperes and power factor go together, its peak does not (1.28 times the rms)."""
    judgement = judge(log_item(tmp_path, medians(open_data, "kettle")))
    assert [one.id for one in judgement.contradictions] == ["crest-of-resistive-load"]


def test_a_vacuums_log_goes_together(open_data: Path, tmp_path: Path) -> None:
    """The vacuum's log raises nothing but, at most, its volt-amperes being near its watts."""
    judgement = judge(log_item(tmp_path, medians(open_data, "vacuum")))
    assert not [one for one in judgement.contradictions if one.id != "watts-are-volt-amperes"]


def test_the_logs_are_power_factors_of_their_own_figures(open_data: Path) -> None:
    """PF = P/S and Q² = S² - P² hold second by second (to 0.01 and 1 var), as the rules take them to."""
    for which in ("kettle", "vacuum", "main"):
        name = f"2combi_kettle+vacuum_train_data_{which}.csv"
        with (open_data / "open-data" / "meter_logs" / name).open() as file:
            rows = [row for row in csv.DictReader(file) if float(row["RMS Current"]) > 1.0]
        assert rows
        p, s, q, pf = (
            np.array([float(row[key]) for row in rows])
            for key in ("Active (W)", "Apparent (W)", "Reactive (W)", "Power Factor")
        )
        assert np.abs(p / s - pf).max() < 0.01
        assert np.abs(np.sqrt(np.maximum(s**2 - p**2, 0.0)) - q).max() < 1.0


def test_the_log_of_both_is_the_sum_of_the_two(open_data: Path) -> None:
    """Watts add up second by second within 1 % meters (JCGM 100), volt-amperes to no more than their sum."""
    logs = {}
    for which in ("kettle", "vacuum", "main"):
        name = f"2combi_kettle+vacuum_train_data_{which}.csv"
        with (open_data / "open-data" / "meter_logs" / name).open() as file:
            logs[which] = [(float(row["Active (W)"]), float(row["Apparent (W)"])) for row in csv.DictReader(file)]
    seen = 0
    for kettle, vacuum, main in zip(logs["kettle"], logs["vacuum"], logs["main"], strict=True):
        if main[0] < 100.0:
            continue
        seen += 1
        watts = np.array([kettle[0], vacuum[0], main[0]])
        u = 0.01 * watts / math.sqrt(3.0)
        left = propagate(lambda x: np.array([x[2] - x[0] - x[1]]), Estimates(watts, np.diag(u**2)))
        assert abs(float(left.values[0])) <= 2.0 * float(left.u[0])
        # The meter of both shows up to 3 VA with nothing on.
        assert main[1] <= 3.0 + kettle[1] + vacuum[1]
    assert seen > 200
