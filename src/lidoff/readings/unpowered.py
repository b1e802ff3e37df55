"""What a meter shows on the board with the supply taken away: ohms, diode test, capacitance, inductance and ESR,
parallel paths included.

The meter is put in place of the supply, as a small source behind a resistance. For ohms and the diode test it swings so
slowly that capacitors are open, and the figure is taken at its crest, first node positive; for capacitance it swings at
100 Hz, and the current a quarter of a cycle ahead tells the capacitance. For ESR (at 100 kHz) it is the voltage in step
with the current, for inductance (at 1 kHz) that a quarter of a cycle ahead of it; the meter's own `test_frequency` goes
first. The test voltages, the current and the frequencies are usual ones of hand meters (common practice, no source).
Filaments are cold, so are thermistors; everything is taken to be discharged.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from lidoff.circuit import Circuit, CircuitError, Element, Mains
from lidoff.circuit.connect import check_connections
from lidoff.cycle import Solution, solve
from lidoff.kinds import MAINS_NODES
from lidoff.record import Meter, Table

OHMS_VOLTAGE: Final = 0.3  # [V] crest, below what makes silicon conduct
DIODE_VOLTAGE: Final = 3.0  # [V] with the leads open
DIODE_CURRENT: Final = 1e-3  # [A] through a silicon junction
_JUNCTION: Final = 0.6  # [V] at which the diode test drives that current
_AC_VOLTAGE: Final = 0.2  # [V] rms
_AC_FREQUENCY: Final = 100.0  # [Hz]
_SMALL_SOURCE: Final = 10.0  # [ohm] of the meters for ESR and inductance
_FREQUENCIES: Final[Mapping[str, float]] = Table({"esr": 100e3, "inductance": 1e3})  # [Hz]
_ALTERNATING: Final = ("capacitance", "esr", "inductance")
_SLOW: Final = 1e-5  # [Hz]
OPEN_OHMS: Final = 50e6
"""Resistance above which a hand meter shows an open circuit [ohm] (common practice, no source)."""
_OPEN_DIODE: Final = 0.95  # of the open-circuit voltage: shown as open
_COLD: Final = ("lamp", "heater")


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """A meter's test on a dead board: which quantity, between which nodes."""

    quantity: str
    nodes: tuple[str, str]
    current: float = DIODE_CURRENT  # [A]
    leads: float = 0.0  # [ohm]
    frequency: float = _AC_FREQUENCY  # [Hz]


def bench_of(circuit: Circuit, quantity: str, at: str | tuple[str, str], meter: Meter | None) -> Bench:
    """The test for a reading at a part, between two nodes or at the plug's pins.

    Raises CircuitError where there is no such part.
    """
    if at == "input":
        nodes = ("live", "neutral")
    elif isinstance(at, tuple):
        nodes = (circuit.resolve(at[0]), circuit.resolve(at[1]))
    else:
        element = circuit.element(at)
        if element is None:
            raise CircuitError(f"{at} plays no part in this state")
        pins = list(element.pins.values())
        nodes = (pins[0], pins[1])
    extra: Mapping[str, object] = meter.extra if meter is not None else Table()
    current, leads = extra.get("test_current"), extra.get("lead_resistance")
    frequency = extra.get("test_frequency")
    return Bench(
        quantity=quantity,
        nodes=nodes,
        current=float(current) if isinstance(current, int | float) else DIODE_CURRENT,
        leads=float(leads) if isinstance(leads, int | float) else 0.0,
        frequency=float(frequency) if isinstance(frequency, int | float) else _FREQUENCIES.get(quantity, _AC_FREQUENCY),
    )


def alone(circuit: Circuit, ref: str) -> Circuit | None:
    """The circuit of that part by itself, as with one leg lifted; None where there is no such part."""
    element = circuit.element(ref)
    return None if element is None else replace(circuit, elements=(replace(element, series=1.0, parallel=1.0),))


def on_bench(circuit: Circuit, bench: Bench) -> Circuit:
    """The circuit with its supply replaced by the meter. Raises CircuitError where nothing joins the two nodes."""
    names = _swapped(bench.nodes)
    elements = tuple(
        replace(element, nodes=tuple(None if node is None else names.get(node, node) for node in element.nodes))
        for element in map(_cold, circuit.elements)
    )
    if bench.quantity in _ALTERNATING:
        ohms = 1.0 if bench.quantity == "capacitance" else _SMALL_SOURCE
        supply = Mains(voltage=_AC_VOLTAGE, frequency=bench.frequency, resistance=ohms, measured=True)
    elif bench.quantity == "resistance":
        supply = Mains(voltage=OHMS_VOLTAGE / math.sqrt(2.0), frequency=_SLOW, resistance=100.0, measured=True)
    else:
        series = (DIODE_VOLTAGE - _JUNCTION) / bench.current
        supply = Mains(voltage=DIODE_VOLTAGE / math.sqrt(2.0), frequency=_SLOW, resistance=series, measured=True)
    return check_connections(replace(circuit, elements=elements, supply=supply, warnings=()), reduced=True)


def _swapped(nodes: tuple[str, str]) -> dict[str, str]:
    """Node names such that the two probed nodes become the ends of the supply and the mains' own are ordinary."""
    names = {node: f"dead {node}" for node in MAINS_NODES}
    names[nodes[0]], names[nodes[1]] = "live", "neutral"
    return names


def _cold(element: Element) -> Element:
    if element.kind in _COLD:
        hot = element.number("voltage") ** 2 / element.number("power")
        ohms = hot * element.number("cold_ratio")
        return replace(element, kind="resistor", values=Table({"value": ohms}))
    if element.kind == "thermistor":
        return replace(element, values=Table({**element.values, "warm": False}))
    return element


def show(circuit: Circuit, bench: Bench) -> float | None:
    """What the meter shows [ohm, V or F]; None where it shows an open circuit. Raises CircuitError as `solve`."""
    try:
        prepared = on_bench(circuit, bench)
    except CircuitError:
        return None
    return shown_by(solve(prepared), bench)


def shown_by(solution: Solution, bench: Bench) -> float | None:
    """What the meter shows, from the solution of `on_bench`."""
    voltage, current = solution.input_waves()
    if bench.quantity in _ALTERNATING:
        v, i = (complex(np.fft.rfft(wave)[solution.cycles]) for wave in (voltage, current))
        omega = 2.0 * math.pi * bench.frequency
        if bench.quantity == "esr":
            ohms = (v / i).real
            return ohms + bench.leads if ohms < OPEN_OHMS else None
        found = (i / v).imag / omega if bench.quantity == "capacitance" else (v / i).imag / omega
        return found if found > 0.0 else None
    crest = voltage.size // (4 * solution.cycles)
    volts, amperes = float(voltage[crest]), float(current[crest])
    if bench.quantity == "resistance":
        ohms = volts / amperes if amperes > 0.0 else math.inf
        return ohms + bench.leads if ohms < OPEN_OHMS else None
    return volts if volts < _OPEN_DIODE * DIODE_VOLTAGE else None
