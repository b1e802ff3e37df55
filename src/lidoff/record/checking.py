"""What is wrong with a record, and what is missing from it, in the order in which it matters."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Final

from lidoff.kinds import KINDS, MAINS_NODES, REQUIRED, Kind
from lidoff.record.model import Block, Item, Part, Problem, State, Supply, Unknown
from lidoff.record.problems import RecordError, in_order, nearest
from lidoff.record.reading import examine
from lidoff.record.source import load

# Readings whose verdict hangs on the mains voltage: power goes with its square and more.
_HANG_ON_MAINS: Final = frozenset({"power", "apparent_power", "current", "energy"})
# What passes only a signal or nothing at all needs no rating to be judged by.
_NEEDS_NO_RATING: Final = frozenset({"switch", "thermostat", "lamp", "heater", "motor", "relay"})
_CORD_WORDS: Final = ("cord", "cable", "flex", "grip", "wire")
_MOST_NAMED: Final = 6
# Every node is compared with every other to find the one that was meant: beyond this many no name is guessed.
_NODES_COMPARED: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckResult:
    """A checked record: `ok` where nothing is wrong, `problems` in line order, `missing` in order of what matters."""

    ok: bool
    problems: tuple[Problem, ...]
    missing: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff check --json` prints."""
        return {
            "ok": self.ok,
            "problems": [
                {"line": one.line, "key": one.key, "message": one.message, "level": one.level} for one in self.problems
            ],
            "missing": list(self.missing),
        }


def _rating_written(part: Part) -> bool:
    return bool(part.rating)


def _nothing(_item: Item) -> tuple[Problem, ...]:
    return ()


def check(
    path: str | os.PathLike[str],
    *,
    has_rating: Callable[[Part], bool] = _rating_written,
    more: Callable[[Item], Iterable[Problem]] = _nothing,
) -> CheckResult:
    """Reads the record at `path` and says what is wrong or missing.

    This room knows what is written and no more. A room that can also read markings says by `has_rating` which parts
    have a rating, and by `more` what else is wrong; `lidoff.circuit.checking` is that room.

    Raises RecordError where there is nothing to check: no such file, not text, over 1 MB.
    """
    source = load(path)
    try:
        item, problems = examine(source.text, source.file)
    except RecordError as error:
        return CheckResult(ok=False, problems=error.problems, missing=())
    problems = in_order([*problems, *_miscounted(item), *_loose_ends(item), *_files_not_there(item), *more(item)])
    return CheckResult(
        ok=all(problem.level != "error" for problem in problems),
        problems=problems,
        missing=tuple(missing(item, has_rating=has_rating)),
    )


def missing(item: Item, *, has_rating: Callable[[Part], bool] = _rating_written) -> Iterator[str]:
    """What would have to be written down for more answers, most important first, one sentence each.

    `has_rating` as in `check`.
    """
    if not item.parts and not any(state.add for state in item.states) and not item.recordings:
        yield "No parts are written down, so the circuit cannot be worked out."
    yield from _mains_not_read(item)
    yield from _parts_incomplete(item)
    yield from _readings_incomplete(item)
    yield from _ratings(item, has_rating)
    yield from _not_looked_at(item)


def _mains_not_read(item: Item) -> Iterator[str]:
    """The mains voltage in every state in which something was read that hangs on it."""
    states: list[State | None] = [item.state(name) for name in _states_read(item)]
    if any(one.quantity in _HANG_ON_MAINS and one.state is None and one.at == "input" for one in item.readings):
        states.append(None)
    unread = [state for state in states if not _mains_is_known(item, state)]
    if unread:
        where = _in_states([state.name for state in unread if state is not None])
        yield f"Nobody wrote down the mains voltage{where}: without it power and current cannot be judged."
    elif item.parts and not states and not _mains_is_known(item, None):
        yield "Nobody measured the mains voltage: it is taken as nominal, give or take 10 %."


def _states_read(item: Item) -> list[str]:
    names = [one.state for one in item.readings if one.quantity in _HANG_ON_MAINS and one.state and one.at == "input"]
    return list(dict.fromkeys(names))


def _in_states(names: list[str]) -> str:
    if not names:
        return ""
    return f" in the state {_listed(names)}" if len(names) == 1 else f" in the states {_listed(names)}"


def _mains_is_known(item: Item, state: State | None) -> bool:
    own = state.supply if state is not None else None
    if own is not None and own.dc is not None:
        return True
    if own is not None and own.voltage is not None:
        if own.measured and isinstance(own.voltage, float):
            return True
    elif (own is not None and own.measured) or item.supply.measured:
        return isinstance(item.supply.voltage, float)
    name = state.name if state is not None else None
    return any(
        one.quantity in ("voltage", "voltage_ac") and one.at in ("input", ("live", "neutral")) and one.state == name
        for one in item.readings
    )


def _parts_incomplete(item: Item) -> Iterator[str]:
    """What keeps the circuit from being solved."""
    everything = [*item.parts, *(part for state in item.states for part in state.add)]
    absent: dict[tuple[str, ...], list[str]] = {}
    for part in everything:
        needed = _absent_keys(part, KINDS[part.kind])
        if needed and part.marking is None:
            absent.setdefault(tuple(needed), []).append(part.name)
    for keys, names in absent.items():
        what = "value" if keys == ("value",) else f"value for {_listed(keys)}"
        verb, it = ("has", "it") if len(names) == 1 else ("have", "them")
        whose = f"{_listed(names)} {verb} no {what} and no marking that was read"
        yield f'{whose}: measure {it}, or write "?" to infer {it}.'
    loose = [part.name for part in everything if not part.nodes]
    if loose:
        yield f"Nobody wrote which nodes {_listed(loose)} {'joins' if len(loose) == 1 else 'join'}."


def _absent_keys(part: Part, kind: Kind) -> list[str]:
    if part.kind == "thermistor":
        # Warm or cold, one resistance is enough to go on with.
        return [] if {"cold", "hot"} & set(part.values) else ["cold"]
    return [key.name for key in kind.keys if key.default is REQUIRED and key.name not in part.values]


def _readings_incomplete(item: Item) -> Iterator[str]:
    if item.parts and not item.readings and not item.recordings:
        yield "No readings are written down, so nothing checks the computed figures."
    stateless = [one.quantity for one in item.readings if one.state is None]
    if stateless and len(item.states) > 1:
        yield f"The readings of {_listed(stateless)} do not say in which state they were taken."
    unmetered = [one.quantity for one in item.readings if one.meter is None]
    if unmetered:
        yield f"The readings of {_listed(unmetered)} do not say with which meter."
    for meter in item.meters:
        used = dict.fromkeys(one.quantity for one in item.readings if one.meter == meter.name)
        vague = [quantity for quantity in used if quantity not in meter.accuracy]
        if vague:
            yield f'The meter "{meter.name}" has no accuracy for {_listed(vague)}: it stands in its manual.'
        if meter.kind == "?":
            yield f'Nobody wrote what kind of meter "{meter.name}" is.'


def _ratings(item: Item, has_rating: Callable[[Part], bool]) -> Iterator[str]:
    unrated = [
        part.name
        for part in item.parts
        if "rating" not in part.values and part.kind not in _NEEDS_NO_RATING and not has_rating(part)
    ]
    if unrated:
        whose = "its" if len(unrated) == 1 else "their"
        yield f"No ratings are written for {_listed(unrated)}: {whose} stress cannot be judged."


def _not_looked_at(item: Item) -> Iterator[str]:
    if item.protection_class == "?":
        yield "The protection class (I, II or III) is not written: look for the double square or the earth pin."
    if item.region is None:
        yield "The region is not written, so that neither mains nor plug practice is known."
    if not item.rated:
        yield "Nothing is written of what the label claims."
    if not item.plug:
        yield "Nobody looked at the plug, its fuse and its wiring."
    if not item.wires and not any(_about_cord(sighting.about) for sighting in item.sightings):
        yield "Nobody looked at the cord and its grip."
    if not item.gaps and not item.surfaces:
        yield "No gaps and no touchable surfaces are written, so insulation cannot be judged."
    if not item.photos:
        yield "There are no photographs."


def _about_cord(about: str) -> bool:
    return any(word in about.casefold() for word in _CORD_WORDS)


def _miscounted(item: Item) -> Iterator[Problem]:
    """Counted totals that are not what series, parallel and repeat make."""
    blocks = {block.name: block for block in item.blocks}
    for part in item.parts:
        if part.count is None:
            continue
        factors = _factors(part, blocks.get(part.block or ""))
        yield from _compared(item, part.name, part.line, part.count, factors)
    for block in item.blocks:
        if block.count is None:
            continue
        members = [part for part in item.parts if part.block == block.name]
        strings = [part for part in members if part.kind == "led"]
        totals = [_product(_factors(part, block)) for part in strings]
        if len(strings) == 1:
            yield from _compared(item, block.name, block.line, block.count, _factors(strings[0], block))
        elif strings:
            total = None if None in totals else sum(filter(None, totals))
            if total is not None and total != block.count:
                yield _miscount(item, block.name, block.line, block.count, f"its LEDs come to {total}")
        else:
            factors = {"repeat": _number(block.repeat), "parallel": _number(block.parallel)}
            yield from _compared(item, block.name, block.line, block.count, factors)


def _factors(part: Part, block: Block | None) -> dict[str, int | None]:
    """What a part's total is made of; None where that is not known."""
    factors: dict[str, int | None] = {}
    if part.kind == "led":
        factors = {name: _number(part.values.get(name, 1.0)) for name in ("series", "parallel")}
    if block is not None:
        factors["repeat"] = _number(block.repeat)
        factors["parallel rows"] = _number(block.parallel)
    return factors


def _number(value: Any) -> int | None:
    return None if isinstance(value, Unknown) else int(value)


def _product(factors: Mapping[str, int | None]) -> int | None:
    total = 1
    for factor in factors.values():
        if factor is None:
            return None
        total *= factor
    return total


def _compared(item: Item, name: str, line: int, count: int, factors: Mapping[str, int | None]) -> Iterator[Problem]:
    total = _product(factors)
    if total is None or total == count:
        return
    told = [f"{factor} ({name})" for name, factor in factors.items() if factor != 1]
    made = f"{' × '.join(told)} = {total}" if len(told) > 1 else (told[0] if told else "there is 1")
    yield _miscount(item, name, line, count, f"the record comes to {made}" if told else made)


def _miscount(item: Item, name: str, line: int, count: int, made: str) -> Problem:
    message = f"{name}.count: {count} were counted, but {made}; count again or mend the numbers"
    return Problem(line=line, key=f"{name}.count", message=message, level="warning", file=str(item.path))


def _loose_ends(item: Item) -> Iterator[Problem]:
    """Nodes that one pin joins: nearly always a slip of the pen. A touchable surface may hang on one part alone."""
    where: dict[tuple[str | None, str], list[Part]] = {}
    for part in [*item.parts, *(part for state in item.states for part in state.add)]:
        for node in part.nodes.values():
            where.setdefault((part.block, node), []).append(part)
    joined = [node for block in item.blocks for node in block.nodes]
    joined += [node for supply in _supplies(item) for node in supply.nodes or ()]
    joined += [str(surface["node"]) for surface in item.surfaces if surface.get("node") is not None]
    for (block, node), parts in where.items():
        outside = (*MAINS_NODES, *joined) if block is None else ("in", "out")
        if len(parts) > 1 or node in outside:
            continue
        part = parts[0]
        near = None
        if len(where) <= _NODES_COMPARED:
            others = [other for (place, other) in where if place == block and other != node]
            # The mains is there even where no part was joined to it by its right name.
            near = nearest(node, others if block is not None else list(dict.fromkeys([*others, *MAINS_NODES])))
        message = (
            f'{part.name}.nodes: no other part joins the node "{node}", so no current can flow there; join a second '
            f"part to it, or correct its name" + (f' (did you mean "{near}"?)' if near else "")
        )
        yield Problem(line=part.line, key=f"{part.name}.nodes", message=message, level="warning", file=str(item.path))


def _supplies(item: Item) -> Iterator[Supply]:
    yield item.supply
    yield from (state.supply for state in item.states if state.supply is not None)


def _files_not_there(item: Item) -> Iterator[Problem]:
    """Photographs and recordings that the record names and its folder does not hold."""
    named = [(f"photo {number}.file", one.file, one.line) for number, one in enumerate(item.photos, 1)]
    named += [(f"recording {number}.file", one.file, one.line) for number, one in enumerate(item.recordings, 1)]
    named += [(f"{one.about}.photo", one.photo, one.line) for one in item.sightings if one.photo is not None]
    for key, file, line in named:
        if not (item.folder / file).is_file():
            message = f'{key}: there is no file "{file}" in the record folder'
            yield Problem(line=line, key=key, message=message, level="warning", file=str(item.path))


def _listed(names: Iterable[str]) -> str:
    unique = list(dict.fromkeys(names))
    shown = [f'"{name}"' if " " in name else name for name in unique[:_MOST_NAMED]]
    if len(unique) > _MOST_NAMED:
        return f"{', '.join(shown)} and {len(unique) - _MOST_NAMED} more"
    return " and ".join([", ".join(shown[:-1]), shown[-1]]) if len(shown) > 1 else shown[0]
