"""Short ways to write down results of studies by hand, for the cases that show the rules."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lidoff.hazards.facts import Facts, Touched, Working
from lidoff.studies import Decay, Stress, Surge, SwitchOn, Unplugged
from lidoff.studies.ratings import UNITS, Measure, Quantity
from lidoff.studies.touch import Class, Touch


def stressed(
    part: str,
    quantity: Quantity,
    value: float,
    rating: float | None,
    measure: Measure = "rms",
    *,
    assumed: bool = False,
) -> Stress:
    """A row of the stress study [SI unit of the quantity]."""
    times = None if rating is None else value / rating
    verdict = "no rating" if times is None else ("over" if times > 1.0 else "within")
    return Stress(
        part=part,
        quantity=quantity,
        measure=measure,
        value=value,
        unit=UNITS[quantity],
        rating=rating,
        times=times,
        assumed=assumed,
        verdict=verdict,  # type: ignore[arg-type]
        why="a rule of thumb" if assumed else "as recorded",
    )


def unplugged(start: float, to_60: float | None, to_34: float | None) -> Unplugged:
    """The pins after the plug is pulled: start [V], seconds to 60 V and 34 V (None: longer than was looked at)."""
    pins = Decay(
        what="pins",
        start=start,
        to_60=to_60,
        to_34=to_34,
        end=0.0 if to_34 is not None else start,
        energy=None,
        charge=None,
        curve=((0.0,), (start,)),
    )
    return Unplugged(state=None, pins=pins, capacitors=(), dark_after=None, looked=300.0)


def surged(part: str, peak: float) -> SwitchOn:
    """A switch-on that sends a peak [A] through a part for which no surge rating is known."""
    surge = Surge(
        part=part,
        peak=peak,
        i2t=peak**2 * 1e-3,
        energy=0.0,
        peak_power=0.0,
        rating=None,
        times=None,
        assumed=False,
        verdict="no rating",
        why="no I2t recorded, and no rule of thumb for it",
    )
    return SwitchOn(
        state=None,
        angle=90.0,
        searched=True,
        peak=peak,
        time=1e-4,
        i2t=surge.i2t,
        i2t_angle=90.0,
        settled_peak=None,
        again=None,
        surges=(surge,),
        charging=(),
        curve=((0.0,), (peak,)),
    )


def touched(surface: str, node: str, volts: float, milliamperes: float, level: Class) -> Touched:
    """A hand on a surface: volts [V rms] before, current [mA rms] after (a sine's peak is taken)."""
    return Touched(
        surface=surface,
        touch=Touch(
            node=node,
            body="perception",
            voltage_rms=volts,
            voltage_peak=2.0**0.5 * volts,
            voltage_mean=0.0,
            current_rms=1e-3 * milliamperes,
            current_peak=2.0**0.5 * 1e-3 * milliamperes,
            current_mean=0.0,
            level=level,
        ),
    )


def described(worked_out: Mapping[str, Any]) -> list[str]:
    """What a case gives besides its record, as sentences."""
    facts = Facts(item=None, **worked_out)  # type: ignore[arg-type]
    lines = [_stress_words(one) for one in facts.stress or ()]
    if facts.stress is not None and not facts.stress:
        lines.append("No part has a row in the stress study.")
    if facts.unplugged is not None:
        pins = facts.unplugged.pins
        lines.append(
            f"Unplugged: {pins.start:g} V on the pins, 60 V after {_seconds(pins.to_60)}, 34 V after "
            f"{_seconds(pins.to_34)}."
        )
    lines += [
        f"Computed between {one.between[0]} and {one.between[1]}: {one.rms:g} V rms, {one.peak:g} V peak."
        for one in facts.working
    ]
    lines += [
        f"A hand on {one.surface}: {one.touch.voltage_rms:g} V before, {1e3 * one.touch.current_rms:g} mA through the "
        f"body ({one.touch.level})."
        for one in facts.touched
    ]
    if facts.switched_on is not None:
        lines += [f"Switched on: up to {one.peak:g} A through {one.part}." for one in facts.switched_on.surges]
    lines += [f"Fault: {one['part']} {one['mode']}: {one['outcome']}" for one in facts.faults or ()]
    if facts.faults is not None and not facts.faults:
        lines.append("No single fault was found to do anything.")
    light = facts.figures.get("light")
    if light is not None:
        lines.append(f"Light at {light['frequency']:g} Hz, percent flicker {light['percent_flicker']:g} %.")
    return lines


def _stress_words(one: Stress) -> str:
    against = "no rating" if one.rating is None else f"{one.rating:g} {one.unit}"
    return f"{one.part}: {one.measure} {one.value:g} {one.unit} against {against}{' (assumed)' if one.assumed else ''}."


def _seconds(value: float | None) -> str:
    return "longer than was looked at" if value is None else f"{value:g} s"


__all__ = ["Working", "described", "stressed", "surged", "touched", "unplugged"]
