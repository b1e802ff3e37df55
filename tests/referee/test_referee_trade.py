"""Circuits of the trade against SUNDIALS IDA, live: rms current, power, power factor to 0.5 %, peaks and light to 1 %.

Source: SUNDIALS IDA 7 through scikit-sundae, relative tolerance 1e-7, on the record format's laws as `network` has
them. The circuits are the project's own (`circuits`).
"""

from __future__ import annotations

import pytest
from tests.referee import laws
from tests.referee.circuits import TRADE
from tests.referee.judge import both, differences, misses, part_differences


@pytest.mark.xdist_group("referee-trade")
@pytest.mark.parametrize("name", TRADE)
def test_ours_agrees_with_ida(name: str) -> None:
    solution, verdict = both(name)
    assert solution.settled
    assert solution.cycles == 1
    assert verdict.remainder < 1e-4  # IDA stays where it is after a cycle, or came there from rest
    assert abs(verdict.balance) < 1e-4
    assert misses(differences(solution, verdict)) == []


@pytest.mark.xdist_group("referee-trade")
@pytest.mark.parametrize("name", TRADE)
def test_every_part_agrees_too(name: str) -> None:
    assert misses(part_differences(*both(name))) == []


@pytest.mark.xdist_group("referee-trade")
@pytest.mark.parametrize("name", ["half_wave_heater", "lamps_in_series"])
def test_filaments_are_at_the_temperature_that_the_power_gives(name: str) -> None:
    solution, verdict = both(name)
    for element in solution.circuit.elements:
        if element.kind in laws.GLOW:
            wanted = laws.filament_ohms(
                element.kind,
                watts=verdict.parts[element.ref]["power"],
                rated_watts=element.number("power"),
                rated_volts=element.number("voltage"),
                cold_ratio=element.number("cold_ratio"),
            )
            assert element.number("resistance") == pytest.approx(wanted, rel=1e-3)
