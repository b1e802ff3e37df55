"""The mapping that `figures --json` prints: keys of the contract, limits and bounds beside them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import lidoff
from lidoff.circuit import build
from lidoff.cycle import solve
from lidoff.record import read_text

FOLDER = Path(__file__).parents[1] / "reference" / "cycle"

DIMMED = """
lidoff = 1
[item]
kind = "luminaire"
region = "EU"
rated = { voltage = "230 V", power = "12 W" }
[supply]
voltage = "230 V"
[[part]]
ref = "VR1"
kind = "potentiometer"
value = "330k"
position = POSITION
nodes = { a = "load", wiper = "w" }
[[part]]
ref = "R1"
kind = "resistor"
value = "4k7"
nodes = ["w", "t"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "100n"
nodes = ["t", "live"]
[[part]]
ref = "D1"
kind = "diac"
nodes = ["t", "g"]
[[part]]
ref = "Q1"
kind = "triac"
nodes = { mt1 = "live", mt2 = "load", gate = "g" }
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { ac1 = "load", ac2 = "neutral", plus = "p", minus = "m" }
[[part]]
ref = "LED1"
kind = "led"
series = 40
forward_voltage = "3 V"
nodes = { anode = "p", cathode = "x" }
[[part]]
ref = "R2"
kind = "resistor"
value = "1k"
nodes = ["x", "m"]
"""


def dimmed(position: float):
    return solve(build(read_text(DIMMED.replace("POSITION", str(position)), "lamp/item.toml")))


def test_keys_of_the_contract():
    figures = lidoff.solve(lidoff.open(FOLDER / "strip.toml")).figures()
    assert {"state", "supply", "input", "light", "parts", "settled", "cycles", "solver"} <= set(figures)
    assert {
        "current_rms", "current_peak", "crest_factor", "power", "apparent_power", "power_factor",
        "displacement_factor", "thd", "harmonics",
    } <= set(figures["input"])  # fmt: skip
    assert {"sources", "frequency", "percent_flicker", "flicker_index", "svm", "mean_current"} <= set(figures["light"])
    assert set(figures["parts"]["R1"]) == {
        "voltage_rms", "voltage_peak", "voltage_mean", "current_rms", "current_mean", "current_peak", "power",
    }  # fmt: skip
    assert figures["light"]["sources"] == ["LED1"]
    assert json.loads(json.dumps(figures)) == figures


def test_limits_and_bounds_stand_beside_the_figures():
    figures = lidoff.solve(lidoff.open(FOLDER / "strip.toml")).figures()
    assert any(limit["document"].startswith("IEC 61000-3-2") for limit in figures["input"]["limits"])
    assert any(bound["document"].startswith("IEEE") for bound in figures["light"]["bounds"])
    assert figures["light"]["pst_lm"] is not None
    for comparison in (*figures["input"]["limits"], *figures["light"]["bounds"]):
        assert "pass" not in comparison["wording"].lower()


def test_without_comparisons_the_figures_are_the_same():
    solution = lidoff.solve(lidoff.open(FOLDER / "strip.toml"))
    short, whole = solution.figures(comparisons=False), solution.figures()
    assert "limits" not in short["input"]
    assert short["input"]["thd"] == whole["input"]["thd"]
    assert short["parts"] == whole["parts"]


@pytest.mark.parametrize(("position", "expected"), [(0.0, False), (0.03, False), (0.5, True), (1.0, True)])
def test_a_dimmed_position_is_recognised(position, expected):
    solution = dimmed(position)
    assert solution.dimmed is expected
    scopes = [" ".join(limit["scope"]) for limit in solution.figures()["input"]["limits"]]
    assert any("dimmed position" in scope for scope in scopes) is expected


def test_a_dimmer_with_too_little_load_says_how_it_runs():
    """A timing chain that charges through a string: fewer volts, fewer firings; whatever it does, it is said."""
    for position in (0.1, 0.3, 0.6, 0.9):
        solution = dimmed(position)
        figures = solution.figures()
        assert figures["settled"] or figures["warnings"]
        assert figures["cycles"] >= 1


def test_uniform_waves_are_one_cycle():
    solution = lidoff.solve(lidoff.open(FOLDER / "dropper.toml"))
    time, volts, amperes = solution.time, solution.voltage("p", "m"), solution.current("R1")
    assert len(time) == len(volts) == len(amperes)
    assert time[0] == 0.0
    assert time[-1] < 0.02
    assert (volts**2).mean() ** 0.5 == pytest.approx(solution.figures()["parts"]["LED1"]["voltage_rms"], rel=1e-3)
    assert (amperes**2).mean() ** 0.5 == pytest.approx(solution.figures()["input"]["current_rms"], rel=1e-3)


def test_an_unknown_node_or_part_is_named():
    solution = lidoff.solve(lidoff.open(FOLDER / "strip.toml"))
    with pytest.raises(lidoff.LidoffError, match="no node 'q'"):
        solution.voltage("q")
    with pytest.raises(lidoff.LidoffError, match="no part 'R9'"):
        solution.current("R9")
