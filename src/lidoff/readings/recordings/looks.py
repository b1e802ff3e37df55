"""What kind of load a recorded cycle looks like, from its shape against the voltage.

Each kind is a set of features with soft borders; the features are physical: how far the fundamental leads, how much of
the time current flows and where in the half-cycle, whether it follows the voltage or its slope while it flows, jumps,
and how alike the two half-cycles are. The borders are common practice without a source, checked against open recordings
of appliances and against computed cycles.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from lidoff.figures.wave import Floats
from lidoff.readings.model import Look
from lidoff.record import Table

KINDS: Final = ("resistive", "phase-cut", "half-wave", "capacitor-input", "dropper", "motor", "other")
_FLOWS: Final = 0.08  # of the peak: less counts as no current
# A sine may be a resistor's, a motor's or a dropper's where no voltage tells its phase: the commoner go first.
_WITHOUT_VOLTAGE: Final[Mapping[str, float]] = Table({"motor": 0.7, "dropper": 0.4})
_OTHER: Final = 0.12  # what speaks for none of the kinds


@dataclass(frozen=True, slots=True, kw_only=True)
class Features:
    """Features of one cycle that begins at the voltage's rising zero.

    `lead` is the angle by which the current's fundamental leads [deg]; `thd`, `third` (third harmonic), `even` (even
    harmonics) are shares of the fundamental [1]; `flowing` the share of time in which current flows; `centre` where in
    the half-cycle its charge lies and `begins` where it begins [deg]; `follows` how well it follows the voltage while
    it flows and `slopes` how well the voltage's slope (correlations); `edge` how far current steps up or down beside a
    pause, against the peak; `rough` the share of its rms above order 40; `balance` the smaller half-cycle's rms over
    the larger one's; `crest` peak over rms.
    """

    lead: float
    thd: float
    third: float
    even: float
    flowing: float
    centre: float
    begins: float
    follows: float
    slopes: float
    edge: float
    rough: float
    balance: float
    crest: float


def features_of(voltage: Floats, current: Floats) -> Features:
    """The features of a cycle of current [A] on its voltage [V]."""
    count = current.size
    v, i = np.fft.rfft(voltage), np.fft.rfft(current)
    size = np.abs(i)
    first = max(float(size[1]), 1e-300)
    top = min(40, size.size - 1)
    whole = math.sqrt(float((size[1:] ** 2).sum()))
    smooth = _smoothed(current)
    peak = max(float(np.abs(smooth).max()), 1e-300)
    flows = np.abs(smooth) > _FLOWS * peak
    angle = 360.0 * np.arange(count) / count
    charge = np.abs(smooth) * flows
    half = angle % 180.0
    centre = float((charge * half).sum() / max(float(charge.sum()), 1e-300))
    halves = np.sqrt(np.array([(current[: count // 2] ** 2).mean(), (current[count // 2 :] ** 2).mean()]))
    slope = np.gradient(voltage)
    rms = math.sqrt(float((current**2).mean()))
    return Features(
        lead=math.degrees(float(np.angle(i[1] * np.conj(v[1])))),
        thd=math.sqrt(float((size[2 : top + 1] ** 2).sum())) / first,
        third=float(size[3]) / first,
        even=math.sqrt(float((size[2 : top + 1 : 2] ** 2).sum())) / first,
        flowing=float(flows.mean()),
        centre=centre,
        begins=_begins(half, flows),
        follows=_correlation(voltage[flows], smooth[flows]),
        slopes=_correlation(slope[flows], smooth[flows]),
        edge=_edge(np.abs(smooth) / peak, flows),
        rough=math.sqrt(float((size[41:] ** 2).sum())) / max(whole, 1e-300) if size.size > 41 else 0.0,
        balance=float(halves.min() / max(float(halves.max()), 1e-300)),
        crest=float(np.abs(current).max()) / max(rms, 1e-300),
    )


def _edge(size: Floats, flows: NDArray[np.bool_]) -> float:
    """The largest step of a cycle's current (1 at its peak) at either side of a pause.

    A pause lasts at least a twenty-sixth of the cycle; a sine dwells a thirty-ninth about its zero.
    """
    count = size.size
    pause, reach = max(2, count // 26), max(2, count // 60)
    largest = 0.0
    for k in range(count):
        if flows[k] and not flows[k - 1] and not flows[np.arange(k - pause, k) % count].any():
            largest = max(largest, float(size[np.arange(k, k + reach) % count].max()))
        if not flows[k] and flows[k - 1] and not flows[np.arange(k, k + pause) % count].any():
            largest = max(largest, float(size[np.arange(k - reach, k) % count].max()))
    return largest


def _begins(half: Floats, flows: NDArray[np.bool_]) -> float:
    """Where in the half-cycle current begins [deg], mean of both: where it flows with a pause before."""
    count = half.size
    first = []
    for part in (slice(0, count // 2), slice(count // 2, count)):
        here = np.flatnonzero(flows[part])
        if here.size:
            first.append(float(half[part][here[0]]))
    return sum(first) / len(first) if first else 0.0


def _smoothed(current: Floats) -> Floats:
    """Without what lies above order 40: noise would look like jumps."""
    spectrum = np.fft.rfft(current)
    spectrum[61:] = 0.0
    return np.fft.irfft(spectrum, current.size)


def _correlation(one: Floats, other: Floats) -> float:
    size = math.sqrt(float(one @ one) * float(other @ other)) if one.size else 0.0
    return float(one @ other) / size if size > 0.0 else 0.0


def _above(value: float, border: float, width: float) -> float:
    """From 0 to 1 as the value passes a border, softly."""
    return 1.0 / (1.0 + math.exp(-max(min((value - border) / width, 60.0), -60.0)))


def _below(value: float, border: float, width: float) -> float:
    return _above(-value, -border, width)


def scores(f: Features, *, blocked: bool = False) -> Mapping[str, float]:
    """How well each kind fits, from 0 to 1; `blocked` says that one half-cycle was found to carry nothing."""
    in_step = _above(f.lead, -1.5, 1.2) * _below(abs(f.lead), 25.0, 4.0)
    plain = _below(f.thd, 0.2, 0.035)
    cut = _above(f.edge, 0.2, 0.025) * _above(f.follows, 0.9, 0.015)
    peaked = _above(f.third, 0.09, 0.012) * _above(f.crest, 1.58, 0.04) * _below(f.thd, 0.4, 0.04)
    both = _above(f.balance, 0.5, 0.08)
    humming = 1.0 - (1.0 - _below(f.lead, -1.5, 1.2)) * (1.0 - peaked * _below(f.lead, 4.0, 1.5))
    return {
        "resistive": in_step * plain * (1.0 - peaked) * both * (1.0 - cut),
        "motor": humming * _below(f.thd, 0.45, 0.05) * both * _above(f.flowing, 0.7, 0.04) * (1.0 - cut),
        "half-wave": 1.0 if blocked else _below(f.balance, 0.12, 0.03) * _above(f.follows, 0.85, 0.03),
        "phase-cut": (
            cut
            * max(_above(f.centre, 93.0, 0.8), _below(f.centre, 87.0, 0.8) * _below(f.begins, 15.0, 2.0))
            * both
            * (0.0 if blocked else 1.0)
        ),
        "capacitor-input": (
            _below(f.flowing, 0.78, 0.04)
            * _above(f.thd, 0.55, 0.05)
            * _above(f.crest, 2.1, 0.08)
            * _above(f.lead, 2.0, 2.0)
            * _below(f.lead, 58.0, 4.0)
            * _above(f.follows, 0.4, 0.05)
            * _below(f.rough, 0.3, 0.04)
            * _above(f.balance, 0.12, 0.05)
            * (0.0 if blocked else 1.0)
        ),
        "dropper": (_above(f.lead, 40.0, 5.0) * _above(f.slopes, 0.85, 0.03) * _below(f.thd, 0.7, 0.06) * both),
    }


def looks(f: Features, *, blocked: bool = False, doubt: float = 0.0) -> tuple[Look, ...]:
    """Kinds with their certainties, best first; `doubt` [0 to 1] is how far the wave itself is in doubt (noise)."""
    found = dict(scores(f, blocked=blocked))
    other = _OTHER + max(0.0, 0.6 - max(found.values()))
    total = sum(found.values()) + other
    shares = {kind: (1.0 - doubt) * score / total for kind, score in found.items()}
    shares["other"] = 1.0 - sum(shares.values())
    ranked = sorted(shares.items(), key=lambda entry: -entry[1])
    return tuple(Look(kind=kind, certainty=round(share, 3)) for kind, share in ranked if share >= 0.02)


def looks_without_voltage(current: Floats, *, doubt: float = 0.0) -> tuple[Look, ...]:
    """Kinds of a current recorded without its voltage: whatever its phase may be, so with less certainty."""
    count = current.size
    angle = 2.0 * math.pi * np.arange(count) / count
    phase = float(np.angle(np.fft.rfft(current)[1])) + 0.5 * math.pi
    found = dict.fromkeys(KINDS[:-1], 0.0)
    for lead in range(-60, 90, 10):
        voltage = np.sin(angle + phase - math.radians(lead))
        turned = _begun_at_zero(current, phase - math.radians(lead))
        features = features_of(_begun_at_zero(voltage, phase - math.radians(lead)), turned)
        here = scores(features)
        found = {kind: max(score, _WITHOUT_VOLTAGE.get(kind, 1.0) * here[kind]) for kind, score in found.items()}
    other = _OTHER + max(0.0, 0.6 - max(found.values()))
    total = sum(found.values()) + other
    shares = {kind: (1.0 - doubt) * 0.8 * score / total for kind, score in found.items()}
    shares["other"] = 1.0 - sum(shares.values())
    ranked = sorted(shares.items(), key=lambda entry: -entry[1])
    return tuple(Look(kind=kind, certainty=round(share, 3)) for kind, share in ranked if share >= 0.02)


def _begun_at_zero(wave: Floats, phase: float) -> Floats:
    """A cycle begun where sin(angle + phase) rises through zero."""
    spectrum = np.fft.rfft(wave)
    return np.fft.irfft(spectrum * np.exp(-1j * phase * np.arange(spectrum.size)), wave.size)
