"""The published bounds that stand beside the light figures: IEEE 1789, SVM under both fits, PstLM, EU 2019/2020."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from lidoff.figures import modulation
from lidoff.figures.comparison import Comparison, Item, Origin
from lidoff.figures.input_limits import dimmed_scope, region_scope
from lidoff.figures.stroboscopic import FITS, VISIBLE, reaches, relative_components, svm_of_components
from lidoff.figures.wave import Floats
from lidoff.standards.light_limits import EU_LIGHT_SOURCES, MODULATION, STROBOSCOPIC

_WHOLE: Final = "The practice is meant for the whole source, mixed as it is used, in every state and also with a fault."
_CYCLE: Final = "Of the settled cycle only: fluctuations of the mains and jitter are not in it."
_EU: Final = "Meant for LED mains light sources; whether this item is one in the regulation's sense was not looked at."
_INDOOR: Final = "Meant for indoor light over 100 lx and movement slower than 4 m/s."
_BY_COMPONENT: Final = (
    "Taking each Fourier component at its own frequency, in percent of the mean light (of a pulse it may be over 100), "
    "is our reading of the practice for light that is no plain sine."
)
_WORDS: Final[dict[modulation.Practice, str]] = {
    "low risk": "low-risk practice",
    "no effect": "no observable effect",
}


def light_comparisons(
    figures: Mapping[str, Any] | None,
    *,
    light_uniform: Floats,
    mains_frequency: float,
    cycles: int = 1,
    region: str | None = None,
    dimmed: bool = False,
    origin: Origin = "computed",
) -> tuple[Comparison, ...]:
    """The light figures beside each published bound; those that are meant for the item come first.

    figures: of `light_figures`; light_uniform [any one unit] over `cycles` cycles of mains_frequency [Hz]. No light, no
    comparison.
    """
    if figures is None or figures["percent_flicker"] is None:
        return ()
    components, frequency = relative_components(np.asarray(light_uniform, dtype=np.float64), mains_frequency, cycles)
    amplitude = np.abs(components)
    found = [
        *_ieee(float(figures["percent_flicker"]), float(figures["frequency"]), amplitude, frequency, origin),
        *(
            _svm(amplitude, frequency, region, dimmed, origin)
            if reaches(np.asarray(light_uniform), mains_frequency, cycles)
            else ()
        ),
    ]
    pst = figures.get("pst_lm")
    if pst is not None:
        where, dim = region_scope(region), dimmed_scope(dimmed)
        found.append(
            Comparison(
                id="eu-pst-lm",
                title="Short-term light flicker PstLM, EU requirement on light sources",
                basis=EU_LIGHT_SOURCES.row("PstLM", "2021-09-01"),
                items=(_one("PstLM", float(pst), EU_LIGHT_SOURCES.number("PstLM", "2021-09-01")),),
                origin=origin,
                applies=not (where or dim),
                scope=(_EU, _CYCLE, *where, *dim),
            )
        )
    return tuple(sorted(found, key=lambda comparison: not comparison.applies))


def _one(name: str, value: float, limit: float, unit: str = "1") -> Item:
    return Item(name=name, value=value, limit=limit, unit=unit)


def _ieee(percent: float, frequency: float, amplitude: Floats, lines: Floats, origin: Origin) -> tuple[Comparison, ...]:
    """IEEE 1789: the whole swing at the light's frequency, and each component at its own."""
    found = []
    practices: tuple[modulation.Practice, ...] = ("low risk", "no effect")
    for practice in practices:
        most = modulation.most_modulation(practice, frequency)
        top = MODULATION.number(practice, "no limit above")
        found.append(
            Comparison(
                id=f"ieee-1789-{practice.replace(' ', '-')}",
                title=f"Modulation of the light at {frequency:g} Hz, {_WORDS[practice]}",
                basis=modulation.row_of(practice, frequency),
                items=(_one("percent flicker", percent, most, "%"),) if most is not None else (),
                origin=origin,
                scope=(_WHOLE,) if most is not None else (_WHOLE, f"No limit above {top:g} Hz."),
            )
        )
        found.append(_by_component(practice, amplitude, lines, origin))
    border = MODULATION.number("border", "between the ranges")
    most = MODULATION.number("seizure prevention", "below 90 Hz")
    slow = tuple(
        _one(f"{line:g} Hz", 100.0 * share, most, "%")
        for share, line in zip(amplitude.tolist(), lines.tolist(), strict=True)
        if line < border
    )
    if slow:
        found.append(
            Comparison(
                id="ieee-1789-seizure-prevention",
                title=f"Modulation of the light below {border:g} Hz, seizure prevention",
                basis=MODULATION.row("seizure prevention", "below 90 Hz"),
                items=slow,
                origin=origin,
                scope=(_WHOLE, _BY_COMPONENT),
            )
        )
    return tuple(found)


def _by_component(practice: modulation.Practice, amplitude: Floats, lines: Floats, origin: Origin) -> Comparison:
    """Each component of the light, in percent of the mean, under the line at its own frequency."""
    top = MODULATION.number(practice, "no limit above")
    items = []
    for share, frequency in zip(amplitude.tolist(), lines.tolist(), strict=True):
        if frequency > top:
            break
        most = modulation.most_modulation(practice, frequency)
        # Components a thousandth of the line and less would only lengthen the list.
        if most is not None and 100.0 * share > 1e-3 * most:
            items.append(_one(f"{frequency:g} Hz", 100.0 * share, most, "%"))
    return Comparison(
        id=f"ieee-1789-{practice.replace(' ', '-')}-by-component",
        title=f"Modulation of the light component by component, {_WORDS[practice]}",
        basis=modulation.row_of(practice, 100.0),
        items=tuple(items),
        origin=origin,
        scope=(_WHOLE, _BY_COMPONENT),
    )


def _svm(
    amplitude: Floats, frequency: Floats, region: str | None, dimmed: bool, origin: Origin
) -> tuple[Comparison, ...]:
    """SVM under both fits: against visibility, and against the EU's two figures."""
    where, dim = region_scope(region), dimmed_scope(dimmed)
    found = []
    for fit, _ in FITS:
        value = svm_of_components(amplitude, frequency, fit)
        name = "iec" if fit.startswith("IEC") else "perz"
        form = "logistic threshold, coefficients from memory" if name == "iec" else "power-law threshold"
        read = name != "iec"
        found.append(
            Comparison(
                id=f"svm-visible-{name}",
                title=f"Stroboscopic visibility SVM, fit of {fit} ({form})",
                basis=STROBOSCOPIC.row("visible at"),
                items=(_one("SVM", value, VISIBLE),),
                origin=origin,
                scope=("At 1 an average observer just sees a stroboscopic effect.", _INDOOR),
                all_verified=read,
            )
        )
        for since, note in (
            ("2024-09-01", "Required since 1 September 2024."),
            ("2021-09-01", "The step required from 1 September 2021 to 31 August 2024."),
        ):
            limit = EU_LIGHT_SOURCES.row("SVM", since)
            earlier = since != "2024-09-01"
            found.append(
                Comparison(
                    id=f"eu-svm-{limit.number:g}-{name}",
                    title=f"Stroboscopic visibility SVM, EU requirement on light sources, fit of {fit}",
                    basis=limit,
                    items=(_one("SVM", value, limit.number),),
                    origin=origin,
                    applies=not (where or dim or earlier),
                    scope=(note, _EU, *where, *dim),
                    all_verified=read,
                )
            )
    return tuple(found)


def bounds(figures: Mapping[str, Any] | None, **said: Any) -> list[dict[str, Any]]:
    """`light_comparisons` in the form that `figures --json` prints as `light.bounds`; same arguments."""
    return [comparison.as_dict() for comparison in light_comparisons(figures, **said)]
