"""A circuit ready to be solved: elements with all their values, and the supply that drives them. Frozen values only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import islice

from lidoff.errors import LidoffError
from lidoff.kinds import KINDS
from lidoff.record.model import EMPTY, Table, Unknown

Number = float | bool | str


class CircuitError(LidoffError):
    """The parts and nodes given cannot be solved as they stand; the text names them and says what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """A part with every value its law needs [SI units].

    `nodes` holds a node per pin of its kind, in the kind's order, None for a pin that is absent. An element that stands
    for a folded block member has `series` x `parallel` equal members: its nodes carry the voltage of all in series and
    the current of all side by side. `rating` and `tolerance` are as recorded (per member); `marked_ratings` names the
    words of `rating` that nobody wrote down and the marking tells. `assumed` names the keys whose value is a default,
    `marked` those taken from a marking, `unknown` those that are to be inferred.
    """

    ref: str
    kind: str
    nodes: tuple[str | None, ...]
    values: Mapping[str, Number] = field(default_factory=lambda: EMPTY)
    series: float = 1.0
    parallel: float = 1.0
    block: str | None = None
    rating: Mapping[str, float | str] = field(default_factory=lambda: EMPTY)
    marked_ratings: frozenset[str] = frozenset()
    tolerance: float | Mapping[str, float] | None = None
    assumed: frozenset[str] = frozenset()
    marked: frozenset[str] = frozenset()
    unknown: frozenset[str] = frozenset()

    @property
    def pins(self) -> Mapping[str, str]:
        """Pin name to node, absent pins left out."""
        return {pin: node for pin, node in zip(KINDS[self.kind].pins, self.nodes, strict=True) if node is not None}

    def node(self, pin: str) -> str | None:
        """The node at that pin, None where the pin is absent."""
        return self.nodes[KINDS[self.kind].pins.index(pin)]

    def number(self, key: str) -> float:
        """The value of that key as a number [SI unit of the key]."""
        return float(self.values[key])

    @property
    def tolerances(self) -> Mapping[str, float]:
        """Key to tolerance [share]; a plain tolerance is about the first key that is a measure and no count."""
        if self.tolerance is None:
            return {}
        if isinstance(self.tolerance, Mapping):
            return {key: float(share) for key, share in self.tolerance.items()}
        measures = (key for key in KINDS[self.kind].keys if key.unit not in ("bool", "word", "") and not key.whole)
        return {key.name: float(self.tolerance) for key in islice(measures, 1)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Mains:
    """The mains or a bench supply, complete: [V rms], [Hz], [ohm], [H]; `shape` harmonic order to share.

    `range` is the share by which the voltage may differ; `measured` whether it was read in this state; `assumed`
    whether nobody wrote it down at all, `impedance_assumed` whether nobody wrote a resistance or an inductance. With
    `dc` [V] the supply is a bench supply of that voltage and `limit` [A] between `nodes`, and the mains nodes are open.
    """

    voltage: float = 230.0
    frequency: float = 50.0
    resistance: float = 0.4
    inductance: float = 0.0
    shape: Mapping[int, float] = field(default_factory=Table)
    range: float = 0.10
    measured: bool = False
    assumed: bool = True
    impedance_assumed: bool = False
    dc: float | None = None
    limit: float | None = None
    nodes: tuple[str, str] | None = None

    @property
    def reference(self) -> str:
        """The node that all voltages are taken against: neutral, or the bench supply's minus."""
        return self.nodes[1] if self.dc is not None and self.nodes is not None else "neutral"


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What the record says of the product that its limits hang on: kind, region, rated power [W]."""

    kind: str | None = None
    region: str | None = None
    rated_power: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """Elements and supply of one state of an item.

    `alias` maps nodes that a bypass has joined to the node that stands for them. `unknowns` holds what is to be
    inferred, by key ("R2.value", "supply.voltage"), with the representative value already in the element. `left_out`
    are the refs of recorded parts that play no part in this state, `warnings` sentences for the user.
    """

    elements: tuple[Element, ...]
    supply: Mains
    state: str | None = None
    title: str = ""
    about: About = About()
    alias: Mapping[str, str] = field(default_factory=lambda: EMPTY)
    unknowns: Mapping[str, Unknown] = field(default_factory=lambda: EMPTY)
    left_out: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()

    def element(self, ref: str) -> Element | None:
        """The element of that reference designator, or None."""
        return next((element for element in self.elements if element.ref == ref), None)

    def resolve(self, node: str) -> str:
        """The node that stands for `node` after bypasses."""
        return self.alias.get(node, node)

    @property
    def nodes(self) -> tuple[str, ...]:
        """All nodes, in order of first use."""
        return tuple(dict.fromkeys(node for element in self.elements for node in element.nodes if node is not None))
