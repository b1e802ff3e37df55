"""Why a power factor that nobody wants to believe is right: the meter's own picture of the wave."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account, StateAccount
from lidoff.drawing import CycleView
from lidoff.drawing.meter_picture import meter_svg, product_of
from lidoff.readings import Judged
from lidoff.writeup.blocks import Block, Heading, Number, Paragraph, Picture, Run, Said, Text
from lidoff.writeup.numbers import number, share, written
from lidoff.writeup.words import as_read, in_state

_IN_STEP: Final = 0.98  # displacement factor from which the current counts as in step with the voltage
_BACK: Final = 0.005  # share of the energy to and fro below which none flows back to speak of
_TOLD: Final = 0.002  # between two computed factors, from which both are told
_SAME: Final = 0.02  # between the two factors, below which the shape does nothing to speak of


def power_factors(account: Account) -> list[Block]:
    """For each power factor at the input that agrees with the circuit: what the meter made it of."""
    if account.judgement is None:
        return []
    blocks: list[Block] = []
    for one in account.judgement.readings:
        state = account.state(one.state)
        if one.reading.quantity != "power_factor" or one.reading.at != "input" or one.verdict != "agrees":
            continue
        if state is None or state.view is None or state.view.rhythm > 1:
            continue
        blocks += _explained(one, state, state.view, first=not blocks)
    return blocks


def _explained(one: Judged, state: StateAccount, view: CycleView, *, first: bool) -> list[Block]:
    power, apparent = state.figure("input.power", "W"), state.figure("input.apparent_power", "VA")
    factor, shift = state.figure("input.power_factor", ""), state.figure("input.displacement_factor", "")
    if power is None or apparent is None or factor is None or shift is None or product_of(view).factor is None:
        return []
    shown = as_read(one.reading)
    found: list[Run] = []
    if one.reading.note:
        found += ["Noted at this reading: ", Said(text=one.reading.note.rstrip(".")), ". The circuit says the same. "]
    found += [
        "A sampling power meter multiplies volts and amperes at every instant and takes the mean of the products, the "
        "filled area in the picture: ",
        number(power),
        ". Apart from that it works out the rms volts and the rms amperes, which know nothing of each other, and "
        "multiplies those two: ",
        number(apparent),
        ". The one over the other is the power factor, here ",
        number(factor),
        *_weighed(one, factor.value),
        f"; the meter showed {shown}.",
    ]
    words = (written(power), written(apparent))
    return [
        Heading(text=f"Why {shown} is right", id="power-factor" if first else "", level=2),
        Paragraph(text=tuple(found)),
        Picture(
            wide=meter_svg(view, written=words),
            narrow=meter_svg(view, written=words, narrow=True),
            caption=(
                f"What the meter makes of the wave {in_state(state.name)}, computed: volts and amperes above, their "
                "product below. Where the product is below zero, energy flows back.",
            ),
        ),
        Paragraph(text=_shape(state, view, factor.value, shift.value)),
    ]


def _weighed(one: Judged, factor: float) -> list[Run]:
    """What the factor comes to when the readings are weighed in, where that differs from the plain one."""
    if one.computed is None or abs(one.computed - factor) < _TOLD:
        return []
    return [" (", Number(text=f"{one.computed:.3f}", origin="computed"), " once all readings are weighed in)"]


def _shape(state: StateAccount, view: CycleView, factor: float, shift: float) -> Text:
    """What the shift and what the shape of the current take."""
    displacement = number(state.figure("input.displacement_factor", ""))
    back = product_of(view).back
    found: list[Run] = [
        "Its displacement part, the only one that a shift between voltage and current makes, is ",
        displacement,
    ]
    if shift >= _IN_STEP:
        found.append(": the current is neither late nor early. ")
    else:
        found.append(": the fundamental of the current is out of step with the voltage. ")
    if shift - factor > _SAME:
        found.append(
            "The rest is the shape of the current. It comes in part of the cycle only, so that its rms value is more "
            "than the power needs. A meter that looked at the shift alone would have shown the displacement part; this "
            "one shows the true power factor. "
        )
    else:
        found.append("The shape of the current takes next to nothing from it. ")
    if back > _BACK:
        found.append(f"Of all the energy that goes through the plug, {share(back)} comes back within the same cycle.")
    else:
        found.append("No energy to speak of flows back.")
    return tuple(found)
