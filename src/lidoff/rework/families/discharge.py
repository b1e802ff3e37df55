"""Discharge: what a capacitor at the mains leaves on the plug's pins, taken away in time by resistors across it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.circuit import Element
from lidoff.rework import equations
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart
from lidoff.rework.families.building import PINS, PINS_IN, amount, bleeder_parts
from lidoff.rework.family import NOTHING, Family, Plan
from lidoff.rework.measures import tied


def _plans(case: Case) -> Iterable[Plan] | str:
    stores = _stores(case)
    if not stores:
        return "No capacitor stands across the mains or in the line, whose charge the pins could show."
    return [_made(case, stores)]


def _stores(case: Case) -> list[Element]:
    """Capacitors across the mains, and droppers."""
    poles = tied(case.circuit)
    droppers = {r for g in case.groups.named("capacitor-dropper") for r in g.having("dropper capacitor")}
    return [
        e
        for e in case.circuit.elements
        if e.kind == "capacitor"
        and (e.ref in droppers or {poles.get(str(n), str(n)) for n in e.nodes} == {"live", "neutral"})
    ]


def _made(case: Case, stores: list[Element]) -> Plan:
    taken = case.refs
    removed: list[str] = []
    parts: list[NewPart] = []
    said = []
    goal = case.goal("discharge")
    seconds = min(PINS_IN, goal.high) if goal is not None and goal.high is not None else PINS_IN
    for element in stores:
        first, second = str(element.nodes[0]), str(element.nodes[1])
        farads = element.number("value")
        removed += _bleeders(case, {first, second})
        parts += bleeder_parts(case, taken, first, second, farads, "discharge", volts=case.highest)
        most = equations.bleeder(farads, case.highest, PINS, seconds)
        said.append(
            f"{element.ref}: R ≤ t / (C ln(U / {PINS:g} V)) = {seconds:g} s / ({amount(farads, 'F')} · "
            f"ln({case.highest:.0f}/{PINS:g})) = {amount(most, 'ohm')}"
        )
    return Plan(
        variant="resistors across the capacitors",
        edits=Edits(removed=tuple(dict.fromkeys(removed)), added=tuple(parts)),
        axes=((NOTHING,),),
        equations=tuple(said),
        why="The resistors across the capacitors at the mains are chosen for the time asked for; those there go.",
        cost=1,
    )


def _bleeders(case: Case, nodes: set[str]) -> list[str]:
    """Resistors across those nodes, alone or two in a row."""
    resistors = [e for e in case.circuit.elements if e.kind == "resistor" and not e.block]
    found = [e.ref for e in resistors if set(e.nodes) == nodes]
    for one in resistors:
        for other in resistors:
            between = set(one.nodes) & set(other.nodes) - nodes
            ends = (set(one.nodes) | set(other.nodes)) - between
            alone = between and sum(next(iter(between)) in e.nodes for e in case.circuit.elements) == 2
            if one.ref < other.ref and alone and ends == nodes:
                found += [one.ref, other.ref]
    return found


FAMILY: Final = Family(
    id="discharge",
    title="Discharge resistors",
    about="Resistors across the capacitors at the mains that bring the plug's pins down in time; on 230 V two.",
    equations=("R ≤ t / (C · ln(√2 U / 34 V))", "P = U² / R"),
    source="Exponential discharge; 34 V in 1 s by IEC 60335-1, 22.5 (see `lidoff.standards.discharge`; worked examples "
    "in tests/reference/rework).",
    limits="They take their power day and night. One that fails open shows nothing: hence measure before touching.",
    serves=("discharge",),
    plan=_plans,
)
