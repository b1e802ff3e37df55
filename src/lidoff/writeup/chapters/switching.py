"""Switched on, and the plug pulled: what comes at once, and what stays."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account
from lidoff.quantity import engineering
from lidoff.studies import Decay, Surge
from lidoff.studies.switch_on import mains_assumed
from lidoff.studies.unplug import LEVELS
from lidoff.writeup.blocks import Block, Column, Heading, Number, Paragraph, Row, Run, Table, Text
from lidoff.writeup.numbers import share
from lidoff.writeup.words import in_state

_NO_MORE: Final = 1.05  # times the settled peak, up to which a switch-on peak is no more than that
_CONVERTER: Final = (
    " A converter empties its capacitor only as long as it runs; many stop at a higher voltage than is taken here, and "
    "leave the capacitor charged for minutes."
)
_AT_ONCE: Final = 1e-3  # [s] a fall quicker than a hand


def switching(account: Account) -> list[Block]:
    """Switch-on at the worst instant, and the charge that stays after the plug is pulled."""
    if account.switched_on is None and account.unplugged is None:
        return []
    blocks: list[Block] = [Heading(text="Switched on, and unplugged", id="switching")]
    on = account.switched_on
    if on is not None:
        text: list[Run] = [
            f"Switched on {in_state(on.state)} at the worst instant of the cycle, it takes a peak of ",
            Number(text=engineering(on.peak, "A", 2), origin="computed"),
        ]
        if on.settled_peak and on.peak < _NO_MORE * on.settled_peak:
            text.append(", no more than when it has settled")
        elif on.settled_peak:
            text += [", where it takes ", Number(text=engineering(on.settled_peak, "A", 2), origin="computed")]
            text.append(" when it has settled")
        text.append(f". Everything is taken cold and empty. {_mains(account)} ")
        rated = [surge for surge in on.surges if surge.times is not None]
        if rated:
            text.append(_surge(rated[0]))
        blocks.append(Paragraph(text=tuple(text)))
    off = account.unplugged
    if off is not None and off.capacitors:
        blocks.append(
            Table(
                columns=(
                    Column(title="What holds charge"),
                    Column(title="At the worst instant", numeric=True),
                    Column(title=f"Below {LEVELS[0]:g} V after", numeric=True),
                    Column(title=f"Below {LEVELS[1]:g} V after", numeric=True),
                ),
                rows=tuple(_row(decay, off.looked) for decay in (*off.capacitors, off.pins)),
                caption=(
                    "Computed, with the plug pulled at the worst instant of the cycle and every part as recorded. A "
                    "bleeder that has failed, or was never seen, is not in it: measure before touching."
                    f"{_CONVERTER if any(one.part.kind == 'converter' for one in account.parts) else ''}",
                ),
            )
        )
    return blocks


def _mains(account: Account) -> str:
    """What holds the current back at the mains, in the state that was switched on."""
    on = account.switched_on
    state = account.state(on.state) if on is not None else None
    if on is None or state is None:
        return ""
    assumed = mains_assumed(state.supply)
    if assumed:
        return assumed[0]
    resistance = f"The mains is taken with {engineering(state.supply.resistance, 'ohm', 2)}"
    if not state.supply.inductance:
        return f"{resistance} and nothing else to hold the current back."
    return f"{resistance} and {engineering(state.supply.inductance, 'H', 2)}."


def _surge(surge: Surge) -> str:
    against = "of what such a part is commonly good for" if surge.assumed else "of its rating"
    return f"Hardest hit is {surge.part}: {share(surge.times or 0.0)} {against}, as I²t over the first half-cycle."


def _row(decay: Decay, looked: float) -> Row:
    name = "the pins of the plug" if decay.what == "pins" else decay.what

    def after(time: float | None) -> Text:
        if time is None:
            return (f"more than {engineering(looked, 's', 2)}",)
        return ("at once",) if time < _AT_ONCE else (Number(text=engineering(time, "s", 2), origin="computed"),)

    return Row(
        cells=(
            (name,),
            (Number(text=engineering(decay.start, "V", 2), origin="computed"),),
            after(decay.to_60),
            after(decay.to_34),
        ),
        tone="bad" if decay.to_60 is None else "plain",
    )
