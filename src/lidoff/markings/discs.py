"""Discs: varistors ("10D471K", "471KD10", "471K") and thermistors ("5D-9", "NTC 10D-11", "103 3950")."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Final

from lidoff.markings.building import build, even, series_weight, shown
from lidoff.markings.disc_tables import DISC_SIZES, thermistor_row, varistor_for_ac, varistor_row
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import CHIP_DIGITS, NTC_DISC, RKM, VARISTOR_AC, VARISTOR_DISC
from lidoff.markings.tolerances import tolerance_of
from lidoff.quantity import QuantityError, parse

_CODE: Final = r"(?P<digits>[1-9]\d)(?P<power>[0-3])(?P<tolerance>[JKLM])?"
_VARISTOR: Final = (
    re.compile(rf"(?:[A-Z]{{0,4}}-?)(?P<disc>\d{{1,2}})(?P<shape>[DNVST])-?{_CODE}"),
    re.compile(rf"(?:[A-Z]{{0,4}}-?)?{_CODE}-?(?P<shape>D)-?(?P<disc>\d{{1,2}})"),
    re.compile(rf"(?:[A-Z]{{0,4}}-?)?{_CODE}-?(?P<disc>05|07|10|14|20|25)(?P<shape>D)"),
    re.compile(rf"[A-Z]{{2,4}}-?(?P<disc>05|07|10|14|20|25)(?P<shape>){_CODE}"),
    re.compile(rf"(?:MOV|ZNR|VDR)-?(?P<disc>\d{{0,2}})(?P<shape>D?)-?{_CODE}"),
    re.compile(rf"(?P<disc>0?5|0?7|10|14|20|25)(?P<shape>K){_CODE}"),
)
_PLAIN: Final = re.compile(_CODE)
_BY_AC: Final = re.compile(r"(?:[A-Z]{0,2})(?P<disc>05|07|10|14|20|25)K(?P<ac>\d{2,3})")
_NTC: Final = re.compile(r"(?:NTC|MF\d\d|MF)?-?(?P<cold>\d{1,3}(?:\.\d)?)D2?-?(?P<disc>\d{1,2})(?P<tolerance>[KLM])?")


def decode_discs(seen: Seen) -> list[Candidate]:
    """Every reading of a text as a varistor or a thermistor."""
    return [*_varistors(seen), *_inrush(seen), *_sensors(seen)]


def _varistors(seen: Seen) -> Iterator[Candidate]:
    code = seen.upper
    for pattern in _VARISTOR:
        match = pattern.fullmatch(code)
        if match:
            disc = int(match["disc"]) if match["disc"] else 0
            if match["shape"] in ("N", "V", "S", "T") and not match["tolerance"]:
                return
            usual = disc in DISC_SIZES and match["shape"] != "K"
            yield _varistor(match, disc, 0.95 if usual else 0.5)
            return
    match = _PLAIN.fullmatch(code)
    if match:
        # A blue or yellow disc with three digits and K and nothing else; without the letter it is hardly one.
        yield _varistor(match, 0, 0.22 if match["tolerance"] else 0.03)
    match = _BY_AC.fullmatch(code)
    row = varistor_for_ac(float(match["ac"])) if match else None
    if match and row:
        disc = int(match["disc"])
        why = (f"disc of {disc} mm, K is 10 %, {match['ac']} V the largest continuous mains voltage",)
        more = {"voltage_ac": row.ac, "voltage_dc": row.dc, "diameter": disc / 1000.0}
        extra = f"at 1 mA, {disc} mm disc, for {row.ac:g} V ac"
        yield build(
            "varistor", row.voltage, source=VARISTOR_AC, score=0.8, why=why, tolerance=even(0.1), extra=extra, more=more
        )


def _varistor(match: re.Match[str], disc: int, score: float) -> Candidate:
    voltage = float(f"{match['digits']}e{match['power']}")
    letter = match["tolerance"]
    tolerance = even(0.15) if letter == "L" else (tolerance_of(letter) if letter else None)
    why = [f"three digits: {voltage:g} V at 1 mA"]
    more: dict[str, object] = {}
    extra = "at 1 mA"
    if disc:
        why.append(f"disc of {disc} mm" + ("" if disc in DISC_SIZES else ", which is not a usual size"))
        more["diameter"] = disc / 1000.0
        extra += f", {disc} mm disc"
    if tolerance:
        why.append(f"{letter} is {tolerance.text()}")
    row = varistor_row(voltage)
    if row:
        more |= {"voltage_ac": row.ac, "voltage_dc": row.dc}
        extra += f", for {row.ac:g} V ac"
        why.append(f"such parts stand {row.ac:g} V ac all the time")
    elif voltage > 1800:
        score = 0.0
    else:
        score *= 0.2
        why.append("not a varistor voltage on the usual list")
    return build(
        "varistor", voltage, source=VARISTOR_DISC, score=score, why=why, tolerance=tolerance, extra=extra, more=more
    )


def _inrush(seen: Seen) -> Iterator[Candidate]:
    match = _NTC.fullmatch(seen.upper)
    if match is None:
        return
    cold, disc = float(match["cold"]), int(match["disc"])
    if cold == 0 or disc not in DISC_SIZES:
        return
    why = [f"{cold:g} Ω at 25 °C on a disc of {disc} mm"]
    letter = match["tolerance"]
    tolerance = {"K": even(0.1), "L": even(0.15), "M": even(0.2), None: even(0.2)}[letter]
    if letter is None:
        why.append("20 % is usual for them, not marked")
    more: dict[str, object] = {"diameter": disc / 1000.0}
    extra = f"at 25 °C, {disc} mm disc"
    row = thermistor_row(cold, disc)
    if row:
        more |= {"current": row.current, "hot": row.hot}
        extra += f", {row.current:g} A"
        why.append(f"the catalogues give {row.current:g} A and {row.hot:g} Ω hot")
    score = 0.95 if cold <= 400 else 0.3
    yield build("thermistor", cold, source=NTC_DISC, score=score, why=why, tolerance=tolerance, extra=extra, more=more)


def _sensors(seen: Seen) -> Iterator[Candidate]:
    """Sensing thermistors: "NTC 103", "103", "10K 3950", "103F3950"."""
    match = re.fullmatch(
        r"(?P<name>NTC|PTC)?[ -]?(?:(?P<digits>[1-9]\d)(?P<power>[0-6])|(?P<value>\d+(?:\.\d+)?[RK]\d*))"
        r"(?P<tolerance>[FGHJK])?[ -]?(?:B=?)?(?P<beta>[2-4]\d{3})?",
        seen.text.upper(),
    )
    if match is None:
        return
    if match["digits"]:
        cold = float(f"{match['digits']}e{match['power']}")
        source = CHIP_DIGITS
    else:
        try:
            cold = parse(match["value"], "ohm")
        except QuantityError:
            return
        source = RKM
    if cold <= 0:
        return
    series, reason = series_weight(cold, None)
    more: dict[str, object] = {"type": match["name"]} if match["name"] else {}
    extra = "at 25 °C"
    if match["beta"]:
        more["beta"] = float(match["beta"])
        extra += f", B {match['beta']} K"
    score = (0.9 if match["name"] or match["beta"] else 0.04) * series
    tolerance = tolerance_of(match["tolerance"]) if match["tolerance"] else None
    why = (f"{shown(cold, 'ohm')} at 25 °C, as on sensing thermistors", reason)
    yield build("thermistor", cold, source=source, score=score, why=why, tolerance=tolerance, extra=extra, more=more)
