"""Where the energy ends: LED strings, ballast, current sources, clamps, loads."""

from __future__ import annotations

from collections.abc import Iterator

from lidoff.circuit.groups import Group
from lidoff.studies.telling.case import Case, named, say, verb
from lidoff.studies.telling.citing import Cited, Sentence


def led_string(case: Case, group: Group) -> Iterator[Sentence]:
    """The LEDs: how many, what they ask for, what they get, and what the eye gets."""
    refs = group.having("LED string")
    count = case.of_group(group, "LEDs", "count")
    volts = case.of_group(group, "string voltage")
    assert count is not None
    assert volts is not None
    flows = [case.part(ref, "current_mean") for ref in refs]
    flow = max(flows, key=lambda cited: cited.value)
    power = case.heat(refs)
    peak = max((case.part(ref, "current_peak") for ref in refs), key=lambda cited: cited.value)
    lights = "The LED of" if count.value == 1 else "The {count} LEDs of"
    text = (
        f"{lights} {named(refs)} ask for {{volts}}; they get {{flow}} on average and {{peak}} at the peak, {{power}} "
        f"in all."
    )
    if count.value == 1:
        text = text.replace("ask for", "asks for").replace("they get", "it gets").replace(" in all", "")
    figures = {"volts": volts, "flow": flow, "peak": peak, "power": power}
    if count.value != 1:
        figures["count"] = count
    spoken = f"{named(refs)}, the light. {{flow}} on average."
    yield say(group.id, text, spoken, refs, **figures)
    for ref in group.having("across the LEDs"):
        heat = case.part(ref, "power")
        text = f"{ref} lies across LEDs and takes {{heat}}; it keeps small leaks from lighting them."
        yield say(group.id, text, f"{ref} lies across them. {{heat}}.", (ref,), heat=heat)


def ballast(case: Case, group: Group) -> Iterator[Sentence]:
    """Ballast: its resistance and its heat."""
    refs = group.own
    ohms = case.of_group(group, "resistance")
    assert ohms is not None
    heat = case.heat(refs)
    share = Cited(
        value=heat.value / max(case.figures["input"]["power"], 1e-12),
        unit="",
        source=f"figures: sum of power of {named(refs)} over input.power",
        style="percent",
    )
    text = (
        f"{named(refs)} ({{ohms}}) {verb(refs, 'takes', 'take')} the voltage that the LEDs leave: {{heat}} of heat, "
        f"{{share}} of the whole."
    )
    spoken = f"{named(refs)}, the ballast. {{heat}} of heat."
    yield say(group.id, text, spoken, refs, ohms=ohms, heat=heat, share=share)


def current_source(case: Case, group: Group) -> Iterator[Sentence]:
    """A current source: what it is set to, what flows, what it burns."""
    main = group.having("current regulator") or group.having("pass transistor")
    current = case.of_group(group, "current")
    flow, heat = case.part(main[0], "current_mean"), case.part(main[0], "power")
    each = " each" if len(main) > 1 else ""
    figures = {"flow": flow, "heat": heat}
    set_to = ""
    if current is not None:
        figures["current"] = current
        set_to = f", set to {{current}}{' together' if len(main) > 1 else ''},"
    text = (
        f"{named(main)}{set_to} {verb(main, 'lets', 'let')} no more through: {{flow}} on average{each}, and {{heat}} "
        f"of heat{each} for what voltage is left over."
    )
    spoken = f"{named(main)} {verb(main, 'limits', 'limit')} the current. {{heat}} of heat."
    yield say(group.id, text, spoken, main, **figures)
    for ref in group.having("sense resistor"):
        drop = case.part(ref, "voltage_peak")
        text = f"{ref} senses it: at most {{drop}} stands across it."
        yield say(group.id, text, f"{ref} senses the current. {{drop}}.", (ref,), drop=drop)


def clamp(case: Case, group: Group) -> Iterator[Sentence]:
    """A clamp: its voltage, what stands across it, and whether it works or waits."""
    for ref in group.own:
        if case.element(ref).kind not in ("zener", "varistor"):
            heat = case.part(ref, "power")
            yield say(group.id, f"{ref} feeds it and takes {{heat}}.", f"{ref} feeds it. {{heat}}.", (ref,), heat=heat)
            continue
        volts, peak, heat = case.value(ref, "voltage", "V"), case.part(ref, "voltage_peak"), case.part(ref, "power")
        busy = heat.value > 1e-3
        does = "works" if busy else "waits"
        text = f"{ref} clamps at {{volts}}; up to {{peak}} stands across it and it takes {{heat}}: it {does}."
        spoken = f"{ref}, a clamp at {{volts}}. It {does}."
        yield say(group.id, text, spoken, (ref,), volts=volts, peak=peak, heat=heat)


def load(case: Case, group: Group) -> Iterator[Sentence]:
    """A load: what reaches it, beside what it is rated for."""
    helpers = ("freewheel diode", "suppression capacitor", "series capacitor")
    for ref in (ref for ref in group.own if group.roles[ref] not in helpers):
        power, volts = case.part(ref, "power"), case.part(ref, "voltage_rms")
        rated = case.of_group(group, f"rated power of {ref}", "marked")
        text = f"{ref} gets {{volts}} and takes {{power}}"
        figures = {"power": power, "volts": volts}
        if rated is not None:
            figures["rated"] = rated
            text += "; it is rated {rated}"
        yield say(group.id, f"{text}.", f"{ref} takes {{power}}.", (ref,), **figures)
    for ref in group.having("series capacitor"):
        drop = case.part(ref, "voltage_rms")
        text = f"{ref} in a row with it takes {{drop}} without heat."
        yield say(group.id, text, f"{ref} takes {{drop}}, without heat.", (ref,), drop=drop)
    for ref in (*group.having("freewheel diode"), *group.having("suppression capacitor")):
        peak = case.part(ref, "current_peak")
        yield say(
            group.id,
            f"{ref} lies across it; at most {{peak}} flows there.",
            f"{ref} lies across it. {{peak}}.",
            (ref,),
            peak=peak,
        )
