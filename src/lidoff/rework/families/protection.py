"""Fuse, NTC thermistor and varistor: what limits the surge, what opens, what takes the spikes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart, fresh
from lidoff.rework.families.building import amount, fuse_part, surge_part
from lidoff.rework.family import Family, Plan

_HOT: Final = 10.0  # times colder than hot, at least (TDK inrush limiters: a factor of 10 to 50)
_AT_ONE_MA: Final = 1.56  # voltage at 1 mA over the rms mains it is sold for (makers' tables, from memory)
_FILM_AMPERES: Final = 0.15  # rms up to which a plain resistor in the line does the same for next to no heat


def _plans(case: Case) -> Iterable[Plan] | str:
    circuit = case.circuit
    taken = case.refs
    fuse = next((e for e in circuit.elements if e.kind == "fuse" and "live" in e.nodes), None)
    node = next(n for n in fuse.nodes if n != "live") if fuse is not None else "live"
    assert node is not None
    behind = f"{node}_n"
    moved = {
        f"{e.ref}.{pin}": behind
        for e in circuit.elements
        if e is not fuse and not e.block
        for pin, held in e.pins.items()
        if held == node
    }
    if not moved:
        return "Nothing but the fuse hangs on the line in a way that something could be put behind it."
    goal = case.goal("inrush")
    most = goal.high if goal is not None and goal.high is not None else 10.0
    least = equations.surge_resistor(case.highest, most)
    front, parts = node, []
    if fuse is None:
        front = f"{node}_f"
        parts.append(fuse_part(case, taken, "live", front))
    rms = float(case.before_solution.input_figures()["current_rms"])
    plans = []
    varistor = _varistor(case, taken, front)
    ntc = NewPart(
        ref=fresh("RT", set(taken)),
        kind="thermistor",
        role="inrush thermistor",
        values=Table({"cold": 10.0, "hot": 1.0}),
        nodes=Table({"1": front, "2": behind}),
        tolerance=0.20,
        why="Cold it limits the surge, warm it is nearly a wire.",
        must=(
            "disc for inrush limiting, its current rating above what flows and its joules above the capacitor's",
            "it is hot in use and needs a minute to cool: plugged in again at once it limits nothing",
        ),
    )
    choices = [
        Table({f"{ntc.ref}.cold": ohms, f"{ntc.ref}.hot": ohms / _HOT})
        for ohms in stock.NTC_OHMS
        if 0.7 * least <= ohms <= 6.0 * least
    ]
    text = f"R ≥ √2 U / I = {case.highest:.0f} V / {most:g} A = {amount(least, 'ohm')} cold"
    if rms > _FILM_AMPERES and choices:
        plans.append(
            Plan(
                variant="fuse, NTC and varistor",
                edits=Edits(moved=Table(moved), added=(*parts, *varistor, ntc)),
                axes=(tuple(choices),),
                equations=(text,),
                why="A thermistor limits the surge, a varistor takes spikes, a fuse stands ahead of both.",
                cost=2,
            )
        )
    resistor = surge_part(case, set(taken), front, behind, stock.next_member(least, 12))
    plans.append(
        Plan(
            variant="fuse, resistor and varistor",
            edits=Edits(moved=Table(moved), added=(*parts, *varistor, resistor)),
            axes=(tuple(Table({f"{resistor.ref}.value": ohms}) for ohms in stock.members(12, least, 5.0 * least)),),
            equations=(text,),
            why="A resistor limits the surge, a varistor takes spikes, a fuse stands ahead of both.",
            cost=1,
        )
    )
    return plans


def _varistor(case: Case, taken: set[str], node: str) -> tuple[NewPart, ...]:
    if any(e.kind == "varistor" for e in case.circuit.elements):
        return ()
    sold = stock.up(1.15 * case.circuit.supply.voltage * (1.0 + case.circuit.supply.range), stock.VARISTOR_MAINS)
    if sold is None:
        return ()
    return (
        NewPart(
            ref=fresh("RV", taken),
            kind="varistor",
            role="varistor",
            values=Table({"voltage": float(f"{_AT_ONE_MA * sold:.3g}")}),
            nodes=Table({"1": node, "2": "neutral"}),
            tolerance=0.10,
            rating=Table({"voltage_ac": sold}),
            why=f"Takes spikes of the mains; sold for {sold:g} V, so that the mains at its highest does not warm it.",
            must=("disc of 7 mm or more, behind the fuse, with a thermal cut-out where it can be had",),
        ),
    )


FAMILY: Final = Family(
    id="protection",
    title="Fuse, NTC and varistor",
    about="A fuse in the line, a thermistor or resistor against the surge, a varistor against spikes.",
    equations=("R_cold ≥ √2 U / I_peak", "I²t of the fuse ≥ 2 · I²t at switch-on", "U_varistor ≥ 1.15 · U_max"),
    source="Ohm's law; hot/cold ratio of NTC limiters from a maker's page (in tests/reference/rework); fuse gates of "
    "IEC 60127-2 (see `lidoff.standards.fuses`).",
    limits="An NTC that is still hot limits nothing. A varistor wears with every spike.",
    serves=("inrush",),
    plan=_plans,
)
