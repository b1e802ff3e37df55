"""The rectified side: rectifiers, smoothing, valley-fill, doublers, converters."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from lidoff.circuit.groups import Group
from lidoff.studies.telling.case import Case, named, say, verb
from lidoff.studies.telling.citing import Cited, Sentence

_IDLE: Final = 1e-6  # [A]: what leaks through diodes that have nothing to do


def rectifier(case: Case, group: Group) -> Iterator[Sentence]:
    """A rectifier: for how much of the cycle current flows through it, how high it rises, and its loss."""
    own = group.own
    heat = case.heat(own)
    peak = max((case.part(ref, "current_peak") for ref in own), key=lambda cited: cited.value)
    share = conduction(case, own)
    if peak.value < _IDLE:
        text = f"{named(own)} {verb(own, 'has', 'have')} next to nothing to rectify here: {{peak}} at the peak."
        yield say(group.id, text, f"{named(own)}, the rectifier, idle. {{peak}}.", own, peak=peak)
        return
    if group.name == "half-wave-rectifier":
        does = f"{named(own)} lets one half-cycle through and blocks the other"
        spoken = f"{named(own)} lets one half-cycle through. Peak, {{peak}}."
    else:
        does = f"{named(own)} {verb(own, 'turns', 'turn')} both half-cycles the same way round"
        spoken = f"{named(own)} {verb(own, 'turns', 'turn')} both half-cycles the same way. Peak, {{peak}}."
    text = f"{does}; current flows for {{share}} of the time, {{peak}} at its peak, and {{heat}} is lost."
    yield say(group.id, text, spoken, own, share=share, peak=peak, heat=heat)


def conduction(case: Case, refs: tuple[str, ...]) -> Cited:
    """Share of the cycle in which any of these parts carries more than a fiftieth of its own peak current [1]."""
    on = None
    for ref in refs:
        current = np.abs(case.solution.part_wave(ref)[1])
        mine = current > 0.02 * max(float(current.max()), 1e-12)
        on = mine if on is None else on | mine
    share = float(case.solution.waves.weight @ on) if on is not None else 0.0
    return Cited(
        value=share, unit="", source=f"waves: share of the time above 2 % of the peak, {named(refs)}", style="percent"
    )


def blocking(case: Case, group: Group) -> Iterator[Sentence]:
    """A diode that keeps current from coming back."""
    (ref,) = group.own[:1]
    flow = case.part(ref, "current_mean")
    yield say(
        group.id,
        f"{ref} keeps current from coming back; {{flow}} flows on average.",
        f"{ref} blocks the way back. {{flow}}.",
        (ref,),
        flow=flow,
    )


def smoothing(case: Case, group: Group) -> Iterator[Sentence]:
    """Smoothing: the range of the voltage over the cycle, and what a filter resistor takes."""
    roles = ("smoothing capacitor", "bypass capacitor", "smoothing capacitor, one of two in series")
    refs = tuple(ref for ref in group.own if group.roles[ref] in roles)
    low, high = case.extremes(refs[0])
    total = case.of_group(group, "capacitance", "marked")
    assert total is not None
    each = f" across {refs[0]}" if len(refs) > 1 else ""
    text = (
        f"{named(refs)} ({{total}}) {verb(refs, 'is', 'are')} filled near the peaks and "
        f"{verb(refs, 'feeds', 'feed')} the rest in between: the voltage{each} stays between {{low}} and {{high}}."
    )
    spoken = f"{named(refs)} {verb(refs, 'holds', 'hold')} the voltage up, {{low}} to {{high}}."
    yield say(group.id, text, spoken, refs, total=total, low=low, high=high)
    for ref in group.having("filter resistor"):
        heat = case.part(ref, "power")
        text = f"{ref} stands on the way to it and turns {{heat}} into heat."
        yield say(group.id, text, f"{ref} takes {{heat}}.", (ref,), heat=heat)
    for ref in group.having("filter choke"):
        flow = case.part(ref, "current_rms")
        yield say(
            group.id,
            f"{ref} evens the current between the stages; it carries {{flow}}.",
            f"{ref}, the choke.",
            (ref,),
            flow=flow,
        )


def valley_fill(case: Case, group: Group) -> Iterator[Sentence]:
    """Valley-fill: what each capacitor holds, and the step in the valley."""
    upper, lower = group.having("upper capacitor"), group.having("lower capacitor")
    low, high = case.extremes(upper[0])
    text = (
        f"{named(upper)} and {named(lower)} charge in a row near the peak and empty side by side in the valley: "
        f"{named(upper)} holds between {{low}} and {{high}}, so the voltage does not fall to nothing between the peaks."
    )
    spoken = f"{named(upper)} and {named(lower)} fill the valley, from {{high}} down to {{low}}."
    yield say(group.id, text, spoken, (*upper, *lower), low=low, high=high)


def doubler(case: Case, group: Group) -> Iterator[Sentence]:
    """A doubler: what its capacitors hold."""
    refs = tuple(ref for ref in group.own if "capacitor" in group.roles[ref])
    figures = {f"v{k}": case.extremes(ref)[1] for k, ref in enumerate(refs)}
    values = " and ".join(f"{ref} up to {{v{k}}}" for k, ref in enumerate(refs))
    text = f"{named(refs)} are charged in turn and stand in a row for the load: {values}."
    yield say(group.id, text, f"{named(refs)} double the voltage. {{v0}} on {refs[0]}.", refs, **figures)


def converter(case: Case, group: Group) -> Iterator[Sentence]:
    """A converter: its power, and what it is fed with."""
    (ref,) = group.own[:1]
    low, high = case.extremes(ref)
    power = case.part(ref, "power")
    text = f"{ref} takes {{power}} from a feed between {{low}} and {{high}}; what lies beyond it is not looked at here."
    yield say(
        group.id,
        text,
        f"{ref} takes {{power}}. What lies beyond it, we did not look at.",
        (ref,),
        power=power,
        low=low,
        high=high,
    )
