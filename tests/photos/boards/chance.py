"""Boards and shots at random, of the kinds that come out of opened mains products."""

from __future__ import annotations

import numpy as np
from tests.photos.boards.paint import MASKS, Shot
from tests.photos.boards.plan import Plan, routed, tape

KINDS = ("paper", "tape", "masked", "bare", "milled", "through")


def drawn_lot(kind: str, seed: int, *, px_per_mm: float | None = None, hard: float = 1.0) -> tuple[Plan, Shot]:
    """A board and a shot of one kind; `hard` scales the faults, `px_per_mm` is drawn from 8 to 60 where not given."""
    random = np.random.default_rng(seed)

    def upto(most: float) -> float:
        return float(random.uniform(0, most) * hard)

    def one_of(*choices: str) -> str:
        return str(choices[int(random.integers(len(choices)))])

    pixels = px_per_mm if px_per_mm is not None else float(np.exp(random.uniform(np.log(8), np.log(60))))
    wide, high = float(random.uniform(30, 55)), float(random.uniform(22, 40))
    common = {
        "name": f"{kind}-{seed}",
        "seed": seed,
        "px_per_mm": pixels,
        "tilt": upto(0.12),
        "turn": float(random.uniform(-12, 12)),
        "uneven": upto(0.5),
        "glare": upto(0.6) if random.random() < 0.4 else 0.0,
        "texture": 0.02 + upto(0.08),
        "tarnish": 0.02 + upto(0.12),
        "blur": 0.4 + upto(1.2),
        "noise": 0.003 + upto(0.025),
        "quality": int(random.integers(70, 96)),
        "burr": upto(0.03),
        "ground": one_of("mat", "wood", "paper", "steel"),
        "exposure": float(random.uniform(0.8, 1.25)),
    }
    fine = {"grid": 0.6, "track": float(random.uniform(0.28, 0.4)), "pad": 1.4, "drill": 0.8}
    broad = {"grid": 1.27, "track": float(random.uniform(0.8, 1.0)), "pad": 2.0, "drill": 0.9}
    letters = float(random.uniform(0, 1.5))
    if kind == "paper":
        plan = routed(seed, width=wide, height=high, pads=40, nets=14, filled=0.5, **broad)
        return plan, Shot(
            **common,
            base=one_of("paper", "paper-dark", "composite"),
            metal=one_of("tin", "tin", "old-copper"),
            solder=bool(random.random() < 0.7),
            letters=letters if random.random() < 0.4 else 0.0,
            bodies=False,
        )
    if kind == "tape":
        return tape(seed, groups=2, leds=2 + int(random.integers(2))), Shot(
            **common,
            base="tape",
            metal=one_of("tin", "gold", "copper"),
            mask="white",
            letters=letters,
            letter_colour=(40, 40, 42),
        )
    if kind == "masked":
        plan = routed(seed, width=wide, height=high, pads=50, nets=18, share_flat=0.3, **fine)
        mask = one_of(*MASKS)
        ink = (30, 30, 32) if mask == "white" else (238, 238, 234)
        return plan, Shot(
            **common,
            metal=one_of("tin", "gold"),
            mask=mask,
            letters=letters,
            letter_colour=ink,
            solder=bool(random.random() < 0.4),
        )
    if kind == "bare":
        plan = routed(seed, width=wide, height=high, pads=50, nets=18, share_flat=0.3, **fine)
        return plan, Shot(
            **common, base=one_of("fr4", "fr4-dark", "composite"), metal=one_of("copper", "tin", "old-copper")
        )
    if kind == "milled":
        plan = routed(seed, width=wide, height=high, pads=50, nets=18, share_flat=0.3, isolated=0.3, **fine)
        return plan, Shot(**common, base=one_of("fr4", "fr4-dark"), metal="copper")
    plan = routed(seed, width=wide, height=high, pads=40, nets=14, filled=0.5, **broad)
    return plan, Shot(
        **{**common, "glare": 0.0}, base=one_of("paper", "fr4", "composite"), metal="tin", lit_through=True
    )
