"""One stretch of time: steps of the right length, flips of the latches located, everything recorded.

The instant of a flip is found by false position on the length of the step that ends with it. The sensitivity of the
charges to the state at the stretch's beginning is carried along. Where a latch flips, a shift of that instant by
d tau changes the charges by (k before - k after) d tau, k being their derivatives; d tau follows from the trigger's
gradient and speed (the jump of the sensitivity that is called saltation; D. J. Aprille and T. N. Trick, Proc. IEEE 60
(1972) 108 for the shooting method itself).
"""

from __future__ import annotations

import math

import numpy as np

from lidoff.cycle.events import (
    across,
    approach,
    first_to_flip,
    flip_or_hold,
    furthest,
    trigger_slope,
    watch_latching,
)
from lidoff.cycle.kernel import (
    _B1,
    _RATIO,
    GAMMA,
    attempt,
    carry_step,
    charge,
    error_of,
    euler_step,
    evaluate,
    put,
    put_row,
    start_at,
    workspace,
)
from lidoff.cycle.laws import counted, jit

DONE = 0
NO_CONVERGENCE = 1
BUDGET_SPENT = 2
RECORD_FULL = 3

JUMPS = 60  # jumps of a stretch that no latch explains, before it is given up


@jit
def find_step(system, control, work, t, h, x, latch_state, reached, locked, carry, q_z):
    """Tries steps from length h [s] until one is good.

    Returns (length, growth allowed next, whether a flip ends it, tries that failed). The step is shortened while
    Newton's method fails, while the error is too large, and to the first flip in it. A length of 0 says that no step
    was found.
    """
    low, high = 0.0, h
    f_low, f_high = -1.0, 0.0
    located = False
    growth = 1.0
    for tries in range(90):
        if not attempt(system, work, t, h, x, latch_state, carry, q_z):
            h *= 0.25
            low, f_low, located = 0.0, -1.0, False
            if h < control.shortest:
                return 0.0, 1.0, False, tries
            continue
        error, bend = error_of(system, control, work, h, x)
        growth = 0.9 / max(error ** (1.0 / 3.0), bend**0.5, 0.15)
        if max(error, bend) > 1.3 and h > 4.0 * control.first and not located:
            h *= max(0.15, min(growth, 0.7))
            continue
        if latch_state.shape[0] == 0:
            return h, growth, False, tries
        reach = furthest(system, work.x2, latch_state, reached, work.i, locked, t + h)
        if reach >= 0.0:
            if not located:
                low, f_low = 0.0, min(furthest(system, x, latch_state, reached, work.i0, locked, t), -1e-6)
            located = True
            high, f_high = h, reach
            if reach < 1e-5 or high - low < control.event_time:
                return h, growth, True, tries
        elif not located:
            return h, growth, False, tries
        elif h >= high:  # the far end has come to lie short of the flip by rounding: near enough
            return h, growth, True, tries
        else:
            low, f_low = h, reach
            if high - low < control.event_time:
                h = high
                continue
        share = min(max(f_low / (f_low - f_high), 0.02), 0.98)
        h = max(low + (high - low) * (share if tries % 3 != 2 else 0.5), 0.5 * control.event_time)
    return 0.0, 1.0, False, 90


@counted
def run(system, control, t0, t1, x, latch_state, reached, carry, q_z, rec_t, rec_w, rec_x, rec_i, rec_z, flips):
    """Steps from t0 to t1 [s]; x, latches and the sensitivity q_z (N, nz) are carried on in place.

    Each point that enters an integral over time is recorded: instant [s], weight [s], unknowns, curve currents [A],
    slopes of the states. Rows of `flips` receive instant, latch, old state, new state. With `carry` false the
    sensitivity is left alone. Returns (status, points, flips, steps tried, trembling, blame): trembling is true where a
    latch had to be held because it flipped again and again at one instant; blame is the curve that settled last.
    """
    n, nz, nc, nl = x.shape[0], system.za.shape[0], system.kind.shape[0], latch_state.shape[0]
    work = workspace(n, nz, nc, system.amperes)
    z0, dz1, dz2 = np.empty(nz), np.empty(nz), np.empty(nz)
    shift, before = np.zeros(nz), np.zeros(n)
    shifting = False
    locked, times = np.zeros(nl), np.zeros(nl, dtype=np.int64)
    triggers = np.zeros(nl)
    points, flipped, steps, jumps = 0, 0, 0, 0
    trembling = False
    last_flip = t0 - 1.0
    t = t0
    h = control.first
    fresh = True  # the next step starts from a jump: one implicit Euler step of length `first`
    start_at(system, work, latch_state, x)
    charge(system, x, work.q0)
    while t < t1 - 1e-12 * (t1 - t0):
        if steps >= control.budget:
            return BUDGET_SPENT, points, flipped, steps, trembling, work.blame[0]
        if points + 2 > rec_t.shape[0] or flipped + 1 > flips.shape[0]:
            return RECORD_FULL, points, flipped, steps, trembling, work.blame[0]
        steps += 1
        left = t1 - t
        for k in range(nz):
            z0[k] = across(x, system.za[k], system.zb[k])
        at = -1
        if fresh:
            h = min(control.first, left)
            if not euler_step(system, work, t, h, x, latch_state, carry, q_z):
                return NO_CONVERGENCE, points, flipped, steps, trembling, work.blame[0]
            if carry and shifting:
                for k in range(nz):
                    for r in range(n):
                        q_z[r, k] += (before[r] - work.k0[r]) * shift[k]
            rec_t[points], rec_w[points] = t + h, h
            put_row(work.x2, rec_x, points)
            put_row(work.i, rec_i, points)
            for k in range(nz):
                rec_z[points, k] = (across(work.x2, system.za[k], system.zb[k]) - z0[k]) / h
            points += 1
            work.rate[:] = 0.0
            work.slope[0] = math.nan
            t += h
            h = min(8.0 * control.first, control.longest)
            fresh = False
            approach(system, work.x2, latch_state, reached, work.i, triggers, h)
            if nl > 0:
                watch_latching(system, latch_state, reached, work.i)
                if furthest(system, work.x2, latch_state, reached, work.i, locked, t) >= 0.0:
                    # One flip brings the next at the same instant, so that instant's shift goes for both.
                    at = first_to_flip(system, work.x2, latch_state, reached, work.i, locked, t)
                    before[:] = work.k0
                else:
                    shifting = False
        else:
            if h >= left or left - h < control.first:
                h = left
            elif 2.0 * h > left:
                h = 0.5 * left
            put(work.v, work.v0)
            put(work.i, work.i0)
            h, growth, ends, retried = find_step(
                system, control, work, t, h, x, latch_state, reached, locked, carry, q_z
            )
            steps += retried
            if h == 0.0:
                # What has no memory jumps here, without a latch: the next small step feels for where it lands.
                jumps += 1
                if jumps > JUMPS:
                    return NO_CONVERGENCE, points, flipped, steps, trembling, work.blame[0]
                start_at(system, work, latch_state, x)
                fresh = True
                shifting = False
                continue
            if carry:
                carry_step(system, work, h, q_z)
            for k in range(nz):
                dz1[k] = (across(work.x1, system.za[k], system.zb[k]) - z0[k]) / (GAMMA * h)
                dz2[k] = (across(work.x2, system.za[k], system.zb[k]) - z0[k]) / (GAMMA * h) - _RATIO * dz1[k]
            rec_t[points], rec_w[points] = t + GAMMA * h, _B1 * h
            put_row(work.x1, rec_x, points)
            put_row(work.i1, rec_i, points)
            put_row(dz1, rec_z, points)
            rec_t[points + 1], rec_w[points + 1] = t + h, GAMMA * h
            put_row(work.x2, rec_x, points + 1)
            put_row(work.i, rec_i, points + 1)
            put_row(dz2, rec_z, points + 1)
            points += 2
            for c in range(nc):
                work.rate[c] = (work.v[c] - work.v1[c]) / ((1.0 - GAMMA) * h)
                work.biggest[c] = max(work.biggest[c], abs(work.i[c]))
            for r in range(system.nodes, n):
                work.branch[r] = max(work.branch[r], abs(work.x2[r]))
            put(work.k2, work.k0)
            if system.source >= 0:
                ahead = (work.x2[system.source] - work.x1[system.source]) / ((1.0 - GAMMA) * h)
                work.slope[0] = ahead
            t += h
            if nl > 0:
                watch_latching(system, latch_state, reached, work.i)
            if ends:
                at = first_to_flip(system, work.x2, latch_state, reached, work.i, locked, t)
                shifting = False
                if carry and trigger_slope(system, at, latch_state, reached, work.v, work.i, work.g, work.row):
                    speed = 0.0
                    for r in range(n):
                        speed += work.row[r] * (work.x2[r] - work.x1[r]) / ((1.0 - GAMMA) * h)
                    if abs(speed) > 1e-9:
                        shifting = True
                        before[:] = work.k2
                        for k in range(nz):
                            shift[k] = 0.0
                            for r in range(n):
                                shift[k] -= work.row[r] * work.sens2[r, k] / speed
            taken = h
            h = min(h * min(growth, 4.0), control.longest)
            if nl > 0:
                near = approach(system, work.x2, latch_state, reached, work.i, triggers, taken)
                h = max(min(h, near), min(h, 4.0 * control.first))
        put(work.x2, x)
        put(work.q2, work.q0)
        if at >= 0:
            flips[flipped, 0], flips[flipped, 1], flips[flipped, 2] = t, at, latch_state[at]
            again = t - last_flip < 8.0 * control.first
            if flip_or_hold(
                system, at, t, again, 0.05 * control.longest, latch_state, reached, locked, times, work.i
            ):  # fmt: skip
                trembling = True
            flips[flipped, 3] = latch_state[at]
            flipped += 1
            last_flip = t
            fresh = True
            evaluate(system, latch_state, work.v, work.i, work.g)
    return DONE, points, flipped, steps, trembling, work.blame[0]
