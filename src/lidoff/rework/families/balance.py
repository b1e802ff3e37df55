"""Balance of parallel groups: each string side by side gets a resistor of its own."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations, stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart, fresh
from lidoff.rework.families.building import amount, fuse_in_line, load_of
from lidoff.rework.family import Family, Plan
from lidoff.rework.site import Site

_MOST_STRINGS: Final = 8


def _plans(case: Case) -> Iterable[Plan] | str:
    site = case.site
    if site is None:
        return "There is no rectifier with strings behind it."
    single = [e for e in site.elements(site.strings) if not e.block and e.number("parallel") > 1.0]
    if len(site.strings) != 1 or len(single) != 1:
        return "There are no LEDs side by side on one resistor: what there is has resistors of its own already."
    string = single[0]
    groups = round(string.number("parallel"))
    if groups > _MOST_STRINGS:
        return f"{groups} groups side by side are too many to be given a resistor each; divide them into a few rows."
    load = load_of(case, site)
    old = [e for e in site.elements(site.ballasts) if e.kind == "resistor"]
    if load is None or len(old) != 1 or not set(old[0].nodes) & set(string.nodes):
        return "The strings share no single ballast resistor that could be divided among them."
    return [_made(case, site, string.ref, groups, old[0].ref, load.current)]


def _made(case: Case, site: Site, led: str, groups: int, ballast: str, current: float) -> Plan:
    taken = case.refs
    string, old = case.circuit.element(led), case.circuit.element(ballast)
    assert string is not None
    assert old is not None
    shared = next(str(n) for n in old.nodes if n in string.nodes)
    far = next(str(n) for n in old.nodes if n != shared)
    pins = string.pins
    near_pin = "cathode" if pins["cathode"] == shared else "anode"
    part = next(p for p in case.base.parts if p.name == led)
    known = case.known.get(f"{led}.forward_voltage")
    values = {k: v for k, v in string.values.items() if k in part.values or k == "forward_voltage"}
    if known is not None:
        values["forward_voltage"] = float(f"{known[0]:.4g}")
    parts: list[NewPart] = []
    resistors: list[str] = []
    for k in range(groups):
        node = f"{shared}{k + 1}"
        resistor = NewPart(
            ref=fresh("R", taken),
            kind="resistor",
            role="ballast of one string",
            values=Table({"value": old.number("value") * groups}),
            nodes=Table({"1": node, "2": far}),
            tolerance=0.01,
            why="One string's own: it no longer carries more because it drops less.",
            series=24,
            must=("metal film, ±1 %",),
        )
        resistors.append(resistor.ref)
        nodes = {**pins, near_pin: node}
        parts.append(
            NewPart(
                ref=f"{led}{'abcdefgh'[k]}",
                kind="led",
                role=f"string {k + 1} of those there are, its end taken apart from the others",
                values=Table({**values, "parallel": 1.0}),
                nodes=Table(nodes),
                tolerance=string.tolerance,
                rating=string.rating,
                why="Not bought: one of the strings that are there.",
            )
        )
        parts.append(resistor)
    whole = old.number("value") * groups
    span = stock.around(whole, 24, 7)
    drop = current / groups * whole
    return Plan(
        variant="a resistor for each string",
        edits=fuse_in_line(case, site, taken).joined(Edits(removed=(led, ballast), added=tuple(parts))),
        axes=(
            tuple(
                Table(dict.fromkeys((f"{r}.value" for r in resistors), v))
                for v in sorted(span, key=lambda v: abs(math.log(v / whole)))
            ),
        ),
        equations=(
            f"R each = {groups} · {amount(old.number('value'), 'ohm')} = {amount(whole, 'ohm')}",
            f"ΔI/I = ΔU / (I R): 1 V of difference makes about {100 * equations.imbalance(1.0, drop):.0f} %",
        ),
        why="The strings are parted at one end and given a resistor each.",
        cautions=("Where the strings are joined inside the lamp they cannot be parted.",),
        cost=2,
    )


FAMILY: Final = Family(
    id="balance",
    title="Parallel groups balanced",
    about="Strings side by side on one resistor are parted at one end and get a resistor each.",
    equations=("R_each = n · R", "ΔI/I = ΔU / (I R)"),
    source="Ohm's law on strings that differ by ΔU; the imbalance itself is solved with one string dropping less.",
    limits="Up to eight strings whose ends can be reached. Evens out currents, not what the LEDs make of them.",
    serves=("balance",),
    plan=_plans,
)
