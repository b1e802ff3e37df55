"""The drawn board pictured in docs/photographs.md: an invented night light, its parts, its copper and its two photos.

`python -m tests.photos.walk FOLDER` writes the photos and the record that the walk begins with.
"""

from __future__ import annotations

import sys
from pathlib import Path

from PIL import Image
from tests.photos import scene

Place = tuple[float, float]

PINS: dict[str, Place] = {
    "R1.1": (10, 6), "R1.2": (20, 6), "C1.1": (26, 6), "C1.2": (26, 16), "R2.1": (33, 6), "R2.2": (33, 16),
    "BR1.ac1": (40, 16), "BR1.ac2": (40, 24), "BR1.plus": (46, 16), "BR1.minus": (46, 24), "C2.1": (51, 10),
    "C2.2": (51, 20), "R3.1": (57, 10), "R3.2": (57, 15), "LED1.anode": (57, 20), "LED1.cathode": (57, 29),
}  # fmt: skip
LIVE, NEUTRAL = (4.0, 6.0), (4.0, 30.0)
NODES = {
    "live": ["R1.1"],
    "neutral": ["BR1.ac2"],
    "a": ["R1.2", "C1.1", "R2.1"],
    "b": ["C1.2", "R2.2", "BR1.ac1"],
    "p": ["BR1.plus", "C2.1", "R3.1"],
    "m": ["BR1.minus", "C2.2", "LED1.cathode"],
    "q": ["R3.2", "LED1.anode"],
}
_TRACKS: tuple[tuple[Place, ...], ...] = (
    (LIVE, (10, 6)),
    ((20, 6), (33, 6)),
    ((26, 16), (40, 16)),
    (NEUTRAL, (40, 30), (40, 24)),
    ((46, 16), (46, 10), (57, 10)),
    ((57, 15), (57, 20)),
    ((46, 24), (51, 24), (51, 20)),
    ((51, 24), (51, 29), (57, 29)),
)

RECORD = """# Bought at a fair, no name on it. The board comes out after two clips.
lidoff = 1

[item]
title = "Night light, square, plugs straight in"
class = "II"
region = "EU"
kind = "luminaire"

[[part]]
ref = "R1"
kind = "resistor"
marking = "brown black brown gold"
note = "grey, perhaps a fusible one"

[[part]]
ref = "C1"
kind = "capacitor"
marking = "334K 275V~ X2"

[[part]]
ref = "R2"
kind = "resistor"
marking = "brown black green gold"   # across the big capacitor, I think

[[part]]
ref = "BR1"
kind = "bridge"

[[part]]
ref = "C2"
kind = "capacitor"
marking = "10uF 50V"

[[part]]
ref = "R3"
kind = "resistor"
marking = "yellow violet red gold"

[[part]]
ref = "LED1"
kind = "led"
series = 6
forward_voltage = "3 V"
"""


def board() -> scene.Board:
    """The board, parts and all."""
    places = [*PINS.values(), LIVE, NEUTRAL]
    return scene.Board(
        width=62.0,
        height=36.0,
        tracks=tuple((track, 1.8) for track in _TRACKS),
        pads=tuple((x, y, 2.8) for x, y in places),
        holes=(*((x, y, 1.0) for x, y in places), (14.0, 20.0, 3.2), (30.0, 22.5, 3.2)),
        bodies=((11.5, 4.6, 7.0, 2.8), (27.5, 7.5, 4.0, 7.0), (41.5, 17.5, 3.0, 5.0)),
    )


COPPER = scene.Camera(tilt=(7, -5, 3), away=80, size=(1400, 1050), light=(0.3, 0.2))
PARTS = scene.Camera(tilt=(-6, 4, -5), away=84, size=(1400, 1050), light=(-0.2, 0.3))


def write(folder: Path) -> tuple[Path, Path, Path]:
    """The record's folder and the two photos beside it."""
    item = folder / "night-light"
    item.mkdir(parents=True)
    (item / "item.toml").write_text(RECORD, encoding="utf-8")
    photos = []
    for name, camera, side in (("copper.jpg", COPPER, "copper"), ("parts.jpg", PARTS, "parts")):
        photos.append(folder / name)
        Image.fromarray(scene.photographed(board(), camera, side)).save(photos[-1], quality=92)
    return item, photos[0], photos[1]


if __name__ == "__main__":
    write(Path(sys.argv[1]))
