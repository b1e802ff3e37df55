"""Invented items, each a whole record: strips, night lights, chargers, dimmers, heaters, chargers with a transformer.

Every value is drawn by a seed within what such items have, so that `invented(7)` is the same record for ever. No item
is a real one. `python tests/shelf/inventing.py FOLDER 200` writes a collection.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable
from pathlib import Path

from lidoff.quantity import iec60062, nearest

COLOURS = ("amber", "blue", "cream", "green", "grey", "ivory", "pink", "red", "white", "yellow")
PLACES = ("attic", "bathroom shelf", "bookcase", "caravan", "child's room", "hall", "kitchen", "shed", "workbench")


def ohms(value: float) -> str:
    return iec60062(nearest(value, 24), "ohm")


def farads(value: float) -> str:
    return iec60062(nearest(value, 6), "F")


def part(ref: str, kind: str, nodes: str, *keys: str) -> str:
    lines = "\n".join(keys)
    return f'[[part]]\nref = "{ref}"\nkind = "{kind}"\nnodes = {nodes}\n{lines}\n'


def strip(draw: random.Random) -> tuple[str, str, str]:
    """LEDs in a row on a bridge; a third are smoothed, a fifth have a current regulator."""
    leds, watts = draw.randrange(60, 90, 4), draw.uniform(3.0, 14.0)
    string = 2.9 * leds
    current = watts / string
    parallel = max(1, round(current / 0.012))
    parts = [
        part("F1", "fuse", '["live", "a"]', 'rating = { current = "1 A", voltage_ac = "250 V" }')
        if draw.random() < 0.4
        else part("R9", "resistor", '["live", "a"]', 'value = "10R"', 'rating = { power = "0.5 W" }'),
        part("BR1", "bridge", '{ ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" }', 'marking = "MB6S"'),
        part(
            "LED1", "led", '{ anode = "p", cathode = "x" }', f"series = {leds}", f"parallel = {parallel}",
            f'forward_voltage = "{draw.uniform(2.8, 3.0):.2f} V"', 'test_current = "10 mA"',
            'rating = { current = "25 mA" }',
        ),
    ]  # fmt: skip
    how = draw.random()
    if how < 0.2:
        parts += [
            part("U1", "regulator", '{ input = "x", output = "m" }', f'limit = "{1e3 * current * 1.25:.0f} mA"'),
        ]
        title = "LED strip with a regulator on its board"
    elif how < 0.5:
        # Smoothed: the capacitor stands near the peak and falls by some volts between two of them.
        size = farads(current / (100.0 * draw.uniform(8.0, 60.0)))
        parts += [
            part("C1", "capacitor", '["p", "m"]', f'value = "{size}"', 'rating = { voltage = "400 V" }'),
            part("R2", "resistor", '["p", "m"]', 'value = "470k"'),
            part("R1", "resistor", '["x", "m"]', f'value = "{ohms(max(300.0 - string, 40.0) / current)}"',
                 'rating = { power = "2 W" }'),
        ]  # fmt: skip
        title = "Smoothed LED strip"
    else:
        parts += [
            part("R1", "resistor", '["x", "m"]', f'value = "{ohms(max(290.0 - string, 30.0) / (1.5 * current))}"',
                 'rating = { power = "2 W" }'),
        ]  # fmt: skip
        title = "LED strip"
    return f"{title}, {draw.choice(COLOURS)} sleeve", "luminaire", "".join(parts)


def night_light(draw: random.Random) -> tuple[str, str, str]:
    """A capacitor dropper; some lack the discharge resistor, some the smoothing."""
    leds = draw.randrange(3, 20)
    parts = [
        part("R1", "resistor", '["live", "a"]', f'value = "{ohms(draw.choice((100, 220, 470)))}"',
             'rating = { power = "0.5 W" }'),
        part("C1", "capacitor", '["a", "b"]', f'value = "{farads(draw.choice((100e-9, 220e-9, 330e-9, 470e-9)))}"',
             f'marking = "{draw.choice(("X2 275V~", "CBB 400V"))}"'),
        part("BR1", "bridge", '{ ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" }'),
        part("LED1", "led", '{ anode = "p", cathode = "m" }', f"series = {leds}", 'forward_voltage = "3.0 V"',
             'rating = { current = "20 mA" }'),
    ]  # fmt: skip
    if draw.random() < 0.7:
        parts.append(part("R2", "resistor", '["a", "b"]', 'value = "1M"'))
    if draw.random() < 0.6:
        parts.append(
            part("C2", "capacitor", '["p", "m"]', f'value = "{farads(draw.choice((1e-6, 4.7e-6, 10e-6, 22e-6)))}"')
        )
    return (
        f"Night light, {draw.choice(COLOURS)} {draw.choice(('moon', 'owl', 'shell', 'star'))}",
        "luminaire",
        "".join(parts),
    )


def charger(draw: random.Random) -> tuple[str, str, str]:
    """A switch-mode stage behind a bridge and a capacitor."""
    watts = draw.uniform(2.0, 18.0)
    parts = [
        part("F1", "fuse", '["live", "a"]', 'rating = { current = "1 A", voltage_ac = "250 V" }'),
        part("R1", "resistor", '["a", "b"]', 'value = "4R7"', 'rating = { power = "2 W" }'),
        part("BR1", "bridge", '{ ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" }', 'marking = "DB107"'),
        part("C1", "capacitor", '["p", "m"]', f'value = "{farads(watts * draw.uniform(0.7e-6, 2.2e-6))}"',
             'rating = { voltage = "400 V" }'),
        part("U1", "converter", '{ plus = "p", minus = "m" }', f'power = "{watts:.1f} W"'),
    ]  # fmt: skip
    if draw.random() < 0.5:
        parts.append(part("C2", "capacitor", '["a", "neutral"]', 'value = "100n"', 'marking = "X2"'))
        if draw.random() < 0.6:
            parts.append(part("R2", "resistor", '["a", "neutral"]', 'value = "1M"'))
    if draw.random() < 0.3:
        parts.append(part("RV1", "varistor", '["a", "neutral"]', 'voltage = "430 V"'))
    return (
        f"Charger for a {draw.choice(('lamp', 'radio', 'razor', 'toy'))}, {draw.choice(COLOURS)}",
        "adapter",
        "".join(parts),
    )


def dimmer(draw: random.Random) -> tuple[str, str, str]:
    """A triac on a filament lamp, fired through a diac."""
    parts = [
        part("VR1", "potentiometer", '{ a = "load", wiper = "w" }', 'value = "470k"',
             f"position = {draw.uniform(0.0, 0.45):.2f}", 'rating = { power = "0.2 W" }'),
        part("R1", "resistor", '["w", "t"]', f'value = "{ohms(draw.choice((4.7e3, 6.8e3, 10e3)))}"'),
        part("C1", "capacitor", '["t", "live"]', 'value = "100n"', 'rating = { voltage = "100 V" }'),
        part("D1", "diac", '["t", "g"]', 'marking = "DB3"', 'breakover = "32 V"'),
        part("Q1", "triac", '{ mt1 = "live", mt2 = "load", gate = "g" }', 'rating = { current = "4 A" }'),
        part("LA1", "lamp", '["load", "neutral"]', f'power = "{draw.choice((25, 40, 60))} W"', 'voltage = "230 V"'),
    ]  # fmt: skip
    return f"Table dimmer with its lamp, {draw.choice(COLOURS)}", "dimmer", "".join(parts)


def heater(draw: random.Random) -> tuple[str, str, str]:
    """A heating element with a half-wave setting: a diode that a switch goes round."""
    parts = [
        part("S1", "switch", '["live", "a"]', "closed = true"),
        part("D1", "diode", '{ anode = "a", cathode = "b" }', 'marking = "1N5408"'),
        part("S2", "switch", '["a", "b"]', f"closed = {draw.choice(('true', 'false'))}"),
        part("H1", "heater", '["b", "neutral"]', f'power = "{draw.randrange(40, 160, 10)} W"', 'voltage = "230 V"'),
        part("TH1", "indicator", '["a", "n"]', 'strike = "90 V"'),
        part("R1", "resistor", '["n", "neutral"]', 'value = "150k"'),
    ]
    return f"Foot warmer, {draw.choice(COLOURS)}, two settings", "appliance", "".join(parts)


def old_charger(draw: random.Random) -> tuple[str, str, str]:
    """A transformer, a bridge and a capacitor: isolated."""
    volts = draw.choice((9.0, 12.0, 15.0))
    parts = [
        part("T1", "transformer", '{ p1 = "live", p2 = "neutral", s1 = "s", s2 = "t" }', f"ratio = {230 / volts:.2f}",
             'magnetising = "20 H"', 'leakage = "0.3 H"', 'resistance_primary = "600 R"',
             'resistance_secondary = "2R2"'),
        part("BR1", "bridge", '{ ac1 = "s", ac2 = "t", plus = "p", minus = "m" }'),
        part("C1", "capacitor", '["p", "m"]', 'value = "1000 uF"', 'rating = { voltage = "25 V" }'),
        part("R1", "resistor", '["p", "m"]', f'value = "{ohms(draw.choice((100, 150, 220)))}"',
             'rating = { power = "5 W" }'),
    ]  # fmt: skip
    return f"Heavy charger with a transformer, {draw.choice(COLOURS)}", "adapter", "".join(parts)


FAMILIES: tuple[tuple[Callable[[random.Random], tuple[str, str, str]], int], ...] = (
    (strip, 8), (night_light, 4), (charger, 4), (dimmer, 2), (heater, 1), (old_charger, 1),
)  # fmt: skip


def sighting(about: str, seen: str) -> str:
    return f'[[sighting]]\nabout = "{about}"\nseen = "{seen}"\n'


def looked(draw: random.Random, british: bool) -> str:
    """What was seen; each question was looked at on some items and not on others."""
    found = []
    choices = {
        "marking": ("maker and ratings", "ratings only", "no maker, no approval mark"),
        "cord-grip": ("clamped", "moulded", "knot only", "none"),
        "opens-without-tool": ("yes", "no", "no", "no"),
        "heat-marks": ("none", "none", "none", "browned"),
    }
    for about, answers in choices.items():
        if draw.random() < 0.7:
            found.append(sighting(about, draw.choice(answers)))
    if british and draw.random() < 0.75:
        found.append(sighting("plug-fuse-filler", draw.choice(("filler", "filler", "no filler"))))
        found.append(sighting("plug-fuse-mark", draw.choice(("BS 1362 and approval", "BS 1362 only", "no mark"))))
    return "".join(found)


def invented(seed: int) -> str:
    """The text of the record of that number."""
    draw = random.Random(f"shelf {seed}")
    family = draw.choices([one for one, _ in FAMILIES], [weight for _, weight in FAMILIES])[0]
    title, kind, parts = family(draw)
    british = draw.random() < 0.6
    fuse = draw.choice(("3 A", "3 A", "5 A", "13 A"))
    plug = f'[plug]\nkind = "BS 1363"\nfuse = "{fuse}"\n' if british else '[plug]\nkind = "CEE 7/16"\n'
    volts = draw.uniform(228.0, 243.0)
    return f"""# Invented: item {seed} of a collection that nobody owns.
lidoff = 1

[item]
title = "{title}, no. {seed}"
class = "II"
region = "{"GB" if british else "EU"}"
kind = "{kind}"
use = "{draw.choice(PLACES)}"

[supply]
voltage = "{volts:.0f} V"
measured = true
frequency = "50 Hz"

{parts}
{plug}
{looked(draw, british)}"""


def collection(folder: Path, seeds: range) -> Path:
    """Writes one record folder per seed, and gives the folder that holds them."""
    for seed in seeds:
        inside = folder / f"item-{seed:03d}"
        inside.mkdir(parents=True)
        (inside / "item.toml").write_text(invented(seed), encoding="utf-8")
    return folder


if __name__ == "__main__":
    collection(Path(sys.argv[1]), range(int(sys.argv[2])))
