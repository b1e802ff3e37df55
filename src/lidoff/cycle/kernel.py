"""One implicit step of a circuit: the stage equations, their Newton iteration, the step and its error.

The circuit is C x' + G x + f(x) = s(t): x are node voltages and branch currents, C and G hold the linear parts, f the
curves of `laws`, s the mains. Each step is the two-stage singly diagonally implicit Runge-Kutta method of order two
that is L-stable and stiffly accurate (R. Alexander, SIAM J. Numer. Anal. 14 (1977) 1006, with g = 1 - 1/sqrt 2):

    C (x1 - x0) = g h F(x1, t + g h)
    C (x2 - x0) = (1 - g) h F(x1, t + g h) + g h F(x2, t + h)         F = s - G x - f

It needs only the charges and fluxes q = C x of the step's beginning, so a latch may flip between two steps and leave
the node voltages to jump. The error estimate compares with the third-order quadrature through the derivative at the
step's beginning, filtered by the step's own matrix; a second bound keeps the mains current straight enough between the
points that figures may be taken from them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from lidoff.cycle.arrays import Floats, Ints
from lidoff.cycle.events import across
from lidoff.cycle.laws import counted, jit, law, limited

GAMMA = 1.0 - 1.0 / math.sqrt(2.0)
_B1 = 1.0 - GAMMA
_RATIO = (1.0 - GAMMA) / GAMMA
# Third-order quadrature through the nodes 0, g and 1, less the method's own weights: the error estimate's weights.
_E1 = (1.0 / 6.0) / (GAMMA - GAMMA * GAMMA) - _B1
_E2 = 0.5 - (_E1 + _B1) * GAMMA - GAMMA
_E0 = -(_E1 + _E2)


class Work(NamedTuple):
    """Room for one step, allocated once a stretch."""

    base: Floats
    lu: Floats
    pivot: Ints
    rhs: Floats
    new: Floats
    row: Floats
    delta: Floats
    q0: Floats  # charges and fluxes at the step's beginning; their derivatives
    k0: Floats
    x1: Floats  # first stage
    q1: Floats
    k1: Floats
    v1: Floats
    i1: Floats
    x2: Floats  # second stage, which ends the step
    q2: Floats
    k2: Floats
    v: Floats  # curves: voltage, current, slope; the same at the step's beginning; rate of change
    i: Floats
    g: Floats
    v0: Floats
    i0: Floats
    rate: Floats
    moved: Floats  # change of the voltage in the last pass, and the most it may be
    bound: Floats
    biggest: Floats  # largest current seen, by curve and by branch
    branch: Floats
    sens1: Floats  # sensitivities of the unknowns to the stretch's first state
    sens2: Floats
    sensq: Floats
    slope: Floats  # rate of the mains current over the last step's end, nan after a jump
    blame: Ints  # the curve that settled last, for a message
    anchor: Floats  # voltages that the curves are tied to while a solution is felt for


@counted
def workspace(n, nz, nc, amperes):
    """An empty `Work` for n unknowns, nz states, nc curves."""
    return Work(
        np.empty((n, n)), np.empty((n, n)), np.empty(n, dtype=np.int64), np.empty(n), np.empty(n), np.empty(n),
        np.empty(n), np.empty(n), np.zeros(n), np.empty(n), np.empty(n), np.empty(n), np.empty(nc), np.empty(nc),
        np.empty(n), np.empty(n), np.empty(n), np.empty(nc), np.empty(nc), np.empty(nc), np.empty(nc),
        np.empty(nc), np.zeros(nc), np.zeros(nc), np.zeros(nc), np.zeros(nc), np.full(n, amperes),
        np.empty((n, nz)), np.empty((n, nz)), np.empty((n, nz)),
        np.full(1, math.nan), np.full(1, -1, dtype=np.int64), np.empty(nc),
    )  # fmt: skip


@jit
def factor(a, pivot):
    """LU factors of `a` in place with row exchange, the diagonal inverted; false where the matrix is singular."""
    n = a.shape[0]
    for k in range(n):
        best, at = abs(a[k, k]), k
        for r in range(k + 1, n):
            size = abs(a[r, k])
            if size > best:
                best, at = size, r
        pivot[k] = at
        if not best > 1e-300:
            return False
        if at != k:
            for col in range(n):
                a[k, col], a[at, col] = a[at, col], a[k, col]
        inverse = 1.0 / a[k, k]
        a[k, k] = inverse
        for r in range(k + 1, n):
            if a[r, k] != 0.0:
                m = a[r, k] * inverse
                a[r, k] = m
                for col in range(k + 1, n):
                    a[r, col] -= m * a[k, col]
    return True


@jit
def backsolve(a, pivot, b):
    """Solves with the factors of `factor`, in place in `b`."""
    n = a.shape[0]
    for k in range(n):
        at = pivot[k]
        if at != k:
            b[k], b[at] = b[at], b[k]
    for r in range(1, n):
        total = b[r]
        for col in range(r):
            total -= a[r, col] * b[col]
        b[r] = total
    for r in range(n - 1, -1, -1):
        total = b[r]
        for col in range(r + 1, n):
            total -= a[r, col] * b[col]
        b[r] = total * a[r, r]


@jit
def put(source, target):
    """Copies one row of numbers."""
    for k in range(target.shape[0]):
        target[k] = source[k]


@jit
def put_row(source, table, row):
    """Copies one row of numbers into a table."""
    for k in range(source.shape[0]):
        table[row, k] = source[k]


@jit
def charge(system, x, out):
    """out = C x, the charges and fluxes at the unknowns x."""
    for r in range(out.shape[0]):
        out[r] = 0.0
    for e in range(system.c_value.shape[0]):
        out[system.c_row[e]] += system.c_value[e] * x[system.c_col[e]]


@jit
def charges(system, sens, out):
    """out = C sens, column by column."""
    for r in range(out.shape[0]):
        for k in range(out.shape[1]):
            out[r, k] = 0.0
    for e in range(system.c_value.shape[0]):
        r, col = system.c_row[e], system.c_col[e]
        for k in range(out.shape[1]):
            out[r, k] += system.c_value[e] * sens[col, k]


@jit
def mains(system, t):
    """Open-circuit voltage of the mains at time t [V]; zero phase at t = 0, rising."""
    e = 0.0
    for k in range(system.amplitude.shape[0]):
        e += system.amplitude[k] * math.sin(system.order[k] * system.omega * t)
    return e


@jit
def state_of(system, c, latch_state):
    """The latch state that curve c sees."""
    at = system.latch_of[c]
    return latch_state[at] if at >= 0 else 0


@jit
def evaluate(system, latch_state, v, i, g):
    """All curves' currents and slopes at the voltages `v`, in place."""
    for c in range(v.shape[0]):
        i[c], g[c] = law(system.kind[c], state_of(system, c, latch_state), system.par[c], v[c])


@jit
def iterate(system, work, soft, x, latch_state):
    """Newton's method on base x + f(x) = rhs from the curve voltages work.v; x in place. Returns whether it converged.

    A pass is the last one when every curve's straight line promised the current that the curve then has, to 1e-4 of
    it: a circuit in a linear mood takes one pass. work.lu keeps the factors. `soft` [S] ties each curve's voltage to
    work.anchor (see `feel_for`).
    """
    n = x.shape[0]
    v, i, g, rhs, new, lu = work.v, work.i, work.g, work.rhs, work.new, work.lu
    for turn in range(60):
        for r in range(n):
            for col in range(n):
                lu[r, col] = work.base[r, col]
        put(rhs, new)
        for c in range(v.shape[0]):
            rest = i[c] - g[c] * v[c]
            p, q, sa, sb = system.fp[c], system.fq[c], system.sa[c], system.sb[c]
            if p >= 0:
                new[p] -= rest
                if sa >= 0:
                    lu[p, sa] += g[c]
                if sb >= 0:
                    lu[p, sb] -= g[c]
            if q >= 0:
                new[q] += rest
                if sa >= 0:
                    lu[q, sa] -= g[c]
                if sb >= 0:
                    lu[q, sb] += g[c]
            if soft > 0.0:
                if sa >= 0:
                    lu[sa, sa] += soft
                    new[sa] += soft * work.anchor[c]
                    if sb >= 0:
                        lu[sa, sb] -= soft
                if sb >= 0:
                    lu[sb, sb] += soft
                    new[sb] -= soft * work.anchor[c]
                    if sa >= 0:
                        lu[sb, sa] -= soft
        if not factor(lu, work.pivot):
            return False
        backsolve(lu, work.pivot, new)
        settled = True
        for c in range(v.shape[0]):
            to = across(new, system.sa[c], system.sb[c])
            if not abs(to) < 1e12:
                return False
            at = limited(system.kind[c], system.par[c], to, v[c])
            if turn >= 6:
                # Two corners may throw the point to and fro: from now on no move is longer than half the one it undoes.
                change = at - v[c]
                if turn == 6:
                    work.bound[c] = math.inf
                if change * work.moved[c] < 0.0:
                    work.bound[c] = min(work.bound[c], 0.5 * abs(work.moved[c]))
                if abs(change) > work.bound[c]:
                    at = v[c] + math.copysign(work.bound[c], change)
                    work.bound[c] *= 1.5
            work.moved[c] = at - v[c]
            promised = i[c] + g[c] * (to - v[c])
            i[c], g[c] = law(system.kind[c], state_of(system, c, latch_state), system.par[c], at)
            if abs(at - to) > 1e-9 * (1.0 + abs(to)) or abs(i[c] - promised) > (
                1e-4 * abs(i[c]) + 1e-6 * work.biggest[c] + 1e-11
            ):
                settled = False
                work.blame[0] = c
            v[c] = at
        put(new, x)
        if settled:
            return True
    return False


@jit
def assemble(system, work, a, t):
    """The linear part of a C x + G x + f(x) = rhs + s(t) into work.base and work.rhs."""
    if system.source >= 0:
        work.rhs[system.source] += mains(system, t)
    for r in range(work.rhs.shape[0]):
        for col in range(work.rhs.shape[0]):
            work.base[r, col] = system.g[r, col]
    for e in range(system.c_value.shape[0]):
        work.base[system.c_row[e], system.c_col[e]] += a * system.c_value[e]


@jit
def stage(system, work, a, t, x, latch_state):
    """Solves a C x + G x + f(x) = rhs + s(t) from the curve voltages work.v; x in place. Whether that converged."""
    assemble(system, work, a, t)
    return iterate(system, work, 0.0, x, latch_state)


@jit
def feel_for(system, work, a, t, x, latch_state):
    """`stage` for a solution far away, where Newton's method loses itself; x in place. Whether one was found.

    Every curve is given what it has in truth, a little capacitance, and the circuit is followed through a time of its
    own until nothing moves (pseudo-transient continuation: C. T. Kelley and D. E. Keyes, SIAM J. Numer. Anal. 35 (1998)
    508). Where a falling curve leaves several solutions this finds one that would last.
    """
    assemble(system, work, a, t)
    soft = 1.0
    for _ in range(200):
        put(work.v, work.anchor)
        if iterate(system, work, soft, x, latch_state):
            if soft < 1e-9:
                return iterate(system, work, 0.0, x, latch_state)
            soft *= 0.3
        else:
            if soft > 1e4:
                return False
            soft *= 10.0
            put(work.anchor, work.v)
            evaluate(system, latch_state, work.v, work.i, work.g)
    return False


@jit
def start_at(system, work, latch_state, x):
    """Sets the curves at the unknowns x.

    A start that was only proposed may put volts across a junction: it begins at its knee, not at 10^19 amperes.
    """
    for c in range(work.v.shape[0]):
        work.v[c] = limited(system.kind[c], system.par[c], across(x, system.sa[c], system.sb[c]), 0.0)
    evaluate(system, latch_state, work.v, work.i, work.g)


@jit
def guess(system, work, latch_state, start, h):
    """Moves the curves' voltages on by h [s] from `start`, the exponentials only as far as is wise, and looks again."""
    for c in range(work.v.shape[0]):
        to = start[c] + work.rate[c] * h
        work.v[c] = limited(system.kind[c], system.par[c], to, start[c])
    evaluate(system, latch_state, work.v, work.i, work.g)


@jit
def carry_on(work, a, q_z, sens):
    """Sensitivity of a stage from that of the charges (both in columns): sens = (a C + J)^-1 a q_z."""
    for k in range(q_z.shape[1]):
        for r in range(q_z.shape[0]):
            work.row[r] = a * q_z[r, k]
        backsolve(work.lu, work.pivot, work.row)
        for r in range(q_z.shape[0]):
            sens[r, k] = work.row[r]


@jit
def euler_step(system, work, t, h, x, latch_state, carry, q_z):
    """One implicit Euler step of length h [s] into work.x2, work.q2, work.k0: the small step after a jump."""
    a = 1.0 / h
    for r in range(x.shape[0]):
        work.rhs[r] = a * work.q0[r]
    put(x, work.x2)
    if not stage(system, work, a, t + h, work.x2, latch_state):
        for r in range(x.shape[0]):
            work.rhs[r] = a * work.q0[r]
        put(x, work.x2)
        start_at(system, work, latch_state, x)
        if not feel_for(system, work, a, t + h, work.x2, latch_state):
            return False
    charge(system, work.x2, work.q2)
    for r in range(x.shape[0]):
        work.k0[r] = a * (work.q2[r] - work.q0[r])
    if carry:
        carry_on(work, a, q_z, work.sens2)
        charges(system, work.sens2, q_z)
    return True


@jit
def attempt(system, work, t, h, x, latch_state, carry, q_z):
    """Both stages of one step of length h [s]; false where Newton's method does not converge."""
    n = x.shape[0]
    a = 1.0 / (GAMMA * h)
    guess(system, work, latch_state, work.v0, GAMMA * h)
    for r in range(n):
        work.rhs[r] = a * work.q0[r]
    put(x, work.x1)
    if not stage(system, work, a, t + GAMMA * h, work.x1, latch_state):
        return False
    charge(system, work.x1, work.q1)
    for r in range(n):
        work.k1[r] = a * (work.q1[r] - work.q0[r])
    put(work.v, work.v1)
    put(work.i, work.i1)
    if carry:
        carry_on(work, a, q_z, work.sens1)
    for c in range(work.v.shape[0]):
        work.rate[c] = (work.v1[c] - work.v0[c]) / (GAMMA * h)
    guess(system, work, latch_state, work.v1, (1.0 - GAMMA) * h)
    for r in range(n):
        work.rhs[r] = a * work.q0[r] + _RATIO * work.k1[r]
    put(work.x1, work.x2)
    if not stage(system, work, a, t + h, work.x2, latch_state):
        return False
    charge(system, work.x2, work.q2)
    for r in range(n):
        work.k2[r] = a * (work.q2[r] - work.q0[r]) - _RATIO * work.k1[r]
    return True


@jit
def carry_step(system, work, h, q_z):
    """The accepted step's sensitivity: q_z in place, work.sens2 that of the unknowns at its end."""
    a = 1.0 / (GAMMA * h)
    n = q_z.shape[0]
    charges(system, work.sens1, work.sensq)
    for k in range(q_z.shape[1]):
        for r in range(n):
            work.row[r] = a * q_z[r, k] + _RATIO * a * (work.sensq[r, k] - q_z[r, k])
        backsolve(work.lu, work.pivot, work.row)
        for r in range(n):
            work.sens2[r, k] = work.row[r]
    charges(system, work.sens2, q_z)


@jit
def error_of(system, control, work, h, x):
    """Error and bend of the step just attempted, each as a share of what is allowed."""
    a = 1.0 / (GAMMA * h)
    for r in range(x.shape[0]):
        work.delta[r] = a * h * (_E0 * work.k0[r] + _E1 * work.k1[r] + _E2 * work.k2[r])
    backsolve(work.lu, work.pivot, work.delta)
    # Only capacitor voltages and coil currents are remembered by later steps; what has no memory may jump.
    error = 0.0
    for k in range(system.za.shape[0]):
        off = abs(across(work.delta, system.za[k], system.zb[k]))
        if system.za[k] < system.nodes:
            error = max(error, off / (control.tolerance * system.volts))
        else:
            error = max(error, off / (control.tolerance * max(work.branch[system.za[k]], abs(work.x2[system.za[k]]))))
    s = system.source
    if s < 0:
        return error, 0.0
    # What a wrong or bent mains current costs in an integral over time goes with the length of the step that hides it.
    allowed = control.straightness * math.sqrt(math.sqrt(control.longest / h))
    middle = x[s] + GAMMA * (work.x2[s] - x[s])
    bend = abs(work.x1[s] - middle)
    if math.isfinite(work.slope[0]):  # a corner just behind the step's beginning shows only against the step before
        bend = max(bend, 0.5 * abs(work.x1[s] - x[s] - GAMMA * h * work.slope[0]))
    largest = allowed * max(work.branch[s], abs(work.x1[s]), abs(work.x2[s]))
    return max(error, abs(work.delta[s]) / largest), bend / largest
