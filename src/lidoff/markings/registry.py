"""The schemes, and the asking of them."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.bands import MOST_READINGS, confused_readings, decode_bands, readings_of
from lidoff.markings.capacitors import decode_capacitors
from lidoff.markings.colours import Bands, read_bands
from lidoff.markings.cords import decode_cords
from lidoff.markings.dates import decode_dates
from lidoff.markings.discs import decode_discs
from lidoff.markings.enclosures import decode_enclosures
from lidoff.markings.fuses import decode_fuses
from lidoff.markings.inductors import decode_inductors
from lidoff.markings.measuring import Measured, link_candidates, read_measured, weigh
from lidoff.markings.model import UNIT_OF_KIND, Candidate, Decoded, MarkingError
from lidoff.markings.potentiometers import decode_potentiometers
from lidoff.markings.resistors import decode_resistors
from lidoff.markings.seeing import Seen, see
from lidoff.markings.semiconductors import decode_semiconductors
from lidoff.markings.settling import identity, settle


class Scheme(NamedTuple):
    """One family of markings: its name, the kinds it can give, and its reader."""

    name: str
    kinds: frozenset[str]
    read: Callable[[Seen], list[Candidate]]


SCHEMES: Final = (
    Scheme(name="colour bands", kinds=frozenset({"resistor", "inductor", "fuse"}), read=decode_bands),
    Scheme(name="resistor codes", kinds=frozenset({"resistor"}), read=decode_resistors),
    Scheme(name="potentiometers", kinds=frozenset({"potentiometer"}), read=decode_potentiometers),
    Scheme(name="capacitor codes", kinds=frozenset({"capacitor"}), read=decode_capacitors),
    Scheme(name="inductor codes", kinds=frozenset({"inductor"}), read=decode_inductors),
    Scheme(name="fuses", kinds=frozenset({"fuse", "switch"}), read=decode_fuses),
    Scheme(name="discs", kinds=frozenset({"varistor", "thermistor"}), read=decode_discs),
    Scheme(
        name="type numbers",
        kinds=frozenset(
            {"diode", "bridge", "zener", "transistor", "mosfet", "triac", "thyristor", "diac", "led", "optocoupler"}
        ),
        read=decode_semiconductors,
    ),
    Scheme(name="cords", kinds=frozenset({"cord"}), read=decode_cords),
    Scheme(name="enclosures and symbols", kinds=frozenset({"enclosure", "symbol"}), read=decode_enclosures),
    Scheme(name="dates", kinds=frozenset({"date"}), read=decode_dates),
)

# A kind that is marked like another one: its readings are those of the other, given its own name.
_READ_AS: Final[Mapping[str, str]] = MappingProxyType({"choke": "inductor"})
# What a body can hold; ceramic chip capacitors carry no print, so a printed chip is rarely one. Common practice.
_BODY_KINDS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "axial": frozenset({"resistor", "inductor", "fuse", "diode", "zener", "link", "capacitor", "diac"}),
        "chip": frozenset({"resistor", "inductor", "diode", "zener", "transistor", "mosfet", "fuse", "bridge"}),
        "disc": frozenset({"capacitor", "varistor", "thermistor"}),
        "box": frozenset({"capacitor", "fuse", "bridge"}),
        "can": frozenset({"capacitor", "thyristor", "transistor"}),
        "tube": frozenset({"fuse", "diode", "zener", "diac"}),
        "cord": frozenset({"cord"}),
        "plate": frozenset({"enclosure", "symbol", "date"}),
    }
)
# Letters printed beside a part on the board (IEC 81346-2 and older habit; common practice).
_LETTER_KINDS: Final[Mapping[str, frozenset[str]]] = MappingProxyType(
    {
        "R": frozenset({"resistor", "thermistor", "link"}),
        "C": frozenset({"capacitor"}),
        "L": frozenset({"inductor", "choke", "link"}),
        "FB": frozenset({"inductor", "link"}),
        "F": frozenset({"fuse"}),
        "FU": frozenset({"fuse"}),
        "FR": frozenset({"fuse", "resistor"}),
        "D": frozenset({"diode", "zener", "bridge", "diac"}),
        "ZD": frozenset({"zener"}),
        "DZ": frozenset({"zener"}),
        "DB": frozenset({"bridge", "diac"}),
        "BR": frozenset({"bridge"}),
        "BD": frozenset({"bridge"}),
        "Q": frozenset({"transistor", "mosfet", "triac", "thyristor"}),
        "TR": frozenset({"transistor", "mosfet", "triac", "thyristor"}),
        "RV": frozenset({"varistor", "potentiometer"}),
        "VR": frozenset({"potentiometer", "varistor"}),
        "MOV": frozenset({"varistor"}),
        "ZNR": frozenset({"varistor"}),
        "VDR": frozenset({"varistor"}),
        "NTC": frozenset({"thermistor"}),
        "TH": frozenset({"thermistor"}),
        "RT": frozenset({"thermistor"}),
        "J": frozenset({"link", "resistor"}),
        "JP": frozenset({"link", "resistor"}),
    }
)
_OUT_OF_PLACE: Final = 0.05
_LEAST: Final = 1e-6
# A mistaken colour is proposed only where the measurement then fits.
_FITS: Final = 0.05


def decode(
    marking: str,
    *,
    kind: str | None = None,
    measured: str | float | None = None,
    measured_unit: str | None = None,
    body: str | None = None,
    ref: str | None = None,
) -> Decoded:
    """Everything a marking can mean, best first, with the reasons.

    `kind` narrows to one kind of part; `measured` is a bench measurement ("0.1 R", "98 nF", or a number in
    `measured_unit`: "ohm", "F", "H" or "V") that re-ranks; `body` ("axial", "chip", "disc", "box", "can", "tube") and
    `ref`, the reference printed beside the part ("R12", "F1"), lower what does not go with them.
    Raises MarkingError for an empty marking, an unknown kind or body, or a measurement that tells nothing.
    """
    seen = see(marking)
    _check_kind(kind)
    reading = read_measured(measured, measured_unit, kind)
    bands = read_bands(seen.text)
    everything = _gather(seen, bands, reading)
    unweighed = {identity(candidate): candidate.score for candidate in _gather(seen, bands, None)} if reading else {}
    candidates = _of_kind(everything, kind)
    if body is not None:
        candidates = _placed(candidates, _body_kinds(body), f"not what a part in a {body} body is")
    if ref is not None:
        letters = _LETTER_KINDS.get(ref.rstrip("0123456789").upper())
        if letters:
            candidates = _placed(candidates, letters, f"the reference {ref} on the board says otherwise")
    ranked = _ranked(candidates)
    options = None if bands is None else [band.options for band in bands.bands]
    settled, advice = settle(ranked, options, reading, narrowed=kind is not None or ref is not None)
    if (
        reading is not None
        and ranked
        and not any(one.score > 0.2 * unweighed.get(identity(one), 0.0) for one in ranked)
    ):
        advice = (
            f"Nothing the marking can mean goes with {reading.text()}: the part may have failed, other parts may lie "
            "across it, or the marking is misread; lift one leg, measure again and read it under a lens.",
        )
    if bands is not None and readings_of(bands) > MOST_READINGS:
        advice = ("Too many bands are unknown for a list to be of use; make out two of them at least.",)
    elif kind is not None and not ranked:
        advice = (_none_of_kind(kind, _ranked(everything)),)
    words = tuple((word,) for word in seen.words)
    return Decoded(
        marking=marking,
        seen=words if bands is None else tuple(band.options for band in bands.bands),
        candidates=tuple(ranked),
        settled=settled,
        would_settle=advice,
    )


def value_for(kind: str, marking: str) -> Candidate | None:
    """The best candidate of that kind, for a record that leaves a part's value out; None where there is none.

    None too for kinds that carry no marking known here. Raises MarkingError for an empty or overlong marking.
    """
    if kind not in UNIT_OF_KIND:
        return None
    candidates = decode(marking, kind=kind).candidates
    return next((candidate for candidate in candidates if candidate.value is not None), None)


def _check_kind(kind: str | None) -> None:
    if kind is None or kind in UNIT_OF_KIND:
        return
    near = difflib.get_close_matches(kind.lower(), UNIT_OF_KIND, n=1)
    hint = f'; did you mean "{near[0]}"?' if near else f"; known are {', '.join(UNIT_OF_KIND)}"
    raise MarkingError(f'"{kind}" is not a kind of part that carries a marking known here{hint}')


def _body_kinds(body: str) -> frozenset[str]:
    if body not in _BODY_KINDS:
        raise MarkingError(f'"{body}" is not a body known here; known are {", ".join(_BODY_KINDS)}')
    return _BODY_KINDS[body]


def _gather(seen: Seen, bands: Bands | None, measured: Measured | None) -> list[Candidate]:
    """What every scheme says, weighed by the measurement."""
    # A row of colours is nothing else; the other schemes would find letters in its words.
    schemes = SCHEMES[:1] if bands is not None else SCHEMES[1:]
    found = [candidate for scheme in schemes for candidate in scheme.read(seen)]
    if measured is None:
        return found
    weighed = [weigh(candidate, measured) for candidate in found]
    if bands is not None:
        if measured.unit == "ohm" and not any(c.kind == "resistor" and c.score > 0.05 for c in weighed):
            neighbours = (weigh(candidate, measured) for candidate in confused_readings(seen))
            weighed += [candidate for candidate in neighbours if candidate.score > _FITS]
        weighed += link_candidates(measured, banded=True)
    return weighed


def _of_kind(candidates: Iterable[Candidate], kind: str | None) -> list[Candidate]:
    """The candidates of a kind; a kind that is marked like another is given the other's readings as its own."""
    listed = list(candidates)
    if kind is None:
        return listed
    own = [candidate for candidate in listed if candidate.kind == kind]
    other = _READ_AS.get(kind)
    if other is not None:
        own += [replace(c, kind=kind) for c in listed if c.kind == other and "bands" not in c.more and c.value]
    return own


def _placed(candidates: Iterable[Candidate], kinds: frozenset[str], reason: str) -> list[Candidate]:
    return [
        candidate
        if candidate.kind in kinds
        else replace(candidate, score=candidate.score * _OUT_OF_PLACE, why=f"{candidate.why}; {reason}")
        for candidate in candidates
    ]


def _ranked(candidates: Iterable[Candidate]) -> list[Candidate]:
    """Best first; of readings that say the same, the best one only."""
    kept: list[Candidate] = []
    tolerances: dict[tuple[object, ...], set[float | None]] = {}
    for candidate in sorted(candidates, key=lambda one: -one.score):
        if candidate.score < _LEAST:
            break
        known = tolerances.setdefault(identity(candidate), set())
        if known and candidate.tolerance in (None, *known):
            continue
        known.add(candidate.tolerance)
        kept.append(candidate)
    return kept


def _none_of_kind(kind: str, others: list[Candidate]) -> str:
    if not others:
        return f"This marking is none of the {kind} markings known here; read it again under a lens."
    listed = "; ".join(f"{other.kind}: {other.text}" for other in others[:3])
    return f"This marking is none of the {kind} markings known here; as it stands it can be {listed}."
