"""The mains behind a surge: its coil counts there, though a settled cycle hardly shows it.

The record takes a mains that nobody described as the resistance of the reference impedance alone. That serves for the
settled cycle; an empty capacitor switched on at the crest would draw V/R from it, hundreds of amperes that no socket
gives. Surges are therefore followed behind the whole reference impedance.
"""

from __future__ import annotations

import math
from dataclasses import replace

from lidoff.circuit.model import Circuit, Mains
from lidoff.standards.measuring import IMPEDANCE


def behind_reference(circuit: Circuit) -> Circuit:
    """The circuit behind the whole reference impedance, 0.4 + j0.25 ohm at its mains frequency (IEC 60725:2012).

    As it is where the record or a change gives the mains' resistance or inductance, and on a bench supply.
    """
    supply = with_coil(circuit.supply)
    return circuit if supply is circuit.supply else replace(circuit, supply=supply)


def with_coil(supply: Mains) -> Mains:
    """A supply's mains with the reference impedance's inductance [H], itself where somebody wrote its impedance."""
    if not supply.impedance_assumed or supply.dc is not None:
        return supply
    return replace(supply, inductance=IMPEDANCE.number("reactance") / (2.0 * math.pi * supply.frequency))
