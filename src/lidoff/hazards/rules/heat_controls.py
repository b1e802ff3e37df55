"""The rule on what stops the heat when a thermostat's contact stays closed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

import networkx as nx

from lidoff.circuit import Element
from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Step, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, asked_in_vain, from_sighting, step

_QUESTION: Final = "heat-limit"
_ALONE: Final = "thermostat alone"
_STUCK: Final = "stuck or bridged"
# What does not feed a heater by itself: filters, pilot lamps with their resistors, surge arresters.
_ASIDE: Final = ("capacitor", "indicator", "varistor")
_FEEDS: Final = 10.0  # times the heater's own ohms from which a resistor does not feed it any more (our choice)
_LINK: Final = '{ ref = "F1", kind = "fuse", marking = "TF 152°C 10A 250V", nodes = ["a", "h"] }'
_WIRE: Final = '{ ref = "R1", kind = "resistor", value = "0R1", nodes = ["a", "h"] }'


_ASK: Final = "Does a thermal fuse or a second cut-out stand in line with the heater, or does the heater limit itself?"
_RUNS: Final = step("it heats on unattended or covered", 0.3)
_HURTS: Final = (step("it sets something alight", 0.05), step("the fire leaves the item or somebody is burnt", 0.3))
_SAID: Final[Mapping[str, tuple[str, tuple[Step, ...]]]] = {
    _ALONE: ("Once the contact of the thermostat sticks, nothing else limits the heat.", ()),
    _STUCK: ("The thermostat or its cut-out stays closed when hot: nothing limits the heat now.", (_RUNS, *_HURTS)),
}


def _heater(second: str) -> str:
    return f"""part = [
  {{ ref = "TH1", kind = "thermostat", nodes = ["live", "a"] }},
  {second},
  {{ ref = "H1", kind = "heater", power = "400 W", voltage = "230 V", nodes = ["h", "neutral"] }},
]"""


def _unbacked(facts: Facts, heater: Element) -> tuple[str, ...]:
    """The thermostats each of which keeps a heater on by sticking, with everything else that opens with heat open."""
    thermostats = [e.ref for e in facts.elements if e.kind == "thermostat"]
    openers = frozenset((*thermostats, *(e.ref for e in facts.elements if _is_link(e))))
    if _fed(facts, heater, without=openers):
        return ()  # nothing that opens with heat governs it
    return tuple(ref for ref in thermostats if _fed(facts, heater, without=openers - {ref}))


def _is_link(element: Element) -> bool:
    """Whether a fuse opens with heat: it carries the temperature at which it does."""
    return element.kind == "fuse" and "temperature" in element.rating


def _fed(facts: Facts, heater: Element, without: frozenset[str]) -> bool:
    """Whether the mains still reaches both ends of a heater with some parts taken out."""
    ohms = heater.number("voltage") ** 2 / heater.number("power")
    graph: nx.Graph = nx.Graph()
    graph.add_nodes_from(("live", "neutral", *(node for node in heater.nodes if node is not None)))
    for element in facts.elements:
        aside = element.kind in _ASIDE or (element.kind == "resistor" and element.number("value") > _FEEDS * ohms)
        if element.ref == heater.ref or element.ref in without or aside:
            continue
        nodes = [node for node in element.nodes if node is not None]
        graph.add_edges_from((nodes[0], other) for other in nodes[1:])
    first, second = (nx.node_connected_component(graph, node) for node in heater.nodes if node is not None)
    return ("live" in first and "neutral" in second) or ("neutral" in first and "live" in second)


def _unlimited(facts: Facts) -> Iterable[Outcome]:
    answer = facts.answer(_QUESTION)
    if answer in (_ALONE, _STUCK):
        because, steps = _SAID[answer]
        told = [one["outcome"] for one in facts.faults or () if one["mode"] == "short" and _thermostat(facts, one)]
        yield Hit(because=(because, *told), evidence=from_sighting(facts, _QUESTION), steps=steps)
        return
    if answer is not None or facts.circuit is None or facts.circuit.supply.dc is not None:
        if answer is None and asked_in_vain(facts, _QUESTION):
            yield Open(needs=(_ASK,))
        return
    for heater in facts.elements:
        sticking = _unbacked(facts, heater) if heater.kind == "heater" else ()
        if sticking:
            said = f"As recorded, nothing opens with heat before {heater.ref} once {' or '.join(sticking)} sticks."
            yield Open(needs=(f"{said} {_ASK}",), about=(*sticking, heater.ref))


def _thermostat(facts: Facts, fault: Mapping[str, Any]) -> bool:
    element = facts.circuit.element(fault["part"]) if facts.circuit is not None else None
    return element is not None and element.kind == "thermostat"


RULES: Final = (
    Rule(
        code="T03",
        id="thermostat-unbacked",
        title="Nothing limits the heat once the thermostat sticks",
        looks_at="What opens with heat in line with a heater: thermostats, thermal cut-outs, thermal links.",
        why="A contact that switches a heater thousands of times welds in the end, and a small one early. What it held "
        "at its temperature then heats on without end.",
        basis=(
            memory("IEC 60335-1", "19.4", "each control that limits the temperature is made to fail in the test"),
            memory("IEC 60730-2-9", "thermostat, thermal cut-out", "a thermostat is not what protection rests on"),
        ),
        limits="Whether the heater would get too hot is not worked out: a weak one on a large surface may not. A "
        "cut-out in the thermostat's own case may stick together with it.",
        settles="The heater run with the thermostat bridged, at a test bench, guarded and by somebody equipped for it.",
        action="A thermal link of the right temperature and current in line with the heater, fixed where it feels the "
        "heat. Replace a contact that sticks; never bridge it.",
        caution="Let it cool and pull the plug before you touch it. A thermal link is crimped or clamped: soldering "
        "opens it.",
        severity=3,
        steps=(step("the contact sticks in its life", 0.02), _RUNS, *_HURTS),
        check=_unlimited,
        bad=Case(
            about="A heater plate with one bimetal contact.",
            record=_heater(_WIRE) + f'\nsighting = [{{ about = "{_QUESTION}", seen = "{_ALONE}" }}]',
            worked_out={
                "faults": ({"part": "TH1", "mode": "short", "outcome": "TH1 welded: it heats on.", "severity": 3},)
            },
            says=("nothing else limits the heat", "TH1 welded"),
        ),
        good=Case(about="A thermal link of 152 °C behind it.", record=_heater(_LINK)),
        undecided=Case(
            about="One thermostat was traced; sleeves may hide a thermal link.",
            record=_heater(_WIRE),
            says=("once TH1 sticks", "thermal fuse"),
        ),
        since="3",
    ),
)
