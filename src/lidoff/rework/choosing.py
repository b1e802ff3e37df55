"""Parts that can be bought: ratings from what each part gets at the highest mains, with the derating stated.

A film resistor is taken at half its rated power and within its limiting voltage; an electrolytic at nine tenths of its
rated voltage, with an open string counted; a semiconductor at two thirds of its voltage, for spikes; a fuse carries its
current one and a half times and stands twice the I²t of switching on. These are the derating habits of
`lidoff.standards.temperatures`, or common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from lidoff.circuit import Circuit, CircuitError, Element
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.kinds import KINDS
from lidoff.quantity import engineering
from lidoff.record.model import EMPTY, Table, Value
from lidoff.rework import stock
from lidoff.rework.case import Case
from lidoff.rework.edits import Edits, NewPart
from lidoff.rework.life import Life, expected_life, ripple_rating
from lidoff.rework.worst import at_mains
from lidoff.standards.temperatures import DERATING
from lidoff.studies import switch_on
from lidoff.studies.fuses import Fuse, melting_i2t
from lidoff.studies.surgery import OPEN, as_resistor
from lidoff.studies.thermal import ZERO, temperature

RESISTOR_SHARE: Final = DERATING.number("resistor power, share of rating, cautious")
STORE_SHARE: Final = DERATING.number("electrolytic voltage, share of rating")
_SEMICONDUCTOR_SHARE: Final = 1.0 / 1.5
_X2: Final = DERATING.number("X2 capacitor at 230 V, rating")
_FUSE_TIMES: Final = 1.5
_FUSE_I2T: Final = 2.0
_AREA: Final = {  # [mm2] of board, roughly, common practice
    "fuse": 160.0,
    "regulator": 110.0,
    "zener": 30.0,
    "thermistor": 70.0,
    "varistor": 60.0,
    "potentiometer": 250.0,
    "diac": 20.0,
    "thyristor": 60.0,
    "triac": 110.0,
    "inductor": 200.0,
    "diode": 30.0,
    "bridge": 60.0,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """One line of the shopping list.

    `value` [SI unit of the kind's first key], `text` that value for people; `rating` in SI; `heat` [W] at the highest
    mains, `temperature` [K] of it by a rough estimate in free air, `area` [mm2] of board. `must` is what the part has
    to meet, `was` the value of the part it takes the place of. `life` is that of an electrolytic.
    """

    ref: str
    kind: str
    role: str
    value: float | None
    text: str
    unit: str
    tolerance: float | None
    rating: Mapping[str, float | str]
    why: str
    must: tuple[str, ...]
    heat: float
    temperature: float | None
    area: float
    series: int
    was: str | None = None
    life: Life | None = None
    bought: bool = True

    def as_json(self) -> dict[str, Any]:
        """The mapping that `rework --json` prints for a part."""
        return {
            "ref": self.ref,
            "kind": self.kind,
            "role": self.role,
            "value": self.value,
            "unit": self.unit,
            "text": self.text,
            "tolerance": self.tolerance,
            "rating": dict(self.rating),
            "why": self.why,
            "must": list(self.must),
            "heat": self.heat,
            "temperature": self.temperature,
            "area": self.area,
            "series": f"E{self.series}" if self.series else None,
            "was": self.was,
            "life_hours": None if self.life is None else self.life.hours,
            "life_words": None if self.life is None else self.life.words,
            "bought": self.bought,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The edits with ratings written in, the shopping list, and sentences on what no part that is sold would stand."""

    edits: Edits
    parts: tuple[Bought, ...]
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Load:
    """What one part gets: settled and with the string open at the highest mains, and at switch-on."""

    power: float
    open_power: float
    rms: float
    peak: float
    current_rms: float
    current_peak: float
    surge_energy: float = 0.0
    surge_peak: float = 0.0
    surge_i2t: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rated:
    rating: Mapping[str, float | str]
    must: tuple[str, ...] = ()
    area: float = 40.0
    values: Mapping[str, Value] = field(default_factory=lambda: EMPTY)
    marking: str | None = None
    life: Life | None = None
    problem: str | None = None


def choose(case: Case, edits: Edits, circuit: Circuit) -> Chosen:
    """Ratings for every part fitted or changed. `circuit` is the design's, with its values.

    Raises CircuitError where it has no settled cycle at the highest mains.
    """
    high = at_mains(circuit)["high"]
    settled = solve(high)
    opened = _open_string(high)
    surges = _surges(high)
    problems: list[str] = []
    new: list[NewPart] = []
    list_: list[Bought] = []
    texts: dict[str, Any] = {}
    for part in edits.added:
        element = circuit.element(part.name)
        if element is None:
            continue
        load = _load(part.name, settled, opened, surges)
        rated = _rate(case, element, load, part)
        if rated.problem:
            problems.append(rated.problem)
        final = replace(
            part,
            rating=Table({**part.rating, **rated.rating}),
            values=Table({**part.values, **rated.values}),
            marking=rated.marking or part.marking,
            must=(*part.must, *rated.must),
        )
        new.append(final)
        list_.append(_bought(final, load, rated))
    for name in dict.fromkeys(name.rpartition(".")[0] for name in edits.set):
        element, old = circuit.element(name), case.circuit.element(name)
        if element is None or old is None or element.kind == "led":
            continue
        load = _load(name, settled, opened, surges)
        rated = _rate(case, element, load, None)
        if rated.problem:
            problems.append(rated.problem)
        if rated.rating:
            texts[f"{name}.rating"] = {k: _written(k, v) for k, v in rated.rating.items()}
        list_.append(_changed(element, old, load, rated))
    done = replace(edits.with_parts(new), texts=Table({**edits.texts, **texts}))
    return Chosen(edits=done, parts=tuple(list_), problems=tuple(problems))


def _written(word: str, value: float | str) -> str:
    from lidoff.kinds import RATING_UNITS
    from lidoff.record.toml_text import quantity_text

    return value if isinstance(value, str) else str(quantity_text(value, RATING_UNITS[word]))


def open_strings(circuit: Circuit) -> Circuit:
    """The circuit with every LED part open: what everything then has to stand."""
    for element in circuit.elements:
        if element.kind == "led":
            circuit = as_resistor(circuit, element.ref, OPEN)
    return circuit


def _open_string(circuit: Circuit) -> Solution | None:
    if not any(e.kind == "led" for e in circuit.elements):
        return None
    try:
        return solve(open_strings(circuit))
    except CircuitError:
        return None


def _surges(circuit: Circuit) -> Mapping[str, tuple[float, float, float]]:
    """Energy [J], peak current [A] and I2t [A2s] of each part at the worst switch-on."""
    try:
        return {one.part: (one.energy, one.peak, one.i2t) for one in switch_on(circuit).surges}
    except LidoffError:
        return {}


def _load(
    ref: str, settled: Solution, opened: Solution | None, surges: Mapping[str, tuple[float, float, float]]
) -> _Load:
    own = settled.part_figures(ref)
    other = opened.part_figures(ref) if opened is not None and ref in opened.built.pins else own
    energy, peak, i2t = surges.get(ref, (0.0, 0.0, 0.0))
    return _Load(
        power=max(own["power"], 0.0),
        open_power=max(other["power"], 0.0),
        rms=max(own["voltage_rms"], other["voltage_rms"]),
        peak=max(own["voltage_peak"], other["voltage_peak"]),
        current_rms=own["current_rms"],
        current_peak=own["current_peak"],
        surge_energy=energy,
        surge_peak=peak,
        surge_i2t=i2t,
    )


def _rate(case: Case, element: Element, load: _Load, part: NewPart | None) -> _Rated:
    rule = _RULES.get(element.kind)
    return (
        rule(case, element, load, part)
        if rule is not None
        else _Rated(rating=EMPTY, area=_AREA.get(element.kind, 40.0))
    )


def _resistor(_case: Case, element: Element, load: _Load, part: NewPart | None) -> _Rated:
    members = element.series * element.parallel
    power = max(load.power / RESISTOR_SHARE, load.open_power / DERATING.number("resistor power, share of rating, most"))
    power /= members
    size = stock.resistor_size(power, load.rms)
    if size is None:
        return _Rated(
            rating=EMPTY,
            problem=f"{element.ref} would have to stand {engineering(power, 'W', 2)} at {load.rms:.0f} V: "
            "no resistor of the usual sizes does.",
        )
    watts, volts, length = size
    must = [f"{watts:g} W or more: it gets {engineering(load.power / members, 'W', 2)}"]
    surge = part is not None and ("surge" in part.role or "fusible" in part.role)
    if surge:
        watts, volts, length = max(size, stock.RESISTORS[2])
        must = [f"{watts:g} W or more, for the pulse: {engineering(load.surge_energy, 'J', 2)} and up to "
                f"{engineering(load.surge_peak, 'A', 2)} in the first half-cycle"]  # fmt: skip
    return _Rated(
        rating=Table({"power": watts, "voltage": volts}), must=tuple(must), area=length * (4.0 if watts < 2 else 7.0)
    )


def _capacitor(_case: Case, element: Element, load: _Load, part: NewPart | None) -> _Rated:
    farads = element.number("value")
    if part is not None and part.role in ("dropper capacitor", "X capacitor"):
        return _Rated(
            rating=Table({"voltage_ac": _X2, "class": "X2"}),
            must=(f"{_X2:g} V~ or more, class X2 with its approvals printed on it",),
            area=70.0 + 350.0 * farads / 1e-6,
        )
    if part is not None and part.role == "smoothing capacitor":
        volts = stock.up(load.peak / STORE_SHARE, stock.ELECTROLYTIC_VOLTS)
        if volts is None:
            return _Rated(
                rating=EMPTY,
                problem=f"{element.ref} gets {load.peak:.0f} V with the string open: no electrolytic stands that.",
            )
        ripple = ripple_rating(farads, volts)
        life = expected_life(load.current_rms, ripple)
        diameter = 5.0 + 9.0 * (farads * volts / 4e-3) ** 0.4
        return _Rated(
            rating=Table({"voltage": volts, "temperature": 105.0 + ZERO}),
            must=(
                f"{volts:g} V or more: {load.peak:.0f} V stand on it with the string open",
                f"ripple current {engineering(max(load.current_rms, 1e-3), 'A', 2)} or more at twice the mains "
                f"frequency (one of this size stands about {engineering(ripple, 'A', 2)})",
            ),
            area=diameter**2,
            life=life,
        )
    volts = stock.up(max(load.peak / 0.6, 63.0), (63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0))
    return _Rated(
        rating=Table({"voltage": volts}) if volts is not None else EMPTY,
        must=(f"film capacitor, {volts:g} V or more",) if volts is not None else (),
        area=60.0,
        problem=None
        if volts is not None
        else f"{element.ref} gets {load.peak:.0f} V: no film capacitor here stands that.",
    )


def _fuse(_case: Case, element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    needed = _FUSE_TIMES * load.current_rms
    for amperes in stock.FUSE_AMPERES:
        stands, _, _ = melting_i2t(Fuse(ref=element.ref, rating=amperes, speed="slow"))
        if amperes >= needed and stands is not None and stands >= _FUSE_I2T * load.surge_i2t:
            text = f"{1000.0 * amperes:g}mA" if amperes < 1.0 else f"{amperes:g}A"
            return _Rated(
                rating=Table({"voltage_ac": 250.0, "current": amperes}),
                values=Table({"rating": amperes}),
                marking=f"T{text}H250V",
                must=(f"T {text} (slow), 250 V, letter H",),
                area=_AREA["fuse"],
            )
    return _Rated(
        rating=EMPTY, problem=f"No fuse up to 6.3 A stands the surge of {engineering(load.surge_i2t, 'A2s', 2)}."
    )


def _zener(_case: Case, element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    watts = stock.up(max(load.power / 0.6, load.open_power / 0.9), stock.ZENER_WATTS)
    if watts is None:
        return _Rated(
            rating=EMPTY,
            problem=f"{element.ref} would take {engineering(load.open_power, 'W', 2)} with the string open: "
            "no single zener stands that.",
        )
    return _Rated(
        rating=Table({"power": watts}),
        must=(
            f"{watts:g} W or more: it takes {engineering(load.power, 'W', 2)}, and "
            f"{engineering(load.open_power, 'W', 2)} with the string open",
        ),
        area=_AREA["zener"],
    )


def _semiconductor(_case: Case, element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    volts = stock.up(max(load.peak / _SEMICONDUCTOR_SHARE, 200.0), (200.0, 400.0, 600.0, 800.0, 1000.0)) or 1000.0
    rating: dict[str, float | str] = {"voltage": volts}
    must = [f"{volts:g} V or more"]
    if element.kind == "regulator":
        watts = next(w for w in (0.5, 1.0, 2.0, 4.0, 10.0) if w >= load.power / 0.5 or w == 10.0)
        rating["power"] = watts
        must.append(f"{watts:g} W or more: it gets {engineering(load.power, 'W', 2)} at the highest mains")
    elif element.kind in ("thyristor", "triac"):
        amperes = next(a for a in (0.8, 4.0, 8.0, 16.0, 40.0) if a >= 2.0 * load.current_rms or a == 40.0)
        rating["current"] = amperes
        must.append(f"{amperes:g} A or more")
    return _Rated(rating=Table(rating), must=tuple(must), area=_AREA.get(element.kind, 40.0))


def _thermistor(_case: Case, element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    amperes = next(a for a in (0.5, 1.0, 2.0, 3.0, 5.0, 8.0) if a >= 1.3 * load.current_rms or a == 8.0)
    return _Rated(
        rating=Table({"current": amperes}),
        must=(f"{amperes:g} A or more of steady current, and {engineering(load.surge_energy, 'J', 2)} in one surge",),
        area=_AREA["thermistor"],
    )


def _potentiometer(_case: Case, element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    # A track's rating is that of the whole track: where the knob leaves a piece of it, that piece carries the current.
    needed = max(load.power / RESISTOR_SHARE, 1.1 * load.current_rms**2 * element.number("value"))
    watts = stock.up(needed, (0.2, 0.5, 1.0, 2.0))
    if watts is None:
        return _Rated(
            rating=EMPTY,
            problem=f"{element.ref} would have to carry {engineering(load.current_rms, 'A', 2)} at its bright end: no "
            "track of that value does.",
        )
    return _Rated(
        rating=Table({"power": watts, "voltage": 350.0 if load.rms > 150.0 else 250.0}),
        must=(f"{watts:g} W or more; the track carries {engineering(load.current_rms, 'A', 2)} rms",),
        area=_AREA["potentiometer"],
    )


def _inductor(_case: Case, _element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    return _Rated(
        rating=Table({"current": float(f"{max(1.5 * load.current_rms, 0.1):.2g}")}),
        must=(f"does not saturate up to {engineering(1.2 * load.current_peak, 'A', 2)}",),
        area=_AREA["inductor"],
    )


def _diode(_case: Case, _element: Element, load: _Load, _part: NewPart | None) -> _Rated:
    volts = stock.up(max(load.peak / _SEMICONDUCTOR_SHARE, 400.0), (400.0, 600.0, 1000.0)) or 1000.0
    return _Rated(
        rating=Table({"voltage": volts, "current": 1.0}), must=(f"{volts:g} V, 1 A or more",), area=_AREA["diode"]
    )


_RULES: Final = {
    "diode": _diode,
    "resistor": _resistor,
    "capacitor": _capacitor,
    "fuse": _fuse,
    "zener": _zener,
    "regulator": _semiconductor,
    "thyristor": _semiconductor,
    "triac": _semiconductor,
    "thermistor": _thermistor,
    "potentiometer": _potentiometer,
    "inductor": _inductor,
}


_BY_RATING: Final = ("diode", "bridge", "triac", "thyristor", "transistor", "mosfet")  # bought by rating, not by value


def _main_value(kind: str, values: Mapping[str, Value]) -> tuple[float | None, str]:
    """The value that a part is bought by, and its unit."""
    key = KINDS[kind].keys[0]
    if kind in _BY_RATING:
        return None, key.unit
    held = values.get(key.name)
    return (float(held), key.unit) if isinstance(held, float | int) and not isinstance(held, bool) else (None, key.unit)


def value_text(kind: str, values: Mapping[str, Value]) -> str:
    """The value that a part is bought by, for people; with a knob its taper."""
    value, unit = _main_value(kind, values)
    if value is None:
        return "–"
    text = engineering(value, unit, 3) if unit and unit != "W" else f"{value:g} {unit}".strip()
    if kind == "potentiometer" and isinstance(values.get("taper"), str):
        text += f", {values['taper']}"
    return text


def _plain_tolerance(tolerance: float | Mapping[str, float] | None) -> float | None:
    if isinstance(tolerance, Mapping):
        return next(iter(tolerance.values()), None)
    return tolerance


def _hot(kind: str, power: float, rating: Mapping[str, float | str]) -> float | None:
    rated = rating.get("power")
    return temperature(kind, power / rated) if isinstance(rated, float | int) and rated > 0.0 else None


def _bought(part: NewPart, load: _Load, rated: _Rated) -> Bought:
    value, unit = _main_value(part.kind, part.values)
    return Bought(
        ref=part.name,
        kind=part.kind,
        role=part.role,
        value=value,
        text=value_text(part.kind, part.values),
        unit=unit,
        tolerance=_plain_tolerance(part.tolerance),
        rating=part.rating,
        why=part.why,
        must=part.must,
        heat=load.power,
        temperature=_hot(part.kind, load.power, part.rating),
        area=0.0 if part.kind == "led" else rated.area,
        series=part.series,
        life=rated.life,
        bought=part.kind != "led",
    )


def _changed(element: Element, old: Element, load: _Load, rated: _Rated) -> Bought:
    value, unit = _main_value(element.kind, element.values)
    rating = rated.rating or element.rating
    return Bought(
        ref=element.ref,
        kind=element.kind,
        role=f"{KINDS[element.kind].title} of another value",
        value=value,
        text=value_text(element.kind, element.values),
        unit=unit,
        tolerance=_plain_tolerance(element.tolerance),
        rating=Table(dict(rating)),
        why="Takes the place of the one that is there.",
        must=rated.must,
        heat=load.power,
        temperature=_hot(element.kind, load.power / (element.series * element.parallel), rating),
        area=0.0,
        series=24 if element.kind == "resistor" else 6 if element.kind == "capacitor" else 0,
        was=value_text(old.kind, old.values),
        life=rated.life,
    )


def hottest(parts: tuple[Bought, ...]) -> float | None:
    """The highest estimated temperature of the parts [K], None where none is known."""
    return max(
        (p.temperature for p in parts if p.temperature is not None and math.isfinite(p.temperature)), default=None
    )
