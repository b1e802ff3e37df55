"""What a rework is worth in watts and kilowatt-hours, and what it means for the LEDs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from lidoff.cycle import Solution

HOURS: Final = 1000.0
"""Hours a year that energy is stated for where nobody says otherwise: the yardstick of light source labels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Energy:
    """Power before and after [W], what is saved in a year of `hours` [h] [kWh], and LED currents [A per LED].

    `share` is the mean LED current after over before [1], None without LEDs; `words` say it in sentences.
    """

    before: float
    after: float
    hours: float
    saved: float
    led_before: float | None
    led_after: float | None
    share: float | None
    words: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """A mapping: watts, hours, kWh, amperes."""
        return {
            "power_before": self.before,
            "power_after": self.after,
            "hours_per_year": self.hours,
            "kwh_per_year_saved": self.saved,
            "led_current_before": self.led_before,
            "led_current_after": self.led_after,
            "led_current_share": self.share,
            "words": list(self.words),
        }


def energy_of(before: Solution, after: Solution, hours: float = HOURS) -> Energy:
    """What changes from one settled cycle to another, over `hours` [h] a year."""
    old, new = float(before.input_figures()["power"]), float(after.input_figures()["power"])
    saved = (old - new) * hours / 1000.0
    led_before, led_after = led_current(before), led_current(after)
    share = led_after / led_before if led_before and led_after is not None else None
    more = "saved" if saved >= 0.0 else "more"
    words = [f"{old:.2g} W become {new:.2g} W: {abs(saved):.2g} kWh {more} in a year of {hours:g} h."]
    if share is not None and led_after is not None:
        words.append(
            f"Each LED carries {1e3 * led_after:.2g} mA on average, {100.0 * share:.0f} % of what it did. LEDs age "
            "with their current and temperature, and less of both ages them less. By how much nobody can say here: "
            "that takes the maker's life tests of this very LED, and none are known."
        )
    return Energy(
        before=old,
        after=new,
        hours=hours,
        saved=saved,
        led_before=led_before,
        led_after=led_after,
        share=share,
        words=tuple(words),
    )


def led_current(solution: Solution) -> float | None:
    """Mean current per LED of the string that is worst off [A]; None where there are no LEDs."""
    found = []
    for element in solution.led_parts:
        figures: Mapping[str, float] = solution.part_figures(element.ref)
        found.append(abs(figures["current_mean"]) / element.number("parallel"))
    return max(found, default=None)
