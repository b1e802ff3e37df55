"""One mains cycle in pictures, and the other ways in which the item was run."""

from __future__ import annotations

from lidoff.account import Account, StateAccount
from lidoff.drawing import cycle_dial_svg, waveform_svg
from lidoff.writeup.blocks import Block, Column, Gallery, Heading, Picture, Row, Run, Table, Text
from lidoff.writeup.numbers import number
from lidoff.writeup.words import state_name, supply_words


def cycle(account: Account) -> list[Block]:
    """The cycle of the main state, then the other states beside it."""
    main = account.main
    blocks: list[Block] = []
    if main is not None and main.view is not None:
        blocks.append(Heading(text="One mains cycle", id="cycle"))
        blocks.append(wave(main))
        blocks.append(
            Picture(
                wide=cycle_dial_svg(main.view),
                narrow=cycle_dial_svg(main.view, narrow=True),
                caption=("The same cycle as a ring, read like a clock: one turn is one cycle of the mains.",),
            )
        )
    others = [state for state in account.states if state is not main]
    if others:
        blocks.append(Heading(text="Other ways it was run", id="states", level=2 if blocks else 1))
        blocks.append(_compared(account))
        pictures = [wave(state) for state in others if state.view is not None]
        if pictures:
            blocks.append(Gallery(pictures=tuple(pictures)))
    return blocks


def wave(state: StateAccount) -> Picture:
    """The waves of a state that has a cycle."""
    assert state.view is not None
    caption: list[Run] = [
        f"{state_name(state.name)[:1].upper()}{state_name(state.name)[1:]}, ",
        *supply_words(state),
        ": mains voltage, input current",
    ]
    if state.view.light is not None:
        caption.append(", light")
    caption.append(", and when each part conducts. All of it computed.")
    if not state.figures["settled"]:
        caption.append(" The cycle found does not repeat: take its figures as a sample.")
    elif state.view.rhythm > 1:
        caption.append(f" It repeats only after {state.view.rhythm} cycles.")
    return Picture(wide=waveform_svg(state.view), narrow=waveform_svg(state.view, narrow=True), caption=tuple(caption))


_COMPARED = (
    ("input.power", "W", "Power"),
    ("input.current_rms", "A", "Current, rms"),
    ("input.power_factor", "", "Power factor"),
    ("light.mean_current", "A", "Mean LED current"),
    ("light.percent_flicker", "%", "Flicker"),
)


def _compared(account: Account) -> Table:
    """Every state in a row."""
    shown = [
        (name, unit, title)
        for name, unit, title in _COMPARED
        if any(state.figure(name, unit) is not None for state in account.states)
    ]
    rows = []
    for state in account.states:
        cells: list[Text] = [(state_name(state.name),), supply_words(state)]
        cells += [(number(state.figure(name, unit)),) for name, unit, _ in shown]
        noted = account.item.state(state.name) if state.name is not None else None
        said: Text = (noted.note,) if noted is not None and noted.note else ()
        rows.append(Row(cells=tuple(cells), note=said))
    columns = (
        Column(title="State"),
        Column(title="Fed", room="wide"),
        *(Column(title=t, numeric=True) for _, _, t in shown),
    )
    return Table(columns=columns, rows=tuple(rows), caption=("All figures are computed.",))
