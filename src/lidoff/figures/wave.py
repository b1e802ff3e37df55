"""Figures of one settled wave: means, harmonics, distortion, and the resampling that makes them comparable.

Every function is pure and takes float arrays. Harmonics are *peak* phasors h[k] with
x(t) = h[0] + sum over k of Re(h[k] exp(j k w t)), t counted from the first sample; order 0 is the mean.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

ORDERS: Final = 40
"""Highest harmonic order of the distortion figures (IEC 61000-3-2: orders 2 to 40)."""


def mean(x: ArrayLike, w: ArrayLike | None = None) -> float:
    """Mean of a wave over whole cycles [unit of x].

    `w` are weights [1] that sum to 1 over whole cycles; without them the samples are uniform, end point left out.
    """
    values = np.asarray(x, dtype=np.float64)
    return float(values.mean() if w is None else np.dot(np.asarray(w, dtype=np.float64), values))


def rms(x: ArrayLike, w: ArrayLike | None = None) -> float:
    """Root of the mean square of a wave over whole cycles, its mean included [unit of x]. Weights as in `mean`."""
    values = np.asarray(x, dtype=np.float64)
    if w is None:
        return float(np.sqrt(np.dot(values, values) / values.size))
    return float(np.sqrt(max(0.0, float(np.dot(np.asarray(w, dtype=np.float64), values * values)))))


def peak(x: ArrayLike) -> float:
    """Largest magnitude of a wave [unit of x]."""
    values = np.asarray(x, dtype=np.float64)
    return float(max(values.max(), -values.min()))


def crest_factor(peak_value: float, rms_value: float) -> float | None:
    """Peak over rms [1]; None where there is nothing to compare."""
    return peak_value / rms_value if rms_value > 0.0 else None


def form_factor(x: ArrayLike, w: ArrayLike | None = None) -> float | None:
    """Rms over the mean magnitude [1], 1.1107 for a sine; None where there is nothing. Weights as in `mean`.

    A meter that averages the rectified wave and is scaled for a sine shows 1.1107 over this, times the true rms.
    """
    average = mean(np.abs(np.asarray(x, dtype=np.float64)), w)
    return rms(x, w) / average if average > 0.0 else None


def resolvable_orders(samples: int, cycles: int = 1, orders: int = ORDERS) -> int:
    """The highest order, at most `orders`, that `samples` uniform samples over `cycles` cycles can tell (Nyquist)."""
    return min(orders, (samples - 1) // (2 * cycles))


def harmonics(x: ArrayLike, cycles: int = 1, orders: int = ORDERS) -> Complexes:
    """Peak phasors of orders 0 to `orders` [unit of x] from uniform samples over `cycles` whole cycles.

    The end point is left out: sample n of N stands at n/N of the span. Order 0 is the mean (real).
    Raises ValueError where the samples are too few for that order.
    """
    values = np.asarray(x, dtype=np.float64)
    if resolvable_orders(values.size, cycles, orders) < orders:
        raise ValueError(
            f"{values.size} samples over {cycles} cycles cannot tell order {orders}; "
            f"give more than {2 * orders * cycles} samples or ask for fewer orders"
        )
    phasors = np.fft.rfft(values)[: orders * cycles + 1 : cycles] * (2.0 / values.size)
    phasors[0] *= 0.5
    return phasors


def spectrum(x: ArrayLike) -> Complexes:
    """Peak phasors of every bin of a uniformly sampled periodic wave [unit of x]: bin k has k periods in the span.

    Bin 0 is the mean. The bin at half the sampling rate, where there is one, is left out: its phase is not known.
    """
    values = np.asarray(x, dtype=np.float64)
    bins = np.fft.rfft(values)[: (values.size + 1) // 2] * (2.0 / values.size)
    bins[0] *= 0.5
    return bins


def resample(t: ArrayLike, x: ArrayLike, period_start: float, period: float, n: int) -> Floats:
    """A piecewise-linear wave as `n` cell averages over one period: charge is kept whatever the steps [unit of x].

    t [s] rises (two equal times make a step) and reaches from `period_start` [s] to `period_start + period` [s] or
    further; x may have several rows, its last axis running along t. Cell k is centred on k/n of the period, so phases
    are those of plain samples at these places; the average lowers order k by sinc(k/n), 0.02 % for order 40 of 4096.
    Raises ValueError where t does not cover the period.
    """
    time = np.asarray(t, dtype=np.float64)
    values = np.asarray(x, dtype=np.float64)
    slack = 1e-9 * period
    if time[0] > period_start + slack or time[-1] < period_start + period - slack:
        raise ValueError(
            f"the wave reaches from {time[0]:g} s to {time[-1]:g} s and does not cover "
            f"the period from {period_start:g} s to {period_start + period:g} s"
        )
    step = np.diff(time)
    charge = np.zeros_like(values)
    np.cumsum(0.5 * step * (values[..., 1:] + values[..., :-1]), axis=-1, out=charge[..., 1:])
    edges = np.empty(n + 2)
    edges[0] = period_start
    edges[1:-1] = period_start + period / n * (np.arange(n) + 0.5)
    edges[-1] = period_start + period
    left = np.clip(np.searchsorted(time, edges, side="right") - 1, 0, time.size - 2)
    width = step[left]
    past = np.clip(edges - time[left], 0.0, width)
    share = past / np.where(width > 0.0, width, 1.0)
    before = values.take(left, axis=-1)
    rise = np.diff(values, axis=-1).take(left, axis=-1)
    reached = charge.take(left, axis=-1) + past * (before + 0.5 * share * rise)
    cells = np.diff(reached, axis=-1)
    cells[..., 0] += cells[..., -1]
    return np.asarray(cells[..., :-1] * (n / period))


def thd(h: Complexes, orders: int = ORDERS) -> float | None:
    """Total harmonic distortion relative to the fundamental [1]: orders 2 to `orders` of `h`.

    THD-F: root of the sum of squares of the harmonics over the fundamental (IEC 61000-3-2, 3.x definition of total
    harmonic distortion; orders as in its harmonic current limits). None where there is no fundamental.
    """
    fundamental = abs(h[1])
    if fundamental == 0.0:
        return None
    parts = h[2 : orders + 1]
    return float(np.sqrt(np.vdot(parts, parts).real)) / float(fundamental)


def displacement_factor(hv: Complexes, hi: Complexes) -> float | None:
    """Cosine of the angle between the fundamentals of voltage and current [1], signed; None where either is absent."""
    product = complex(hv[1] * np.conj(hi[1]))
    size = abs(product)
    return product.real / size if size > 0.0 else None
