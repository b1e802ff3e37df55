"""Changes to a record's text that make the reworked item of it, with everything else the user wrote kept.

What was read on the item as found is no reading of the reworked one: readings and recordings are left out of the new
record, as are states that speak of parts which are gone. The record they stand in is not touched.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from lidoff.kinds import KINDS, RATING_UNITS
from lidoff.quantity import iec60062, parse, share
from lidoff.record import Block, Item, Part, State, Table, read_text
from lidoff.record.edit import (
    add_part,
    add_table,
    remove_part,
    remove_table,
    remove_value,
    set_in_table,
    set_value,
)
from lidoff.record.model import EMPTY, Value

_SHORT: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class NewPart:
    """A part that is fitted: what stands in the record, its `role` in words, and why it is there.

    `series` is the E series its value comes from (0: not a preferred value), `must` what the one that is bought has to
    meet besides its ratings. `follows` says that its value is that of another new part, times a factor.
    """

    ref: str
    kind: str
    role: str
    values: Mapping[str, Value]
    nodes: Mapping[str, str]
    tolerance: float | Mapping[str, float] | None = None
    rating: Mapping[str, float | str] = field(default_factory=lambda: EMPTY)
    marking: str | None = None
    why: str = ""
    series: int = 0
    must: tuple[str, ...] = ()
    block: str | None = None

    @property
    def name(self) -> str:
        """The ref by which the whole record knows the part: "R4", or "section/R4" for a member of a block."""
        return f"{self.block}/{self.ref}" if self.block else self.ref

    @property
    def part(self) -> Part:
        """The part as the record room writes it."""
        return Part(
            ref=self.ref,
            kind=self.kind,
            marking=self.marking,
            values=self.values,
            tolerance=self.tolerance,
            rating=self.rating,
            nodes=self.nodes,
            block=self.block,
            note=f"rework: {self.role}",
        )

    def with_values(self, **values: Value) -> NewPart:
        """The same part with some values changed."""
        return replace(self, values=Table({**self.values, **values}))


@dataclass(frozen=True, slots=True, kw_only=True)
class Edits:
    """Everything that is done to a record: parts taken out, values set ("R3.value", SI), nodes moved, parts fitted.

    `moved` maps "BR1.ac1" to the node that pin goes to now. `texts` are keys set to a text as it stands.
    """

    removed: tuple[str, ...] = ()
    set: Mapping[str, Value] = field(default_factory=lambda: EMPTY)
    moved: Mapping[str, str] = field(default_factory=lambda: EMPTY)
    added: tuple[NewPart, ...] = ()
    texts: Mapping[str, Any] = field(default_factory=lambda: EMPTY)

    def with_values(self, values: Mapping[str, Value]) -> Edits:
        """The same edits with values changed, in the parts fitted where they have the name, else in those that stay."""
        added = {part.name: part for part in self.added}
        kept = dict(self.set)
        for name, value in values.items():
            owner, _, key = name.rpartition(".")
            if owner in added:
                added[owner] = added[owner].with_values(**{key: value})
            else:
                kept[name] = value
        return replace(self, added=tuple(added.values()), set=Table(kept))

    def with_parts(self, parts: Iterable[NewPart]) -> Edits:
        """The same edits with some of the parts fitted replaced by others of the same name."""
        new = {part.name: part for part in parts}
        return replace(self, added=tuple(new.get(part.name, part) for part in self.added))

    def part(self, name: str) -> NewPart | None:
        """The fitted part of that name, or None."""
        return next((part for part in self.added if part.name == name), None)

    def joined(self, other: Edits) -> Edits:
        """Both, one after the other."""
        return Edits(
            removed=(*self.removed, *other.removed),
            set=Table({**self.set, **other.set}),
            moved=Table({**self.moved, **other.moved}),
            added=(*self.added, *other.added),
            texts=Table({**self.texts, **other.texts}),
        )


def reworked_text(text: str, item: Item, edits: Edits, note: str) -> str:
    """The record's text with the edits made and `note` added to the item's.

    Raises RecordError where an edit does not fit the record.
    """
    names = {part.name: part for part in item.parts}
    for ref in edits.removed:
        text = remove_part(text, ref)
    for name, value in edits.set.items():
        text = _set(text, item, edits, name, value)
    for name, node in edits.moved.items():
        owner, _, pin = name.rpartition(".")
        part = names[owner]
        if KINDS[part.kind].listed:
            nodes = [node if one == pin else held for one, held in part.nodes.items()]
            text = set_value(text, f"{owner}.nodes", nodes)
        else:
            text = set_value(text, f"{owner}.nodes.{pin}", node)
    for one in edits.added:
        text = add_part(text, one.part)
    for name, value in edits.texts.items():
        text = set_value(text, name, value)
    text = _without_dead_states(text, item, edits.removed)
    said = " ".join(piece for piece in (item.note or "", note) if piece)
    return set_value(text, "item.note", said)


def reworked_item(item: Item, edits: Edits) -> Item:
    """The same edits made to the record as read: what a search needs, without writing and reading a text each time.

    The text is what counts: the proof reads it, and looks whether both make the same circuit.
    """
    gone = set(edits.removed)
    parts = [_edited(part, edits) for part in item.parts if part.name not in gone]
    parts += [one.part for one in edits.added]
    blocks = [_edited_block(block, edits) for block in item.blocks]
    states = [state for state in item.states if not _dead(state, gone)]
    return replace(item, parts=tuple(parts), blocks=tuple(blocks), states=tuple(states), readings=(), recordings=())


def _edited_block(block: Block, edits: Edits) -> Block:
    """A block with what the edits say of it."""
    first, second = edits.texts.get(f"{block.name}.nodes", block.nodes)
    repeat, parallel = (edits.set.get(f"{block.name}.{key}") for key in ("repeat", "parallel"))
    return replace(
        block,
        nodes=(first, second),
        repeat=int(repeat) if isinstance(repeat, float | int) else block.repeat,
        parallel=int(parallel) if isinstance(parallel, float | int) else block.parallel,
    )


def _edited(part: Part, edits: Edits) -> Part:
    """A part with what the edits say of it."""
    own = f"{part.name}."
    values = {
        name.removeprefix(own): value for name, value in edits.set.items() if name.rpartition(".")[0] == part.name
    }
    nodes = {name.removeprefix(own): node for name, node in edits.moved.items() if name.rpartition(".")[0] == part.name}
    first = KINDS[part.kind].keys[0].name
    marking = None if first in values and first == "value" else part.marking
    rating = part.rating
    if isinstance(told := edits.texts.get(f"{part.name}.rating"), Mapping):
        rating = Table({**rating, **{word: parse(text, RATING_UNITS[word]) for word, text in told.items()}})
    tolerance = part.tolerance
    if isinstance(told := edits.texts.get(f"{part.name}.tolerance"), str):
        tolerance = share(told)
    return replace(
        part,
        values=Table({**part.values, **values}),
        nodes=Table({**part.nodes, **nodes}),
        marking=marking,
        rating=rating,
        tolerance=tolerance,
    )


def on_the_mains(text: str, item: Item, voltage: float, frequency: float) -> str:
    """The text with every state on the mains of `voltage` [V rms] and `frequency` [Hz] over its whole range.

    A rework has to hold whatever the mains is, not only at the volts that a meter happened to show.
    """
    text = set_value(text, "supply.voltage", f"{voltage:g} V")
    text = set_value(text, "supply.frequency", f"{frequency:g} Hz")
    if item.supply.measured is not None:
        text = remove_value(text, "supply.measured")
        if item.supply.measured and item.supply.range is not None:
            text = remove_value(text, "supply.range")
    for state in item.states:
        if state.supply is not None and state.supply.dc is None:
            text = set_in_table(text, "state", state.name, "supply", None)
    return text


def read_reworked(text: str, path: Path) -> Item:
    """The reworked record opened again. Raises RecordError where it is not one."""
    return read_text(text, path)


def fresh(prefix: str, taken: set[str]) -> str:
    """The next free reference designator of that letter, above every number in use; it then counts as taken."""
    numbers = [int(ref[len(prefix) :]) for ref in taken if ref.startswith(prefix) and ref[len(prefix) :].isdigit()]
    ref = f"{prefix}{max(numbers, default=0) + 1}"
    taken.add(ref)
    return ref


def written(value: float, unit: str) -> str:
    """A value [unit] as a record has it: "4k7", "330n", "3.6 mA"."""
    from lidoff.record.toml_text import quantity_text

    if unit in ("ohm", "F", "H"):
        text = iec60062(value, unit)
        if len(text) <= _SHORT:
            return text
    return str(quantity_text(float(f"{value:.4g}"), unit))


def _set(text: str, item: Item, edits: Edits, name: str, value: Value) -> str:
    owner, _, key = name.rpartition(".")
    part = item.part(owner)
    if isinstance(value, bool | str) or part is None:
        shown: Any = int(value) if isinstance(value, float) and float(value).is_integer() else value
        return set_value(text, name, shown)
    spec = KINDS[part.kind].key(key)
    unit = spec.unit if spec is not None else ""
    if not isinstance(value, int | float):
        return text
    if spec is not None and spec.whole:
        text = set_value(text, name, int(value))
        return remove_value(text, f"{part.name}.count") if part.count is not None else text
    text = set_value(text, name, written(float(value), unit) if unit else float(value))
    if key == "value" and part.marking is not None:
        # The print of the part that was there says nothing of the one that is fitted now.
        text = remove_value(text, f"{part.name}.marking")
    return text


def without_readings(text: str, item: Item) -> str:
    """The text without readings and recordings: those of the item as found say nothing of a reworked one."""
    for _ in item.readings:
        text = remove_table(text, "reading", 0)
    for _ in item.recordings:
        text = remove_table(text, "recording", 0)
    return text


def _without_dead_states(text: str, item: Item, removed: Sequence[str]) -> str:
    gone = set(removed)
    for state in item.states:
        if _dead(state, gone):
            text = remove_table(text, "state", state.name)
    return text


def _dead(state: State, gone: set[str]) -> bool:
    """Whether a state makes no sense of the reworked item: it speaks of parts that are gone, or is a test rig."""
    rig = state.supply is not None and state.supply.dc is not None
    return bool({*state.set, *state.remove, *state.bypass} & gone) or rig or bool(state.add)


def state_set(text: str, name: str, settings: Mapping[str, Mapping[str, Value]], note: str) -> str:
    """The text with one more state."""
    return add_table(text, "state", {"name": name, "set": {k: dict(v) for k, v in settings.items()}, "note": note})
