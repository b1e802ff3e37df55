"""Whether a list of candidates is settled, and what would settle it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from lidoff.markings.measuring import Measured
from lidoff.markings.model import Candidate
from lidoff.quantity import engineering

# A candidate may be taken when it is plausible in itself and this many times likelier than the next different one.
_PLAUSIBLE: Final = 0.15
_PLAUSIBLE_OF_KIND: Final = 0.02
_AHEAD: Final = 5.0
_CAUTION: Final = "with the item unplugged, its capacitors discharged and one leg lifted"

_BODIES: Final = {
    "resistor": "a resistor is a rod with caps or a black chip",
    "capacitor": "a capacitor is a disc, a box, a can or a tan chip without a print as a rule",
    "inductor": "a moulded inductor is a thick rod, often green, or a drum with visible wire",
    "fuse": "a fuse is a clear or ceramic tube, or a rod marked F on the board",
    "varistor": "a varistor is a flat disc, mostly blue or yellow, across the mains",
    "thermistor": "an inrush thermistor is a disc, mostly dark green or black, in series with the mains",
    "diode": "a diode has one band at its cathode",
    "zener": "a zener is mostly a small glass body with one band",
    "potentiometer": "a potentiometer has three pins and a shaft",
    "date": "a date code stands apart from the value",
    "cord": "a cord print repeats along the sheath",
}
_MEASURES: Final = {
    "resistor": "ohm",
    "thermistor": "ohm",
    "potentiometer": "ohm",
    "capacitor": "F",
    "inductor": "H",
    "choke": "H",
}
_RANGES: Final = {"ohm": "resistance", "F": "capacitance", "H": "inductance"}


def identity(candidate: Candidate) -> tuple[object, ...]:
    """What a candidate says of the part, as far as it matters whether two say the same: kind, value, taper."""
    value = candidate.text if candidate.value is None else f"{candidate.value:.6e}"
    return candidate.kind, value, candidate.more.get("taper")


def rivals(candidates: Sequence[Candidate]) -> list[Candidate]:
    """The candidates near enough to the first to keep it from being settled."""
    if not candidates:
        return []
    best = candidates[0]
    own = identity(best)
    return [other for other in candidates[1:] if identity(other) != own and other.score * _AHEAD > best.score]


def settle(
    candidates: Sequence[Candidate],
    bands: Sequence[Sequence[str]] | None,
    measured: Measured | None,
    narrowed: bool = False,
) -> tuple[bool, tuple[str, ...]]:
    """Whether the first candidate may be taken, and the sentences that say what would settle it if not.

    `bands` are the colours seen, each with its alternatives, where the marking is a row of bands; `narrowed` says that
    the kind of part is known, so that a reading rare among all kinds may still be taken.
    A value on no list of made values, and a reading that supposes a mistaken colour, are never taken as they stand.
    """
    if not candidates:
        return False, ()
    best = candidates[0]
    against = rivals(candidates)
    supposes = best.more.get("supposes")
    plausible = best.score >= (_PLAUSIBLE_OF_KIND if narrowed else _PLAUSIBLE) and "off_list" not in best.more
    if not against and plausible and not supposes:
        return True, ()
    advice: list[str] = []
    if supposes:
        advice.append(f"Look at the bands again in daylight: {best.text} fits only {supposes}.")
    elif "off_list" in best.more:
        advice.append(f"Read the marking again under a lens: {best.text} is not a value that is made.")
    elif not against:
        advice.append(f"Read the marking again under a lens: {best.text} is the only reading, and an unlikely one.")
    doubtful = _doubtful_bands(best, against, bands)
    if doubtful:
        advice.append(doubtful)
    if bands and any("from the other end" in other.why for other in (best, *against)):
        advice.append("Find the end: the tolerance band stands off from the others or is gold or silver.")
    advice += _by_kind(best, against, bands, measured)
    if not advice:
        advice.append("Read the marking again under a lens, in daylight.")
    return False, tuple(dict.fromkeys(advice))


def _doubtful_bands(best: Candidate, against: Sequence[Candidate], bands: Sequence[Sequence[str]] | None) -> str | None:
    """Names the bands whose colour decides, with what each colour would make of it."""
    if not bands:
        return None
    open_bands = [place for place, options in enumerate(bands) if len(options) > 1]
    confusable = any("supposes" in other.more for other in (best, *against))
    if open_bands:
        place = open_bands[0]
        shown = " or ".join(bands[place]) if len(bands[place]) <= 4 else "which colour it is"
        texts = [best.text, *(other.text for other in against[:3])]
        return f"See band {place + 1} in daylight beside a part you are sure of: {shown} ({' / '.join(texts)})."
    if confusable:
        return "Compare brown with red and orange, blue with violet, and grey with white in daylight."
    return None


def _by_kind(
    best: Candidate, against: Sequence[Candidate], bands: Sequence[Sequence[str]] | None, measured: Measured | None
) -> list[str]:
    advice: list[str] = []
    kinds = list(dict.fromkeys(candidate.kind for candidate in (best, *against)))
    if bands and len(bands) == 3 and "fuse" in kinds:
        advice.append(
            "Look for a fourth, wide band: a fuse has one for its speed; and for an F beside it on the board."
        )
    if len(kinds) > 1:
        bodies = [_BODIES[kind] for kind in kinds[:3] if kind in _BODIES]
        if bodies:
            advice.append(f"Look at the body and the letter printed beside it: {'; '.join(bodies)}.")
    if len({candidate.more.get("taper") for candidate in (best, *against)}) > 1 and kinds == ["potentiometer"]:
        advice.append(
            "Turn it half way and measure from an end to the wiper: half the track is linear, a tenth is log."
        )
    elif measured is None:
        told = _measurement(best, against)
        if told:
            advice.append(told)
    elif len(kinds) > 1 and measured.unit == "ohm" and measured.value < 1.0:
        advice.append(
            "Lift one leg and measure inductance: a choke shows microhenries to millihenries, a fuse or a link none."
        )
    elif len(kinds) == 1:
        advice.append(f"Lift one leg and measure again: {measured.text()} does not decide between these.")
    return advice


def _measurement(best: Candidate, against: Sequence[Candidate]) -> str | None:
    """The measurement that tells the first candidates apart, with what each would show."""
    shows: list[str] = []
    for candidate in (best, *against[:3]):
        if candidate.kind == "fuse":
            shows.append(f"a fuse under {engineering(max(0.2, 1.0 / (candidate.value or 1.0)), 'ohm', 1)}")
        elif candidate.kind in _MEASURES and candidate.value is not None:
            unit = _MEASURES[candidate.kind]
            shows.append(f"{candidate.kind} {engineering(candidate.value, unit, 2)}")
    if len(dict.fromkeys(shows)) < 2 and not (shows and len(against) > 0):
        return None
    listed = ", ".join(dict.fromkeys(shows))
    return f"Measure it {_CAUTION}, the resistance of the leads subtracted: {listed}."
