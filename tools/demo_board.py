"""The board of the demo's night light: where its parts stand and how its copper runs. Invented, as the item is.

All measures in mm, x and y as the copper side is seen. What joins what follows from the tracks alone; that this is what
the item's record says is checked by tests/demo/test_demo_photos.py.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Final

Place = tuple[float, float]

WIDTH, HEIGHT = 43.0, 31.0
TRACK, PAD = 2.0, 2.6

# Where a lead stands, by part and pin.
PINS: Final[dict[str, Place]] = {
    "R1.1": (9.0, 5.0), "R1.2": (19.0, 5.0),
    "C1.1": (24.0, 5.0), "C1.2": (39.0, 5.0),
    "R2.1": (24.0, 11.0), "R2.2": (34.0, 11.0),
    "D1.anode": (39.0, 14.0), "D1.cathode": (39.0, 24.0),
    "D2.anode": (8.0, 14.0), "D2.cathode": (8.0, 24.0),
    "D3.anode": (34.5, 24.0), "D3.cathode": (34.5, 14.0),
    "D4.anode": (12.5, 24.0), "D4.cathode": (12.5, 14.0),
    "C2.1": (18.5, 27.8), "C2.2": (18.5, 24.0),
}  # fmt: skip

# Where a wire was soldered; it has been taken off for the photographs, so that its hole is open.
WIRES: Final[dict[str, Place]] = {
    "live": (4.0, 5.0),
    "neutral": (3.8, 14.0),
    "LED1.anode": (28.0, 27.8),
    "LED1.cathode": (28.0, 24.0),
}
WIRE_HOLE: Final = 1.2
# Holes without copper: three for the pegs of the shell, three through which the wires are threaded. x, y and diameter.
HOLES: Final[tuple[tuple[float, float, float], ...]] = (
    (14.0, 9.8, 3.2),
    (3.6, 27.4, 3.2),
    (26.6, 15.0, 2.4),
    (3.8, 9.6, 2.2),
    (23.4, 18.0, 2.2),
    (30.4, 18.6, 2.2),
)

TRACKS: Final[tuple[tuple[Place, ...], ...]] = (
    ((4.0, 5.0), (9.0, 5.0)),
    ((19.0, 5.0), (24.0, 5.0), (24.0, 11.0)),
    ((39.0, 5.0), (39.0, 14.0)),
    ((34.0, 11.0), (39.0, 11.0)),
    ((34.5, 14.0), (39.0, 14.0)),
    ((3.8, 14.0), (12.5, 14.0)),
    ((8.0, 24.0), (8.0, 27.8), (39.0, 27.8), (39.0, 24.0)),
    ((12.5, 24.0), (34.5, 24.0)),
)


def joined() -> list[set[str]]:
    """The leads and wires on each piece of copper: what lies on one track, and on tracks that meet it."""
    places = {**PINS, **WIRES}
    found: list[tuple[set[str], list[tuple[Place, ...]]]] = []
    for track in TRACKS:
        names, tracks = {name for name, at in places.items() if _on(at, track)}, [track]
        apart = []
        for piece in found:
            if any(_meet(track, other) for other in piece[1]):
                names, tracks = names | piece[0], tracks + piece[1]
            else:
                apart.append(piece)
        found = [*apart, (names, tracks)]
    return [names for names, _ in found]


def _meet(one: tuple[Place, ...], other: tuple[Place, ...]) -> bool:
    return any(_on(at, other) for at in one) or any(_on(at, one) for at in other)


def _on(at: Place, track: tuple[Place, ...]) -> bool:
    return any(
        min(x0, x1) <= at[0] <= max(x0, x1) and min(y0, y1) <= at[1] <= max(y0, y1)
        for (x0, y0), (x1, y1) in pairwise(track)
    )
