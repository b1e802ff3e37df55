"""Colour bands: resistors of one to six bands, moulded inductors of three to five, miniature fuses of three or four.

Each is tried from either end and with every colour that was thought possible; what the E series and the usual sizes
say against a reading lowers it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, product
from math import prod
from typing import Final

from lidoff.markings.building import OFF_SERIES, build, even, range_weight, series_weight, shown
from lidoff.markings.colours import COLOURS, CONFUSED, Bands, read_bands
from lidoff.markings.fuse_tables import SPEED_OF_COLOUR, SPEEDS, banded_current
from lidoff.markings.model import Candidate
from lidoff.markings.seeing import Seen
from lidoff.markings.sources import COLOUR_CODE, FUSE_BANDS, INDUCTOR_BANDS, INDUCTOR_MIL

MOST_READINGS: Final = 2000
# How often each tolerance colour is met, by number of bands (common practice, no source).
_USUAL_TOLERANCE: Final = {
    4: {"gold": 1.0, "silver": 0.7, "red": 0.35, "brown": 0.35, "green": 0.05, "blue": 0.05, "violet": 0.05},
    5: {"brown": 1.0, "red": 0.5, "green": 0.3, "violet": 0.3, "blue": 0.25, "gold": 0.25, "silver": 0.15},
}
_RESISTOR_SIZES: Final = ((0.1, 22e6), (0.001, 1e9))
_INDUCTOR_SIZES: Final = ((0.1e-6, 100e-3), (1e-9, 1.0))
_ENDS: Final = "a reading from the other end"


def decode_bands(seen: Seen) -> list[Candidate]:
    """Every reading of a row of colours as resistor, inductor or fuse."""
    bands = read_bands(seen.text)
    if bands is None or readings_of(bands) > MOST_READINGS:
        return []
    found = list(_readings(bands))
    best = max((candidate.score for candidate in found if candidate.kind == "resistor"), default=0.0)
    if 3 <= len(bands.bands) <= 6 and best < 0.1 and readings_of(bands) <= 20:
        found += _neighbours(bands)
    return found


def readings_of(bands: Bands) -> int:
    """In how many ways the bands can be read one way round: the product of the colours thought possible."""
    return prod(len(band.options) for band in bands.bands)


def confused_readings(seen: Seen) -> list[Candidate]:
    """Resistors that the bands would be if one colour were mistaken; for when a measurement fits none of those seen."""
    bands = read_bands(seen.text)
    return [] if bands is None or readings_of(bands) > 20 else list(_neighbours(bands))


def _readings(bands: Bands) -> Iterator[Candidate]:
    """Both ways round; a row that reads the same from either end is given once."""
    for turned, row in ((False, bands), (True, bands.reversed())):
        if turned and row.bands == bands.bands:
            continue
        direction, note = _direction(bands, turned)
        options = (band.options for band in row.bands)
        for colours in product(*options):
            notes = (note, _taken(row, colours))
            wide = tuple(band.wide for band in row.bands)
            yield from (
                *_resistors(colours, direction, notes),
                *_inductors(colours, wide, direction, notes),
                *_fuses(colours, wide, direction, notes),
            )


def _direction(bands: Bands, turned: bool) -> tuple[float, str]:
    """Weight of this way round: decisive where one band stands off, mild where it is only the order as written."""
    if bands.gap_before is not None:
        stands_off_last = bands.gap_before == len(bands.bands) - 1
        stands_off_first = bands.gap_before == 1
        if stands_off_last or stands_off_first:
            fits = stands_off_last != turned
            return (
                (1.0, "the band that stands off is last") if fits else (0.02, "the band that stands off would be first")
            )
    return (0.6, _ENDS) if turned else (1.0, "")


def _taken(bands: Bands, colours: tuple[str, ...]) -> str:
    """Says which colours were taken where more than one was possible."""
    doubtful = [
        f"band {place} taken as {colour}"
        for place, (band, colour) in enumerate(zip(bands.bands, colours, strict=True), 1)
        if len(band.options) > 1
    ]
    return ", ".join(doubtful)


def _digits(colours: tuple[str, ...]) -> int | None:
    digits = [COLOURS[colour].digit for colour in colours]
    if None in digits:
        return None
    return int("".join(str(digit) for digit in digits))


def _resistors(colours: tuple[str, ...], direction: float, notes: tuple[str, ...]) -> Iterator[Candidate]:
    count = len(colours)
    if count == 1 and colours[0] == "black":
        yield build(
            "resistor",
            0.0,
            source=COLOUR_CODE,
            score=0.9,
            why=("a single black band marks a link of zero ohms", *notes),
            text="0 Ω link",
            more={"bands": colours},
        )
    if count == 3:
        yield from _resistor(colours, 2, None, None, 0.35 * direction, ("three bands: no tolerance band, 20 %", *notes))
    if count == 4:
        weight = _USUAL_TOLERANCE[4].get(colours[3], 0.02) * direction
        yield from _resistor(colours, 2, 3, None, weight, ("four bands", *notes))
    if count == 5:
        weight = _USUAL_TOLERANCE[5].get(colours[4], 0.05) * direction
        yield from _resistor(colours, 3, 4, None, weight, ("five bands", *notes))
        if colours[3] in ("gold", "silver"):
            reason = "two digits, multiplier, tolerance and a temperature coefficient: an older habit"
            yield from _resistor(colours, 2, 3, 4, 0.1 * direction, (reason, *notes))
    if count == 6:
        weight = max(0.2, _USUAL_TOLERANCE[5].get(colours[4], 0.05)) * direction
        yield from _resistor(colours, 3, 4, 5, weight, ("six bands: the last is the temperature coefficient", *notes))


def _resistor(
    colours: tuple[str, ...],
    digits: int,
    tolerance_at: int | None,
    coefficient_at: int | None,
    weight: float,
    why: tuple[str, ...],
) -> Iterator[Candidate]:
    """One resistor of that layout, if every colour means something in its place."""
    number = _digits(colours[:digits])
    power = COLOURS[colours[digits]].power
    share = 0.2 if tolerance_at is None else COLOURS[colours[tolerance_at]].tolerance
    coefficient = None if coefficient_at is None else COLOURS[colours[coefficient_at]].coefficient
    if number is None or number == 0 or power is None or share is None:
        return
    if coefficient_at is not None and coefficient is None:
        return
    value = float(f"{number}e{power}")
    series, series_reason = series_weight(value, share)
    size, size_reason = range_weight(value, *_RESISTOR_SIZES)
    zero = 0.05 if COLOURS[colours[0]].digit == 0 else 1.0
    more: dict[str, object] = {"bands": colours}
    extra = ""
    if coefficient is not None:
        more["temperature_coefficient"] = coefficient
        extra = f"{coefficient * 1e6:g} ppm/K"
    yield build(
        "resistor",
        value,
        source=COLOUR_CODE,
        score=weight * series * size * zero,
        why=(
            *why,
            f"{shown(value, 'ohm')} is {series_reason}",
            size_reason,
            "starts with a nought" if zero < 1 else "",
        ),
        tolerance=even(share),
        extra=extra,
        more=more,
        off_list=series == OFF_SERIES,
    )


def _inductors(
    colours: tuple[str, ...], wide: tuple[bool, ...], direction: float, notes: tuple[str, ...]
) -> Iterator[Candidate]:
    """Moulded inductors, in microhenries: EIA bands, and the military ones that start with a wide silver band."""
    count = len(colours)
    if count in (3, 4):
        number, power = _digits(colours[:2]), COLOURS[colours[2]].power
        share = _inductor_tolerance(colours[3]) if count == 4 else 0.2
        if number and power is not None and share is not None and COLOURS[colours[0]].digit:
            weight = (0.08 if count == 4 else 0.05) * direction
            yield _inductor(float(f"{number}e{power - 6}"), share, weight, colours, ("as inductor bands", *notes))
    if count == 5 and colours[0] == "silver":
        share = _inductor_tolerance(colours[4])
        value = _military(colours[1:4])
        if share is not None and value:
            weight = 0.6 * direction * (1.5 if wide[0] else (0.05 if any(wide) else 1.0))
            why = ("a first band of silver marks a military inductor", *notes)
            yield _inductor(value, share, weight, colours, why, military=True)


def _inductor_tolerance(colour: str) -> float | None:
    """EIA inductor bands have black for 20 %; the rest as resistors, orange 3 % and yellow 4 %."""
    special = {"black": 0.2, "orange": 0.03, "yellow": 0.04}
    return special.get(colour, COLOURS[colour].tolerance)


def _military(colours: tuple[str, ...]) -> float | None:
    """Inductance [H] of the three middle bands; gold among the first two is the decimal point."""
    if "gold" in colours[:2]:
        text = "".join("." if colour == "gold" else str(COLOURS[colour].digit) for colour in colours)
        return float(f"{text}e-6") if text.count(".") == 1 and "None" not in text else None
    number, power = _digits(colours[:2]), COLOURS[colours[2]].power
    return None if not number or power is None else float(f"{number}e{power - 6}")


def _inductor(
    value: float,
    share: float,
    weight: float,
    colours: tuple[str, ...],
    why: tuple[str, ...],
    military: bool = False,
) -> Candidate:
    series, series_reason = series_weight(value, max(share, 0.05))
    size, size_reason = range_weight(value, *_INDUCTOR_SIZES)
    return build(
        "inductor",
        value,
        source=INDUCTOR_MIL if military else INDUCTOR_BANDS,
        score=min(1.0, weight * series * size),
        why=(*why, f"{shown(value, 'H')} is {series_reason}", size_reason),
        tolerance=even(share),
        more={"bands": colours},
        off_list=series == OFF_SERIES,
    )


def _fuses(
    colours: tuple[str, ...], wide: tuple[bool, ...], direction: float, notes: tuple[str, ...]
) -> Iterator[Candidate]:
    """Miniature fuses: two digits and a multiplier in milliamperes, and a wide band for the speed."""
    if len(colours) not in (3, 4) or any(wide[:3]):
        return
    number, power = _digits(colours[:2]), COLOURS[colours[2]].power
    if not number or power is None or number < 10:
        return
    speed = SPEED_OF_COLOUR.get(colours[3]) if len(colours) == 4 else None
    if len(colours) == 4 and speed is None:
        return
    current, listed = banded_current(number, power)
    if not 0.03 <= current <= 20.0:
        return
    weight = 0.1 if speed is None else (1.0 if wide[3] else 0.3)
    reasons = ["as fuse bands, in milliamperes"]
    if speed is None:
        reasons.append("the fourth, wide band that gives the speed is missing")
    elif not wide[3]:
        reasons.append("the fourth band of a fuse is a wide one")
    if not listed:
        reasons.append(f"{shown(current, 'A')} is not on the list of rated currents")
        weight *= 0.2
    elif abs(current - float(f"{number}e{power - 3}")) > 1e-9:
        reasons.append(f"the bands give the first two digits of {shown(current, 'A')} only")
    more: dict[str, object] = {"bands": colours}
    extra = ""
    if speed is not None:
        more |= {"speed": SPEEDS[speed].name, "letter": speed}
        extra = f"{SPEEDS[speed].name} ({speed})"
    yield build(
        "fuse",
        current,
        source=FUSE_BANDS,
        score=weight * direction,
        why=(*reasons, *notes),
        extra=extra,
        more=more,
        off_list=not listed,
    )


def _neighbours(bands: Bands) -> Iterator[Candidate]:
    """Resistors on the list that are one mistaken colour away from the bands as seen."""
    for place, band in enumerate(bands.bands):
        for colour in dict.fromkeys(other for option in band.options for other in CONFUSED[option]):
            if colour in band.options:
                continue
            changed = list(bands.bands)
            changed[place] = type(band)(options=(colour,), wide=band.wide)
            note = f"if band {place + 1} is {colour} and not {'/'.join(band.options)}"
            as_seen = Bands(bands=tuple(changed), gap_before=bands.gap_before)
            for turned, row in ((False, as_seen), (True, as_seen.reversed())):
                direction, _ = _direction(as_seen, turned)
                options = (one.options for one in row.bands)
                for colours in islice(product(*options), 200):
                    for candidate in _resistors(colours, 0.25 * direction, (note,)):
                        if candidate.score >= 0.05:
                            yield replace(candidate, more={**candidate.more, "supposes": note})
