"""Laws of the two-pin curves that every part is made of, compiled.

A curve carries a current i(v) that depends on one voltage difference (the sensed one) and on a latch's state. The
current may flow between other nodes than the sensed ones: that is all a transistor needs (Ebers and Moll, "Large-signal
behavior of junction transistors", Proc. IRE 42 (1954) 1761, in transport form; square law of the field-effect
transistor after Shichman and Hodges, IEEE J. Solid-State Circuits 3 (1968) 285, whose triode region is the difference
of two saturated currents).

Every law is continuous with a continuous slope, because the implicit steps are solved by Newton's method. Thresholds
are rounded over `SPAN` = 20 mV at most (`ramp`), exponentials go on as straight lines far above any current that a
mains product carries (`exponential`).
"""

from __future__ import annotations

import math

import numba as nb

# Kinds of curve. The numbers are private to this room: the compiler of circuits and the kernel share them.
EXPONENTIAL = 0  # p0 current [A] at p3 voltage [V], p1 slope [V], p2 leak [S], p4 knee [V] (see `knee_of`)
ZENER = 1  # as EXPONENTIAL; p5 line's zero-current voltage [V], p6 resistance [ohm], p7 half span of the foot [V]
VARISTOR = 2  # p0 voltage [V] at p1 current [A], p2 exponent
REGULATOR = 3  # p0 limit [A], p1 dropout [V], p2 leak [S], p3 half span [V]
CONVERTER = 4  # p0 power [W], p1 minimum voltage [V], p2 width [V]
LATCH = 5  # p0 on voltage [V], p1 on resistance [ohm], p2 off conductance [S], p3 half span [V], p4 1 if one-way
GATE = 6  # p0 threshold [V], p1 resistance [ohm], p2 shunt conductance [S], p3 half span [V]
BREAKOVER = 7  # p0 on voltage, p1 on resistance, p2 off conductance, p3 half span, p4 / p5 breakover +/- [V]
SQUARE = 8  # p0 transconductance [A/V2], p1 threshold [V], p2 half span [V]
BENCH = 9  # bench supply: p0 voltage [V], p1 resistance [ohm], p2 current limit [A], p3 half span [V]

PARAMETERS = 8
SPAN = 20e-3

# States of a latch. CLAMPED is the sliding state of a breakover device that has too little current to snap back.
OFF = 0
GATED = 1
LATCHED = 2
CLAMPED = 3

_LARGEST_EXPONENT = 12.0  # beyond it an exponential goes on as a straight line: 160 000 times the test current

# The functions of the inner loop make no arrays, so they are compiled without numba's reference counting: passing the
# two tuples of arrays from one to the next would otherwise cost three times the arithmetic (measured: 0.9 -> 0.27 ms a
# cycle of an LED strip). Handing the tuples over at all costs half as much as the rest, so every call is put in line
# (0.25 -> 0.17 ms). Slices cannot be assigned in them; rows are copied by hand.
jit = nb.njit(  # type: ignore[call-overload]
    cache=True, nogil=True, error_model="numpy", _nrt=False, forceinline=True
)
counted = nb.njit(cache=True, nogil=True, error_model="numpy")


@jit
def ramp(x, half):
    """0 below -half, x above +half, a parabola between: value and slope. `half` [same unit as x]."""
    if x <= -half:
        return 0.0, 0.0
    if x >= half:
        return x, 1.0
    y = x + half
    return y * y / (4.0 * half), y / (2.0 * half)


@jit
def exponential(v, current, slope, at):
    """current * (exp((v - at) / slope) - exp(-at / slope)) [A] and its slope [S]; a straight line far above.

    Written around the test point, not the saturation current, which for a steep high string is below any number.
    """
    u = (v - at) / slope
    if u > _LARGEST_EXPONENT:
        top = current * math.exp(_LARGEST_EXPONENT)
        return top * (1.0 + u - _LARGEST_EXPONENT), top / slope
    if u < -700.0:
        return 0.0, 0.0
    e = current * math.exp(u)
    return e - current * math.exp(-at / slope), e / slope


def knee_of(current: float, slope: float, at: float) -> float:
    """Voltage [V] up to which Newton's method may follow an exponential as it likes: its slope is then 1.4 S there."""
    return at + slope * math.log(slope / (math.sqrt(2.0) * current))


@jit
def law(kind, state, p, v):
    """Current [A] and its slope [S] of a curve of `kind` in latch `state` with parameters `p` at voltage v [V]."""
    if kind == EXPONENTIAL:
        i, g = exponential(v, p[0], p[1], p[3])
        return i + p[2] * v, g + p[2]
    if kind == ZENER:
        i, g = exponential(v, p[0], p[1], p[3])
        r, dr = ramp(-v - p[5], p[7])
        return i - r / p[6] + p[2] * v, g + dr / p[6] + p[2]
    if kind == VARISTOR:
        a = abs(v) / p[0]
        if a > 4.0:  # a straight line far beyond any surge, so that the power does not overflow
            top = p[1] * 4.0 ** p[2]
            i = top * (1.0 + p[2] * (a - 4.0) / 4.0)
            g = top * p[2] / 4.0 / p[0]
        else:
            i = p[1] * a ** p[2]
            g = p[2] * p[1] * a ** (p[2] - 1.0) / p[0]
        return (i if v >= 0.0 else -i), g + 1e-12
    if kind == REGULATOR:
        r, dr = ramp(v - p[3], p[3])
        t = math.tanh(r / p[1])
        return p[0] * t + p[2] * v, p[0] * (1.0 - t * t) / p[1] * dr + p[2]
    if kind == CONVERTER:
        low = 0.5 * p[2]
        w = v if v > low else low
        u = (v - p[1]) / p[2]
        if u < -60.0:
            return 1e-9 * v, 1e-9
        s = 1.0 / (1.0 + math.exp(-u))
        i = p[0] / w * s
        g = p[0] / w * s * (1.0 - s) / p[2]
        if v > low:
            g -= i / w
        return i + 1e-9 * v, g + 1e-9
    if kind == LATCH:
        if state == OFF or (p[4] > 0.0 and v <= 0.0):
            return p[2] * v, p[2]
        r, dr = ramp(abs(v) - p[0], p[3])
        i = r / p[1]
        return (i if v >= 0.0 else -i) + p[2] * v, dr / p[1] + p[2]
    if kind == GATE:
        r, dr = ramp(abs(v) - p[0], p[3])
        i = r / p[1]
        return (i if v >= 0.0 else -i) + p[2] * v, dr / p[1] + p[2]
    if kind == BREAKOVER:
        if state == OFF:
            return p[2] * v, p[2]
        if state == CLAMPED:
            knee = p[4] if v >= 0.0 else p[5]
        else:
            knee = p[0]
        r, dr = ramp(abs(v) - knee, p[3])
        i = r / p[1]
        return (i if v >= 0.0 else -i) + p[2] * v, dr / p[1] + p[2]
    if kind == SQUARE:
        r, dr = ramp(v - p[1], p[2])
        return 0.5 * p[0] * r * r, p[0] * r * dr
    # BENCH: current out of the plus pin, hence negative from plus to minus; it takes none back
    a, da = ramp(p[0] - v, p[3])
    b, db = ramp(p[0] - v - p[2] * p[1], p[3])
    return -(a - b) / p[1] + 1e-9 * v, (da - db) / p[1] + 1e-9


@jit
def limited(kind, p, new, old):
    """A voltage between `old` and `new` [V] at which to evaluate an exponential next.

    Newton's method on an exponential overshoots upwards without bound. Past its knee a rise is therefore taken as a
    rise of the current and turned back into a voltage: the logarithm of what the straight line promised.
    """
    if kind == VARISTOR:  # near its knee a power law is an exponential of slope V / exponent
        size, reach = abs(new), max(abs(old), 1.1 * p[0])
        if size <= reach + 2.0 * p[0] / p[2]:
            return new
        size = reach + p[0] / p[2] * math.log(1.0 + (size - reach) * p[2] / p[0])
        return size if new >= 0.0 else -size
    if kind > ZENER:
        return new
    slope = p[1]
    knee = p[4]
    if kind == ZENER and new < 0.0:
        return new
    if new <= knee or new - old <= 2.0 * slope:
        return new
    if old <= 0.0:
        return knee if knee > 0.0 else slope
    step = 1.0 + (new - old) / slope
    return max(old + slope * math.log(step), knee if old < knee else old)
