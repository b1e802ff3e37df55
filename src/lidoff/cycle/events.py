"""When a latching part flips, and what it becomes: diac, triac, thyristor and indicator as state machines.

`reached` keeps, for each latch, the direction (+1, -1) in which its main current has passed the latching current, or a
breakover device has fired; 0 where it has not.

A latch flips where its `trigger` rises through zero. Triac and thyristor: OFF until the gate current passes its
threshold, then GATED while it stays above, then LATCHED if the main current has meanwhile reached the latching current
(else OFF), until the main current falls below the holding current. Diac and indicator: OFF until the voltage reaches
the breakover voltage, LATCHED until the current falls below the holding current. Where a breakover device would flip to
and fro at one instant (too little current to hold it, too much voltage to stay off) it slides along its knee: CLAMPED.
"""

from __future__ import annotations

import math

from lidoff.cycle.laws import CLAMPED, GATED, LATCHED, OFF, jit


@jit
def across(x, a, b):
    """x[a] - x[b], the reference node (-1) being zero."""
    va = x[a] if a >= 0 else 0.0
    vb = x[b] if b >= 0 else 0.0
    return va - vb


@jit
def trigger(system, at, x, latch_state, reached, i):
    """How far latch `at` is past the point where it flips, as a share of that threshold: negative before it."""
    m = system.main[at]
    gate = system.gate[at]
    state = latch_state[at]
    if gate < 0:
        v = across(x, system.sa[m], system.sb[m])
        knee = system.limit[at, 0] if v >= 0.0 else system.limit[at, 2]
        if state == OFF:
            return abs(v) / knee - 1.0
        if state == LATCHED:
            return 1.0 - reached[at] * i[m] / system.limit[at, 1]
        return max(abs(i[m]) / system.limit[at, 1] - 1.0, (knee - 3.0 * system.par[m, 3] - abs(v)) / knee)
    ig = i[gate] if system.oneway[at] == 1 else abs(i[gate])
    if state == OFF:
        return ig / system.limit[at, 0] - 1.0
    if state == GATED:
        return 1.0 - ig / system.limit[at, 0]
    if ig >= system.limit[at, 0]:
        return -1.0
    return 1.0 - reached[at] * i[m] / system.limit[at, 1]


@jit
def furthest(system, x, latch_state, reached, i, locked, t):
    """The largest `trigger` of all latches that are free to flip."""
    most = -1.0
    for at in range(latch_state.shape[0]):
        if locked[at] <= t:
            most = max(most, trigger(system, at, x, latch_state, reached, i))
    return most


@jit
def flip(system, at, latch_state, reached, i):
    """Puts latch `at` into the state that follows."""
    m = system.main[at]
    state = latch_state[at]
    if system.gate[at] < 0:
        if state == CLAMPED:
            latch_state[at] = LATCHED if abs(i[m]) >= system.limit[at, 1] else OFF
        else:
            latch_state[at] = OFF if state == LATCHED else LATCHED
        reached[at] = 1 if i[m] >= 0.0 else -1
        return
    if state == OFF:
        latch_state[at] = GATED
        reached[at] = 0
    elif state == GATED:
        latch_state[at] = LATCHED if reached[at] != 0 else OFF
    else:
        latch_state[at] = OFF


@jit
def trigger_slope(system, at, latch_state, reached, v, i, g, row):
    """Gradient of `trigger` to the unknowns, into `row`; false where it has none."""
    for k in range(row.shape[0]):
        row[k] = 0.0
    m = system.main[at]
    state = latch_state[at]
    if system.gate[at] < 0:
        knee = system.limit[at, 0] if v[m] >= 0.0 else system.limit[at, 2]
        if state == OFF:
            c, size = m, math.copysign(1.0 / knee, v[m])
        elif state == LATCHED:
            c, size = m, -reached[at] * g[m] / system.limit[at, 1]
        else:
            return False
    elif state == LATCHED:
        c, size = m, -reached[at] * g[m] / system.limit[at, 1]
    else:
        c = system.gate[at]
        size = math.copysign(g[c] / system.limit[at, 0], i[c])
        if state == GATED:
            size = -size
    if system.sa[c] >= 0:
        row[system.sa[c]] += size
    if system.sb[c] >= 0:
        row[system.sb[c]] -= size
    return True


@jit
def approach(system, x, latch_state, reached, i, before, h):
    """Longest next step [s] that does not jump over a threshold now being approached; `before` is brought up to date.

    `before` holds each latch's trigger at the last step's beginning, h [s] that step's length. A current that dips
    below its holding value at a zero crossing does so for less than a long step.
    """
    longest = math.inf
    for at in range(latch_state.shape[0]):
        f = trigger(system, at, x, latch_state, reached, i)
        rise = f - before[at]
        if f < 0.0 < rise:
            longest = min(longest, 1.2 * h * -f / rise)
        before[at] = f
    return longest


@jit
def watch_latching(system, latch_state, reached, i):
    """Keeps in `reached` in which direction the main current has passed the latching current while gated."""
    for at in range(latch_state.shape[0]):
        if latch_state[at] == GATED and system.gate[at] >= 0:
            main = i[system.main[at]]
            sign = 1 if main > 0.0 else -1
            if abs(main) >= system.limit[at, 2]:
                reached[at] = sign
            elif reached[at] != 0 and reached[at] != sign:
                reached[at] = 0


@jit
def first_to_flip(system, x, latch_state, reached, i, locked, t):
    """The latch that is furthest past its threshold, -1 where none is free to flip."""
    most, found = -2.0, -1
    for at in range(latch_state.shape[0]):
        if locked[at] <= t:
            f = trigger(system, at, x, latch_state, reached, i)
            if f > most:
                most, found = f, at
    return found


@jit
def flip_or_hold(system, at, t, near, dwell, latch_state, reached, locked, times, i):
    """Flips latch `at` at time t; true where it trembles (its fifth flip `near` the last) and is held for `dwell` [s].

    A breakover device is then clamped to its knee; a gated one is left off for that while.
    """
    times[at] = times[at] + 1 if near else 1
    flip(system, at, latch_state, reached, i)
    if times[at] < 5:
        return False
    times[at] = 0
    latch_state[at] = CLAMPED if system.gate[at] < 0 else OFF
    locked[at] = t + dwell
    return True
