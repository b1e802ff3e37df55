"""What the rules judge: the record and the results of studies, frozen. A rule sees nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from lidoff.circuit import Circuit, Element
from lidoff.circuit.groups import Group, Groups
from lidoff.hazards.look import answered, sighting_of
from lidoff.hazards.net import Net
from lidoff.record import Item
from lidoff.record.model import EMPTY, Part, Sighting
from lidoff.studies import Stress, SwitchOn, Unplugged
from lidoff.studies.touch import Touch


@dataclass(frozen=True, slots=True, kw_only=True)
class Working:
    """The computed voltage between two ends of a gap as recorded: rms [V] and peak [V]."""

    between: tuple[str, str]
    rms: float
    peak: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """A surface of the record that is joined to a node, and what a hand on it gets."""

    surface: str
    touch: Touch


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictured:
    """Two pins ("R1.2", "BR1.plus"), or places on the board ("P7"), joined as far as a picture shows.

    Nobody measured the join or vouched for it.
    """

    first: str
    second: str

    @property
    def parts(self) -> frozenset[str]:
        """The parts whose pins they are; none for a place on the board that is no part's."""
        return frozenset(part for pin in (self.first, self.second) if (part := pin.rpartition(".")[0]))

    def __str__(self) -> str:
        """The join in words."""
        return f"{self.first} to {self.second}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """All that is known of an item when it is judged.

    `circuit` is that of the main state on the mains, None where it could not be built. `figures` is the mapping of
    `figures --json`. `stress`, `unplugged`, `switched_on`, `faults` are results of studies, None where they were not
    run; `faults` holds the mappings of `faults --json`. `working` and `touched` belong to gaps and surfaces. `chosen`
    maps "rule-id.2" to the probability [1] that the user chose for that step. `skipped` says what was not worked out.
    `pictured` are the joins that rest on a picture alone: no finding is built on them.
    """

    item: Item
    circuit: Circuit | None = None
    groups: Groups | None = None
    figures: Mapping[str, Any] = field(default_factory=lambda: EMPTY)
    stress: tuple[Stress, ...] | None = None
    unplugged: Unplugged | None = None
    switched_on: SwitchOn | None = None
    faults: tuple[Mapping[str, Any], ...] | None = None
    working: tuple[Working, ...] = ()
    touched: tuple[Touched, ...] = ()
    chosen: Mapping[str, float] = field(default_factory=lambda: EMPTY)
    skipped: tuple[str, ...] = ()
    pictured: tuple[Pictured, ...] = ()

    def unproven(self, about: Iterable[str] = ()) -> tuple[Pictured, ...]:
        """The joins of this circuit that rest on a picture alone, those at the parts of `about` first."""
        here, asked = {element.ref for element in self.elements}, frozenset(about)
        found = [join for join in self.pictured if not here or join.parts & here or not join.parts]
        return tuple(sorted(found, key=lambda join: not join.parts & asked))

    @property
    def net(self) -> Net:
        """Questions on how the circuit hangs together (an empty circuit where there is none)."""
        return Net.of(self.circuit, self.groups)

    @property
    def elements(self) -> tuple[Element, ...]:
        """The parts of the circuit; none where there is no circuit."""
        return self.circuit.elements if self.circuit is not None else ()

    def answer(self, question: str) -> str | None:
        """The answer that a question of the look list has, as the look list words it; None where it has none."""
        return answered(self.item, question)

    def sighting(self, question: str) -> Sighting | None:
        """The sighting that answers a question."""
        return sighting_of(self.item, question)

    def part(self, ref: str) -> Part | None:
        """The recorded part of that name, those that a state adds included."""
        return self.item.part(ref) or next(
            (part for state in self.item.states for part in state.add if part.name == ref), None
        )

    def group(self, name: str) -> tuple[Group, ...]:
        """The recognised groups of that name; none where nothing was recognised."""
        return self.groups.named(name) if self.groups is not None else ()

    @property
    def british(self) -> bool:
        """Whether it has, or by its region ought to have, the British plug."""
        kind = str(self.item.plug.get("kind", "")).upper()
        return "1363" in kind or (not kind and self.item.region == "GB")

    @property
    def polarised(self) -> bool | None:
        """Whether the plug goes in one way round only; None where nobody can tell."""
        kind = str(self.item.plug.get("kind", "")).upper().replace(" ", "")
        if "1363" in kind or "NEMA5-15" in kind:
            return True
        if "CEE7" in kind or "EN50075" in kind or "SCHUKO" in kind:
            return False
        if "NEMA1-15" in kind or (not kind and self.item.region == "US"):
            answer = self.answer("blades")
            return None if answer is None else answer == "one wider"
        return {"GB": True, "EU": False}.get(self.item.region or "")
