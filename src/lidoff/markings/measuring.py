"""A bench measurement against what a marking can mean.

The measurement re-ranks and never removes: a reading that contradicts a candidate says so in its reason. The widths
allowed are rules of this program, for a hand-held meter with its leads subtracted; there is no source for them.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Final, NamedTuple

from lidoff.markings.building import build
from lidoff.markings.model import UNIT_OF_KIND, Candidate, MarkingError
from lidoff.markings.sources import Source
from lidoff.quantity import QuantityError, engineering, parse

UNITS: Final[Mapping[str, str]] = MappingProxyType(
    {"ohm": "resistance", "F": "capacitance", "H": "inductance", "V": "voltage"}
)
_LINK: Final = Source(document="bench measurement", note="common practice, no source")
_LEADS: Final = 0.2
_CONTRADICTS: Final = 0.001


class Measured(NamedTuple):
    """A measured value [unit], the unit being one of `UNITS`."""

    value: float
    unit: str

    def text(self) -> str:
        """For people, to three figures."""
        return engineering(self.value, self.unit)


def read_measured(value: str | float | None, unit: str | None, kind: str | None) -> Measured | None:
    """A measurement as given: "0.1 R", "98 nF", or a number with its unit or with a kind that implies one.

    Raises MarkingError where the value or its unit cannot tell markings apart.
    """
    if value is None:
        return None
    wanted = unit or (UNIT_OF_KIND.get(kind or "") if not isinstance(value, str) else None)
    if wanted is not None:
        if wanted not in UNITS:
            raise MarkingError(
                f'a measurement in "{wanted}" cannot tell markings apart; give ohms, farads, henries or volts'
            )
        try:
            return _checked(parse(value, wanted), wanted)
        except QuantityError as error:
            raise MarkingError(f"the measurement {error}") from error
    if not isinstance(value, str):
        raise MarkingError(
            f'the measurement {value:g} has no unit; write it as "{value:g} ohm" or with the unit it is in'
        )
    text = value.strip()
    bare = text.replace(".", "").replace(",", "").lstrip("-").isdigit()
    if bare:
        implied = UNIT_OF_KIND.get(kind or "")
        if implied is None or implied not in UNITS:
            raise MarkingError(
                f'the measurement "{text}" has no unit; write it as "{text} ohm" or with the unit it is in'
            )
        return _checked(parse(text, implied), implied)
    for candidate in UNITS:
        try:
            return _checked(parse(text, candidate), candidate)
        except QuantityError:
            continue
    raise MarkingError(f'the measurement "{text}" is not in ohms, farads, henries or volts; write it as "0.1 ohm"')


def _checked(value: float, unit: str) -> Measured:
    if value < 0:
        raise MarkingError(f"the measurement {value:g} {unit} is negative; swap the leads or give its size")
    return Measured(value=value, unit=unit)


def weigh(candidate: Candidate, measured: Measured) -> Candidate:
    """The candidate with its score and reason changed by a measurement."""
    factor, reason = _agreement(candidate, measured)
    return replace(candidate, score=candidate.score * factor, why=f"{candidate.why}; {reason}")


def link_candidates(measured: Measured, banded: bool) -> list[Candidate]:
    """What any two-lead part that measures as a wire can be: a link; a reading of its own, apart from the marking."""
    if measured.unit != "ohm" or measured.value > 0.5 or not banded:
        return []
    score = 0.05 if measured.value <= _LEADS else 0.02
    why = (f"measures {measured.text()}, as a wire does", "a link is marked with one black band as a rule")
    return [build("link", 0.0, source=_LINK, score=score, why=why, text="0 Ω link")]


def _agreement(candidate: Candidate, measured: Measured) -> tuple[float, str]:
    kind, value = candidate.kind, candidate.value
    if measured.unit == "ohm":
        return _on_ohms(candidate, measured)
    if measured.unit == "F":
        if kind == "capacitor" and value:
            factor, reason = _near(candidate, measured, max(candidate.tolerance or 0.2, 0.05) + 0.05)
            if factor < 0.3 and 0.2 * value < measured.value < value:
                return 0.3, f"{reason}: metallised film and electrolytic capacitors lose capacitance as they age"
            return factor, reason
        return _CONTRADICTS * 10, f"measures {measured.text()} on the capacitance range"
    if measured.unit == "H":
        if kind in ("inductor", "choke") and value:
            return _near(candidate, measured, max(candidate.tolerance or 0.2, 0.1) + 0.1)
        return _CONTRADICTS * 10, f"measures {measured.text()} on the inductance range"
    return _on_volts(candidate, measured)


def _near(candidate: Candidate, measured: Measured, width: float) -> tuple[float, str]:
    """Agreement of a measured with a marked value, `width` (share) being allowed without comment."""
    value = candidate.value or 0.0
    if value == 0 or measured.value == 0:
        same = abs(value - measured.value) <= 0.5
        return (1.0, "the measurement agrees") if same else (_CONTRADICTS, f"measures {measured.text()}")
    ratio = measured.value / value
    if abs(ratio - 1.0) <= width:
        return 1.0, f"measures {measured.text()}, within what its marking allows"
    off = abs(math.log(ratio)) / math.log(1.0 + width)
    factor = max(_CONTRADICTS, math.exp(-0.5 * (off * off - 1.0)))
    times = f"{_round(ratio)} times" if ratio >= 0.01 else f"a {_round(1.0 / ratio)}th of"
    return factor, f"measures {measured.text()}, {times} the marked value"


def _round(number: float) -> str:
    """Two figures, large numbers in groups of three."""
    return f"{float(f'{number:.1e}'):,.0f}".replace(",", " ") if number >= 100 else f"{number:.2g}"


def _on_ohms(candidate: Candidate, measured: Measured) -> tuple[float, str]:
    kind, value = candidate.kind, candidate.value
    said = measured.text()
    if kind in ("resistor", "thermistor", "potentiometer"):
        width = {"resistor": 0.03, "thermistor": 0.1, "potentiometer": 0.05}[kind] + (candidate.tolerance or 0.05)
        if value is not None and abs(measured.value - value) <= _LEADS:
            return 1.0, f"measures {said}, which agrees"
        factor, reason = _near(candidate, measured, width)
        if value and measured.value < value and kind != "potentiometer" and factor < 1.0:
            reason += "; in circuit other paths can lower it, so lift one leg"
            factor = max(factor, 0.02) if measured.value > 0.3 * value else factor
        return factor, reason
    if kind == "fuse":
        # A fuse drops some tenths of a volt to a volt at its rated current.
        limit = max(0.2, 1.0 / value) if value else 1.0
        if measured.value <= limit:
            return 1.0, f"measures {said}, as an intact fuse does"
        if measured.value <= 5 * limit:
            return 0.3, f"measures {said}, high for a fuse of this rating"
        return 0.02, f"measures {said}: not a fuse, or one that has blown"
    if kind == "link":
        return 1.0, ""
    if kind in ("inductor", "choke") and value:
        usual = 1.0 * (value / 100e-6) ** 0.75
        if usual / 12.0 <= measured.value <= usual * 12.0:
            return 1.0, f"measures {said}, a winding resistance such a part has"
        if measured.value <= usual * 100.0:
            return 0.35, f"measures {said}, which a winding of that inductance hardly has"
        return 0.01, f"measures {said}, too much for a winding"
    if kind == "switch":
        return (1.0, "measures as a closed contact") if measured.value < 1.0 else (0.3, f"measures {said}")
    if kind in ("capacitor", "varistor", "diac"):
        if measured.value >= 1e6:
            return 1.0, f"measures {said}, as it should when whole"
        if measured.value < 1e4:
            return 0.02, f"measures {said}: only if it is shorted"
        return 0.05, f"measures {said}: only if it leaks or other paths lie across it"
    if kind in ("cord", "enclosure", "symbol", "date"):
        return 0.5, "the measurement does not bear on it"
    if measured.value < 1.0:
        return 0.05, f"measures {said}: only if it is shorted"
    return 0.5, f"measures {said}, which tells little about a junction"


def _on_volts(candidate: Candidate, measured: Measured) -> tuple[float, str]:
    kind, said = candidate.kind, measured.text()
    if kind == "zener" and candidate.value:
        if measured.value < 1.0:
            return 0.6, f"measures {said}, its forward drop, which any diode has"
        return _near(candidate, measured, (candidate.tolerance or 0.05) + 0.05)
    if kind in ("varistor", "diac") and candidate.value:
        return _near(candidate, measured, (candidate.tolerance or 0.15) + 0.05)
    if kind in ("diode", "bridge", "transistor"):
        if 0.1 <= measured.value <= 1.2:
            return 1.0, f"measures {said} on the diode range, as a junction does"
        return 0.05, f"measures {said}, not a junction's forward drop"
    if kind == "led":
        return (1.0, f"measures {said}") if 1.4 <= measured.value <= 4.0 else (0.1, f"measures {said}")
    return 0.05, f"measures {said} across it, which such a part does not hold"
