"""Readings that cannot all be right whatever the circuit is: found from the definitions alone.

P <= S, P = V I PF, S = V I, P = S PF, Q² = S² - P², PF <= displacement factor (IEEE Std 1459, definitions for a
single phase); rms² = mean² + ac rms² and peak >= rms (definitions); the same thing read twice. A relation counts as
broken where it misses by more than twice the standard uncertainty that the readings leave it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, product
from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.readings.accuracy import MeterError
from lidoff.readings.model import Contradiction
from lidoff.readings.uncertainty import Estimates, propagate, rectangular
from lidoff.readings.words import amount, in_state, name_of, place_of, shown
from lidoff.record import Reading

MISS: Final = 2.0
"""A relation is broken where it misses by more than this many standard uncertainties."""
_MAINS_CREST: Final = (1.34, 1.49)  # crest factor of a mains fit for measuring on (IEC 62301, clause 4)
_BY_CHANCE: Final = ("inrush_current",)  # another value each time it is read
_NEARLY_ONE: Final = 0.985  # power factor from which the current has the shape of the voltage


@dataclass(frozen=True, slots=True, kw_only=True)
class Mains:
    """The mains of a state [V] with its standard uncertainty, where no reading tells it; None on a bench supply."""

    voltage: float
    u: float
    measured: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Broken:
    """One broken relation: the readings in it, by how many standard uncertainties it misses, and the sentence."""

    id: str
    readings: tuple[int, ...]
    miss: float
    what: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    value: float
    u: float
    reading: int | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Relation:
    """`excess` of the values of `quantities` is 0 (or at most 0 where `bound`) if the readings are right."""

    id: str
    quantities: tuple[str, ...]
    excess: Callable[[Floats], float]
    says: str
    bound: bool = False


_AT_INPUT: Final = (
    _Relation(
        id="power-factor-mismatch",
        quantities=("power", "voltage", "current", "power_factor"),
        excess=lambda x: x[0] - x[1] * x[2] * x[3],
        says="watts must be volts times amperes times power factor",
    ),
    _Relation(
        id="power-above-volt-amperes",
        quantities=("power", "voltage", "current"),
        excess=lambda x: abs(x[0]) - x[1] * x[2],
        says="watts cannot be more than volts times amperes",
        bound=True,
    ),
    _Relation(
        id="power-above-volt-amperes",
        quantities=("power", "apparent_power"),
        excess=lambda x: abs(x[0]) - x[1],
        says="watts cannot be more than volt-amperes",
        bound=True,
    ),
    _Relation(
        id="apparent-power-mismatch",
        quantities=("apparent_power", "voltage", "current"),
        excess=lambda x: x[0] - x[1] * x[2],
        says="volt-amperes are volts times amperes",
    ),
    _Relation(
        id="power-factor-mismatch",
        quantities=("power", "apparent_power", "power_factor"),
        excess=lambda x: x[0] - x[1] * x[2],
        says="the power factor is watts over volt-amperes",
    ),
    _Relation(
        id="reactive-power-mismatch",
        quantities=("reactive_power", "apparent_power", "power"),
        excess=lambda x: x[0] ** 2 - max(x[1] ** 2 - x[2] ** 2, 0.0),
        says="what is not watts is the root of volt-amperes squared less watts squared",
    ),
    _Relation(
        id="power-factor-above-one",
        quantities=("power_factor",),
        excess=lambda x: abs(x[0]) - 1.0,
        says="a power factor cannot be above 1",
        bound=True,
    ),
    _Relation(
        id="power-factor-above-displacement",
        quantities=("power_factor", "displacement_factor"),
        excess=lambda x: abs(x[0]) - abs(x[1]),
        says="harmonics only lower the power factor below the displacement factor",
        bound=True,
    ),
)


def _relations_of_shape(base: str) -> tuple[_Relation, ...]:
    """Relations of one wave, of volts or of amperes, wherever it was read."""
    return (
        _Relation(
            id="peak-below-rms",
            quantities=(base, f"{base}_peak"),
            excess=lambda x: x[0] - x[1],
            says="a peak cannot be below the rms value of the same wave",
            bound=True,
        ),
        _Relation(
            id="rms-mismatch",
            quantities=(base, f"{base}_dc", f"{base}_ac"),
            excess=lambda x: x[0] ** 2 - x[1] ** 2 - x[2] ** 2,
            says="the square of the rms of everything is the sum of the squares of the mean and of the ac part",
        ),
        _Relation(
            id="mean-above-rms",
            quantities=(f"{base}_dc", base),
            excess=lambda x: abs(x[0]) - x[1],
            says="a mean cannot be above the rms of everything",
            bound=True,
        ),
        _Relation(
            id="crest-factor-mismatch",
            quantities=("crest_factor", f"{base}_peak", base),
            excess=lambda x: x[0] - x[1] / x[2] if x[2] > 0.0 else 0.0,
            says="the crest factor is peak over rms",
        ),
    )


_ANYWHERE: Final = (*_relations_of_shape("voltage"), *_relations_of_shape("current"))

State = str | None
Place = str | tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Notes:
    """What is to be looked at: readings with the state and the error of each, and the mains of each state."""

    readings: Sequence[Reading]
    states: Sequence[State]
    errors: Sequence[MeterError]
    mains: Mapping[State, Mains | None]


def broken_relations(notes: Notes, without: frozenset[int] = frozenset()) -> list[Broken]:
    """Every broken relation, `without` some of the readings."""
    found: list[Broken] = []
    for state, at, members in _groups(notes, without):
        found += _repeated(notes, state, at, members)
        table = _known(notes, members)
        relations = [*_ANYWHERE]
        if at == "input":
            relations = [*_AT_INPUT, *_ANYWHERE]
            mains = notes.mains.get(state)
            if "voltage" not in table and mains is not None:
                text = f"{amount(mains.voltage, 'V')} of mains ({'measured' if mains.measured else 'not measured'})"
                table["voltage"] = [_Known(value=mains.voltage, u=mains.u, reading=None, text=text)]
        for relation in relations:
            found += _checked(relation, table, state)
        if at == "input":
            found += _shapes(table, state)
    return _distinct(found)


def _distinct(found: list[Broken]) -> list[Broken]:
    """Without the bounds that follow from an equation broken by the same readings."""
    kept: list[Broken] = []
    for one in found:
        covered = any(set(one.readings) <= set(other.readings) and one.id == other.id for other in kept)
        if not covered:
            kept.append(one)
    return kept


def _groups(notes: Notes, without: frozenset[int]) -> Iterator[tuple[State, Place, list[int]]]:
    groups: dict[tuple[State, Place], list[int]] = {}
    for number, (reading, state) in enumerate(zip(notes.readings, notes.states, strict=True)):
        if number not in without:
            at = "input" if reading.at == ("live", "neutral") else reading.at
            groups.setdefault((state, at), []).append(number)
    for (state, at), members in groups.items():
        yield state, at, members


def _known(notes: Notes, members: list[int]) -> dict[str, list[_Known]]:
    table: dict[str, list[_Known]] = {}
    for number in members:
        reading = notes.readings[number]
        table.setdefault(reading.quantity, []).append(
            _Known(
                value=reading.value,
                u=notes.errors[number].sigma,
                reading=number,
                text=_reads(reading),
            )
        )
    return table


def _reads(reading: Reading) -> str:
    if reading.quantity == "power_factor":
        return f"a power factor of {reading.value:g}"
    return f"{shown(reading.quantity, reading.value, reading.unit)} of {name_of(reading.quantity)}"


def _repeated(notes: Notes, state: State, at: Place, members: list[int]) -> list[Broken]:
    found = []
    for first, second in combinations(members, 2):
        one, other = notes.readings[first], notes.readings[second]
        if one.quantity != other.quantity or one.quantity in _BY_CHANCE:
            continue
        u = math.hypot(notes.errors[first].sigma, notes.errors[second].sigma)
        apart = abs(one.value - other.value)
        if u > 0.0 and apart > MISS * u:
            found.append(
                Broken(
                    id="read-twice",
                    readings=(first, second),
                    miss=apart / u,
                    what=(
                        f"The {name_of(one.quantity)} {place_of(at)}{in_state(state)} was read twice, as "
                        f"{shown(one.quantity, one.value, one.unit)} and "
                        f"{shown(other.quantity, other.value, other.unit)}: the meters' accuracies leave no room for "
                        f"both."
                    ),
                )
            )
    return found


def _checked(relation: _Relation, table: Mapping[str, list[_Known]], state: State) -> list[Broken]:
    if not all(quantity in table for quantity in relation.quantities):
        return []
    found = []
    for chosen in product(*(table[quantity] for quantity in relation.quantities)):
        readings = tuple(known.reading for known in chosen if known.reading is not None)
        if not readings:
            continue
        miss = _miss(relation, chosen)
        if (miss if relation.bound else abs(miss)) > MISS:
            words = [known.text for known in chosen]
            what = f"{_capital(relation.says)}{in_state(state)}: {', '.join(words)} do not go together"
            what += _detail(relation, chosen)
            found.append(Broken(id=relation.id, readings=readings, miss=abs(miss), what=what))
    return found


def _miss(relation: _Relation, chosen: Sequence[_Known]) -> float:
    values = np.array([known.value for known in chosen])
    variances = np.array([known.u**2 for known in chosen])
    result = propagate(lambda x: np.array([relation.excess(x)]), Estimates(values, np.diag(variances)))
    u = float(result.u[0])
    excess = float(result.values[0])
    return excess / u if u > 0.0 else math.copysign(math.inf, excess) if excess else 0.0


def _detail(relation: _Relation, chosen: Sequence[_Known]) -> str:
    by = dict(zip(relation.quantities, chosen, strict=True))
    if "voltage" in by and "current" in by and "power" in by:
        apparent = by["voltage"].value * by["current"].value
        factor = by["power_factor"].value if "power_factor" in by else 1.0
        right = apparent * factor
        unit = "W" if "power_factor" in by else "VA"
        return f" ({amount(right, unit)} on one side, {amount(by['power'].value, 'W')} on the other)."
    if relation.id == "apparent-power-mismatch":
        return f" (volts times amperes make {amount(by['voltage'].value * by['current'].value, 'VA')})."
    return "."


def _shapes(table: Mapping[str, list[_Known]], state: State) -> list[Broken]:
    """A current of the mains' own shape has the mains' own crest factor."""
    factors, peaks, sizes = (table.get(key, []) for key in ("power_factor", "current_peak", "current"))
    found = []
    for factor, peak, size in product(factors, peaks, sizes):
        if factor.value - MISS * factor.u < _NEARLY_ONE or size.value <= 0.0:
            continue
        crest = peak.value / size.value
        u = crest * math.hypot(peak.u / peak.value if peak.value else 0.0, size.u / size.value)
        low, high = _MAINS_CREST
        miss = max(low - crest, crest - high) / u if u > 0.0 else math.inf
        if miss > MISS and crest > 1.0:
            side = "below" if crest < low else "above"
            found.append(
                Broken(
                    id="crest-of-resistive-load",
                    readings=tuple(k.reading for k in (factor, peak, size) if k.reading is not None),
                    miss=miss,
                    what=(
                        f"A power factor of {factor.value:g}{in_state(state)} means that the current has the shape of "
                        f"the mains, whose peak is 1.41 times its rms value. The peak of {amount(peak.value, 'A')} "
                        f"that was read is {crest:.3g} times {amount(size.value, 'A')}, {side} what such a current "
                        f"has: the meter's peak is not to be trusted."
                    ),
                )
            )
    return found


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def watts_like_volt_amperes(notes: Notes, factors: Mapping[State, tuple[float, float] | None]) -> list[Contradiction]:
    """Powers that are volts times amperes to within their accuracies although the power factor is well below 1.

    `factors` gives the computed power factor of a state with its standard uncertainty, None where there is no circuit.
    """
    found = []
    for state, at, members in _groups(notes, frozenset()):
        if at != "input":
            continue
        table = _known(notes, members)
        mains = notes.mains.get(state)
        volts = table.get("voltage", [])
        if not volts and mains is not None and mains.measured:
            volts = [_Known(value=mains.voltage, u=mains.u, reading=None, text="")]
        apparent: list[tuple[float, float, tuple[int | None, ...], str]] = [
            (k.value, k.u, (k.reading,), amount(k.value, "VA")) for k in table.get("apparent_power", [])
        ]
        for v, i in product(volts, table.get("current", [])):
            value = v.value * i.value
            u = value * math.hypot(v.u / v.value, i.u / i.value) if v.value and i.value else 0.0
            text = f"{amount(v.value, 'V')} times {amount(i.value, 'A')}, {amount(value, 'VA')}"
            apparent.append((value, u, (v.reading, i.reading), text))
        for power, (value, u, others, text) in product(table.get("power", []), apparent):
            if abs(power.value - value) > MISS * math.hypot(power.u, u) or value <= 0.0:
                continue
            below = _power_factor_below_one(table, factors.get(state), u / value)
            if below:
                readings = tuple(sorted({k for k in (power.reading, *others) if k is not None}))
                found.append(
                    Contradiction(
                        id="watts-are-volt-amperes",
                        readings=readings,
                        state=state,
                        what=(
                            f"{amount(power.value, 'W')}{in_state(state)} is {text}: those are volt-amperes, and watts "
                            f"only where the power factor is 1. {below}"
                        ),
                    )
                )
                break
    return found


def _power_factor_below_one(
    table: Mapping[str, list[_Known]], computed: tuple[float, float] | None, spread: float
) -> str:
    for known in table.get("power_factor", []):
        if known.value + MISS * math.hypot(known.u, spread) < 1.0:
            return f"The meter itself gives a power factor of {known.value:g}."
        return ""
    if computed is not None:
        value, u = computed
        return f"This circuit's is {value:.2g}." if value + MISS * math.hypot(u, spread) < 1.0 else ""
    return "Nobody read the power factor; unless this is a plain heater, do not call them watts."


def negative_power(notes: Notes) -> list[Contradiction]:
    """Powers below nothing at the input: a product cannot give power to the mains."""
    return [
        Contradiction(
            id="negative-power",
            readings=(number,),
            state=state,
            what=(
                f"{amount(reading.value, 'W')} at the input{in_state(state)}: a product that feeds nothing back takes "
                f"power; the clamp or the leads are the wrong way round."
            ),
        )
        for number, (reading, state) in enumerate(zip(notes.readings, notes.states, strict=True))
        if reading.quantity == "power" and reading.at == "input" and reading.value < -2.0 * notes.errors[number].sigma
    ]


def peaks_like_rms(notes: Notes) -> list[Contradiction]:
    """Peaks that are the rms value to within the accuracies: only a square wave has that."""
    found = []
    for state, at, members in _groups(notes, frozenset()):
        table = _known(notes, members)
        for base, unit in (("voltage", "V"), ("current", "A")):
            for peak, size in product(table.get(f"{base}_peak", []), table.get(base, [])):
                u = math.hypot(peak.u, size.u)
                if abs(peak.value - size.value) <= MISS * u and u < 0.1 * size.value:
                    found.append(
                        Contradiction(
                            id="peak-is-rms",
                            readings=tuple(k.reading for k in (peak, size) if k.reading is not None),
                            state=state,
                            what=(
                                f"The peak of {amount(peak.value, unit)} {place_of(at)}{in_state(state)} is the rms "
                                f"value of {amount(size.value, unit)} again: only a square wave has its peak there, so "
                                f"one of the two is called by the other's name."
                            ),
                        )
                    )
    return found


def mains_of(voltage: float, share: float, measured: bool) -> Mains:
    """The mains of a state: voltage [V] within ±share, equally likely anywhere there."""
    return Mains(voltage=voltage, u=rectangular(share * voltage), measured=measured)
