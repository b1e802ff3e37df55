"""Switches and thermostats: which pole each breaks, what it leaves on the mains, and whether it sits on the knob."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import networkx as nx

from lidoff.circuit.groups.making import Parts
from lidoff.circuit.groups.model import Example, Family, Reading
from lidoff.circuit.groups.scene import Scene
from lidoff.circuit.groups.units import Unit
from lidoff.circuit.groups.words import listed, many, ref_order
from lidoff.circuit.model import Element
from lidoff.kinds import KINDS
from lidoff.record.model import Table

_WORK: Final = frozenset(
    {"lamp", "heater", "motor", "relay", "led", "triac", "thyristor", "bridge", "converter", "transformer", "regulator"}
)


@dataclass(frozen=True)
class _Contact:
    element: Element
    pole: str | None  # "live" or "neutral" where it stands in that line
    left: tuple[str, ...]  # what still lies between live and neutral when it is open


def find(scene: Scene) -> Iterator[Reading]:
    """The mains switch, one pole or both; every other contact by itself."""
    contacts = [_contact(scene, e) for e in scene.circuit.elements if e.kind in ("switch", "thermostat")]
    contacts.sort(key=lambda contact: ref_order(contact.element.ref))
    main = [c for c in contacts if c.element.kind == "switch" and c.pole and not _works(scene, c)]
    if main:
        yield _mains_switch(scene, main)
    for contact in contacts:
        if contact not in main:
            yield _branch(contact)


def _contact(scene: Scene, element: Element) -> _Contact:
    roots = next((t.roots for t in scene.thin if t.element is element), ())
    poles = [pole for root in roots if (pole := scene.rail_of(root)) is not None]
    return _Contact(element, poles[0] if poles else None, _left_between(scene, element.ref) if poles else ())


def _left_between(scene: Scene, ref: str) -> tuple[str, ...]:
    """The refs that lie on any way from live to neutral when the contact is open and nothing goes round it."""
    leaky = [c for c in scene.bridging if any(u.kind in ("capacitor", "indicator", "varistor") for u in c.units)]
    aside = {unit for chain in leaky for unit in chain.units}
    graph: nx.Graph = nx.Graph()
    graph.add_edge(*scene.plain.rails)
    on: dict[frozenset[str], list[Unit]] = {}
    for unit in scene.plain.units:
        if ref in unit.refs or unit in aside:
            continue
        nodes = [node for node in unit.nodes if node is not None]
        pairs = list(itertools.pairwise(nodes))
        if unit.kind in ("transformer", "choke"):
            pairs = [(nodes[0], nodes[1]), (nodes[2], nodes[3])]
        for first, second in pairs:
            if first != second:
                graph.add_edge(first, second)
                on.setdefault(frozenset((first, second)), []).append(unit)
    rails = frozenset(scene.plain.rails)
    for edges in nx.biconnected_component_edges(graph):
        keys = {frozenset(edge) for edge in edges}
        if rails in keys:
            refs = {r for key in keys for unit in on.get(key, ()) for r in unit.refs}
            return tuple(sorted(refs, key=ref_order))
    return ()


def _works(scene: Scene, contact: _Contact) -> bool:
    """Whether something that does work runs on with the contact open."""
    return any(e.kind in _WORK for e in scene.circuit.elements if e.ref in contact.left)


def _mains_switch(scene: Scene, main: list[_Contact]) -> Reading:
    refs = [c.element.ref for c in main]
    poles = sorted({c.pole for c in main if c.pole})
    knobs = [e.ref for e in scene.circuit.elements if e.kind == "potentiometer"]
    knobs.sort(key=ref_order)
    both = len(poles) == 2
    on_knob = len(knobs) == 1 and len(main) <= 2
    name = f"switch on the knob {knobs[0]}" if on_knob else "mains switch"
    title = f"{name}, breaks {'both poles' if both else f'the {poles[0]} pole'}"
    parts: Parts = tuple((ref, "switch on the knob" if on_knob else "mains switch", "own") for ref in refs)
    if on_knob:
        parts += ((knobs[0], "knob", "shared"),)
    remarks: tuple[str, ...] = ()
    if on_knob:
        remarks += (
            f"That {listed(refs)} {many(len(refs), 'sits', 'sit')} on the shaft of {knobs[0]} is taken from the item "
            f"having one knob and one switch; turn it down and listen for the click.",
        )
    if not both:
        remarks += (f"Switched off, everything behind it stays joined to {_other(poles[0])}.",)
        remarks += ("With a plug that goes in either way round, which pole it breaks is a matter of chance.",)
    left = tuple(ref for c in main for ref in c.left)
    left = tuple(sorted({ref for ref in left if ref not in refs}, key=ref_order))
    if left and not both:
        remarks += (f"Ahead of the switch, and on the mains even when it is off: {listed(left)}.",)
    return Reading(
        name="mains-switch",
        title=title,
        parts=parts,
        weight=76.0,
        why=(
            f"Without {listed(refs)} nothing that does work has a way across the mains; "
            f"{many(len(refs), 'it stands', 'they stand')} in the "
            f"{'lines of both poles' if both else f'{poles[0]} line'}."
        ),
        remarks=remarks,
    )


def _other(pole: str) -> str:
    return "neutral" if pole == "live" else "live"


def _branch(contact: _Contact) -> Reading:
    element = contact.element
    word = KINDS[element.kind].title
    whole = element.kind == "thermostat" and contact.pole is not None
    return Reading(
        name="thermostat" if element.kind == "thermostat" else "branch-switch",
        title=f"{word} {element.ref}" + (f" in the {contact.pole} line" if whole else ""),
        parts=((element.ref, word, "own"),),
        weight=30.0,
        why=(
            f"{element.ref} opens and closes the way of the parts in a row with it"
            + (f", on the {contact.pole} side." if contact.pole else ".")
        ),
        fallback=True,
    )


FAMILY = Family(
    title="Switches",
    about="Contacts: the mains switch with the pole it breaks (often on the knob), branch switches and thermostats.",
    names=Table(
        {
            "mains-switch": "takes everything that works off the mains, in one pole or both",
            "branch-switch": "takes some of the parts off",
            "thermostat": "a contact that opens with heat",
        }
    ),
    stage=12,
    find=find,
    examples=(
        Example(
            about="On the knob of a dimmer, in the neutral line.",
            parts="""
  { ref = "S1", kind = "switch", nodes = ["neutral", "n"] },
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "x", gate = "g" } },
  { ref = "VR1", kind = "potentiometer", value = "470k", nodes = { a = "x", wiper = "w" } },
  { ref = "R1", kind = "resistor", value = "4k7", nodes = ["w", "t"] },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["t", "live"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
  { ref = "LA1", kind = "lamp", power = "40 W", voltage = "230 V", nodes = ["x", "n"] },
""",
            finds=(("mains-switch", ("S1", "VR1")),),
        ),
        Example(
            about="Both poles, with a neon across the lines ahead of it.",
            parts="""
  { ref = "S1", kind = "switch", nodes = ["live", "l"] },
  { ref = "S2", kind = "switch", nodes = ["neutral", "n"] },
  { ref = "R1", kind = "resistor", value = "150k", nodes = ["live", "k"] },
  { ref = "NE1", kind = "indicator", nodes = ["k", "neutral"] },
  { ref = "EH1", kind = "heater", power = "900 W", voltage = "230 V", nodes = ["l", "n"] },
""",
            finds=(("mains-switch", ("S1", "S2")),),
        ),
        Example(
            about="A thermostat does not count as the mains switch.",
            parts="""
  { ref = "TH1", kind = "thermostat", nodes = ["live", "a"] },
  { ref = "EH1", kind = "heater", power = "900 W", voltage = "230 V", nodes = ["a", "neutral"] },
""",
            finds=(("thermostat", ("TH1",)),),
        ),
    ),
    counter_examples=(
        Example(
            about="A switch in the branch of one of two heaters does not take the item off the mains.",
            parts="""
  { ref = "EH1", kind = "heater", power = "400 W", voltage = "230 V", nodes = ["live", "neutral"] },
  { ref = "S1", kind = "switch", nodes = ["live", "a"] },
  { ref = "EH2", kind = "heater", power = "400 W", voltage = "230 V", nodes = ["a", "neutral"] },
""",
            finds=(("branch-switch", ("S1",)),),
        ),
    ),
)
