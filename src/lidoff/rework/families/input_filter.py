"""Input filter: a choke in the line and an X capacitor across it, with its discharge resistor."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart, fresh
from lidoff.rework.families.building import amount, bleeder_parts, fuse_part
from lidoff.rework.family import Family, Plan

_FARADS: Final = (47e-9, 100e-9, 220e-9)
_EXEMPT: Final = 0.1e-6  # [F] (IEC 60335-1, 22.5)
_OHMS_PER_ROOT: Final = 30.0  # [ohm/sqrt(H)] of a small choke's wire, about (makers' tables, from memory)


def _plans(case: Case) -> Iterable[Plan] | str:
    circuit = case.circuit
    if not any(e.kind in ("triac", "thyristor") for e in circuit.elements):
        return "No triac or thyristor makes steps of the current here; what a switch-mode stage does is not computed."
    taken = case.refs
    fuse = next((e for e in circuit.elements if e.kind == "fuse" and "live" in e.nodes), None)
    node = next(n for n in fuse.nodes if n != "live") if fuse is not None else "live"
    assert node is not None
    behind = f"{node}_l"
    moved = {
        f"{e.ref}.{pin}": behind
        for e in circuit.elements
        if e is not fuse and not e.block
        for pin, held in e.pins.items()
        if held == node
    }
    parts: list[NewPart] = []
    front = node
    if fuse is None:
        front = f"{node}_f"
        parts.append(fuse_part(case, taken, "live", front))
    choke = NewPart(
        ref=fresh("L", taken),
        kind="inductor",
        role="choke in the line",
        values=Table({"value": 1e-3, "resistance": 1.0}),
        nodes=Table({"1": front, "2": behind}),
        tolerance=0.20,
        why="Slows the step of the current when the triac fires.",
        must=("powder core, rated for the peak current without saturating",),
    )
    capacitor = NewPart(
        ref=fresh("C", taken),
        kind="capacitor",
        role="X capacitor",
        values=Table({"value": _FARADS[1]}),
        nodes=Table({"1": front, "2": "neutral"}),
        tolerance=0.10,
        why="Gives what is left of the step a way back that is not the mains.",
        series=6,
        must=("class X2",),
    )
    parts += [choke, capacitor]
    parts += bleeder_parts(case, taken, front, "neutral", _FARADS[-1], "discharge", volts=case.highest)
    chokes = [
        Table({f"{choke.ref}.value": henries, f"{choke.ref}.resistance": float(f"{_OHMS_PER_ROOT * henries**0.5:.2g}")})
        for henries in stock.CHOKES
    ]
    across = [Table({f"{capacitor.ref}.value": farads}) for farads in _FARADS]
    corner = equations.filter_corner(1e-3, _FARADS[1])
    return [
        Plan(
            variant="choke and X capacitor",
            edits=Edits(moved=Table(moved), added=tuple(parts)),
            axes=(tuple(chokes), tuple(across)),
            equations=(
                f"f = 1 / (2 π √(L C)): 1 mH with 100 nF {amount(corner, 'Hz', 2)}; 40 dB a decade above that",
                f"more than {amount(_EXEMPT, 'F')} across the mains needs R ≤ t / (C ln(√2 U / 34 V))",
            ),
            why="The steps of the current are kept from the mains by a choke and a capacitor.",
            cautions=(
                "A choke and a capacitor ring with the triac; a triac that lets go in the ringing flickers. Try it "
                "with the real lamp.",
                "The estimate is good to some 10 dB: only a measurement to the standard says more.",
            ),
            cost=2,
        )
    ]


FAMILY: Final = Family(
    id="input-filter",
    title="Input filter",
    about="A choke in the line and a class X capacitor across it, with the resistors that discharge it.",
    equations=("f = 1 / (2 π √(L C))", "R ≤ t / (C · ln(√2 U / 34 V))"),
    source="Insertion estimate on the artificial mains network of CISPR 16-1-2 (see `lidoff.figures.mains_filter`); "
    "discharge IEC 60335-1, 22.5.",
    limits="Ideal parts: a real choke's own capacitance undoes it above about 1 MHz. The estimate speaks of 9 kHz to "
    "300 kHz.",
    serves=("interference", "harmonics"),
    plan=_plans,
)
