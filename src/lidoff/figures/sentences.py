"""Each figure in a sentence that a viewer understands, with the warnings that belong to it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lidoff.figures import modulation, stroboscopic
from lidoff.figures.comparison import number
from lidoff.figures.wave import Floats
from lidoff.standards.light_limits import MODULATION

CORNER_OF_THE_EYE: Final = (
    "No accepted metric covers what the corner of the eye sees, or the string of images left by a quick glance. "
    "The nearest are SVM, which is about moving things and ends at 2 kHz, and the lines of IEEE Std 1789-2015."
)

MAINS: Final = ((230.0, 50.0), (120.0, 60.0))
"""The two common mains: voltage [V rms] and frequency [Hz]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """What a figure means: the key it explains ("light.svm"), and a sentence."""

    key: str
    text: str


def warning(light: Mapping[str, Any] | None) -> str | None:
    """The line of warning for viewers: unpleasant from 90 Hz, hazardous below; None where the light is steady enough.

    light: of `light_figures`. Hazardous is a component of 5 % or more below 90 Hz, unpleasant a swing over the low-risk
    line (IEEE Std 1789-2015, clause 8.1.1).
    """
    if light is None or light["percent_flicker"] is None:
        return None
    percent, frequency = float(light["percent_flicker"]), float(light["frequency"])
    border = MODULATION.number("border", "between the ranges")
    slow = float(light["slow_modulation"] or 0.0)
    if slow >= MODULATION.number("seizure prevention", "below 90 Hz"):
        return (
            f"Warning: {number(slow)} % of this light beats slower than {border:g} times a second. Strong flicker as "
            "slow as that can set off a fit in people with photosensitive epilepsy: do not show it to viewers, live or "
            "filmed."
        )
    most = modulation.most_modulation("low risk", frequency)
    if most is None or percent < most:
        return None
    return (
        f"Warning: this light flickers {frequency:g} times a second. Most people do not see it, but it can tire the "
        "eyes, bring on a headache and make moving things look still. It is not in the range below "
        f"{border:g} a second that is known for seizures. Filmed, it may beat more slowly."
    )


def light_sentences(light: Mapping[str, Any] | None) -> tuple[Sentence, ...]:
    """The light figures in words. light: of `light_figures`."""
    if light is None:
        return ()
    if light["percent_flicker"] is None:
        return (Sentence(key="light.mean_current", text="The light is off."),)
    percent, frequency = float(light["percent_flicker"]), float(light["frequency"])
    if percent > 99.5:
        swing = f"The light goes out altogether {frequency:g} times a second"
    elif percent < 0.5:
        swing = "The light is steady"
    else:
        swing = (
            f"The light dips {frequency:g} times a second, "
            f"to {100 * (100 - percent) / (100 + percent):.0f} % of its brightest"
        )
    told = [Sentence(key="light.percent_flicker", text=f"{swing} (percent flicker {number(percent)} %).")]
    told.append(
        Sentence(
            key="light.flicker_index",
            text=f"Of all the light, {100 * float(light['flicker_index']):.0f} % stands out above its mean level "
            f"(flicker index {number(float(light['flicker_index']))}; a plain sine that goes out has 0.318).",
        )
    )
    if light["svm"] is not None:
        told.append(Sentence(key="light.svm", text=_stroboscopic(float(light["svm"]))))
    if light.get("pst_lm") is not None:
        told.append(Sentence(key="light.pst_lm", text=_slow(float(light["pst_lm"]))))
    return tuple(told)


def _stroboscopic(value: float) -> str:
    if value < 0.4:
        seen = "moving things look as they should to nearly everybody"
    elif value < stroboscopic.VISIBLE:
        seen = "some people notice that moving things look stepped"
    elif value < 3.0:
        seen = "most people can see a waving hand break up into steps"
    else:
        seen = "a waving hand breaks up into several sharp copies"
    return f"Under this light {seen} (SVM {number(value)}; an average observer just sees it at 1)."


def _slow(value: float) -> str:
    seen = "no flicker that the eye sees directly" if value < 1.0 else "flicker that an average observer is bothered by"
    return f"The settled cycle holds {seen} (PstLM {number(value)}; 1 is the border)."


def input_sentences(figures: Mapping[str, Any]) -> tuple[Sentence, ...]:
    """The input figures in words. figures: of `input_figures`."""
    if figures["power_factor"] is None:
        return (Sentence(key="input.current_rms", text="No current flows that is worth a figure."),)
    factor = float(figures["power_factor"])
    told = [
        Sentence(
            key="input.power_factor",
            text=f"Of every 100 VA that the mains must carry, {100 * abs(factor):.0f} W are used "
            f"(power factor {number(factor)}).",
        )
    ]
    if figures["displacement_factor"] is not None and figures["thd"] is not None:
        shift, distortion = float(figures["displacement_factor"]), float(figures["thd"])
        cause = (
            "the current's shape, not its timing" if abs(shift) > 0.99 else "the current's timing as well as its shape"
        )
        if distortion < 0.05:
            cause = "the current's timing" if abs(shift) < 0.99 else "hardly anything"
        told.append(
            Sentence(
                key="input.displacement_factor",
                text=f"What is missing comes from {cause} (displacement factor {number(shift)}, "
                f"distortion {100 * distortion:.0f} % of the fundamental).",
            )
        )
    crest = figures["crest_factor"]
    if crest is not None:
        told.append(
            Sentence(
                key="input.crest_factor",
                text=f"The current peaks at {number(float(crest))} times its rms value; a sine has 1.41, "
                "and many hand meters take no more than 3.",
            )
        )
    return tuple(told)


def at_other_mains(
    light: Mapping[str, Any] | None, light_uniform: Floats, mains_frequency: float, cycles: int = 1
) -> str:
    """What would change at the other common mains if the light kept the shape of its swing.

    light: of `light_figures`; light_uniform over `cycles` cycles of `mains_frequency` [Hz]. The voltage's own effect,
    which may be large, needs the circuit solved again.
    """
    voltage, other = max(MAINS, key=lambda pair: abs(pair[1] - mains_frequency))
    lead = f"At {voltage:g} V {other:g} Hz"
    again = "the currents change too, and the circuit must be solved again for them"
    limits = (
        "IEC 61000-3-2 would set limits for the harmonics"
        if voltage > 200.0
        else "IEC 61000-3-2 would set no limits for the harmonics"
    )
    if light is None or light["percent_flicker"] is None:
        return f"{lead} {limits}; {again}."
    frequency = float(light["frequency"]) * other / mains_frequency
    low = modulation.most_modulation("low risk", frequency)
    line = f"the low-risk line stands at {number(low)} %" if low is not None else "there is no low-risk line"
    strobe = ""
    if stroboscopic.reaches(np.asarray(light_uniform), other, cycles):
        value = stroboscopic.svm(np.asarray(light_uniform, dtype=np.float64), other, cycles)
        strobe = f", and the same swing has an SVM of {number(value)}"
    return f"{lead} the light would beat at {frequency:g} Hz, where {line}{strobe}; {limits}; {again}."
