"""How long an electrolytic capacitor lasts, how hot parts get, and how much board they take.

Life: doubles for every 10 K below the rated temperature, L = L0 · 2^((T0 − T)/10) (capacitor makers' rule; see
`lidoff.standards.temperatures`). Ripple current warms the core: some 10 K at the rated ripple current, growing with
its square (makers' application notes, from memory): T = T_air + 10 K · (I/I_r)². Voltage is left out: below its rating
it does much less than temperature (the same).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from lidoff.standards.temperatures import electrolytic_life

HOURS_PER_YEAR: Final = 8766.0
AIR_INSIDE: Final = 60.0  # [degC] in the closed case of a small lamp (common practice, no source)
_CORE_AT_RATED: Final = 10.0  # [K]
RATED_LIFE: Final = 2000.0  # [h] the least sold
RATED_TEMPERATURE: Final = 105.0  # [degC]


@dataclass(frozen=True, slots=True, kw_only=True)
class Life:
    """How long an electrolytic may last: `hours` [h] of running at `core` [degC], and in words."""

    hours: float
    core: float
    words: str


def expected_life(
    ripple: float,
    rated_ripple: float,
    *,
    air: float = AIR_INSIDE,
    rated_life: float = RATED_LIFE,
    rated_temperature: float = RATED_TEMPERATURE,
) -> Life:
    """Life of an electrolytic with `ripple` [A rms] of the `rated_ripple` [A rms] it stands, in air of `air` [degC]."""
    share = ripple / rated_ripple if rated_ripple > 0.0 else 0.0
    core = air + _CORE_AT_RATED * share**2
    hours = electrolytic_life(rated_life, rated_temperature, core)
    return Life(
        hours=hours,
        core=core,
        words=(
            f"About {_round(hours)} h of running ({_round(hours / HOURS_PER_YEAR)} years on end) by the rule of 10 K: "
            f"rated {rated_life:.0f} h at {rated_temperature:.0f} °C, its core at {core:.0f} °C in air of {air:.0f} °C "
            f"with {100.0 * share:.0f} % of its ripple rating. It then has lost a fifth of its capacitance or more."
        ),
    )


def _round(value: float) -> str:
    return f"{float(f'{value:.2g}'):,.0f}".replace(",", " ") if value >= 10.0 else f"{value:.2g}"


def ripple_rating(farads: float, volts: float) -> float:
    """Ripple current [A rms] at 100 Hz that a small radial electrolytic of that size stands, about.

    From makers' tables of 105 degC radial types, from memory: 10 uF 400 V 90 mA, 47 uF 250 V 180 mA, 100 uF 35 V
    150 mA; a law in the square root of C·V fits them within two fifths.
    """
    return 1.6 * math.sqrt(farads * volts)


def space_class(square_millimetres: float) -> str:
    """How much board the new parts take, as a word, and what that is like."""
    for most, words in (
        (150.0, "thumbnail (up to 1.5 cm²)"),
        (450.0, "stamp (up to 4.5 cm²)"),
        (1200.0, "matchbox (up to 12 cm²)"),
    ):
        if square_millimetres <= most:
            return words
    return "a board of its own (over 12 cm²)"
