"""Phase control: what the timing capacitor charges through, when the triac fires, and what glows when it does not."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np

from lidoff.circuit import with_values
from lidoff.circuit.groups import Group
from lidoff.circuit.groups.words import many
from lidoff.cycle import solve
from lidoff.studies.sweep import fires
from lidoff.studies.telling.case import Case, named, say, verb
from lidoff.studies.telling.citing import Cited, Sentence
from lidoff.studies.telling.knobs import Travel, worked_out
from lidoff.studies.telling.leak import leak_shares

_STRING: Final = "string voltage in the charging path"
_BEGINS: Final = 0.05  # of its own peak: less current than that has not begun


def phase_control(case: Case, group: Group) -> Iterator[Sentence]:
    """The whole dimmer: charging, firing, the knob's travel, and the glow."""
    yield from _charging(case, group)
    yield from _end_of_travel(case, group)
    yield from _firing(case, group)
    yield from _knob(case, group)


def latch_of(case: Case, group: Group) -> str:
    """The ref of the group's triac or thyristor."""
    return next(ref for ref in group.own if case.element(ref).kind in ("triac", "thyristor"))


def _timing_capacitors(group: Group) -> tuple[str, ...]:
    return tuple(ref for ref in group.own if group.roles[ref].endswith("timing capacitor"))


def _charging(case: Case, group: Group) -> Iterator[Sentence]:
    capacitors = _timing_capacitors(group)
    way = (*group.having("timing potentiometer"), *group.having("preset"), *group.having("end resistor"))
    way = (*way, *group.having("second-stage resistor"))
    longest, shortest = case.of_group(group, "longest time constant"), case.of_group(group, "shortest time constant")
    assert longest is not None
    assert shortest is not None
    through = named(way) or "the charging resistance"
    string = case.of_group(group, _STRING)
    if string is None:
        yield say(
            group.id,
            f"{named(capacitors)} {verb(capacitors, 'charges', 'charge')} through {through}, with a time constant from "
            f"{{shortest}} to {{longest}} over the knob's travel.",
            f"{named(capacitors)} {verb(capacitors, 'charges', 'charge')} through {through}.",
            (*capacitors, *way),
            shortest=shortest,
            longest=longest,
        )
        return
    leds = group.having("in the charging path")
    angle, peak = case.of_group(group, "angle at which charging can begin"), case.of_group(group, "mains peak")
    refs = (*capacitors, *way, *leds)
    text = (
        f"{named(capacitors)} {verb(capacitors, 'does', 'do')} not charge straight from the mains: the current that "
        f"charges {verb(capacitors, 'it', 'them')} comes through {through} and through the LED string {named(leds)}. "
    )
    spoken = f"{named(capacitors)} {verb(capacitors, 'charges', 'charge')} through the LEDs, {named(leds)}. "
    if angle is not None:
        figures = {"string": string, "angle": angle}
        text += "So nothing charges before the mains exceeds the {string} that the string asks for"
        begin = _beginning(case, leds)
        if begin is None:
            text += ", {angle} into each half-cycle with empty capacitors."
        else:
            figures["begin"] = begin
            text += (
                ": {angle} into each half-cycle with empty capacitors, {begin} in the cycle worked out here, where "
                "they help with what they keep from the half-cycle before."
            )
        spoken += "Nothing happens before the mains exceeds {string}."
        yield say(group.id, text, spoken, refs, **figures)
    elif peak is not None:
        yield say(
            group.id,
            f"{text}The string asks for {{string}} and the mains peaks at {{peak}}, so hardly anything charges at all.",
            f"{spoken}They ask for {{string}}. The mains peaks at {{peak}}.",
            refs,
            string=string,
            peak=peak,
        )
    else:
        yield say(
            group.id,
            f"{text}So nothing charges before the supply exceeds the {{string}} that the string asks for.",
            f"{spoken}They ask for {{string}}.",
            refs,
            string=string,
        )


def _end_of_travel(case: Case, group: Group) -> Iterator[Sentence]:
    """That no fixed resistor was found in a row with the knob, where none was."""
    knobs, shortest = group.having("timing potentiometer"), case.of_group(group, "shortest time constant")
    if not knobs or group.having("end resistor") or shortest is None:
        return
    text = (
        f"No end resistor was found in a row with {knobs[0]}: at the end of its travel a time constant of {{shortest}} "
        f"is left."
    )
    yield say(group.id, text, f"No end resistor was found at {knobs[0]}. Measure it.", knobs[:1], shortest=shortest)


def _beginning(case: Case, leds: tuple[str, ...]) -> Cited | None:
    """The angle at which the LEDs' current begins, where the triac does not fire first [degrees]."""
    if not case.alternating or fires(case.solution) or not leds:
        return None
    current = np.abs(case.solution.part_wave(leds[0])[1])
    if float(current.max()) <= 0.0:
        return None
    on = current > _BEGINS * float(current.max())
    starts = np.flatnonzero(on & ~np.roll(on, 1))
    if not starts.size:
        return None
    turn = 360.0 * case.circuit.supply.frequency * case.solution.waves.time[starts]
    return Cited(
        value=float((turn % 180.0).mean()), unit="deg", source=f"waves: first angle above 5 % of the peak, {leds[0]}"
    )


def firing_angle(case: Case, latch: str) -> float | None:
    """Mean angle in its half-cycle at which a triac or thyristor begins to conduct [degrees]; None if it does not."""
    element = case.element(latch)
    volts, current = (np.abs(wave) for wave in case.solution.part_wave(latch))
    on = (volts < element.number("on_voltage") + element.number("on_resistance") * current + 1.0) & (
        current > 0.2 * element.number("holding_current")
    )
    starts = np.flatnonzero(on & ~np.roll(on, 1))
    if not starts.size:
        return None
    turn = 360.0 * case.circuit.supply.frequency * case.solution.waves.time[starts]
    return float((turn % 180.0).mean())


def _firing(case: Case, group: Group) -> Iterator[Sentence]:
    latch = latch_of(case, group)
    last = _timing_capacitors(group)[-1:]
    knobs = group.having("timing potentiometer")
    triggers = (*group.having("trigger diac"), *group.having("trigger neon"))
    figures: dict[str, Cited] = {"reached": case.part(last[0], "voltage_peak")}
    place = ""
    if knobs:
        figures["position"] = case.value(knobs[0], "position", "", "percent")
        place = f"With {knobs[0]} at {{position}} of its travel, "
    needed = ""
    if triggers:
        key = "breakover" if case.element(triggers[0]).kind == "diac" else "strike"
        figures["needed"] = case.value(triggers[0], key, "V")
        needed = f"{triggers[0]} breaks over at {{needed}}"
    angle = firing_angle(case, latch)
    refs = (latch, *last, *knobs[:1], *triggers)
    if angle is None:
        why = f"{needed}, so" if needed else "and"
        text = f"{place}{last[0]} reaches {{reached}} at most; {why} {latch} does not fire."
        spoken = f"{last[0]} reaches only {{reached}}. {latch} does not fire."
    else:
        figures["angle"] = Cited(value=angle, unit="deg", source=f"waves: mean angle of firing, {latch}")
        why = f"{needed}, and" if needed else "then"
        text = f"{place}{last[0]} reaches {{reached}}; {why} {latch} fires {{angle}} into the half-cycle."
        spoken = f"{latch} fires {{angle}} into the half-cycle."
    yield say(group.id, _capital(text), spoken, refs, **figures)


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _knob(case: Case, group: Group) -> Iterator[Sentence]:
    knobs = group.having("timing potentiometer")
    through_string = _STRING in group.figures
    travel = case.travel if case.travel is not None and case.travel.ref in knobs else None
    if travel is None and through_string and knobs and case.alternating:
        travel = worked_out(case.circuit, knobs[0])
    if travel is None:
        return
    yield from _travel(group, travel, latch_of(case, group))
    if through_string:
        yield from _glow(case, group, travel)


def _travel(group: Group, travel: Travel, latch: str) -> Iterator[Sentence]:
    refs = (travel.ref, latch)
    silent = None if travel.firing is None else 1.0 - travel.firing
    if silent is not None and silent > 0.0:
        source = f"{travel.study}: share of places without firing, {latch}"
        share = Cited(value=silent, unit="", source=source, style="percent")
        much = "most" if silent > 0.5 else "part"
        therefore = " therefore" if _STRING in group.figures else ""
        text = (
            f"{latch}{therefore} does not fire at all over {much} of the knob's travel: at {{share}} of the places "
            f"along {travel.ref} it stays off."
        )
        spoken = f"Turn {travel.ref}. Over {{share}} of its travel, {latch} does not fire."
        yield say(group.id, text, spoken, refs, share=share)
    elif silent is not None:
        source = f"{travel.study}: share of places with firing, {latch}"
        share = Cited(value=1.0, unit="", source=source, style="percent")
        text = f"All the same {latch} fires at {{share}} of the places along {travel.ref}."
        yield say(group.id, text, f"{latch} fires along {{share}} of the travel.", refs, share=share)
    if travel.dead_travel is not None:
        dead = Cited(value=travel.dead_travel, unit="", source=f"{travel.study}: dead_travel", style="percent")
        text = (
            f"Over {{dead}} of {travel.ref}'s travel the light stays within a twentieth of its range above its least."
        )
        yield say(group.id, text, "{dead} of the travel is dead.", refs[:1], dead=dead)
    if travel.snap_on is not None and travel.snap_off is not None:
        figures = {
            "on": Cited(value=travel.snap_on, unit="", source=f"{travel.study}: snap_on", style="percent"),
            "off": Cited(value=travel.snap_off, unit="", source=f"{travel.study}: snap_off", style="percent"),
        }
        first, second = ("comes at {on} and goes at {off}", "It comes at {on}, it goes at {off}.")
        yield say(group.id, f"Turned to and fro, the light {first} of the travel.", second, refs[:1], **figures)


def _glow(case: Case, group: Group, travel: Travel) -> Iterator[Sentence]:
    """What leaks into the LEDs while the triac does not fire, and through which parts."""
    latch, knob = latch_of(case, group), travel.ref
    dark = case
    if fires(case.solution):
        place = travel.dark_place(case.element(knob).number("position"))
        if place is None:
            return
        circuit = with_values(case.circuit, {f"{knob}.position": place})
        dark = replace(case, circuit=circuit, solution=solve(circuit))
        if fires(dark.solution):
            return
    shares = leak_shares(dark.circuit, dark.groups, group, dark.solution)
    light = dark.solution.light_figures()
    if not shares or light is None:
        return
    leds = group.having("in the charging path")
    figures = {
        "flow": Cited(value=float(light["mean_current"]), unit="A", source="leak: mean current of the LEDs"),
        "position": Cited(
            value=dark.element(knob).number("position"), unit="", source=f"leak: position of {knob}", style="percent"
        ),
    }
    full = travel.most_light
    of_full = ""
    if full:
        figures["share"] = Cited(
            value=float(light["mean_current"]) / full,
            unit="",
            source=f"leak: mean current of the LEDs over the most along {knob} ({travel.study})",
            style="percent",
        )
        of_full = ", {share} of the most they get"
    yield say(
        group.id,
        f"What glows then is what leaks past {latch}: with {knob} at {{position}}, {{flow}} on average through "
        f"{named(leds)}{of_full}.",
        f"{named(leds)} {many(len(leds), 'still gets', 'still get')} {{flow}}. That leaks past {latch}.",
        (*leds, knob, latch),
        **figures,
    )
    for row in shares:
        share = Cited(value=row.share, unit="", source=f"leak: share through {named(row.refs)}", style="percent")
        if row.share < 0.005:
            continue
        text = f"{_capital(row.what)}, {named(row.refs)}, carries {{share}} of that leak."
        spoken = f"{named(row.refs)}, {{share}} of the glow."
        yield say(row.group, text, spoken, row.refs, share=share)


def latch_switch(case: Case, group: Group) -> Iterator[Sentence]:
    """A triac or thyristor that nothing delays."""
    latch = latch_of(case, group)
    flow = case.part(latch, "current_rms")
    drives = group.having("gate drive")
    if drives:
        text = f"{latch} is turned on through {named(drives)} as soon as current flows there; it carries {{flow}}."
    else:
        text = f"{latch} carries {{flow}}; what turns it on was not found."
    yield say(group.id, text, f"{latch} carries {{flow}}.", (latch, *drives), flow=flow)


def snubber(case: Case, group: Group) -> Iterator[Sentence]:
    """A snubber, or what stands in its place: what it passes and what it burns."""
    pair = tuple(ref for ref in group.own if "bleeder" not in group.roles[ref])
    capacitor = next(ref for ref in pair if case.element(ref).kind == "capacitor")
    resistors = tuple(ref for ref in pair if ref != capacitor and case.element(ref).kind == "resistor")
    constant = case.of_group(group, "time constant")
    assert constant is not None
    flow, heat = case.part(capacitor, "current_rms"), case.part(resistors[0], "power")
    across = f" across {named(group.shared)}" if group.shared else ""
    if group.name == "snubber":
        text = (
            f"{named(pair)}{across} {verb(pair, 'slows', 'slow')} quick changes (time constant {{constant}}); "
            f"{{flow}} flows through them and {{heat}} becomes heat."
        )
        spoken = f"{named(pair)}, the snubber. {{flow}} flows through it."
    else:
        text = (
            f"{named(pair)}{across} stand where a snubber would, but with a time constant of {{constant}} they are "
            f"none; {{flow}} flows through them and {{heat}} becomes heat."
        )
        spoken = f"{named(pair)} look like a snubber and are none. {{flow}} flows through."
    yield say(group.id, text, spoken, (*pair, *group.shared), constant=constant, flow=flow, heat=heat)
