"""What a telling function looks at: circuit, groups, solution, and figures taken from them with their source."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from lidoff.circuit import Circuit, Element
from lidoff.circuit.groups import Group, Groups
from lidoff.circuit.groups.words import listed, many
from lidoff.cycle import Solution
from lidoff.record import Table
from lidoff.studies.telling.citing import Cited, Sentence, Style
from lidoff.studies.telling.knobs import Travel

_UNITS = {"voltage": "V", "current": "A", "power": "W"}


@dataclass(frozen=True)
class Case:
    """A solved circuit with its groups; `travel` is what is known of a knob, if anything."""

    circuit: Circuit
    groups: Groups
    solution: Solution
    travel: Travel | None = None

    @cached_property
    def figures(self) -> Mapping[str, Any]:
        """The solution's figures, as `figures --json` prints them."""
        return self.solution.figures()

    @property
    def alternating(self) -> bool:
        """Whether the circuit runs on the mains."""
        return not self.solution.direct

    def element(self, ref: str) -> Element:
        """The element of that ref. Raises KeyError where there is none."""
        found = self.circuit.element(ref)
        if found is None:
            raise KeyError(ref)
        return found

    # Figures with their source -------------------------------------------------------------------------------------

    def part(self, ref: str, key: str) -> Cited:
        """A figure of a part: voltage_peak, current_rms, power …"""
        value = float(self.figures["parts"][ref][key])
        value = abs(value) if not key.endswith("_mean") else value
        return Cited(value=value, unit=_UNITS[key.partition("_")[0]], source=f"figures: parts.{ref}.{key}")

    def input(self, key: str, unit: str, style: Style = "computed") -> Cited:
        """A figure of the input: power, current_rms …"""
        return Cited(value=float(self.figures["input"][key]), unit=unit, source=f"figures: input.{key}", style=style)

    def light(self, key: str, unit: str, style: Style = "computed") -> Cited:
        """A figure of the light, percent flicker as a share. Raises KeyError where there is no light."""
        value = float(self.figures["light"][key])
        return Cited(value=value, unit=unit, source=f"figures: light.{key}", style=style)

    def value(self, ref: str, key: str, unit: str, style: Style = "marked") -> Cited:
        """A value of a part as recorded, decoded or assumed."""
        return Cited(value=self.element(ref).number(key), unit=unit, source=f"record: {ref}.{key}", style=style)

    def of_group(self, group: Group, name: str, style: Style = "computed") -> Cited | None:
        """A figure that a group has from its values, None where it has none of that name."""
        found = group.figures.get(name)
        if found is None:
            return None
        return Cited(value=found[0], unit=found[1], source=f"group: {group.id}: {name}", style=style)

    def heat(self, refs: tuple[str, ...]) -> Cited:
        """What some parts turn into heat or light together [W]."""
        total = sum(self.part(ref, "power").value for ref in refs)
        return Cited(value=total, unit="W", source=f"figures: sum of power of {named(refs)}")

    def extremes(self, ref: str) -> tuple[Cited, Cited]:
        """Least and greatest voltage across a part over the cycle, the greater magnitude last [V]."""
        volts = self.solution.part_wave(ref)[0]
        low, high = float(np.abs(volts).min()), float(np.abs(volts).max())
        return (
            Cited(value=low, unit="V", source=f"waves: least |voltage| of {ref}"),
            Cited(value=high, unit="V", source=f"waves: greatest |voltage| of {ref}"),
        )


def say(group: str, text: str, spoken: str, refs: tuple[str, ...], **figures: Cited) -> Sentence:
    """A sentence whose figures stand as {name} in both texts."""
    return Sentence(
        text=text.format_map({name: cited.shown for name, cited in figures.items()}),
        spoken=spoken.format_map({name: cited.spoken for name, cited in figures.items()}),
        group=group,
        figures=Table(figures),
        refs=refs,
    )


def named(refs: tuple[str, ...]) -> str:
    """Refs in a sentence."""
    return listed(refs)


def verb(refs: tuple[str, ...], one: str, more: str) -> str:
    """The verb in the number that fits the refs."""
    return many(len(refs), one, more)


Teller = Callable[[Case, Group], Iterator[Sentence]]
