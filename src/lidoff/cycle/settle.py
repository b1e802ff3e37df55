"""From rest to the settled cycle: plain cycles, then Newton's method on the map over one mains period.

A settled circuit starts the next cycle as it started this one. Plain cycles from rest show which latches fire and when;
once two cycles in a row show the same flips, the remaining way is solved for: with q the charges and fluxes and M
the sensitivity of their end to their start (carried along by `stretch`), q* = q0 + (I - M)^-1 (q(T) - q0) (shooting;
Aprille and Trick, Proc. IEEE 60 (1972) 108). A step is believed only if the cycle that starts from it shows the same
flips and a smaller remainder; otherwise plain cycles go on. A fixed point from which small disturbances grow (an
eigenvalue of M outside the unit circle) is not a settled state. Where no cycle repeats the last one, two, three and
four cycles are compared, so that operation in a rhythm of several cycles is found and said; else the operation wanders.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lidoff.circuit.model import CircuitError
from lidoff.cycle.arrays import Control, Floats, System
from lidoff.cycle.builder import Built
from lidoff.cycle.stretch import BUDGET_SPENT, DONE, NO_CONVERGENCE, RECORD_FULL, run

TOLERANCE: Final = 5e-5
STRAIGHTNESS: Final = 0.008
_SETTLED: Final = 2e-6  # remainder of one cycle, share of the scale, that counts as none
_NEAR: Final = 1e-4  # distance to the fixed point that counts as there
_FED: Final = 2e-3  # share of its mean current by which a capacitor may still be charging
_REFINE: Final = 4  # cycles spent on bringing that down
_RHYTHM: Final = 1e-4  # remainder over several cycles that counts as a rhythm
_UNSTABLE: Final = 1.0 + 1e-3  # eigenvalue from which disturbances grow
_DRIFT: Final = 0.02  # remainder up to which a growing disturbance is a slow drift, share of the scales
_LEAP: Final = 0.1  # how far a drift is followed in one leap, share of the scales
MOST_CYCLES: Final = 80  # of a search for the settled cycle
_MOST_STEPS: Final = 120_000  # after so many the search ends, so that no circuit hangs
_GROUND: Final = np.zeros(1)  # the voltage of the reference node, the last of the unknowns when counted with -1
_WANDER: Final = 12  # cycles over which a wandering circuit's figures are taken


@dataclass(slots=True)
class Point:
    """Where a circuit stands at one instant: unknowns [V, A], latch states, directions in which latches hold."""

    x: Floats
    latch: NDArray[np.int64]
    reached: NDArray[np.int64]

    def copy(self) -> Point:
        """An independent copy."""
        return Point(self.x.copy(), self.latch.copy(), self.reached.copy())


@dataclass(slots=True)
class Stretch:
    """One recorded stretch of time: points in time order with their weights [s], and the flips of the latches."""

    start: Point
    end: Point
    time: Floats  # [s]
    weight: Floats  # [s]
    x: Floats  # (points, N)
    curves: Floats  # (points, nc) [A]
    slopes: Floats  # (points, nz) d/dt of the states
    flips: Floats  # (flips, 4): instant [s], latch, state before, state after
    steps: int
    trembling: bool
    sensitivity: Floats | None

    @property
    def pattern(self) -> tuple[tuple[int, int, int], ...]:
        """The flips without their instants."""
        return tuple((int(row[1]), int(row[2]), int(row[3])) for row in self.flips)


@dataclass(slots=True)
class Settled:
    """Cycles that repeat (or wander), and how that was found."""

    stretches: list[Stretch]
    settled: bool
    run: int  # cycles computed in all
    multiplier: float | None  # largest eigenvalue of the map over the rhythm
    remainder: float  # what one more rhythm changes, share of the scales
    notes: list[str] = field(default_factory=list)


def control_for(system: System, *, fineness: float = 1.0) -> Control:
    """Step control for a circuit; `fineness` below 1 tightens every bound."""
    period = 2.0 * math.pi / system.omega if system.omega > 0.0 else 0.02
    highest = float(system.order.max()) if system.order.size else 1.0
    return Control(
        tolerance=TOLERANCE * fineness,
        straightness=STRAIGHTNESS * fineness,
        longest=period / 100.0 / max(1.0, highest / 2.5) * max(fineness, 0.1) ** 0.5,
        shortest=1e-12,
        first=2.5e-7 * period,
        event_time=5e-8 * period,
        budget=60_000,
    )


def rest(built: Built) -> Point:
    """Capacitors and coils empty, latches open."""
    system = built.system
    return Point(
        np.zeros(system.g.shape[0]),
        np.zeros(system.main.shape[0], dtype=np.int64),
        np.zeros(system.main.shape[0], dtype=np.int64),
    )


def advance(
    built: Built, start: Point, t0: float, t1: float, control: Control, *, sensitivity: bool = False
) -> Stretch:
    """The circuit from t0 to t1 [s] from where it stands. Raises CircuitError where no solution is found."""
    system = built.system
    n, nz, nc = system.g.shape[0], system.za.shape[0], system.kind.shape[0]
    room, flips_room = 2048, 256
    while True:
        end = start.copy()
        q_z = system.h.copy() if sensitivity else np.empty((n, 0))
        record = (
            np.empty(room),
            np.empty(room),
            np.empty((room, n)),
            np.empty((room, nc)),
            np.empty((room, nz)),
        )
        flips = np.empty((flips_room, 4))
        status, points, flipped, steps, trembling, blame = run(
            system, control, t0, t1, end.x, end.latch, end.reached, sensitivity, q_z, *record, flips
        )
        if status == RECORD_FULL:
            room, flips_room = 4 * room, 4 * flips_room
            if room > 600_000:
                raise CircuitError(
                    "The circuit switches too often to be followed; check the parts around its triac or diac"
                )
            continue
        if status == NO_CONVERGENCE:
            near = built.owners[blame] if blame >= 0 else "the supply"
            raise CircuitError(
                f"No solution was found around {near}: look for an absurd value there, a part without its smoothing "
                f"capacitor or two voltage-like parts in a loop"
            )
        if status == BUDGET_SPENT:
            raise CircuitError("The circuit changes too fast to be followed; look for an absurdly small L or C")
        assert status == DONE
        time, weight, x, curves, slopes = (array[:points] for array in record)
        return Stretch(
            start=start,
            end=end,
            time=time,
            weight=weight,
            x=x,
            curves=curves,
            slopes=slopes,
            flips=flips[:flipped].copy(),
            steps=steps,
            trembling=bool(trembling),
            sensitivity=q_z if sensitivity else None,
        )


def states_of(system: System, x: Floats) -> Floats:
    """Capacitor voltages [V] and coil currents [A] out of the unknowns."""
    padded = np.concatenate((x, _GROUND))
    return np.asarray(padded[system.za] - padded[system.zb])


# A knob that is turned leaves the capacitors and coils as they are, place after place.
@lru_cache(maxsize=16)
def _inverse(matrix: bytes, shape: tuple[int, int]) -> Floats:
    """Pseudoinverse of a matrix given by its bytes."""
    return np.asarray(np.linalg.pinv(np.frombuffer(matrix).reshape(shape)), dtype=np.float64)


class _Shooting:
    """Plain cycles and Newton steps of one circuit."""

    def __init__(self, built: Built, control: Control) -> None:
        self.built = built
        self.system = built.system
        self.control = control
        self.period = 2.0 * math.pi / built.system.omega
        self.scale = np.full(self.system.za.shape[0], self.system.volts)
        self.coils = np.flatnonzero(self.system.za >= self.system.nodes)

    def cycle(self, start: Point) -> Stretch:
        carry = self.system.za.shape[0] > 0
        try:
            stretch = advance(self.built, start, 0.0, self.period, self.control, sensitivity=carry)
        except CircuitError:
            # Another rhythm of steps often walks past the one instant that Newton's method stumbled over.
            other = self.control._replace(first=5.0 * self.control.first, tolerance=0.3 * self.control.tolerance)
            stretch = advance(self.built, start, 0.0, self.period, other, sensitivity=carry)
        for k in self.coils:
            largest = float(np.abs(stretch.x[:, self.system.za[k]]).max())
            self.scale[k] = max(largest, self.system.amperes, 1e-6)
        return stretch

    def remainder(self, before: Point, after: Point) -> float:
        change = np.abs(states_of(self.system, after.x) - states_of(self.system, before.x))
        share = float((change / self.scale).max()) if change.size else 0.0
        return share if np.array_equal(before.latch, after.latch) else max(share, 1.0)

    def fed(self, stretch: Stretch) -> bool:
        """Whether no capacitor gains or loses charge to speak of over the cycle.

        A hair's breadth of volts on a large capacitor is a current, and a steep string of LEDs turns it into light.
        """
        change = np.abs(states_of(self.system, stretch.end.x) - states_of(self.system, stretch.start.x))
        moved = stretch.weight @ np.abs(stretch.slopes)
        return bool(np.all(change <= np.maximum(_FED * moved, 1e-9 * self.scale)))

    def newton(self, stretch: Stretch) -> tuple[Floats, float, float]:
        """The way to a better start than this cycle's, its length (share of the scales), and M's largest eigenvalue."""
        assert stretch.sensitivity is not None
        m = stretch.sensitivity @ _inverse(self.system.h.tobytes(), self.system.h.shape)
        if not np.isfinite(m).all():  # beyond any number: nothing that a step could be worked out from
            return np.zeros_like(stretch.end.x), math.inf, math.inf
        change_q = self.system.c @ (stretch.end.x - stretch.start.x)
        size = np.abs(self.system.c).max(axis=1)
        size[size == 0.0] = 1.0
        matrix = (np.eye(m.shape[0]) - m) * (size[None, :] / size[:, None])
        # A charge that nothing leads off or brings (an eigenvalue of 1) is left where it is: least squares.
        inverse_c = _inverse(self.system.c.tobytes(), self.system.c.shape)
        step = inverse_c @ (np.linalg.lstsq(matrix, change_q / size, rcond=1e-10)[0] * size)
        distance = float((np.abs(states_of(self.system, step)) / self.scale).max())
        if distance > 1.0:  # no further than the mains' own peak in one go
            step /= distance
        return step, distance, float(np.abs(np.linalg.eigvals(m)).max())


@dataclass(slots=True)
class _Trial:
    """A start that was worked out, not reached: the cycle it was worked out from, the way to it, how much of that way.

    A Newton step must make the remainder smaller, the smaller the more of it is gone; a leap along a slow drift must
    find the drift going on much as before.
    """

    origin: Stretch
    share: float  # remainder of the origin
    way: Floats
    leap: bool
    factor: float = 1.0
    relaxed: int = 0

    def start(self) -> Point:
        point = self.origin.start.copy()
        point.x += self.factor * self.way
        return point

    def believed(self, stretch: Stretch, share: float) -> bool:
        most = 1.5 if self.leap else 1.0 - 0.3 * self.factor
        return stretch.pattern == self.origin.pattern and share < most * self.share

    def relax(self, stretch: Stretch) -> bool:
        """Whether to look at one more cycle: quick states, put beside their place, find it again by themselves."""
        self.relaxed += 1
        return not self.leap and self.relaxed <= 2 and stretch.pattern == self.origin.pattern

    def shorten(self) -> bool:
        """Less of the way; false where it is not worth while."""
        self.relaxed = 0
        self.factor *= 0.3 if self.leap else 0.4
        return self.factor > (0.02 if self.leap else 0.1)


def _leap(origin: Stretch, share: float) -> _Trial:
    way = (origin.end.x - origin.start.x) * min(_LEAP / max(share, 1e-9), 50.0)
    return _Trial(origin, share, np.asarray(way, dtype=np.float64), leap=True)


def settle(
    built: Built, *, start: Point | None = None, fineness: float = 1.0, most_cycles: int = MOST_CYCLES
) -> Settled:
    """The settled cycle reached from `start` (rest by default), or what `most_cycles` of search come to.

    Raises CircuitError where no cycle can be solved.
    """
    shooting = _Shooting(built, control_for(built.system, fineness=fineness))
    here = start if start is not None else rest(built)
    stateful = built.system.za.shape[0] > 0
    plain: list[Stretch] = []  # cycles that followed one another without a jump between them
    patience, wait = 1, 1
    trial: _Trial | None = None
    total, steps, refined = 0, 0, 0
    while total < most_cycles and steps < _MOST_STEPS:
        total += 1
        stretch: Stretch | None
        try:
            stretch = shooting.cycle(here)
        except CircuitError:
            if trial is None:
                raise
            stretch = None
        steps += stretch.steps if stretch is not None else 0
        share = shooting.remainder(stretch.start, stretch.end) if stretch is not None else math.inf
        if trial is not None and (stretch is None or not trial.believed(stretch, share)):
            if stretch is not None and trial.relax(stretch):
                here = stretch.end
            elif trial.shorten():
                here = trial.start()
            elif not trial.leap and trial.share < _DRIFT:
                trial = _leap(trial.origin, trial.share)
                here = trial.start()
            else:  # on with plain cycles from where they stood, for longer each time
                here, trial, patience = trial.origin.end, None, min(2 * patience, 8)
                wait = patience
            continue
        assert stretch is not None
        repeated = trial is not None or (bool(plain) and plain[-1].pattern == stretch.pattern)
        plain = [stretch] if trial is not None else [*plain[1 - _WANDER :], stretch]
        trial, here = None, stretch.end
        wait -= 1
        if not stateful and share == 0.0 and (repeated or not built.latches):
            return Settled([stretch], True, total, 0.0, 0.0)
        if stateful and repeated and wait <= 0:
            way, distance, multiplier = shooting.newton(stretch)
            stable = multiplier < _UNSTABLE
            refined += stable and distance < _NEAR
            if stable and (distance < _NEAR or share < _SETTLED) and (refined > _REFINE or shooting.fed(stretch)):
                return Settled([stretch], True, total, multiplier, share)
            if stable or share < _DRIFT:
                # Where disturbances grow, but slowly, the drift is followed in leaps.
                trial = _Trial(stretch, share, way, leap=False) if stable else _leap(stretch, share)
                here = trial.start()
                continue
        rhythm = _rhythm(shooting, plain)
        if rhythm is not None:
            share = shooting.remainder(rhythm[0].start, rhythm[-1].end)
            return Settled(rhythm, True, total, None, share)
    return _wandering(shooting, plain, total, steps, min(_WANDER, most_cycles))


def _rhythm(shooting: _Shooting, done: list[Stretch]) -> list[Stretch] | None:
    """The last cycles that repeat those before them, where there are two to four of them; a full turn is shown."""
    for length in (2, 3, 4):
        if len(done) < max(2 * length, 6):
            continue
        last, previous = done[-length:], done[-2 * length : -length]
        if [s.pattern for s in last] != [s.pattern for s in previous]:
            continue
        if shooting.remainder(last[0].start, last[-1].end) < _RHYTHM:
            return last
    return None


def _wandering(shooting: _Shooting, done: list[Stretch], total: int, steps: int, record: int) -> Settled:
    while len(done) < record and steps < 2 * _MOST_STEPS:
        done.append(shooting.cycle(done[-1].end))
        steps += done[-1].steps
        total += 1
    note = f"No steady rhythm was found in {total} cycles: the figures are of the last {len(done)} and wander."
    share = shooting.remainder(done[-1].start, done[-1].end)
    return Settled(done, False, total, None, share, [note])
