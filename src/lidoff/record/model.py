"""What a record holds, as frozen values: nothing here reads files, solves or judges.

All numbers are in SI units. `Unknown` stands where the record has `"?"`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal, NoReturn


class Table(dict[Any, Any]):
    """A mapping that refuses to be changed.

    Unlike `types.MappingProxyType` it can be pickled (records are sent to other processes), hashed (results are
    cached by what they came from) and printed as JSON.
    """

    __slots__ = ()

    def _refuse(self, *_args: object, **_words: object) -> NoReturn:
        raise TypeError("a record is frozen; build a new one with dataclasses.replace")

    __setitem__ = __delitem__ = __ior__ = clear = pop = popitem = setdefault = update = _refuse

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(frozenset(self.items()))

    def __reduce__(self) -> tuple[type[Table], tuple[dict[Any, Any]]]:
        return Table, (dict(self),)


EMPTY: Mapping[str, Any] = Table()


@dataclass(frozen=True, slots=True)
class Unknown:
    """A value to be inferred, perhaps `between` two bounds [same unit as the value]."""

    between: tuple[float, float] | None = None


Value = float | bool | str | Unknown


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """Something wrong, doubtful or missing, as one sentence.

    `line` is 1-based (0 where there is none), `key` a dotted name such as "R2.value".
    """

    line: int
    key: str
    message: str
    level: Literal["error", "warning"] = "error"
    file: str = ""

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}: " if self.line else (f"{self.file}: " if self.file else "")
        return f"{place}{self.message}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """The mains, or a bench dc supply where `dc` is given.

    voltage [V rms], frequency [Hz], resistance [ohm], inductance [H]; `range` is a share (0.10 = 10 %);
    `shape` maps harmonic orders to shares of the fundamental; dc [V] and limit [A] between `nodes`.
    A state's supply holds only what that state says: its other fields are None and the record's own apply.
    `assumed` is empty in a record as read; in what `effective_supply` gives it maps each key that nobody wrote down
    to the sentence that says what was taken and why.
    """

    voltage: float | Unknown | None = None
    measured: bool | None = None
    range: float | None = None
    frequency: float | Unknown | None = None
    resistance: float | Unknown | None = None
    inductance: float | Unknown | None = None
    shape: Mapping[int, float] | None = None
    dc: float | Unknown | None = None
    limit: float | None = None
    nodes: tuple[str, str] | None = None
    assumed: Mapping[str, str] = field(default_factory=lambda: EMPTY)


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part as recorded. `values` has only what was written; `nodes` maps pin to node.

    `tolerance` is a share (0.05 = 5 %), or a mapping from key to share. `rating` holds SI values and `class`.
    `count` is the number counted on the item, for the check against series x parallel x repeat.
    """

    ref: str
    kind: str
    marking: str | None = None
    values: Mapping[str, Value] = field(default_factory=lambda: EMPTY)
    tolerance: float | Mapping[str, float] | None = None
    rating: Mapping[str, float | str] = field(default_factory=lambda: EMPTY)
    nodes: Mapping[str, str] = field(default_factory=lambda: EMPTY)
    block: str | None = None
    count: int | None = None
    note: str | None = None
    line: int = 0

    @property
    def name(self) -> str:
        """The ref by which the whole record knows the part: "R1", or "section/R1" for a member of a block."""
        return f"{self.block}/{self.ref}" if self.block else self.ref


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A group repeated: `repeat` in series between `nodes`, `parallel` such rows side by side."""

    name: str
    repeat: int | Unknown = 1
    parallel: int | Unknown = 1
    nodes: tuple[str, str] = ("", "")
    count: int | None = None
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One way of running the item: values set, parts removed, bypassed or added, and its own supply."""

    name: str
    set: Mapping[str, Mapping[str, Value]] = field(default_factory=lambda: EMPTY)
    remove: tuple[str, ...] = ()
    bypass: tuple[str, ...] = ()
    add: tuple[Part, ...] = ()
    supply: Supply | None = None
    minutes_on: float | None = None
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """Half-width of a meter's error: `share` of the reading plus `floor` in the quantity's unit.

    `normal` is true where the record says the limits are of a normal distribution at 95 %.
    """

    share: float = 0.0
    floor: float = 0.0
    normal: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """A meter: accuracy and resolution by quantity; `extra` holds its kind's own keys (bandwidth, crest limit …).

    `kind` is "?" where the record does not say.
    """

    name: str
    kind: str
    accuracy: Mapping[str, Accuracy] = field(default_factory=lambda: EMPTY)
    resolution: Mapping[str, float] = field(default_factory=lambda: EMPTY)
    extra: Mapping[str, Any] = field(default_factory=lambda: EMPTY)
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A value taken from a meter. `doubt` is the half-width by which "about" makes its last digit doubtful (0 else).

    `digit` is the weight of the last digit written [same unit], from which a resolution can be taken. `over` is the
    time [s] over which an energy was counted.
    """

    quantity: str
    value: float
    unit: str
    text: str = ""
    doubt: float = 0.0
    digit: float = 0.0
    meter: str | None = None
    state: str | None = None
    at: str | tuple[str, str] = "input"
    over: float | None = None
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """Something seen on inspection."""

    about: str
    seen: str = ""
    photo: str | None = None
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Photo:
    """A photograph of the item."""

    file: str
    side: str | None = None
    shows: str | None = None
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Recording:
    """A reading in the form of samples in a file."""

    file: str
    columns: Mapping[str, str | int] = field(default_factory=lambda: EMPTY)
    units: Mapping[str, str] = field(default_factory=lambda: EMPTY)
    scale: Mapping[str, str] = field(default_factory=lambda: EMPTY)
    sample_rate: float | None = None
    coupling: str | None = None
    meter: str | None = None
    state: str | None = None
    at: str | tuple[str, str] = "input"
    note: str | None = None
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnParagraph:
    """The user's own words in the write-up, behind the chapter `after` ("start": before all of them)."""

    after: str
    text: str
    line: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """How the item wants to be written up: chapters that come first, chapters left out, own words, and which form.

    `form` is None where the record does not say.
    """

    order: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    form: Literal["short", "full"] | None = None
    paragraphs: tuple[OwnParagraph, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """A whole record, read from the file at `path`. `warnings` are the problems that did not stop the reading.

    `rated` holds what the label claims; a range on it ("220-240 V") stands as `voltage_low` and `voltage_high`.
    `wires`, `gaps`, `surfaces`, `plug`, `verdict` and `drawing` are kept as checked plain mappings with SI values
    where a unit is known; the rooms that judge them give them meaning.
    """

    path: Path
    title: str = ""
    protection_class: str = "?"
    region: str | None = None
    kind: str | None = None
    use: str | None = None
    note: str | None = None
    rated: Mapping[str, float] = field(default_factory=lambda: EMPTY)
    supply: Supply = field(default_factory=Supply)
    parts: tuple[Part, ...] = ()
    blocks: tuple[Block, ...] = ()
    states: tuple[State, ...] = ()
    meters: tuple[Meter, ...] = ()
    readings: tuple[Reading, ...] = ()
    recordings: tuple[Recording, ...] = ()
    photos: tuple[Photo, ...] = ()
    sightings: tuple[Sighting, ...] = ()
    wires: tuple[Mapping[str, Any], ...] = ()
    gaps: tuple[Mapping[str, Any], ...] = ()
    surfaces: tuple[Mapping[str, Any], ...] = ()
    plug: Mapping[str, Any] = field(default_factory=lambda: EMPTY)
    verdict: Mapping[str, Any] = field(default_factory=lambda: EMPTY)
    drawing: Mapping[str, Any] = field(default_factory=lambda: EMPTY)
    writeup: Telling = field(default_factory=Telling)
    warnings: tuple[Problem, ...] = ()

    @property
    def folder(self) -> Path:
        """The record folder, in which photos and recordings lie."""
        return self.path.parent

    def part(self, ref: str) -> Part | None:
        """The part of that name ("R1", "section/R1"), or None; a bare ref serves where only one part has it."""
        named = next((part for part in self.parts if part.name == ref), None)
        if named is not None:
            return named
        bearers = [part for part in self.parts if part.ref == ref]
        return bearers[0] if len(bearers) == 1 else None

    def block(self, name: str) -> Block | None:
        """The block of that name, or None."""
        return next((block for block in self.blocks if block.name == name), None)

    def state(self, name: str) -> State | None:
        """The state of that name, or None."""
        return next((state for state in self.states if state.name == name), None)

    def meter(self, name: str) -> Meter | None:
        """The meter of that name, or None."""
        return next((meter for meter in self.meters if meter.name == name), None)
