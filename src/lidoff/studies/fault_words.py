"""What a fault comes to, in one sentence, and how bad that is on a scale of four.

4: somebody can touch what may kill, or a dead short has nothing that clears it. 3: fire, bursting, a burn or a shock is
likely. 2: a part is over its rating, or the light does harm. 1: it goes dark, dims, or nothing is noticed. The scale is
our own, with the number of steps of Delegated Regulation (EU) 2024/3173; it judges the fault once it is there, not how
likely it is.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from lidoff.quantity import engineering
from lidoff.studies.fault_effects import BARE_END, Exposure, FuseVerdict, Overstress
from lidoff.studies.thermal import BURNS, CHARS, SOLDER, ZERO

_CLEARS_WITHIN: Final = 10.0  # [s] a fuse that takes longer does not keep parts from getting hot
_DEAD_SHORT: Final = 30.0  # [A rms] from here on an arc or a burning track is to be expected (from memory)
_LOUD: Final = 5.0  # [percent] modulation below 90 Hz that is not to be exceeded (IEEE 1789-2015, practice 3)
_SLOW: Final = 90.0  # [Hz]
_BURSTS: Final = 1.5  # times its rated voltage at which a capacitor bursts or burns (common practice, no source)
_SURGE: Final = 20.0  # [A] peak at switch-on that is worth telling
_MORE: Final = 1.5  # times the sound circuit's peak from which the one is told beside the other (our choice)
_GONE_OUT: Final = 0.01  # the share of its light below which a lamp counts as out (our choice)
_JUST_OVER: Final = 1.05  # times a rating up to which the figure would only read "1 times"
_DEEPER: Final = 15.0  # [percent] of modulation more than before that is worth telling
# Times its rated current at which an LED lasts no longer than moments: no light is to be told then. A pulse of tens of
# microseconds may be as large, a mean of the cycle may not (common practice, no source).
_DIES: Final = 5.0
_TOUCHED: Final = ("by hand", "test finger", "?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Everything that was worked out about one fault, for the sentence and the severity.

    `given` and `light` are input and light figures with the fault, `sound_power` [W] and `sound_light` those of the
    circuit without it; so are `first_peak` and `sound_first_peak` [A], the highest current after switch-on from rest,
    and the `hard` ones, on a mains without its assumed coil. `pins_after` [s] is how long the pins stay above 34 V
    because of the fault, infinite where that is longer than was looked at; `water` is the current [A rms] through the
    water and the heat in it [W].
    """

    part: str
    words: str
    given: Mapping[str, Any] | None
    light: Mapping[str, Any] | None
    sound_power: float
    sound_light: Mapping[str, Any] | None
    first_peak: float
    sound_first_peak: float
    hard_peak: float
    sound_hard_peak: float
    over: tuple[Overstress, ...]
    fuses: tuple[FuseVerdict, ...]
    touched: tuple[Exposure, ...]
    live: tuple[str, ...]
    is_off: bool
    pins_after: float | None
    water: tuple[float, float] | None
    settled: bool
    problem: str | None

    @property
    def fuse(self) -> FuseVerdict | None:
        """The fuse that acts first, or that would have to."""
        return self.fuses[0] if self.fuses else None

    @property
    def opens(self) -> bool:
        """Whether a fuse must open, to be relied on or not."""
        return self.fuse is not None and self.fuse.opens is True

    @property
    def cleared(self) -> bool:
        """Whether a fuse that can be relied on opens soon."""
        fuse = self.fuse
        return fuse is not None and self.opens and fuse.credited and (fuse.time or 0.0) <= _CLEARS_WITHIN

    @property
    def shorted(self) -> bool:
        """Whether a current flows that only a fuse or breaker ends."""
        return self.given is not None and float(self.given["current_rms"]) > _DEAD_SHORT

    @property
    def surges(self) -> bool:
        """Whether far more current comes at switch-on than without the fault, on either mains."""
        pairs = ((self.first_peak, self.sound_first_peak), (self.hard_peak, self.sound_hard_peak))
        return any(peak >= max(_SURGE, 2.0 * sound) for peak, sound in pairs)

    @property
    def dying(self) -> tuple[str, ...]:
        """LEDs that last no longer than moments, where nothing opens before them: their light is none to tell."""
        if self.opens:
            return ()
        return tuple(
            dict.fromkeys(
                over.part
                for over in self.over
                if over.kind == "led" and over.quantity in ("current", "power") and over.times >= _DIES
            )
        )

    @property
    def flickers(self) -> bool:
        """Whether the light has come to flicker slowly and strongly; one that went out does not flicker."""
        if self.light is None or self.sound_light is None:
            return slow_flicker(self.light)
        left = float(self.light["mean_current"]) >= _GONE_OUT * float(self.sound_light["mean_current"])
        return left and slow_flicker(self.light) and not slow_flicker(self.sound_light)


def slow_flicker(light: Mapping[str, Any] | None) -> bool:
    """Whether a light flickers below 90 Hz by more than 5 %."""
    if light is None or light.get("frequency") is None or light.get("percent_flicker") is None:
        return False
    return float(light["frequency"]) < _SLOW and float(light["percent_flicker"]) > _LOUD


def severity(found: Found) -> int:
    """1 to 4, 4 being worst."""
    levels = {e.touch.level for e in found.touched if e.reached in _TOUCHED}
    if not found.cleared and ("ES3" in levels or found.shorted):
        return 4
    if found.given is None:
        return 3  # could not be followed: not known to be harmless
    lasting = () if found.cleared else found.over
    hot = any(o.temperature is not None and o.temperature >= CHARS for o in lasting)
    bursts = any(o.kind == "capacitor" and "voltage" in o.quantity and o.times >= _BURSTS for o in lasting)
    wet = found.water is not None and not found.cleared
    if hot or bursts or wet or "ES2" in levels or "nothing limits" in found.words:
        return 3
    if found.is_off:  # what stays live waits for whoever opens it or changes its lamp
        return 3 if found.live else 1
    latent = any(words in found.words for words in ("no longer switches off", "bridged by foil"))
    if lasting or latent or found.flickers or found.surges or found.pins_after is not None:
        return 2
    return 1


def outcome(found: Found) -> str:
    """The sentence."""
    said = [
        *_touched(found),
        *_fuse(found),
        *_water(found),
        *_heat(found),
        *_first(found),
        *_off(found),
        *_light(found),
    ]
    if found.pins_after is not None:
        long = "for minutes" if found.pins_after > 120.0 else f"for {found.pins_after:.1f} s"
        said.append(f"the plug's pins stay charged {long}")
    if "bridged by foil" in found.words:
        said.append("it protects nothing any more")
    if found.problem is not None:
        said.append(f"it could not be followed ({found.problem.rstrip('.')})")
    elif not found.settled:
        said.append("it does not settle, so these figures wander")
    return f"{found.part} {found.words}: {'; '.join(said) or 'nothing else changes'}."


def _touched(found: Found) -> list[str]:
    said = []
    ends = [e for e in found.touched if e.what == BARE_END]
    if ends:
        volts = max(e.touch.voltage_rms for e in ends)
        amperes = max(e.touch.current_rms for e in ends)
        many = "its bare ends are" if len(ends) > 1 else "a bare end is"
        said.append(f"{many} at up to {volts:.0f} V and a hand gets up to {engineering(amperes, 'A', 2)}")
    for exposure in [e for e in found.touched if e.what != BARE_END][:2]:
        tool = " (reached with a tool only)" if exposure.reached == "with a tool" else ""
        volts, amperes = exposure.touch.voltage_rms, exposure.touch.current_rms
        said.append(f"{exposure.what}{tool} is at {volts:.0f} V and a hand gets {engineering(amperes, 'A', 2)}")
    return said


def _fuse(found: Found) -> list[str]:
    fuse = found.fuse
    if fuse is not None and fuse.opens:
        time = "at once" if not fuse.time or fuse.time < 0.05 else f"within {_duration(fuse.time)}"
        said = f"{fuse.part} opens {time} at {engineering(fuse.current, 'A', 2)}"
        if fuse.credited:
            return [said]
        others = "".join(f", nor is {other.part}: {other.why_not}" for other in found.fuses[1:])
        return [f"{said}, but is not to be relied on: {fuse.why_not}{others}"]
    if found.shorted and found.given is not None:
        amperes = engineering(float(found.given["current_rms"]), "A", 2)
        return [f"{amperes} flow, and only the fuse or breaker of the house ends it"]
    if fuse is None:
        return []
    if found.over and fuse.opens is False:
        return [f"{fuse.part} stays whole"]
    if found.over and fuse.current > 0.0:
        return [f"{fuse.part} may or may not open"]
    return [f"{fuse.part} may open at switch-on"] if fuse.surge is not None and fuse.surge > 1.0 else []


def _duration(seconds: float) -> str:
    return f"{seconds:.2g} s" if seconds < 60.0 else f"{seconds / 60.0:.0f} min"


def _water(found: Found) -> list[str]:
    if found.water is None:
        return []
    amperes, watts = found.water
    return [
        f"{engineering(amperes, 'A', 2)} leak through it and heat it with {engineering(watts, 'W', 2)}, "
        "no fuse opens at that, and whatever is wet may be live"
    ]


def _heat(found: Found) -> list[str]:
    said: list[str] = []
    # Where a short flows anyway, what its first half-cycle does is no news.
    told = [over for over in found.over if not (found.shorted and over.quantity == "i2t")]
    for over in told[:2]:
        verb, unit, after = _VERBS[over.quantity]
        name = f"{over.part} elsewhere" if over.others else over.part
        rating = "an assumed rating" if over.assumed else "its rating"
        if over.crest:
            rating = f"the crest of {rating.replace('rating', 'AC rating')}"
        amount = engineering(over.value, unit, 2) if unit != "A²s" else f"{_times(over.value)} A²s"
        until = "until then " if found.opens and not said else ""
        said.append(f"{until}{name} {verb} {amount}{after}, {_times_of(over.times)} {rating}{_hot(over)}")
    named = {over.part for over in told[:2]}
    more = dict.fromkeys(over.part for over in told[2:] if over.part not in named)
    if more:
        said.append(f"also over their ratings: {', '.join(more)}")
    return said


_VERBS: Final = {
    "power": ("takes", "W", ""),
    "voltage": ("gets", "V", ""),
    "reverse voltage": ("gets", "V", " backwards"),
    "current": ("carries", "A", ""),
    "i2t": ("gets", "A²s", " at switch-on"),
}


def _first(found: Found) -> list[str]:
    """The surge at switch-on, where the fault makes it much worse."""
    if not found.surges or found.shorted or found.opens:
        return []
    peak = engineering(found.first_peak, "A", 2)
    if found.first_peak < _MORE * found.sound_first_peak:
        return [f"up to {peak} flow at switch-on, and far more than without the fault where the mains is hard"]
    return [f"up to {peak} flow at switch-on instead of {engineering(found.sound_first_peak, 'A', 2)}"]


def _times(value: float) -> str:
    if value >= 1000.0:
        return "over 1000"
    return f"{value:.0f}" if value >= 9.95 else f"{value:.2g}"


def _times_of(share: float) -> str:
    return "just over" if share < _JUST_OVER else f"{_times(share)} times"


def _hot(over: Overstress) -> str:
    if over.temperature is None:
        return ""
    if over.temperature >= BURNS:
        return ", and burns"
    celsius = f", some {round(over.temperature - ZERO, -1):.0f} °C"
    if over.temperature >= CHARS:
        return f"{celsius}, enough to char what it touches"
    return f"{celsius}, enough to melt solder" if over.temperature >= SOLDER else celsius


def _off(found: Found) -> list[str]:
    if not found.is_off:
        return []
    if not found.live:
        return ["nothing beyond the switch stays joined to live"]
    names = ", ".join(found.live[:6]) + (" …" if len(found.live) > 6 else "")
    return [f"{names} {'stays' if len(found.live) == 1 else 'stay'} joined to live although it is off"]


def _light(found: Found) -> list[str]:
    if found.is_off or found.given is None or found.water is not None or (found.shorted and not found.opens):
        return []
    before = 0.0 if found.sound_light is None else float(found.sound_light["mean_current"])
    if before > 0.0:
        if found.opens:
            return ["then it is dark"]
        if found.dying:
            one = len(found.dying) == 1
            dies, strings = ("dies", "its string is") if one else ("die", "their strings are")
            return [f"{_and(found.dying)} {dies} within moments, and {strings} dark"]
        now = 0.0 if found.light is None else float(found.light["mean_current"])
        dark = now < _GONE_OUT * before
        until = "" if dark else _until_burnt(found)
        return [until + _changed(now / before, "the light", "goes out") + ("" if dark else _flicker(found))]
    if found.sound_power <= 0.0 or found.opens:
        return []
    share = float(found.given["power"]) / found.sound_power
    until = _until_burnt(found) if share >= _GONE_OUT else ""
    return [until + _changed(share, "the power", "falls to nothing")]


def _until_burnt(found: Found) -> str:
    """That a figure holds no longer than a part that burns."""
    burns = any(over.temperature is not None and over.temperature >= BURNS for over in found.over)
    return "until it has burnt through " if burns else ""


def _and(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _flicker(found: Found) -> str:
    if found.light is None or found.sound_light is None:
        return ""
    depth, before = found.light.get("percent_flicker"), found.sound_light.get("percent_flicker")
    if found.flickers:
        return f", flickering at {found.light['frequency']:.0f} Hz"
    if depth is None or before is None or depth < before + _DEEPER:
        return ""
    return f", and flickers by {depth:.0f} % instead of {before:.0f} %"


def _changed(share: float, what: str, gone: str) -> str:
    if not math.isfinite(share) or share < _GONE_OUT:
        return f"{what} {gone}"
    if abs(share - 1.0) < 0.02:
        return f"{what} stays as it was"
    if share > 1.0:
        size = f"{share:.3g}" if share < 1.1 else _times(share)
        return f"{what} is {size} times what it was"
    return f"{what} is {100.0 * share:.0f} % of what it was"
