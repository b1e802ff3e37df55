"""What a rating word means for each kind of part, and the rule of thumb where nothing tells a rating.

A rating of 1 A is an rms current for a triac, a mean current for a rectifier diode and a mean current per LED; a rating
of 250 V is an rms voltage for a resistor, a peak for a smoothing capacitor and a peak reverse voltage for a diode. The
meanings are those of the component standards, all of them from memory (resistor: limiting element voltage, IEC 60115-1;
capacitor for mains: IEC 60384-14; rectifier: repetitive peak reverse voltage and mean forward current, IEC 60747-2;
triac: IEC 60747-6; fuse: IEC 60127-1).

Assumed ratings are what such a part is commonly good for. They are always marked as assumed and say where they come
from.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final, Literal

from lidoff.circuit.model import Element, Mains
from lidoff.circuit.ratings import MARKED
from lidoff.standards.temperatures import DERATING

Quantity = Literal["power", "voltage", "current"]
Measure = Literal[
    "mean power",
    "rms",
    "peak",
    "mean",
    "peak reverse",
    "peak off-state",
    "mains voltage",
]
UNITS: Final[Mapping[str, str]] = MappingProxyType({"power": "W", "voltage": "V", "current": "A"})
QUANTITIES: Final[tuple[Quantity, ...]] = ("power", "voltage", "current")
_PRACTICE: Final = "common practice, no source"
_MEMORY: Final = "from memory"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """How much of a quantity a part is good for, and what is to be held against it.

    `value` [W, V or A; per LED, per diode of a bridge, per member of a block] is None where neither the record, the
    marking nor a rule of thumb gives one. `word` is the record's own word for it ("voltage_ac"), `why` says where a
    value comes from that nobody wrote down; `marked` is true where it is the part's marking. `crest` is true where a
    capacitor's AC rating meets a voltage that does not alternate: `value` is then the crest of it (`against_direct`).
    """

    quantity: Quantity
    measure: Measure
    value: float | None
    word: str
    assumed: bool = False
    marked: bool = False
    why: str = ""
    crest: bool = False


_REVERSE: Final = ("diode", "bridge", "led")
_OFF_STATE: Final = ("triac", "thyristor", "diac", "transistor", "mosfet", "regulator", "converter", "zener")
_MAINS: Final = ("fuse", "switch", "relay", "thermostat")
_MEAN: Final = ("diode", "bridge", "led", "zener")


def measure_of(element: Element, word: str) -> Measure:
    """What a rating word is about for that part: the figure of the cycle to hold against it."""
    kind = element.kind
    if word == "power":
        return "mean power"
    if word in ("voltage_ac", "current_rms"):
        return "mains voltage" if word == "voltage_ac" and kind in _MAINS else "rms"
    if word == "current":
        return "mean" if kind in _MEAN else "rms"
    if kind in _MAINS:
        return "mains voltage"
    if kind in _REVERSE:
        return "peak reverse"
    if kind in _OFF_STATE:
        return "peak off-state"
    if kind == "capacitor":  # a class X or Y capacitor is rated in volts of the mains
        return "rms" if "class" in element.rating else "peak"
    return "peak" if kind == "varistor" else "rms"


def ratings_of(element: Element, supply: Mains, *, alternating: bool) -> tuple[Rating, ...]:
    """Every rating of a part, recorded and marked ones first; each quantity without one gets a rule of thumb, or None.

    `alternating` says whether the part's voltage changes sign: that tells a mains capacitor from a smoothing one.
    """
    found: list[Rating] = []
    for word, quantity in _WORDS.items():
        value = element.rating.get(word)
        if isinstance(value, float | int):
            marked = word in element.marked_ratings
            found.append(
                Rating(
                    quantity=quantity,
                    measure=measure_of(element, word),
                    value=float(value),
                    word=word,
                    marked=marked,
                    why=MARKED if marked else "",
                )
            )
    found += _own_keys(element, found)
    for quantity in QUANTITIES:
        if not any(rating.quantity == quantity for rating in found):
            found.append(_assumed(element, quantity, supply, alternating))
    return tuple(_of_track(element, found) if element.kind == "potentiometer" else found)


def against_direct(element: Element, rating: Rating) -> Rating:
    """A capacitor's AC rating as what a voltage without change of sign is held against: the crest of it, as a peak.

    An rms of the mains and a steady voltage are two kinds of stress. The dielectric stands the crest each half-cycle;
    how much more of DC it stands, its data sheet tells (class X ones mostly far more; from memory).
    """
    if element.kind != "capacitor" or rating.measure != "rms" or rating.quantity != "voltage" or rating.value is None:
        return rating
    why = f"the crest of the {rating.value:g} V AC it is rated for; its data sheet tells what it stands of DC"
    return replace(
        rating,
        measure="peak",
        value=math.sqrt(2.0) * rating.value,
        why=f"{why}; {rating.why}" if rating.why else why,
        crest=True,
    )


def _of_track(element: Element, found: list[Rating]) -> list[Rating]:
    """A track's power rating is that of the whole track: a piece of it may carry no more current than the whole."""
    power = next(rating for rating in found if rating.quantity == "power")
    current = next(rating for rating in found if rating.quantity == "current")
    if power.value is None or current.value is not None:
        return found
    amperes = math.sqrt(power.value / element.number("value"))
    why = "what its power rating allows the whole track"
    derived = replace(
        current,
        value=amperes,
        assumed=power.assumed,
        marked=power.marked,
        why=f"{why}; {power.why}" if power.why else why,
    )
    return [derived if rating is current else rating for rating in found]


_WORDS: Final[Mapping[str, Quantity]] = MappingProxyType(
    {
        "power": "power",
        "voltage": "voltage",
        "voltage_ac": "voltage",
        "current": "current",
        "current_rms": "current",
    }
)


def _own_keys(element: Element, found: list[Rating]) -> list[Rating]:
    """Ratings that the part's own keys are: a fuse's rated current, the power and voltage of a lamp."""
    have = {rating.quantity for rating in found}
    own: list[Rating] = []
    if element.kind == "fuse" and isinstance(element.values.get("rating"), float | int) and "current" not in have:
        own.append(Rating(quantity="current", measure="rms", value=element.number("rating"), word="rating"))
    if element.kind in ("lamp", "heater"):
        for quantity in ("power", "voltage"):
            if quantity not in have:
                own.append(
                    Rating(
                        quantity=quantity,
                        measure=measure_of(element, quantity),
                        value=element.number(quantity),
                        word=quantity,
                    )
                )
    return own


def _assumed(element: Element, quantity: Quantity, supply: Mains, alternating: bool) -> Rating:
    rule = _RULES.get((element.kind, quantity))
    value, why = rule(element, supply, alternating) if rule is not None else (None, "")
    word: str = quantity
    measure = measure_of(element, quantity)
    if element.kind == "capacitor" and quantity == "voltage" and alternating:
        word, measure = "voltage_ac", "rms"
    if element.kind == "varistor" and quantity == "voltage":
        word, measure = "voltage_ac", "rms"
    return Rating(
        quantity=quantity,
        measure=measure,
        value=value,
        word=word,
        assumed=value is not None,
        why=why if value is not None else "no rating recorded, and no rule of thumb for it",
    )


_Rule = Callable[[Element, Mains, bool], tuple[float | None, str]]


def _fixed(value: float, why: str) -> _Rule:
    return lambda _element, _supply, _alternating: (value, why)


def _mains_capacitor(_element: Element, supply: Mains, alternating: bool) -> tuple[float | None, str]:
    if not alternating:
        return None, ""
    if supply.dc is None and supply.voltage < 150.0:
        return 125.0, f"a film capacitor of the kind sold for such a mains; {_PRACTICE}"
    return DERATING.number("X2 capacitor at 230 V, rating"), f"an X2 capacitor at such a mains; {_PRACTICE}"


def _rectifier(_element: Element, supply: Mains, _alternating: bool) -> tuple[float | None, str]:
    if supply.dc is None and supply.voltage < 150.0:
        return 200.0, f"the least used at such a mains; {_PRACTICE}"
    return (
        DERATING.number("mains rectifier at 230 V, least rating"),
        f"the least used at such a mains, 1000 V types are common; {_PRACTICE}",
    )


def _triac_voltage(_element: Element, supply: Mains, _alternating: bool) -> tuple[float | None, str]:
    low = supply.dc is None and supply.voltage < 150.0
    return (400.0 if low else 600.0), f"usual at such a mains; {_PRACTICE}"


def _led_current(element: Element, _supply: Mains, _alternating: bool) -> tuple[float | None, str]:
    return 1.5 * element.number("test_current"), f"1.5 times the current its forward voltage is given at; {_PRACTICE}"


def _varistor_voltage(element: Element, _supply: Mains, _alternating: bool) -> tuple[float | None, str]:
    return element.number("voltage") / 1.56, f"its voltage at 1 mA over 1.56, as makers' tables have it; {_MEMORY}"


_RULES: Final[Mapping[tuple[str, Quantity], _Rule]] = MappingProxyType(
    {
        ("resistor", "power"): _fixed(0.25, f"a quarter-watt film resistor; {_PRACTICE}"),
        ("resistor", "voltage"): _fixed(
            DERATING.number("working voltage, quarter-watt film"), f"a quarter-watt film resistor; {_PRACTICE}"
        ),
        ("potentiometer", "power"): _fixed(0.2, f"a small carbon track; {_PRACTICE}"),
        ("potentiometer", "voltage"): _fixed(250.0, f"a small carbon track; {_PRACTICE}"),
        ("capacitor", "voltage"): _mains_capacitor,
        ("diode", "voltage"): _rectifier,
        ("diode", "current"): _fixed(1.0, f"a one-ampere rectifier; {_PRACTICE}"),
        ("bridge", "voltage"): _rectifier,
        ("bridge", "current"): _fixed(1.0, f"a one-ampere bridge; {_PRACTICE}"),
        ("led", "current"): _led_current,
        ("led", "voltage"): _fixed(5.0, f"what one LED stands backwards; {_PRACTICE}"),
        ("zener", "power"): _fixed(0.5, f"a small glass zener; {_PRACTICE}"),
        ("varistor", "power"): _fixed(0.25, f"a disc of 7 mm to 10 mm; {_MEMORY}"),
        ("varistor", "voltage"): _varistor_voltage,
        ("triac", "voltage"): _triac_voltage,
        ("triac", "current"): _fixed(4.0, f"the least sold for dimmers; {_PRACTICE}"),
        ("thyristor", "voltage"): _triac_voltage,
        ("thyristor", "current"): _fixed(0.8, f"the least sold in a small case; {_PRACTICE}"),
        ("regulator", "power"): _fixed(1.0, f"a small power case with some copper; {_PRACTICE}"),
        ("transistor", "power"): _fixed(0.5, f"a small plastic case; {_PRACTICE}"),
        ("mosfet", "power"): _fixed(1.0, f"a case without heat sink; {_PRACTICE}"),
    }
)
