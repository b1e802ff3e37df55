"""Fuse, NTC thermistor and varistor: what limits the surge, what opens, what takes the spikes."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from lidoff.circuit import Element
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
    circuit, taken = case.circuit, case.refs
    old = next((e for e in circuit.elements if e.kind == "fuse" and "live" in e.nodes), None)
    weak = old is not None and not _clears(case, old.ref)
    node = next(str(n) for n in old.nodes if n != "live") if old is not None else "live"
    behind = f"{node}_n"
    moved = {
        f"{e.ref}.{pin}": behind
        for e in circuit.elements
        if e is not old and not e.block and not _across(e)
        for pin, held in e.pins.items()
        if held == node
    }
    if not moved:
        return "Nothing but the fuse hangs on the line in a way that something could be put behind it."
    goal = case.goal("inrush")
    most = goal.high if goal is not None and goal.high is not None else 10.0
    least = equations.surge_resistor(case.highest, most)
    front, parts = node, []
    if old is None:
        front = f"{node}_f"
        parts.append(fuse_part(case, taken, "live", front))
    elif weak:
        parts.append(fuse_part(case, taken, "live", node))
    removed = (old.ref,) if old is not None and weak else ()
    edits = Edits(removed=removed, moved=Table(moved))
    varistor = _varistor(case, taken, front)
    text = f"R ≥ √2 U / I = {case.highest:.0f} V / {most:g} A = {amount(least, 'ohm')} cold"
    rms = float(case.before_solution.input_figures()["current_rms"])
    base = _Base(edits=edits, fuse=tuple(parts), varistor=varistor, front=front, behind=behind, least=least, text=text)
    thermistors = _with_thermistor(base, set(taken)) if rms > _FILM_AMPERES else []
    return [*thermistors, *_with_resistor(case, base, set(taken))]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Base:
    """What both ways have in common: the edits, the new fuse if any, and the varistor if there is to be one.

    What limits the surge stands from `front` to `behind` and has `least` [ohm] when cold, by the equation in `text`.
    """

    edits: Edits
    fuse: tuple[NewPart, ...]
    varistor: tuple[NewPart, ...]
    front: str
    behind: str
    least: float
    text: str

    def plan(
        self,
        limit: NewPart,
        varistor: tuple[NewPart, ...],
        axis: tuple[Table, ...],
        *,
        variant: str,
        why: str,
        cost: int,
    ) -> Plan:
        """The plan with that part against the surge, its values to try along `axis`."""
        edits = replace(self.edits, added=(*self.fuse, *varistor, limit))
        return Plan(variant=variant, edits=edits, axes=(axis,), equations=(self.text,), why=why, cost=cost)


def _across(element: Element) -> bool:
    """Whether a part stays ahead of what limits the surge: a varistor must not have a resistor in its way."""
    return element.kind == "varistor"


def _clears(case: Case, ref: str) -> bool:
    """Whether a fuse's print says that it clears a short of the mains (letter H)."""
    part = case.base.part(ref)
    return part is not None and part.marking is not None and "H" in part.marking.upper().split("V")[0]


def _with_thermistor(base: _Base, taken: set[str]) -> list[Plan]:
    """With an NTC; none where no size that is sold fits."""
    choices = [ohms for ohms in stock.NTC_OHMS if 0.7 * base.least <= ohms <= 6.0 * base.least]
    if not choices:
        return []
    ntc = NewPart(
        ref=fresh("RT", taken),
        kind="thermistor",
        role="inrush thermistor",
        values=Table({"cold": choices[0], "hot": choices[0] / _HOT}),
        nodes=Table({"1": base.front, "2": base.behind}),
        tolerance=0.20,
        why="Cold it limits the surge, warm it is nearly a wire.",
        must=(
            "disc for inrush limiting, its current rating above what flows and its joules above the capacitor's",
            "it is hot in use and needs a minute to cool: plugged in again at once it limits nothing",
        ),
    )
    return [
        base.plan(
            ntc,
            base.varistor,
            tuple(Table({f"{ntc.ref}.cold": ohms, f"{ntc.ref}.hot": ohms / _HOT}) for ohms in choices),
            variant="fuse, NTC and varistor",
            why="A thermistor limits the surge, a varistor takes spikes, a fuse stands ahead of both.",
            cost=2,
        )
    ]


def _with_resistor(case: Case, base: _Base, taken: set[str]) -> list[Plan]:
    resistor = surge_part(case, taken, base.front, base.behind, stock.next_member(base.least, 12))
    axis = tuple(Table({f"{resistor.ref}.value": ohms}) for ohms in stock.members(12, base.least, 5.0 * base.least))
    return [
        base.plan(
            resistor,
            more,
            axis,
            variant=f"fuse and resistor{' and varistor' if more else ''}",
            why=f"A resistor limits the surge{', a varistor takes spikes' if more else ''}; a fuse stands ahead.",
            cost=1,
        )
        for more in dict.fromkeys((base.varistor, ()))
    ]


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
