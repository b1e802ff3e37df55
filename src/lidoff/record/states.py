"""Reading `[[state]]`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lidoff.kinds import KINDS, OTHER_KEYS
from lidoff.record.fields import Fields, from_zero, tabled, tables
from lidoff.record.locate import Path
from lidoff.record.model import EMPTY, Block, Part, State, Supply, Value
from lidoff.record.names import known_nodes, short_names
from lidoff.record.parts import BLOCK_COUNTS, COMMON_KEYS, inferable, read_part, read_values
from lidoff.record.problems import Notes, quoted
from lidoff.record.supply import read_supply


def read_states(
    notes: Notes, data: Mapping[str, Any], parts: Mapping[str, Part], blocks: Mapping[str, Block]
) -> tuple[State, ...]:
    """Every state of the record."""
    states: dict[str, State] = {}
    refs = {**short_names(parts), **{name: name for name in blocks}}
    for path, one in tables(notes, data, "state"):
        state = _read_state(notes, one, path, parts, blocks, refs)
        if state is None:
            notes.lost.add("state")
            continue
        if state.name in states:
            sentence = f"there are two states of that name (line {states[state.name].line}); rename one of them"
            notes.error((*path, "name"), state.name, sentence)
        else:
            states[state.name] = state
    return tuple(states.values())


def _read_state(
    notes: Notes,
    data: Mapping[str, Any],
    path: Path,
    parts: Mapping[str, Part],
    blocks: Mapping[str, Block],
    refs: Mapping[str, str],
) -> State | None:
    written = data.get("name")
    fields = Fields(notes, data, path, written if isinstance(written, str) and written else "state", "a state")
    name = fields.text("name")
    if name is None and (not isinstance(written, str) or not written.strip()):
        fields.lacks("name", 'is missing; every state needs a name, such as name = "full"')
    removed = _part_list(fields, "remove", refs)
    bypassed = _part_list(fields, "bypass", refs)
    for both in [one for one in bypassed if one in removed]:
        fields.error("bypass", f"{both} is taken out in this state already; leave it in one of the two lists")
    add = _read_added(fields, parts, removed, blocks)
    values = _read_set(fields, parts, add, blocks)
    for target in values:
        if target in removed:
            fields.warn("set", f"sets a value of {target}, which this state takes out")
    supply = _read_own_supply(fields)
    if supply is not None and supply.nodes is not None:
        _check_bench_nodes(fields, supply.nodes, [*parts.values(), *add], blocks)
    minutes = fields.known(from_zero("minutes_on", ""))
    note = fields.text("note", blank=True)
    fields.finish()
    if name is None:
        return None
    return State(
        name=name,
        set=tabled(values),
        remove=removed,
        bypass=bypassed,
        add=add,
        supply=supply,
        minutes_on=minutes,
        note=note,
        line=fields.line,
    )


def _part_list(fields: Fields, key: str, refs: Mapping[str, str]) -> tuple[str, ...]:
    """Names of parts, or of blocks as a whole."""
    found: list[str] = []
    for written in fields.texts(key):
        name = refs.get(written)
        if name is None and "part" in fields.notes.lost:
            continue
        if name is None:
            near = fields.notes.nearest(written, refs)
            fields.error(key, f"there is no part {quoted(written)} in this record{near}")
        elif name not in found:
            found.append(name)
    return tuple(found)


def _read_added(
    fields: Fields, parts: Mapping[str, Part], removed: tuple[str, ...], blocks: Mapping[str, Block]
) -> tuple[Part, ...]:
    if "add" not in fields.data:
        return ()
    taken = {name: part for name, part in parts.items() if name not in removed}
    added: dict[str, Part] = {}
    for path, one in tables(fields.notes, fields.data, "add", base=fields.path):
        part = read_part(fields.notes, one, path, blocks, {**taken, **added})
        if part is not None:
            added[part.name] = part
    fields.take("add")
    return tuple(added.values())


def _read_set(
    fields: Fields, parts: Mapping[str, Part], add: tuple[Part, ...], blocks: Mapping[str, Block]
) -> dict[str, Mapping[str, Value]]:
    table = fields.table("set", "set")
    if table is None:
        return {}
    parts = {**parts, **{part.name: part for part in add}}
    refs = {**short_names(parts), **{name: name for name in blocks}}
    found: dict[str, Mapping[str, Value]] = {}
    for target in table.data:
        name = refs.get(target)
        if name is None and "part" in fields.notes.lost:
            table.take(target)
            continue
        if name is None:
            table.error(target, _no_target(table, target, refs))
            continue
        given = table.table(target, "", shown=f"{fields.key}.set.{name}")
        if given is None:
            continue
        if name in blocks:
            given.what, given.infer = "a block", BLOCK_COUNTS
            given.find_unknowns()
            values: Mapping[str, Any] = {spec.name: given.number(spec) for spec in BLOCK_COUNTS}
            given.finish()
        else:
            kind = KINDS[parts[name].kind]
            given.what, given.infer = f"a {kind.title}", inferable(kind)
            given.find_unknowns()
            values = read_values(given, kind)
            for key in given.data:
                if key in COMMON_KEYS and key not in given.asked and key != "between":
                    given.take(key)
                    given.error(key, "cannot be set by a state; take the part out with remove and add another")
            given.finish(more=[spec.name for spec in kind.keys], other_names=dict(OTHER_KEYS))
        found[name] = tabled({**found.get(name, EMPTY), **values})
    return {name: values for name, values in found.items() if values}


def _no_target(table: Fields, target: str, refs: Mapping[str, str]) -> str:
    ref, dot, key = target.rpartition(".")
    if dot and ref in refs:
        return f"write {ref} = {{ {key} = … }} or, without quotes, {ref}.{key} = …"
    if target == "supply":
        return "write supply = { … } in the state itself, beside set"
    return f"there is no part or block {quoted(target)} in this record{table.notes.nearest(target, refs)}"


def _read_own_supply(fields: Fields) -> Supply | None:
    table = fields.table("supply", "a supply")
    return None if table is None else read_supply(fields.notes, table.data, table.path, table.key)


def _check_bench_nodes(
    fields: Fields, written: tuple[str, str], parts: list[Part], blocks: Mapping[str, Block]
) -> None:
    if "node" in fields.notes.lost or not any(part.nodes for part in parts):
        return
    nodes = known_nodes(parts, blocks)
    for node in written:
        if node not in nodes:
            near = fields.notes.nearest(node, nodes)
            path = (*fields.path, "supply", "nodes")
            fields.notes.error(path, f"{fields.name('supply')}.nodes", f"no part joins a node {quoted(node)}{near}")
