"""What a tolerance run draws: every value that has a tolerance, the mains, and what is not known but bounded.

Each part is drawn evenly within its tolerance, which is the widest a maker's sorting leaves; values of different parts
have nothing to do with one another. The members of a block are drawn one by one and folded into their mean. The two
polarities of a diac are drawn each on its own. The mains is drawn evenly within its range; harmonics that were recorded
but not measured in this state lie between none and what was recorded.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from lidoff.circuit import with_values
from lidoff.circuit.model import Circuit, Element
from lidoff.record import Table
from lidoff.studies.traces import Floats

_MOST_MEMBERS: Final = 48  # of a block that are drawn one by one; beyond, their mean varies as that of so many more
_LOG_FROM: Final = 3.0  # an unknown between x and more than this many times x is drawn in logarithms


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """One value that is drawn: its name as in the record and the bounds [unit of the key].

    `members` is how many parts share it (a folded block), `logarithmic` whether it is drawn in logarithms, `sentence`
    what is said of it.
    """

    name: str
    low: float
    high: float
    members: float = 1.0
    logarithmic: bool = False
    sentence: str = ""

    def draw(self, random: np.random.Generator, samples: int) -> Floats:
        """Values for that many samples."""
        own = int(min(self.members, _MOST_MEMBERS))
        share = random.uniform(0.0, 1.0, (samples, own)).mean(axis=1)
        share = 0.5 + (share - 0.5) * math.sqrt(own / max(self.members, 1.0))
        if self.logarithmic:
            return np.asarray(self.low * (self.high / self.low) ** share)
        return np.asarray(self.low + (self.high - self.low) * share)


def drawn_of(circuit: Circuit) -> tuple[tuple[Drawn, ...], tuple[str, ...]]:
    """Everything that is drawn for a circuit, and sentences about what is not drawn though it is not known."""
    found: list[Drawn] = []
    warnings: list[str] = []
    for element in circuit.elements:
        for key, share in element.tolerances.items():
            value = element.values.get(key)
            known = isinstance(value, int | float) and not isinstance(value, bool) and key not in element.unknown
            if known and share > 0.0 and value:
                found += _of_part(element, key, float(value), share)
    for name, unknown in circuit.unknowns.items():
        if unknown.between is None:
            warnings.append(f"{name} is not known and has no bounds: one value is taken in all samples.")
            continue
        low, high = unknown.between
        logarithmic = low > 0.0 and high > _LOG_FROM * low
        how = "evenly in logarithms" if logarithmic else "evenly"
        sentence = f"{name} is not known: drawn {how} from {low:.4g} to {high:.4g}"
        found.append(Drawn(name=name, low=low, high=high, logarithmic=logarithmic, sentence=sentence))
    return (*found, *_of_supply(circuit)), tuple(warnings)


def _of_part(element: Element, key: str, value: float, share: float) -> list[Drawn]:
    members = element.series * element.parallel
    name = f"{element.ref}.{key}"
    each = ", each member on its own" if members > 1.0 else ""
    if element.kind == "diac" and key == "breakover":
        apart = element.number("asymmetry")
        sides = (("+", "first", value + 0.5 * apart), ("-", "second", value - 0.5 * apart))
        return [
            Drawn(
                name=f"{name}{sign}",
                low=knee * (1.0 - share),
                high=knee * (1.0 + share),
                members=members,
                sentence=f"{name} on the {side} pin's side ±{100.0 * share:.3g} %",
            )
            for sign, side, knee in sides
        ]
    low, high = sorted((value * (1.0 - share), value * (1.0 + share)))
    sentence = f"{name} ±{100.0 * share:.3g} %{each}"
    return [Drawn(name=name, low=low, high=high, members=members, sentence=sentence)]


def _of_supply(circuit: Circuit) -> list[Drawn]:
    supply = circuit.supply
    key = "voltage" if supply.dc is None else "dc"
    volts = supply.voltage if supply.dc is None else supply.dc
    found: list[Drawn] = []
    if supply.range > 0.0 and f"supply.{key}" not in circuit.unknowns:
        found.append(
            Drawn(
                name=f"supply.{key}",
                low=volts * (1.0 - supply.range),
                high=volts * (1.0 + supply.range),
                sentence=f"supply.{key} ±{100.0 * supply.range:.3g} %",
            )
        )
    if supply.dc is None and not supply.measured:
        for order, share in supply.shape.items():
            if order > 1 and share:
                low, high = sorted((0.0, share))
                sentence = f"the mains' harmonic {order} between none and {100.0 * share:.3g} %"
                found.append(Drawn(name=f"supply.h{order}", low=low, high=high, sentence=sentence))
    return found


def columns(names: Sequence[str], values: Floats) -> tuple[list[str], Floats]:
    """Names as they stand in the record, and values under them: the two sides of a diac as breakover and asymmetry."""
    shown: list[str] = []
    kept: list[Floats] = []
    place = {name: k for k, name in enumerate(names)}
    for k, name in enumerate(names):
        if name.endswith("+"):
            up, down = values[:, k], values[:, place[f"{name[:-1]}-"]]
            shown += [name[:-1], f"{name[:-1].rpartition('.')[0]}.asymmetry"]
            kept += [0.5 * (up + down), up - down]
        elif not name.endswith("-"):
            shown.append(name)
            kept.append(values[:, k])
    return shown, np.column_stack(kept) if kept else np.empty((values.shape[0], 0))


def changed(circuit: Circuit, values: Mapping[str, float]) -> Circuit:
    """The circuit with drawn values, by their names in the record; "supply.h3" is a share of the fundamental."""
    plain = {name: value for name, value in values.items() if not name.startswith("supply.h")}
    shape = {int(name[8:]): value for name, value in values.items() if name.startswith("supply.h")}
    for element in circuit.elements:
        # A plain tolerance of a thermistor is that of its material: cold and hot go together.
        cold = plain.get(f"{element.ref}.cold")
        if element.kind == "thermistor" and cold is not None and element.values.get("hot") is not None:
            plain[f"{element.ref}.hot"] = element.number("hot") * cold / element.number("cold")
    other = with_values(circuit, plain)
    if not shape:
        return other
    return replace(other, supply=replace(other.supply, shape=Table({**other.supply.shape, **shape})))
