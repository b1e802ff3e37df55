"""What can hurt in a rework, and in what order it is tried on the bench."""

from __future__ import annotations

from typing import Final

GENERAL: Final = (
    "Unplug it, keep the plug in sight, discharge every capacitor through a resistor and measure before touching.",
    "Nothing here is separated from the mains: every part behind the plug is live, the LEDs and their board too.",
    "All of it belongs in a closed case of insulating material that opens with a tool only; wires held so that none "
    "that comes loose reaches the outside; clearances and creepages as for reinforced insulation to whatever can be "
    "touched (IEC 60664-1, and the standard of the product).",
    "A fuse of high breaking capacity comes first in the live conductor; a resistor that discharges what stays "
    "charged is part of the circuit and not an extra.",
    "The item's approval is lost with the first change, and an insurer may refuse a claim because of it.",
    "A reworked item is for its maker's own bench, in sight while it is on. It is not to be sold, given away or put "
    "back into common use.",
    "Local codes and licensed practice come before anything written here; where they ask for a qualified person, it is "
    "not done without one.",
    "What is not known of the item (its insulation, its board, its LEDs) is not known of the rework either.",
)
"""Cautions that hold for every design."""

DROPPER: Final = (
    "A capacitor dropper leaves everything behind it live, however small the voltage between two of its points.",
)

STEPS: Final = (
    "Check every joint and value against the record of the design, unplugged; measure each new resistor and capacitor "
    "before it goes in.",
    "Measure with a meter, unplugged: no short across the plug's pins, the bleeders' resistance across them, and no "
    "reading from the pins to anything that can be touched.",
    "First power: an isolated bench supply of direct voltage into the rectifier's output, current limit at a few "
    "milliamperes, raised slowly; the string lights evenly and nothing warms.",
    "Then the mains side on a low-energy supply: an isolating transformer with a variable output, a filament lamp of "
    "25 to 40 W in series, behind a residual-current device of 30 mA, in a closed box or behind a screen.",
    "Raise it in steps to a quarter, a half and the whole of the mains; at each hold the input power and the string's "
    "current against the computed ones, one hand away, nobody alone. A lamp that glows says stop.",
    "Unplug, wait for the time that is told, and measure what the capacitors still hold, before every touch.",
    "Take the lamp away and measure again; let it run an hour in its closed case, and feel or measure after unplugging "
    "what got hot.",
    "Measure the light's flicker and its share of full, and write the readings into the design's record: they are "
    "judged like any others.",
)
"""Bench verification, in order, the least energy first."""

REPLACE: Final = "Do not; replace it."


def bench_steps(held: str | None, fuse: str | None) -> tuple[str, ...]:
    """The steps in order, with what this design holds after unplugging and what its fuse is."""
    steps = list(STEPS)
    if fuse is not None:
        steps[0] += f" The fuse is {fuse}; no other stands in for it."
    if held is not None:
        steps[5] += f" {held}"
    return tuple(steps)
