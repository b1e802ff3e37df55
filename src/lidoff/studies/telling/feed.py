"""From the cord inwards: supply, input stage, switches, indicators, discharge, transformer, dropper, heat setting."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from lidoff.circuit.groups import Group
from lidoff.kinds import KINDS
from lidoff.studies.telling.case import Case, named, say, verb
from lidoff.studies.telling.citing import Cited, Sentence

_PINS: Final = 34.0  # [V] at the plug pins: what appliance standards commonly ask after one second
_DIRECT: Final = 60.0  # [V dc]: what the standards of electronic equipment take for the limit of touch (from memory)
_SEEN: Final = 10e-6  # [A]: less lights neither a neon nor an LED to speak of; common practice, no source

_LOSS: Final = 1e-5  # of the input power: less heat than that in a part of the line is the solver's rounding


def supply(case: Case) -> Iterator[Sentence]:
    """What feeds the item, and what it takes."""
    mains = case.circuit.supply
    if mains.dc is not None:
        volts = Cited(value=mains.dc, unit="V", source="record: supply.dc", style="marked")
        text = "In this state a bench supply of {volts} feeds the parts instead of the mains."
        yield say("supply", text, "A bench supply of {volts} feeds it.", (), volts=volts)
        return
    volts = Cited(value=mains.voltage, unit="V", source="record: supply.voltage", style="marked")
    hertz = Cited(value=mains.frequency, unit="Hz", source="record: supply.frequency", style="marked")
    taken = " (taken as usual: nobody wrote it down)" if mains.assumed else ""
    yield say(
        "supply",
        f"The mains of {{volts}} at {{hertz}}{taken} feeds the item.",
        "Here the mains comes in, {volts} at {hertz}.",
        (),
        volts=volts,
        hertz=hertz,
    )
    if case.figures["input"]["power_factor"] is None:
        text = "It draws {current}, no current to speak of."
        yield say("supply", text, text, (), current=case.input("current_rms", "A"))
        return
    yield say(
        "supply",
        "It draws {current} and takes {power}, at a power factor of {factor}.",
        "It takes {power}.",
        (),
        current=case.input("current_rms", "A"),
        power=case.input("power", "W"),
        factor=case.input("power_factor", ""),
    )


def input_stage(case: Case, group: Group) -> Iterator[Sentence]:
    """The parts at the cord, each with what flows through it or lies across it."""
    for ref in group.having("fuse"):
        flow = case.part(ref, "current_rms")
        rating = case.of_group(group, f"rating of {ref}", "marked")
        if rating is not None:
            text = f"All of it passes {ref}, a fuse of {{rating}}; {{flow}} flows through it."
            yield say(group.id, text, f"{ref}, the fuse, {{rating}}.", (ref,), flow=flow, rating=rating)
        else:
            text = f"All of it passes the fuse {ref}, whose rating is not recorded; {{flow}} flows through it."
            yield say(group.id, text, f"{ref}, the fuse. It carries {{flow}}.", (ref,), flow=flow)
    for role, does in (
        ("inrush thermistor", "holds the rush at switch-on down while it is cold"),
        ("line choke", "keeps fast changes of current from the mains"),
        ("common-mode choke", "keeps noise that both lines share from the mains"),
        ("input resistor", "limits the rush at switch-on"),
    ):
        for ref in group.having(role):
            flow, heat = case.part(ref, "current_rms"), case.part(ref, "power")
            figures = {"flow": flow}
            text = f"{ref} {does}; it carries {{flow}}"
            element = case.element(ref)
            # An ideal coil makes no heat: what stands there is the solver's rounding, of either sign.
            ideal = element.kind in ("inductor", "choke") and not element.number("resistance")
            if not ideal and heat.value > _LOSS * abs(case.figures["input"]["power"]):
                figures["heat"] = heat
                text += " and turns {heat} into heat"
            yield say(group.id, f"{text}.", f"{ref}, the {role}. {{flow}}.", (ref,), **figures)
    for ref in group.having("varistor"):
        volts = case.value(ref, "voltage", "V")
        text = f"{ref} waits across the lines for surges; it begins to conduct near {{volts}}."
        yield say(group.id, text, f"{ref}, for surges.", (ref,), volts=volts)
    for role, where in (("X capacitor", "across the lines"), ("Y capacitor", "from a line to earth")):
        for ref in group.having(role):
            flow = case.part(ref, "current_rms")
            text = f"{ref} lies {where} and takes noise off; {{flow}} flows through it whatever the rest does."
            yield say(group.id, text, f"{ref}, against noise.", (ref,), flow=flow)


def switch(case: Case, group: Group) -> Iterator[Sentence]:
    """A contact, with what it carries in this state."""
    own = group.own
    flows = [case.part(ref, "current_rms") for ref in own]
    flow = max(flows, key=lambda cited: cited.value)
    where = group.title.partition(", ")[2]
    closed = all(case.element(ref).values.get("closed", True) for ref in own)
    state = "closed" if closed else "open"
    word = KINDS[case.element(own[0]).kind].title
    what = (
        f"{named(own)} {where}" if where else f"{named(own)} {verb(own, 'switches', 'switch')} what is in a row with it"
    )
    if len(own) > 1:
        what = what.replace(" breaks ", " break ")
    text = f"{what}; here {verb(own, 'it is', 'they are')} {state} and {{flow}} flows through."
    yield say(group.id, text, f"{named(own)}, the {word}, {state}. {{flow}}.", own, flow=flow)


def in_row(case: Case, group: Group) -> Iterator[Sentence]:
    """A part in a row with others, that all their current flows through."""
    for ref in group.own:
        flow, heat = case.part(ref, "current_rms"), case.part(ref, "power")
        text = f"{ref}, {group.roles[ref]}, carries {{flow}} and turns {{heat}} into heat."
        yield say(group.id, text, f"{ref}. It carries {{flow}}.", (ref,), flow=flow, heat=heat)


def indicator(case: Case, group: Group) -> Iterator[Sentence]:
    """A small light that shows that there is mains."""
    lamp = next(ref for ref in group.own if group.roles[ref] in ("neon", "indicator LED"))
    flow = case.part(lamp, "current_rms")
    resistors = group.having("indicator resistor")
    through = f" and {named(resistors)}" if resistors else ""
    dark = ", too little to see" if flow.value < _SEEN else ""
    text = f"{lamp} only shows that there is voltage: {{flow}} flows through it{through}{dark}."
    yield say(group.id, text, f"{lamp} only shows that there is voltage. {{flow}}.", group.own, flow=flow)


def discharge(case: Case, group: Group) -> Iterator[Sentence]:
    """What empties a capacitor, from what it can hold here, how long it takes and what it costs."""
    own, capacitors = group.own, group.shared
    heat = max((case.part(ref, "power") for ref in own), key=lambda cited: cited.value)
    each = " each" if len(own) > 1 else ""
    constant = case.of_group(group, "time constant")
    held = case.extremes(capacitors[0])[1] if capacitors else None
    limit = Cited(
        value=_PINS if any(name.endswith("34 V") for name in group.figures) else _DIRECT,
        unit="V",
        source="limit: plug pins, or direct voltage",
        style="marked",
    )
    if constant is None or held is None or held.value <= limit.value:
        verbs = verb(own, "lies", "lie"), verb(own, "takes", "take")
        over = f"across {named(capacitors)}" if capacitors else "there"
        text = f"{named(own)} {verbs[0]} {over} for discharge and {verbs[1]} {{heat}}{each}."
        yield say(group.id, text, f"{named(own)}, for discharge.", (*own, *capacitors), heat=heat)
        return
    wait = Cited(
        value=constant.value * math.log(held.value / limit.value),
        unit="s",
        source=f"waves: time constant of {group.id} times the logarithm of what {capacitors[0]} holds over the limit",
    )
    empties = f"{named(own)} {verb(own, 'empties', 'empty')} {named(capacitors)}"
    yield say(
        group.id,
        f"After the plug is pulled {empties} from the {{held}} reached here to {{limit}} in {{wait}}; that costs "
        f"{{heat}}{each} all the time.",
        f"Unplugged, {empties} in {{wait}}.",
        (*own, *capacitors),
        held=held,
        wait=wait,
        limit=limit,
        heat=heat,
    )


def transformer(case: Case, group: Group) -> Iterator[Sentence]:
    """A transformer: its turns ratio, and what it loses."""
    (ref,) = group.own
    figures = {"ratio": case.value(ref, "ratio", ""), "heat": case.part(ref, "power")}
    open_volts = case.of_group(group, "voltage of the secondary with no load")
    text = f"{ref} lowers the mains by its turns ratio of {{ratio}}"
    if open_volts is not None:
        figures["volts"] = open_volts
        text += ", to {volts} with no load"
    text += "; {heat} stays in its windings."
    yield say(group.id, text, f"{ref}, the transformer. Ratio {{ratio}}.", (ref,), **figures)


def dropper(case: Case, group: Group) -> Iterator[Sentence]:
    """A capacitor dropper: its reactance, its current, what the surge resistor costs, and who empties it."""
    main = group.having("dropper capacitor")
    reactance = case.of_group(group, "reactance")
    flow = case.part(main[0], "current_rms")
    if reactance is not None:
        text = (
            f"{named(main)} {verb(main, 'stands', 'stand')} in the line: its reactance of {{reactance}} at the mains "
            f"frequency sets the current, {{flow}}, and almost none of that becomes heat."
        )
        yield say(group.id, text, f"{named(main)} sets the current. {{flow}}.", main, reactance=reactance, flow=flow)
    expected = case.of_group(group, "mean current by charge balance")
    if expected is not None:
        load = case.of_group(group, "load voltage")
        assert load is not None  # the two come together
        text = f"By its charge alone {named(main)} would pass {{expected}} on average to a load that asks for {{load}}."
        yield say(group.id, text, "By its charge alone, {expected}.", main, expected=expected, load=load)
    for ref in group.having("surge resistor"):
        heat = case.part(ref, "power")
        text = f"{ref} limits the rush when it is plugged in at the wrong moment, and costs {{heat}} all the time."
        yield say(group.id, text, f"{ref} limits the rush. {{heat}}.", (ref,), heat=heat)
    bleeders, wait = group.having("bleeder resistor"), case.of_group(group, "time from the mains peak to 34 V")
    if bleeders and wait is not None:
        limit = Cited(value=_PINS, unit="V", source="limit: plug pins, or direct voltage", style="marked")
        empties = f"{named(bleeders)} {verb(bleeders, 'empties', 'empty')}"
        text = f"{empties} {named(main)} to {{limit}} in {{wait}} once unplugged."
        spoken = f"{empties} it in {{wait}}."
        yield say(group.id, text, spoken, (*bleeders, *main), wait=wait, limit=limit)
    elif not bleeders:
        text = f"Nothing was found that empties {named(main)}: it may keep up to {{peak}} after the plug is pulled."
        spoken = f"Nothing empties {named(main)}. It may keep {{peak}}."
        yield say(group.id, text, spoken, main, peak=case.part(main[0], "voltage_peak"))


def heat_setting(case: Case, group: Group) -> Iterator[Sentence]:
    """The half setting: which half-cycle passes, and what that makes of the current."""
    diodes, bypass = group.having("half-wave diode"), group.having("bypass switch")
    share = case.of_group(group, "share of full power on the half setting", "percent")
    assert share is not None
    closed = all(case.element(ref).values.get("closed", True) for ref in bypass)
    flow = case.part(diodes[0], "current_mean")
    now = "closed, so the diode is idle" if closed else "open, so one half-cycle in two is missing"
    text = (
        f"{named(bypass)} goes round {named(diodes)}: open, only {{share}} of the full power is left. Here it is "
        f"{now}; the diode's mean current is {{flow}}."
    )
    spoken = f"{named(diodes)}, with {named(bypass)} round it. Open, {{share}} of the power."
    yield say(group.id, text, spoken, (*diodes, *bypass), share=share, flow=flow)


def interference(case: Case, group: Group) -> Iterator[Sentence]:
    """Parts against radio disturbance, with what flows through the capacitor."""
    for ref in (*group.having("suppression capacitor"), *group.having("noise capacitor")):
        flow = case.part(ref, "current_rms")
        text = f"{ref} takes the sharp edges off; {{flow}} flows through it."
        yield say(group.id, text, f"{ref}, against radio noise.", (ref,), flow=flow)
    for ref in group.having("interference choke"):
        value = case.value(ref, "value", "H")
        text = f"{ref}, {{value}}, slows the current's rise at each firing."
        yield say(group.id, text, f"{ref}, against radio noise.", (ref,), value=value)
