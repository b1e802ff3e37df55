"""Limits beside a recorded wave: the same as beside a computed one, and named as recorded."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from tests.figures.test_input_limits import VOLTAGE, N, compared, strip
from tests.readings.test_recordings import PLAIN, recorded, table

HEAD = 'kind = "luminaire"\nrated = { voltage = "230 V", power = "11.4 W" }\n'


def of_strip(folder: Path, at: str = "input", columns: str = PLAIN) -> dict[str, dict[str, object]]:
    """Five recorded cycles of a strip of 11.4 W: what is said about its limits, by id."""
    time = np.arange(5 * N) * (0.02 / N)
    text = table(time, np.tile(VOLTAGE, 5), np.tile(strip(11.4), 5), heading="t,CH1,CH2")
    one = recorded(folder, text, f'{columns}\nat = "{at}"', head=HEAD)
    assert one.figures is not None
    return {found["id"]: found for found in one.figures.get("limits", ())}


def test_a_recorded_strip_misses_the_routes_that_a_computed_one_misses(tmp_path: Path) -> None:
    """Class C by its three routes (IEC 61000-3-2:2018+A1:2020): side by side, from the same code."""
    found = of_strip(tmp_path)
    computed = compared(strip(11.4), rated_power=11.4)
    for n in (1, 2, 3):
        id = f"harmonics-class-c-route-{n}"
        assert found[id]["lies"] == computed[id].lies
        assert found[id]["margin"] == pytest.approx(computed[id].margin, abs=0.01)
        assert str(found[id]["wording"]).startswith("The recorded wave lies")


def test_without_both_waves_there_is_nothing_to_hold_against_a_limit(tmp_path: Path) -> None:
    assert of_strip(tmp_path, columns='columns = { time = "t", current = "CH2" }') == {}
