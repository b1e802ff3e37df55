"""From a circuit to flat arrays: supply, parts, and what the floating parts are tied by."""

from __future__ import annotations

import math
from typing import Final

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import laws
from lidoff.cycle.builder import Builder, Built, Pins
from lidoff.cycle.stamps import STAMPS

_EARTH: Final = 1.0  # [ohm] earth to neutral at the origin of the supply; common practice, no source
_PULLED: Final = 1e9  # [ohm] of the mains branch once the plug is out
_BENCH_OHMS: Final = 0.01  # [ohm] of a bench supply below its current limit
_NO_LIMIT: Final = 1e3  # [A] where a bench supply has no limit


def build_system(circuit: Circuit, *, open_mains: bool = False) -> Built:
    """The circuit as arrays; with `open_mains` the plug is pulled (the mains branch is 1 Gohm and silent).

    Raises CircuitError where a part kind has no law here.
    """
    b = Builder(circuit)
    if circuit.supply.dc is None:
        _enter_mains(b, circuit, open_mains)
    else:
        _enter_bench(b, circuit)
    if "earth" in b.index and circuit.supply.reference != "earth":
        b.conductance(b.index["earth"], -1, 1.0 / _EARTH)
    for element in circuit.elements:
        if element.kind not in STAMPS:
            raise CircuitError(f"{element.ref}: no law is known for the kind '{element.kind}'; leave the part out")
        b.entering = element.ref
        b.pins[element.ref] = STAMPS[element.kind](b, element)
    b.tie_floating()
    return b.finish()


def _enter_mains(b: Builder, circuit: Circuit, open_mains: bool) -> None:
    supply = circuit.supply
    b.source = b.coil(-1, b.index["live"], _PULLED if open_mains else supply.resistance)
    if open_mains:
        return
    if supply.inductance > 0.0:
        b.inductance([b.source], [[supply.inductance]], "supply")
    # The voltage is the rms of everything, as a meter reads it; the fundamental is what its harmonics leave.
    whole = 1.0 + sum(share * share for order, share in supply.shape.items() if order > 1)
    peak = supply.voltage * math.sqrt(2.0 / whole)
    b.orders, b.amplitudes = [1.0], [peak]
    for order, share in supply.shape.items():
        if order > 1 and share != 0.0:
            b.orders.append(float(order))
            b.amplitudes.append(peak * share)


def _enter_bench(b: Builder, circuit: Circuit) -> None:
    supply = circuit.supply
    assert supply.nodes is not None
    assert supply.dc is not None
    plus, minus = (b.index[node] for node in supply.nodes)
    limit = supply.limit if supply.limit is not None else _NO_LIMIT
    # It gives way within 10 mV at its limit, so that the corner is there to be found even at a few milliamperes.
    ohms = max(supply.resistance, _BENCH_OHMS, 0.5 * laws.SPAN / limit)
    par = (supply.dc, ohms, limit, 0.125 * laws.SPAN)
    b.pins["supply"] = Pins((plus, minus), [b.curve(laws.BENCH, plus, minus, par)])
