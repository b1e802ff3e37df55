"""The artificial mains network of CISPR 16-1-2 as its nominal impedance, which real ones meet within 20 %."""

from __future__ import annotations

import numpy as np

from lidoff.figures.wave import Complexes, Floats
from lidoff.standards.emission import NETWORK


def nominal_impedance(frequency: Floats) -> Complexes:
    """Impedance of one line to earth [ohm] at `frequency` [Hz]: 50 ohm beside 50 uH + 5 ohm (CISPR 16-1-2, 4.2)."""
    branch = NETWORK.number("damping") + 2j * np.pi * frequency * NETWORK.number("inductance")
    receiver = NETWORK.number("receiver")
    return np.asarray(branch * receiver / (branch + receiver))
