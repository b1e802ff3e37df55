"""From a record's parts and one of its states to a circuit with every value in place.

Values come from the record, else from the marking, else from the kind's default. What is to be inferred ("?") stands
with the middle of its range and is listed. Blocks are folded into one set of members. The connections are then looked
at (`connect`): what hangs in the air, what is shorted and what is joined by one pin only is named.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from lidoff.circuit.connect import check_connections
from lidoff.circuit.model import About, Circuit, CircuitError, Element, Mains, Number
from lidoff.circuit.ratings import disagreements, rated
from lidoff.kinds import KINDS, REQUIRED, Key
from lidoff.markings import value_for
from lidoff.record import Block, Item, Part, State, Supply, Table, Unknown, effective_supply
from lidoff.record.fields import out_of_bounds

MET: Final[Mapping[str, tuple[float, float]]] = Table(
    {
        "ohm": (1.0, 10e6),
        "F": (100e-12, 1e-3),
        "H": (1e-6, 10.0),
        "V": (1.0, 400.0),
        "A": (1e-3, 10.0),
        "W": (0.1, 3000.0),
        "Hz": (45.0, 65.0),
        "": (1.0, 200.0),
    }
)
"""The range by unit where "?" has no bounds: what is met on small mains products (common practice, no source)."""
_CONDUCTS: Final = ("live", "neutral", "earth")


def build(
    item: Item,
    state: str | None = None,
    changes: Mapping[str, Any] | None = None,
) -> Circuit:
    """The circuit of an item in a state: the named one, else the record's first, else the record as it stands.

    `changes` maps "R1.value", "section/R1.value", "section.repeat" or "supply.voltage" to values [SI units]. Raises
    CircuitError where a state, part or value is missing or the connections cannot be solved.
    """
    chosen = _state(item, state)
    wanted = dict(changes or {})
    parts = _parts(item, chosen)
    blocks = {block.name: block for block in item.blocks}
    alias = _bypassed(parts, chosen)
    unknowns: dict[str, Unknown] = {}
    warnings: list[str] = []
    elements: list[Element] = []
    for part in parts.values():
        if chosen is not None and part.name in chosen.bypass:
            continue
        block = blocks.get(part.block) if part.block else None
        if part.block and block is None:
            raise CircuitError(f"{part.name}: there is no block '{part.block}'; write a [[block]] of that name")
        given = dict(part.values)
        if chosen is not None:
            given |= chosen.set.get(part.name, {})
        taken = {key: wanted.pop(f"{part.name}.{key}") for key in _keys_of(wanted, part.name)}
        for key in taken:
            if KINDS[part.kind].key(key) is None:
                raise CircuitError(f"{part.name}.{key}: a {KINDS[part.kind].title} has no {key}")
        given |= taken
        elements.append(_element(part, block, given, alias, chosen, wanted, unknowns, warnings))
    for block in item.blocks:
        for key in ("repeat", "parallel"):
            wanted.pop(f"{block.name}.{key}", None)
    supply = _mains(item, chosen, wanted, alias, unknowns, warnings)
    if wanted:
        raise CircuitError(f"{next(iter(wanted))}: this state has no such part or value; look at `lidoff check`")
    circuit = Circuit(
        elements=tuple(elements),
        supply=supply,
        state=chosen.name if chosen is not None else None,
        title=item.title,
        about=About(kind=item.kind, region=item.region, rated_power=item.rated.get("power")),
        alias=Table(alias),
        unknowns=Table(unknowns),
        warnings=tuple(warnings),
    )
    touched = {str(surface["node"]) for surface in item.surfaces if surface.get("node") is not None}
    return check_connections(circuit, reduced=_reduced(chosen), touched=touched)


def _state(item: Item, name: str | None) -> State | None:
    if name is None:
        return item.states[0] if item.states else None
    state = item.state(name)
    if state is None:
        known = ", ".join(f"'{s.name}'" for s in item.states) or "none"
        raise CircuitError(f"The record has no state '{name}'; it has {known}")
    return state


def _reduced(state: State | None) -> bool:
    """Whether a state takes something away, so that loose ends are meant."""
    return state is not None and bool(state.remove or state.bypass or (state.supply and state.supply.dc is not None))


def _parts(item: Item, state: State | None) -> dict[str, Part]:
    parts = {part.name: part for part in item.parts}
    if state is None:
        return parts
    for ref in (*state.remove, *state.bypass, *state.set):
        if ref not in parts and not any(block.name == ref for block in item.blocks):
            added = any(part.name == ref for part in state.add)
            if not added:
                raise CircuitError(f"State '{state.name}': there is no part '{ref}'; correct its name")
    for ref in state.remove:
        if ref in parts:
            del parts[ref]
        else:  # a whole block
            parts = {name: part for name, part in parts.items() if part.block != ref}
    return parts | {part.name: part for part in state.add}


def _bypassed(parts: Mapping[str, Part], state: State | None) -> dict[str, str]:
    """Node to the node it has become one with, for the parts a state replaces by a wire."""
    alias: dict[str, str] = {}

    def root(node: str) -> str:
        while node in alias:
            node = alias[node]
        return node

    for ref in state.bypass if state is not None else ():
        part = parts.get(ref)
        if part is None:
            raise CircuitError(f"State '{state.name if state else ''}': {ref} cannot be bypassed, it is not there")
        nodes = [root(_outer(node, part)) for node in part.nodes.values()]
        first = min(nodes, key=lambda node: (_CONDUCTS.index(node) if node in _CONDUCTS else 9, node))
        if {"live", "neutral"} <= set(nodes):
            raise CircuitError(f"Bypassing {ref} joins live and neutral; take it off the list or remove it instead")
        for node in nodes:
            if node != first:
                alias[node] = first
    return {node: root(node) for node in alias}


def _outer(node: str, part: Part) -> str:
    return f"{part.block}/{node}" if part.block and node not in ("in", "out") else node


def _keys_of(changes: Mapping[str, Any], name: str) -> list[str]:
    return [key[len(name) + 1 :] for key in changes if key.startswith(f"{name}.") and "." not in key[len(name) + 1 :]]


def _element(
    part: Part,
    block: Block | None,
    given: Mapping[str, Any],
    alias: Mapping[str, str],
    state: State | None,
    changes: Mapping[str, Any],
    unknowns: dict[str, Unknown],
    warnings: list[str],
) -> Element:
    kind = KINDS[part.kind]
    values: dict[str, Number] = {}
    assumed: set[str] = set()
    marked: set[str] = set()
    unknown: set[str] = set()
    for key in kind.keys:
        name = f"{part.name}.{key.name}"
        value = given.get(key.name)
        if isinstance(value, Unknown):
            unknowns[name] = value
            unknown.add(key.name)
            values[key.name] = _middle(value, key, name, warnings)
        elif value is not None:
            values[key.name] = _checked(value, key, name)
        elif isinstance(key.default, bool | float | int | str):
            assumed.add(key.name)
            values[key.name] = key.default
        elif key.default is REQUIRED:
            values[key.name] = _from_marking(part, key, marked)
    series, parallel = 1.0, 1.0
    if block is not None:
        series, parallel = (_count(block, word, state, changes, unknowns, warnings) for word in ("repeat", "parallel"))
    nodes = tuple(_node(part, block, pin, alias) for pin in kind.pins)
    ratings = rated(part)
    warnings += [f"{part.name}.rating.{word}: {sentence}." for word, sentence in disagreements(part)]
    return Element(
        ref=part.name,
        kind=part.kind,
        nodes=nodes,
        values=Table(values),
        series=series,
        parallel=parallel,
        block=part.block,
        rating=ratings.rating,
        marked_ratings=ratings.marked,
        tolerance=part.tolerance,
        assumed=frozenset(assumed),
        marked=frozenset(marked),
        unknown=frozenset(unknown),
    )


def _node(part: Part, block: Block | None, pin: str, alias: Mapping[str, str]) -> str | None:
    node = part.nodes.get(pin)
    if node is None:
        if pin not in KINDS[part.kind].optional_pins:
            raise CircuitError(f"{part.name}: the node of pin '{pin}' is not given; write it under nodes")
        return None
    if block is not None:
        node = {"in": block.nodes[0], "out": block.nodes[1]}.get(node, f"{block.name}/{node}")
    return alias.get(node, node)


def _count(
    block: Block,
    word: str,
    state: State | None,
    changes: Mapping[str, Any],
    unknowns: dict[str, Unknown],
    warnings: list[str],
) -> float:
    name = f"{block.name}.{word}"
    value = getattr(block, word)
    if state is not None:
        value = state.set.get(block.name, {}).get(word, value)
    value = changes.get(name, value)
    if isinstance(value, Unknown):
        unknowns[name] = value
        return _middle(value, Key(name=word, unit="", least=1.0, least_open=False), name, warnings)
    return float(value)


def _checked(value: Any, key: Key, name: str) -> Number:
    if key.unit in ("bool", "word"):
        return value  # type: ignore[no-any-return]
    number = float(value)
    outside = "is not a finite number" if not math.isfinite(number) else out_of_bounds(number, key)
    if outside:
        raise CircuitError(f"{name}: {outside}")
    return number


def _middle(value: Unknown, key: Key, name: str, warnings: list[str]) -> float:
    low, high = value.between or MET.get(key.unit, (1.0, 100.0))
    middle = math.sqrt(low * high) if low > 0.0 else 0.5 * (low + high)
    warnings.append(
        f"{name} is not known: {middle:.3g} {key.unit} is taken here, the middle of {low:.3g} to {high:.3g}."
    )
    return middle


def _from_marking(part: Part, key: Key, marked: set[str]) -> Number:
    if part.marking and key is KINDS[part.kind].keys[0]:
        candidate = value_for(part.kind, part.marking)
        if candidate is not None and candidate.value is not None:
            marked.add(key.name)
            return _checked(candidate.value, key, f"{part.name}.{key.name}")
        raise CircuitError(
            f'{part.name}: its marking "{part.marking}" cannot be read as a {KINDS[part.kind].title}; '
            f"write {key.name} = … beside it"
        )
    hint = ' (or "?" to have it inferred)'
    raise CircuitError(f"{part.name}: {key.name} is not given; write {key.name} = …{hint}")


def _mains(
    item: Item,
    state: State | None,
    changes: dict[str, Any],
    alias: Mapping[str, str],
    unknowns: dict[str, Unknown],
    warnings: list[str],
) -> Mains:
    supply: Supply = effective_supply(item, state)
    if supply.voltage is not None and supply.dc is None:
        warnings += [sentence for key, sentence in supply.assumed.items() if key == "voltage"]

    def number(key: str, unit: str, value: float | Unknown | None, fallback: float) -> float:
        value = changes.pop(f"supply.{key}", value)
        if isinstance(value, Unknown):
            unknowns[f"supply.{key}"] = value
            return _middle(value, Key(name=key, unit=unit), f"supply.{key}", warnings)
        number = fallback if value is None else float(value)
        if not math.isfinite(number) or number < 0.0:
            raise CircuitError(f"supply.{key}: {number:g} {unit} cannot be; give a number of at least 0")
        return number

    dc = supply.dc
    nodes = supply.nodes
    impedance = ("resistance", "inductance")
    impedance_assumed = all(key in supply.assumed and f"supply.{key}" not in changes for key in impedance)
    return Mains(
        voltage=number("voltage", "V", supply.voltage, 230.0),
        frequency=number("frequency", "Hz", supply.frequency, 50.0) or 50.0,
        resistance=number("resistance", "ohm", supply.resistance, 0.4),
        inductance=number("inductance", "H", supply.inductance, 0.0),
        shape=supply.shape or Table(),
        range=supply.range if supply.range is not None else 0.10,
        measured=bool(supply.measured),
        assumed="voltage" in supply.assumed,
        impedance_assumed=impedance_assumed,
        dc=None if dc is None else number("dc", "V", dc, 0.0),
        limit=supply.limit,
        nodes=None if nodes is None else (alias.get(nodes[0], nodes[0]), alias.get(nodes[1], nodes[1])),
    )


def with_values(circuit: Circuit, values: Mapping[str, Number]) -> Circuit:
    """The circuit with some values changed: "R1.value", "section/R1.value", "section.repeat", "supply.voltage".

    Quicker than building anew. Raises CircuitError where there is no such value.
    """
    by_owner: dict[str, dict[str, Number]] = {}
    for name, number in values.items():
        owner, _, word = name.rpartition(".")
        by_owner.setdefault(owner, {})[word] = number
    elements = []
    blocks = {element.block for element in circuit.elements if element.block}
    known = {"supply", *blocks, *(element.ref for element in circuit.elements)}
    for owner in by_owner:
        if owner not in known:
            raise CircuitError(f"{owner}: this state has no such part")
    for element in circuit.elements:
        changed = element
        if element.ref in by_owner:
            kind = KINDS[element.kind]
            merged = dict(element.values)
            for word, value in by_owner[element.ref].items():
                key = kind.key(word)
                if key is None:
                    raise CircuitError(f"{element.ref}.{word}: a {kind.title} has no {word}")
                merged[word] = _checked(value, key, f"{element.ref}.{word}")
            changed = replace(changed, values=Table(merged))
        if element.block in by_owner:
            own = by_owner[element.block]
            changed = replace(
                changed,
                series=float(own.get("repeat", changed.series)),
                parallel=float(own.get("parallel", changed.parallel)),
            )
        elements.append(changed)
    supply = circuit.supply
    if "supply" in by_owner:
        supply = replace(supply, **{key: float(value) for key, value in by_owner["supply"].items()})  # type: ignore[arg-type]
        if not {"resistance", "inductance"}.isdisjoint(by_owner["supply"]):
            supply = replace(supply, impedance_assumed=False)
    return replace(circuit, elements=tuple(elements), supply=supply)
