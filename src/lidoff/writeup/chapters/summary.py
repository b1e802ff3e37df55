"""What it is and what happens, in a paragraph; the figures that matter; four answers."""

from __future__ import annotations

from typing import Final

import numpy as np

from lidoff.account import Account, StateAccount
from lidoff.circuit.groups.words import counted
from lidoff.drawing import CycleView
from lidoff.drawing.view import spans_above
from lidoff.quantity import engineering, with_interval
from lidoff.readings import Judged
from lidoff.studies import Decay
from lidoff.studies.unplug import LEVELS
from lidoff.writeup.blocks import (
    Answer,
    Answers,
    BigFigure,
    BigFigures,
    Block,
    Number,
    Paragraph,
    Run,
    Said,
    Strong,
    Text,
)
from lidoff.writeup.numbers import big, number, share
from lidoff.writeup.words import (
    CLASSES,
    PRODUCTS,
    as_read,
    capital,
    in_state,
    inferred_words,
    joined,
    listed,
    quantity_name,
    sentence,
    supply_words,
    with_states,
)

_FLOWS: Final = 0.05  # of its peak, above which the mains current counts as flowing
_ALL: Final = 0.96  # share of the time from which it flows all of it
_PULSES: Final = 0.7  # share of the time below which it comes in pulses
_BENT: Final = 0.1  # share of the value from which a meter of that kind does not show the value itself
_WORST: Final = 3  # findings named on the first page
_LARGE: Final = (
    ("input.power", "W", "power"),
    ("input.current_rms", "A", "current, rms"),
    ("input.power_factor", "", "power factor"),
)


def summary(account: Account) -> list[Block]:
    """The first page of a write-up."""
    blocks: list[Block] = [Paragraph(text=joined([_what(account), _happens(account)]), style="lead")]
    main = account.main
    if main is not None:
        blocks.append(BigFigures(figures=large(main)))
        basis: list[Run] = [f"Computed {in_state(main.name)}, ", *supply_words(main), "."]
        for text in inferred_words(account):
            basis += [" ", *text]
        if main.inputs:
            basis.append(
                " Each span is what the figure may be while the mains and the parts stay within their ranges"
                f"{_most(main)}."
            )
        blocks.append(Paragraph(text=tuple(basis), style="note"))
    blocks.append(
        Answers(
            answers=(
                Answer(question="What is it?", text=_it_is(account)),
                Answer(question="What happens in one mains cycle?", text=_in_a_cycle(account)),
                Answer(question="Which reading to doubt?", text=_doubt(account)),
                Answer(question="What could hurt?", text=_hurt(account)),
            )
        )
    )
    return blocks


def _what(account: Account) -> Text:
    item = account.item
    product = PRODUCTS.get(item.kind or "", "a mains-powered product")
    claims = [
        with_interval(item.rated[key], 0.0, unit)
        for key, unit in (("voltage", "V"), ("frequency", "Hz"), ("power", "W"))
        if key in item.rated
    ]
    if "voltage_low" in item.rated and "voltage_high" in item.rated:
        claims.insert(0, f"{item.rated['voltage_low']:g} to {with_interval(item.rated['voltage_high'], 0.0, 'V')}")
    label = f", which its label says is for {listed(claims)}" if claims else ""
    inside = [group.title for group in account.groups.best] if account.groups is not None else []
    made = f" Inside are, in the order in which the energy flows: {listed(inside)}." if inside else ""
    return (f"This is {product}{label}.{made}",)


def _happens(account: Account) -> Text:
    main = account.main
    if main is None:
        return ("What happens in it could not be worked out; why stands under “What was not looked at”.",)
    found: list[Run] = [
        f"{capital(in_state(main.name))} it takes ",
        number(main.figure("input.power", "W")),
        " and ",
        number(main.figure("input.current_rms", "A")),
        ".",
    ]
    light = main.figures["light"]
    if main.page is not None and light is not None and main.page.light_words:
        found.append(f" {main.page.light_words[0].text.partition(' (')[0].rstrip('.')}.")
    for knob in account.knobs:
        dead = knob.turn.dead_travel
        if dead is not None and dead >= 0.2:
            found += [
                f" Over {share(dead)} of the way of its knob {knob.ref} the light stays at its lowest.",
            ]
    return tuple(found)


def large(main: StateAccount) -> tuple[BigFigure, ...]:
    """The figures that matter of a state."""
    figures = [big(main.figure(name, unit), caption) for name, unit, caption in _LARGE]
    light = main.figures["light"]
    if light is not None and main.page is not None and main.page.lit:
        figure = main.figure("light.percent_flicker", "%")
        figures.append(big(figure, f"flicker, {light['frequency']:g} times a second"))
    return tuple(figure for figure in figures if figure is not None)


def _most(main: StateAccount) -> str:
    found = main.ranges.get("input.power")
    if found is None or not found.most or found.share < 0.3:
        return ""
    what = "the mains voltage" if found.most == "supply.voltage" else found.most
    return f"; for the power, {what} does most of it ({share(found.share)})"


# The four answers --------------------------------------------------------------------------------------------------


def charged(account: Account) -> list[Decay]:
    """The capacitors that still hold more than a touch should meet when the plug is pulled, slowest first."""
    found = account.unplugged
    return [] if found is None else [decay for decay in found.capacitors if decay.start > LEVELS[0]]


def _for_how_long(decay: Decay) -> str:
    if decay.to_60 is None:
        return ", for longer than was looked at"
    return f", and {engineering(decay.to_60, 's', 2)} later still {LEVELS[0]:g} V"


def _it_is(account: Account) -> Text:
    item = account.item
    found: list[Run] = []
    known = CLASSES.get(item.protection_class)
    found.append(
        f"{capital(known)}."
        if known
        else "Its protection class was not written down, so it is not known what it relies on."
    )
    if item.use:
        found += [" Its place: ", Said(text=item.use), "."]
    if item.note:
        found += [" ", Said(text=item.note)]
    return tuple(found)


def _in_a_cycle(account: Account) -> Text:
    main = account.main
    if main is None or main.view is None:
        return ("No mains cycle was computed.",)
    view = main.view
    found: list[Run] = []
    if view.current_peak > 0.0:
        flows = flowing(view)
        if flows is None:
            found.append("Current flows all the time. ")
        else:
            found += ["Current flows for ", Number(text=share(flows), origin="computed"), " of the time"]
            found.append(", in pulses that peak at " if flows < _PULSES else ", with peaks of ")
            found += [number(main.figure("input.current_peak", "A")), ". "]
    if main.page is not None:
        found += [" ".join(words.text for words in main.page.input_words[:2])]
    return tuple(found)


def flowing(view: CycleView) -> float | None:
    """The share of the time in which mains current flows to speak of; None where it flows all of it, or never."""
    if view.current_peak <= 0.0:
        return None
    spans = spans_above(np.abs(view.current), _FLOWS * view.current_peak, view.angle)
    found = sum(b - a for a, b in spans) / view.span
    return None if found > _ALL else found


def _doubt(account: Account) -> Text:
    judgement = account.judgement
    if not account.item.readings:
        return ("No readings were written down, so nothing checks what was computed.",)
    if judgement is None:
        return ("The readings were not judged.",)
    found: list[Run] = []
    for verdict, lead in (("contradicts", "Do not believe"), ("doubtful", "Be careful with")):
        names = [named(one) for one in judgement.readings if one.verdict == verdict]
        if names:
            found += [Strong(text=f"{lead} {listed(names)}."), " "]
    agreeing = [one for one in judgement.readings if one.verdict == "agrees"]
    bent = [one for one in agreeing if _bent(one)]
    straight = [one for one in agreeing if one not in bent]
    open_ones = [one for one in judgement.readings if one.verdict == "cannot-tell"]
    if straight:
        found += [Strong(text="Believe"), f" {listed(named(one) for one in straight)}: the circuit says the same. "]
    for one in bent:
        meter = one.reading.meter or "meter"
        found += [
            Strong(text=f"Do not take {named(one)} for the value itself"),
            f": it is what the {meter} has to show of this wave, where the value is ",
            Number(text=engineering(one.true or 0.0, one.reading.unit, 2), origin="computed"),
            ". ",
        ]
    if open_ones:
        found += [Strong(text="Nobody can tell"), f" about {listed(named(one) for one in open_ones)}. "]
    if judgement.next:
        first = judgement.next[0]
        found += [Strong(text="To measure next:"), f" {with_states(sentence(first.how or first.why), account)}"]
        if first.how:
            found.append(f" {with_states(sentence(first.why), account)}")
    return tuple(found) or ("Nothing that was read could be compared.",)


def _bent(one: Judged) -> bool:
    """Whether what the meter shows of this wave is not the value itself, as an averaging meter does."""
    return one.true is not None and one.computed is not None and abs(one.computed - one.true) > _BENT * abs(one.true)


def named(one: Judged) -> str:
    """A reading with its figure, as it was written."""
    return f"the {quantity_name(one.reading.quantity)} of {as_read(one.reading)}"


def _hurt(account: Account) -> Text:
    found: list[Run] = []
    judged = account.findings.findings if account.findings is not None else ()
    for one in judged[:_WORST]:
        found += [Strong(text=f"{capital(one.risk.level)} risk:"), f" {one.title[:1].lower()}{one.title[1:]}. "]
    if len(judged) > _WORST:
        found.append(f"{capital(counted(len(judged) - _WORST))} more below. ")
    held = charged(account)
    if held:
        found += [
            f"{held[0].what} holds up to ",
            Number(text=engineering(held[0].start, "V", 2), origin="computed"),
            f" after the plug is pulled{_for_how_long(held[0])}. ",
        ]
    if account.card is not None and account.card.known:
        found.append(f"{account.card.sentences[0]} ")
    found.append("What was not looked at could hurt as well.")
    return tuple(found)
