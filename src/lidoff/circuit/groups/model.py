"""What recognition gives: groups of parts with their trade names, and the parts that belong to none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from lidoff.circuit.groups.words import counted, listed
from lidoff.record.model import EMPTY

if TYPE_CHECKING:
    from lidoff.circuit.groups.scene import Scene

Figures = Mapping[str, tuple[float, str]]
Tie = Literal["own", "shared"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Some parts that together are one thing the trade has a word for.

    `id` stays the same as long as the refs do. `roles` gives each ref its word; `shared` names those refs that belong
    to another group in the first place. `figures` maps a name to value and SI unit symbol: what follows from the
    values alone, not from a solution. `rank` is 1 for the best reading of these parts; a reading that contests a part
    with a better one stands with 2 or more. `stage` grows in the order in which energy flows.
    """

    id: str
    name: str
    title: str
    refs: tuple[str, ...]
    roles: Mapping[str, str]
    figures: Figures
    why: str
    remarks: tuple[str, ...] = ()
    rank: int = 1
    shared: tuple[str, ...] = ()
    stage: int = 0

    @property
    def own(self) -> tuple[str, ...]:
        """The refs that belong to this group before any other."""
        return tuple(ref for ref in self.refs if ref not in self.shared)

    def having(self, role: str) -> tuple[str, ...]:
        """The refs with that role word."""
        return tuple(ref for ref in self.refs if self.roles[ref] == role)


@dataclass(frozen=True, slots=True, kw_only=True)
class Groups:
    """All groups of a circuit in the order in which energy flows, best readings first, and what they leave over."""

    groups: tuple[Group, ...]
    unexplained: tuple[str, ...] = ()

    @property
    def best(self) -> tuple[Group, ...]:
        """The first readings only: each part belongs to at most one of them as its own."""
        return tuple(group for group in self.groups if group.rank == 1)

    @property
    def sentence(self) -> str:
        """What is left over, as a sentence; empty where every part has found its place."""
        refs = self.unexplained
        if not refs:
            return ""
        if len(refs) == 1:
            return f"This one part belongs to nothing I know: {refs[0]}."
        return f"These {counted(len(refs))} parts belong to nothing I know: {listed(refs)}."

    def of(self, ref: str) -> tuple[Group, ...]:
        """The groups that a part is in, the one it belongs to first."""
        found = [group for group in self.groups if ref in group.refs]
        return tuple(sorted(found, key=lambda group: (group.rank, ref in group.shared)))

    def named(self, name: str) -> tuple[Group, ...]:
        """The best readings of that name ("snubber")."""
        return tuple(group for group in self.best if group.name == name)

    def get(self, group_id: str) -> Group | None:
        """The group of that id, or None."""
        return next((group for group in self.groups if group.id == group_id), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One way in which a family reads some parts, before readings that contest a part are ranked.

    `parts` are (ref, role word, tie): an "own" part can belong to one group only, a "shared" one to many. `weight`
    says how much the reading explains: the heavier takes a contested part. A `fallback` is dropped where one of its
    own parts has found a better place.
    """

    name: str
    title: str
    parts: tuple[tuple[str, str, Tie], ...]
    weight: float
    why: str
    figures: Figures = field(default_factory=lambda: EMPTY)
    remarks: tuple[str, ...] = ()
    fallback: bool = False
    stage: int | None = None

    @property
    def own(self) -> tuple[str, ...]:
        """The refs that this reading wants for itself."""
        return tuple(ref for ref, _, tie in self.parts if tie == "own")


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A tiny record that shows a family, or does not: `finds` are all groups of that family in it, as name and refs.

    `parts` is the inside of `part = [ … ]` of an item.toml; `about` says what is to be seen.
    """

    about: str
    parts: str
    finds: tuple[tuple[str, tuple[str, ...]], ...] = ()
    extra: str = ""

    @property
    def record(self) -> str:
        """The whole record as the text of an item.toml."""
        inside = self.parts.strip("\n")
        return f"lidoff = 1\n{self.extra}part = [\n{inside}\n]\n"


@dataclass(frozen=True, slots=True, kw_only=True)
class Family:
    """One family of groups: how it is found, and the records that show it.

    `names` are the group names it gives, each with its plain description; `stage` its place in the order in which
    energy flows.
    """

    title: str
    about: str
    names: Mapping[str, str]
    stage: int
    find: Callable[[Scene], Iterable[Reading]]
    examples: tuple[Example, ...]
    counter_examples: tuple[Example, ...]
