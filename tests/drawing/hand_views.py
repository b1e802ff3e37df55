"""Cycles written by hand, with what must be read off their pictures known beforehand."""

from __future__ import annotations

import numpy as np

from lidoff.drawing.view import Conduction, CycleView

COUNT = 3600


def phase_cut(alpha: float = 90.0, *, light: bool = True, cycles: int = 1, rhythm: int | None = None) -> CycleView:
    """A triac that fires at `alpha` [degrees] in each half-cycle of 230 V, 50 Hz, 1 A peak uncut."""
    angle = np.arange(COUNT * cycles) * (360.0 / COUNT)
    sine = np.sin(np.radians(angle))
    on = angle % 180.0 >= alpha
    current = np.where(on, sine, 0.0)
    glow = np.abs(current) / max(float(np.abs(current).max()), 1e-12)
    starts = [k * 180.0 for k in range(2 * cycles)]
    return CycleView(
        angle=angle,
        voltage=325.27 * sine,
        current=current,
        light=glow if light else None,
        parts=(Conduction(ref="Q1", kind="triac", spans=tuple((s + alpha, s + 180.0) for s in starts)),),
        frequency=50.0,
        cycles=cycles,
        rhythm=rhythm or cycles,
        title="A cut sine",
        mean_light=float(glow.mean()),
    )


def dark() -> CycleView:
    """A circuit whose triac never fires: no conduction, no light, no current."""
    view = phase_cut()
    zero = np.zeros_like(view.current)
    return CycleView(
        angle=view.angle,
        voltage=view.voltage,
        current=zero,
        light=zero,
        parts=(Conduction(ref="Q1", kind="triac", spans=()),),
        frequency=50.0,
        title="Dark",
    )
