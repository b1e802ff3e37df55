"""What a knob does, and over how much of its way it does nothing."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account, Knob
from lidoff.circuit.groups import Group
from lidoff.drawing import turn_svg
from lidoff.quantity import engineering
from lidoff.writeup.blocks import BigFigure, BigFigures, Block, Heading, Number, Paragraph, Picture, Run, Text
from lidoff.writeup.numbers import number, share
from lidoff.writeup.words import capital, in_state, listed

_TIMING: Final = "timing capacitor"
_TRIGGER: Final = "trigger diac"
_IN_THE_WAY: Final = "in the charging path"
_STRING: Final = "string voltage in the charging path"
_BEGINS: Final = "angle at which charging can begin"
_FIRED: Final = ("triac", "thyristor")
_DEAD: Final = 0.2  # share of the travel from which a knob is called dead over much of it


def knobs(account: Account) -> list[Block]:
    """Every knob with its picture."""
    blocks: list[Block] = []
    for knob in account.knobs:
        turned = knob.turn
        if turned.dead_travel is None:
            continue
        blocks.append(Heading(text=f"The knob {knob.ref}", id=f"knob-{knob.ref}"))
        blocks.append(BigFigures(figures=_large(knob)))
        document = turned.as_json()
        blocks.append(
            Picture(
                wide=turn_svg(document),
                narrow=turn_svg(document, narrow=True),
                caption=(
                    "Light and power along the way of the knob, up and down again, computed. ",
                    f"0 % is the end at pin a, where the wiper stands {in_state(knob.state)}."
                    if knob.setting == 0.0
                    else "0 % is the end at which the wiper stands at pin a.",
                ),
            )
        )
        blocks.append(Paragraph(text=_told(account, knob)))
        blocks += [Paragraph(text=text) for text in why(account, knob)]
    return blocks


def _large(knob: Knob) -> tuple[BigFigure, ...]:
    turned = knob.turn
    points = len(turned.up)
    found = [
        BigFigure(
            value=f"{100.0 * (turned.dead_travel or 0.0):.0f}",
            unit="%",
            caption="of its way changes nothing",
            origin="computed",
            spread=f"in steps of {100.0 / (points - 1):.1f} %",
        )
    ]
    if turned.floor is not None:
        found.append(
            BigFigure(
                value=f"{100.0 * turned.floor:.2g}",
                unit="%",
                caption="of the most light is left at the lowest",
                origin="computed",
            )
        )
    if turned.snap_on is not None:
        found.append(
            BigFigure(
                value=f"{100.0 * turned.snap_on:.0f}",
                unit="%",
                caption="of the way, the light comes or goes",
                origin="computed",
            )
        )
    return tuple(found)


def _told(account: Account, knob: Knob) -> Text:
    turned = knob.turn
    dead = turned.dead_travel or 0.0
    found: list[Run] = [
        "Over ",
        Number(text=share(dead), origin="computed"),
        " of the way the light stays within 5 % of its lowest",
    ]
    if turned.floor:
        found += [", which is ", Number(text=f"{100.0 * turned.floor:.2g} %", origin="computed"), " of its highest"]
    found.append(". ")
    if turned.snap_on is not None and turned.snap_off is not None:
        apart = abs(turned.snap_on - turned.snap_off)
        if apart < 0.02:
            found.append("It comes and goes at the same place, whichever way the knob is turned. ")
        else:
            found.append(
                f"It comes at {share(turned.snap_on)} and goes at {share(turned.snap_off)}: turned down, it stays on "
                "where, turned up, it had not yet come. "
            )
    if dead >= _DEAD:
        found.append("So the knob is not broken; over that part of its way there is nothing for it to do. Why:")
    return tuple(found)


def why(account: Account, knob: Knob) -> list[Text]:
    """Why a knob does nothing over much of its way: what holds the firing back, with the figures that show it."""
    dead = knob.turn.dead_travel
    if dead is None or dead < _DEAD or account.groups is None:
        return []
    found: list[Text] = []
    for group in account.groups.best:
        if knob.ref in group.own:
            through = _through_string(group)
            found += [through] if through else [(remark,) for remark in group.remarks]
            shown = _not_reached(account, group)
            if shown:
                found.append(shown)
    if knob.through is not None and knob.plain_dead_travel is not None and knob.plain_dead_travel < dead:
        found.append(
            (
                "Worked out once more with all but one LED of ",
                f"{knob.through} bridged, and nothing else changed, the knob is dead over ",
                Number(text=share(knob.plain_dead_travel), origin="computed"),
                " of its way. The rest is what the string takes.",
            )
        )
    return found


def _through_string(group: Group) -> Text:
    """That the timing charges through an LED string, and what that takes from it; nothing where it does not."""
    capacitors, strings = group.having(_TIMING), group.having(_IN_THE_WAY)
    if not capacitors or not strings or _STRING not in group.figures or _BEGINS not in group.figures:
        return ()
    volts, unit = group.figures[_STRING]
    begins, _ = group.figures[_BEGINS]
    return (
        f"The timing capacitor {capacitors[0]} does not charge straight from the mains but through the string "
        f"{listed(strings)}, which lets next to nothing pass until the mains exceeds ",
        Number(text=engineering(volts, unit, 2), origin="computed"),
        ". That is ",
        Number(text=f"{begins:.0f}°", origin="computed"),
        " into each half-cycle of 180°, and only what the mains has above that voltage is left for charging.",
    )


def _not_reached(account: Account, group: Group) -> Text:
    """A solved state in which the timing capacitor stays below what its diac needs, in figures; nothing without one."""
    capacitors, diacs = group.having(_TIMING), group.having(_TRIGGER)
    if not capacitors or not diacs:
        return ()
    capacitor, diac = capacitors[0], diacs[0]
    fired = next((ref for ref in group.refs if group.roles[ref] in _FIRED), "the triac")
    for state in account.states:
        parts = state.figures["parts"]
        one = account.part(diac)
        if capacitor not in parts or one is None or one.element is None or state.view is None:
            continue
        reached, needed = parts[capacitor]["voltage_peak"], one.element.number("breakover")
        if reached < 0.98 * needed:
            held = parts[fired]["voltage_peak"] if fired in parts else None
            text: list[Run] = [capital(in_state(state.name))]
            if held is not None:
                text += [
                    f" the mains peaks at {engineering(state.view.voltage_peak, 'V')}, but across {fired}, where the "
                    "timing takes its voltage from, no more than ",
                    number(state.figure(f"parts.{fired}.voltage_peak", "V")),
                    " ever stands: the rest is held by what lies in a row with it.",
                ]
            text += [
                f" {capacitor} gets no further than ",
                number(state.figure(f"parts.{capacitor}.voltage_peak", "V")),
                f". {diac} breaks over at ",
                Number(text=engineering(needed, "V"), origin=one.origins.get("breakover", "recorded")),
                f" and not below, so {fired} never fires, and what still glows is what leaks past it.",
            ]
            return tuple(text)
    return ()
