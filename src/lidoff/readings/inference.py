"""What the readings say of values that nobody wrote down, all readings of all states together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lidoff.figures.wave import Floats
from lidoff.readings.accuracy import MeterError
from lidoff.readings.crowd import Crowd
from lidoff.readings.forward import Forward
from lidoff.readings.likelihood import Evidence
from lidoff.readings.model import Inferred, Joint
from lidoff.readings.posterior import Posterior, inferred_of, joint_of
from lidoff.readings.search import Search
from lidoff.readings.verdicts import SOLVER
from lidoff.readings.words import listed
from lidoff.record import Table

_ON_GRID: Final = 2
_MOVES: Final = 0.02  # of a reading's uncertainty: less and it does not hang on the unknown
# Standard deviation, share of that before, from which a known value counts as narrowed: a part has to be narrowed more
# than a mains to be worth a line.
_NARROWED: Final = Table({"mains": 0.8, "tolerance": 0.7})


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """The outcome, by probe: `expected` and `spread` are what the other readings make of each (all probes).

    `hangs` says which probes hang on an unknown at all; `middle` are the unknowns' coordinates, `covariance` that of
    all inputs; `suspect` is the probe left out as wrong.
    """

    inferred: tuple[Inferred, ...]
    narrowed: tuple[Inferred, ...]
    joint: Joint | None
    suspect: int | None
    middle: Floats
    covariance: Floats
    expected: Floats
    spread: Floats
    hangs: tuple[bool, ...]
    name: str
    unknown: str
    posterior: Posterior


def infer(
    forward: Forward,
    unknowns: int,
    errors: Sequence[MeterError],
    aside: frozenset[int],
) -> Answer:
    """The first `unknowns` inputs of `forward` from its readings, those in `aside` left out (some set a mains)."""
    anywhere = _has_value(forward, unknowns)
    used = [k for k, probe in enumerate(forward.probes) if probe.reading not in aside and anywhere[k]]
    posterior = _posterior(forward, unknowns, errors, used)
    expected = np.full(len(forward.probes), np.nan)
    spread = np.zeros(len(forward.probes))
    expected[used], spread[used] = posterior.expected, posterior.spread
    suspect = None if posterior.suspect is None else used[posterior.suspect]
    if suspect is not None and len(used) > 1:
        # The others are held against each other without the one that is wrong.
        rest = [k for k in used if k != suspect]
        posterior = _posterior(forward, unknowns, errors, rest, posterior.sloped_at)
        expected[rest], spread[rest] = posterior.expected, posterior.spread
    middle = posterior.weights @ posterior.points
    hangs = _hanging(forward, posterior, middle, errors)
    names = listed([one.id for one in forward.inputs[:unknowns]])
    return Answer(
        inferred=inferred_of(posterior, [True] * unknowns),
        narrowed=_narrowed(posterior),
        joint=joint_of(posterior),
        suspect=suspect,
        middle=middle,
        covariance=posterior.inputs_covariance,
        expected=expected,
        spread=spread,
        hangs=hangs,
        name=f"the circuit with {names} from the other readings",
        unknown=f"{names}, not known",
        posterior=posterior,
    )


def _has_value(forward: Forward, unknowns: int) -> NDArray[np.bool_]:
    """Which probes have a value at the ends or the middle of the unknowns' ranges (probes,).

    One that has none anywhere (nothing fires, an open circuit) tells nothing of the unknowns, whatever it reads.
    """
    found = np.zeros(len(forward.probes), dtype=bool)
    for place in (-1.0, 0.0, 1.0):
        z = np.zeros(len(forward.inputs))
        z[:unknowns] = place
        found |= np.isfinite(forward.values(z))
    return found


def _posterior(
    forward: Forward,
    unknowns: int,
    errors: Sequence[MeterError],
    used: Sequence[int],
    solved_at: Floats | None = None,
) -> Posterior:
    """What some probes leave of the unknowns: on a grid for one or two of them, by a crowd of points for more."""
    own = [errors[forward.probes[k].reading] for k in used]
    slack = np.array([SOLVER * abs(error.measured) for error in own])
    way = Search if unknowns <= _ON_GRID else Crowd
    rows = list(used)
    return way(lambda z: forward.values(z, rows)[rows], forward.inputs, unknowns, Evidence(own, slack), solved_at).run()


def without(
    forward: Forward,
    unknowns: int,
    errors: Sequence[MeterError],
    aside: frozenset[int],
    answer: Answer,
) -> tuple[Floats, Floats]:
    """Middle (unknowns,) and covariance of the unknowns' coordinates as the readings but those in `aside` have them.

    `answer` is that of all readings. Where none is left, the middle of the ranges and the whole of them.
    """
    anywhere = _has_value(forward, unknowns)
    used = [
        k for k, probe in enumerate(forward.probes) if probe.reading not in aside and answer.hangs[k] and anywhere[k]
    ]
    if not used:
        return np.zeros(unknowns), np.eye(unknowns) / 3.0
    posterior = _posterior(forward, unknowns, errors, used, answer.posterior.sloped_at)
    middle = np.asarray(posterior.weights @ posterior.points)
    return middle, np.asarray(posterior.inputs_covariance[:unknowns, :unknowns])


def _hanging(forward: Forward, posterior: Posterior, middle: Floats, errors: Sequence[MeterError]) -> tuple[bool, ...]:
    """Which probes move by more than a little when an unknown moves within what the readings leave of it."""
    hanging = np.zeros(len(forward.probes), dtype=bool)
    sigma = np.array([errors[probe.reading].sigma for probe in forward.probes])
    for k in range(posterior.unknowns):
        size = float(np.sqrt(max(posterior.inputs_covariance[k, k], 1e-12)))
        ends = []
        for sign in (1.0, -1.0):
            z = np.zeros(len(forward.inputs))
            z[: posterior.unknowns] = middle
            z[k] = float(np.clip(middle[k] + sign * size, -1.0, 1.0))
            ends.append(forward.values(z))
        moved = np.abs(np.nan_to_num(ends[0] - ends[1]))
        hanging |= moved > _MOVES * sigma
    return tuple(bool(one) for one in hanging)


def _narrowed(posterior: Posterior) -> tuple[Inferred, ...]:
    """Known values whose range the readings make smaller."""
    found = []
    sizes = np.sqrt(np.clip(np.diag(posterior.inputs_covariance), 0.0, None))
    for k in range(posterior.unknowns, len(posterior.inputs)):
        one = posterior.inputs[k]
        if one.origin == "shape" or sizes[k] > _NARROWED[one.origin] / np.sqrt(3.0):
            continue
        low, high = (float(np.clip(posterior.inputs_mean[k] + f * sizes[k], -1.0, 1.0)) for f in (-2.0, 2.0))
        found.append(
            Inferred(
                key=one.name,
                state=one.state or None,
                median=1.0 + float(one.at(posterior.inputs_mean[k])),
                low95=1.0 + float(one.at(low)),
                high95=1.0 + float(one.at(high)),
                unit="",
                searched=(1.0 + one.low, 1.0 + one.high),
                note="Times the recorded value.",
            )
        )
    return tuple(found)
