"""A circuit as flat arrays, and how finely to step it: what the compiled kernel is given."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Booleans = NDArray[np.bool_]


class System(NamedTuple):
    """A circuit as flat arrays (N unknowns, nz states, nc curves, nl latches)."""

    g: Floats  # (N, N) conductances and branch equations
    c: Floats  # (N, N) capacitances and inductances
    c_row: Ints  # (filled,) the places of c that are not empty, row by row, and what stands there
    c_col: Ints
    c_value: Floats
    h: Floats  # (N, nz) charges and fluxes q = h z of the states z (capacitor voltages, inductor currents)
    za: Ints  # (nz,) z = x[za] - x[zb], -1 for the reference node
    zb: Ints
    kind: Ints  # (nc,) kind of curve
    sa: Ints  # (nc,) sensed between x[sa] and x[sb]
    sb: Ints
    fp: Ints  # (nc,) current flows from fp to fq
    fq: Ints
    par: Floats  # (nc, 6)
    latch_of: Ints  # (nc,) the latch that governs the curve, or -1
    main: Ints  # (nl,) curve of the main current
    gate: Ints  # (nl,) curve of the gate current, -1 for a breakover device
    limit: Floats  # (nl, 3) gate current, holding, latching; or breakover +, holding, breakover -
    oneway: Ints  # (nl,) 1 where only a positive gate current fires
    amplitude: Floats  # (ns,) of the mains' harmonics [V peak]
    order: Floats  # (ns,)
    source: int  # row of the mains branch, -1 where there is none
    nodes: int  # how many of the unknowns are node voltages
    omega: float  # 2 pi f [rad/s]
    volts: float  # scale of voltages [V]
    amperes: float  # least scale of currents [A]


class Control(NamedTuple):
    """How finely to step."""

    tolerance: float  # error of one step, share of the scales
    straightness: float  # bend of the mains current within one step, share of its peak
    longest: float  # [s]
    shortest: float  # [s]
    first: float  # [s] first step after a flip
    event_time: float  # [s] resolution of a flip's instant
    budget: int  # most steps in one stretch
