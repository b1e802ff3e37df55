"""The catalogue: every rule, and every code and id that was ever given out.

A code and an id belong together for good. A rule that is withdrawn goes to `RETIRED` with the reason and its successor;
neither its code nor its id is given out again.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Final

from lidoff.hazards.rule import Rule
from lidoff.hazards.rules import (
    capacitors,
    conductors,
    cords,
    distances,
    earthing,
    enclosure,
    heat,
    heat_controls,
    labels,
    light,
    live_parts,
    plugs,
    protection,
    ratings,
    short_circuits,
    single_faults,
)

VERSION: Final = "3"
"""Version of the catalogue: grows with each rule that is added, withdrawn or changed in what it finds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Retired:
    """A rule that was withdrawn: since which version, why, and the id of what stands in its place ("" for nothing)."""

    code: str
    id: str
    since: str
    why: str
    successor: str = ""


class NoSuchRuleError(KeyError):
    """No rule has that code or id; the message says what became of it, or which are like it."""

    def __str__(self) -> str:
        """The message as it was written, without the quotes that KeyError puts round it."""
        return str(self.args[0])


RETIRED: Final[tuple[Retired, ...]] = ()


def _checked(rules: tuple[Rule, ...]) -> tuple[Rule, ...]:
    used = Counter(name for one in rules for name in (one.code, one.id))
    used.update(name for gone in RETIRED for name in (gone.code, gone.id))
    twice = sorted(name for name, times in used.items() if times > 1)
    if twice:
        raise ValueError(f"given out twice: {', '.join(twice)}; a rule takes a new code and a new id")
    return rules


RULES: Final = _checked(
    tuple(
        sorted(
            (
                *plugs.RULES,
                *cords.RULES,
                *conductors.RULES,
                *labels.RULES,
                *enclosure.RULES,
                *live_parts.RULES,
                *earthing.RULES,
                *capacitors.RULES,
                *protection.RULES,
                *short_circuits.RULES,
                *single_faults.RULES,
                *heat.RULES,
                *heat_controls.RULES,
                *ratings.RULES,
                *distances.RULES,
                *light.RULES,
            ),
            key=lambda rule: rule.code,
        )
    )
)
"""Every rule in force, by code."""


def rule(name: str) -> Rule:
    """The rule of that code or id. Raises NoSuchRuleError, which names a successor or what is like it."""
    for one in RULES:
        if name in (one.code, one.id):
            return one
    for gone in RETIRED:
        if name in (gone.code, gone.id):
            instead = f"; see {gone.successor}" if gone.successor else ""
            raise NoSuchRuleError(f"the rule {gone.id!r} was withdrawn in catalogue {gone.since}: {gone.why}{instead}")
    near = get_close_matches(name, [one.id for one in RULES], n=3, cutoff=0.4)
    hint = f"; did you mean {' or '.join(near)}?" if near else "; docs/hazards/index.md lists them"
    raise NoSuchRuleError(f"no rule {name!r}{hint}")
