"""A shelf of any size without working anything out: entries drawn by seed, written as the shelf writes them."""

from __future__ import annotations

import random
from pathlib import Path

from lidoff.hazards import QUESTIONS, RULES
from lidoff.shelf.entry import Entry, FigureRow, FormedRow, JudgedRow, PartRow
from lidoff.shelf.indexing import write_entry
from lidoff.shelf.store import change, writing

TITLES = ("LED strip", "Night light", "Charger for a radio", "Table dimmer", "Foot warmer", "Extension lead")
GROUPS = ("bridge-rectifier", "capacitor-input", "led-string", "ballast", "phase-control", "capacitor-dropper")
WORDS = ("amber", "attic", "brass", "clip", "dull", "enamel", "felt", "glue", "hinge", "ivory", "knot", "label", "moss")


def drawn(seed: int) -> Entry:
    """An entry as large as those of small items: eleven figures in each of two states, fourteen parts, six findings."""
    draw = random.Random(f"filling {seed}")
    title = f"{draw.choice(TITLES)}, {draw.choice(WORDS)} {draw.choice(WORDS)}, no. {seed}"
    figures = [
        FigureRow(state=state, name=name, value=draw.uniform(0.0, most), low=0.0, high=most)
        for state in (0, 1)
        for name, most in (
            ("input.power", 20.0), ("input.current_rms", 0.2), ("input.current_peak", 0.4), ("input.thd", 1.0),
            ("input.apparent_power", 30.0), ("input.power_factor", 1.0), ("input.crest_factor", 4.0),
            ("light.percent_flicker", 100.0), ("light.flicker_index", 0.5), ("light.svm", 6.0), ("stress.times", 2.0),
        )
    ]  # fmt: skip
    parts = [
        PartRow(ref=f"R{place}", kind=draw.choice(("resistor", "capacitor", "led", "diode", "triac")),
                marking=f"{draw.randrange(100, 999)}K", value=10.0 ** draw.uniform(-9, 6), shown="a value", power=0.1)
        for place in range(14)
    ]  # fmt: skip
    rules = draw.sample(RULES, 8)
    judged = [
        JudgedRow(rule=rule.id, outcome="found" if place < 6 else "undecided", title=rule.title,
                  severity=draw.randint(1, 4) if place < 6 else None,
                  risk=draw.choice(("low", "medium", "high", "serious")) if place < 6 else "",
                  because=" ".join(draw.choices(WORDS, k=20)))
        for place, rule in enumerate(rules)
    ]  # fmt: skip
    looks = {one.id: draw.choice((None, *one.answers)) for one in QUESTIONS[:24]}
    formed = [FormedRow(name=name, title=name.replace("-", " "), refs=("R1", "R2")) for name in draw.sample(GROUPS, 4)]
    return Entry(
        status="solved", depth="full", fingerprint=f"{seed:064x}", title=title, protection_class="II", region="GB",
        kind="luminaire", sentence="Judged.", states=("full", "half"), figures=tuple(figures), parts=tuple(parts),
        formed=tuple(formed), judged=tuple(judged), looks=looks,
        words={
            "title": title,
            "parts": "\n".join(f"{one.ref} {one.kind} {one.marking}" for one in parts),
            "formed": "\n".join(one.title for one in formed),
            "findings": "\n".join(one.because for one in judged),
            "seen": " ".join(draw.choices(WORDS, k=20)),
            "notes": " ".join(draw.choices(WORDS, k=30)),
        },
    )  # fmt: skip


def filled(index: Path, count: int) -> Path:
    """An index of that many items, all of them said to lie in a folder that is not there."""
    with writing(index) as connection, change(connection):
        for seed in range(count):
            write_entry(connection, index.parent / "items" / f"{seed}" / "item.toml", drawn(seed), "", None)
    return index
