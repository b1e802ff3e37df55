"""Photographs of known boards as another camera might have taken them.

A part of the board, turned or mirrored, larger or smaller, darker, warmer, unevenly lit, a little blurred, and saved
coarsely.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

Rgb = NDArray[np.uint8]
Places = dict[str, tuple[float, float]]
Pieces = tuple[frozenset[str], ...]
_ENOUGH = 20  # pads that a part of a board has at least
_AROUND = 40  # pixels around the part


def mutated(rgb: Rgb, pads: Places, pieces: Sequence[frozenset[str]], seed: int) -> tuple[Rgb, Places, Pieces]:
    """The same board otherwise taken; of a part of it, the pieces that lie wholly within it."""
    random = np.random.default_rng(seed)
    left = tuple(pieces)
    if random.random() < 0.6:
        rgb, pads, left = _part(random, rgb, pads, left)
    rgb, pads = _turned(random, rgb, pads)
    rgb, pads = _sized(rgb, pads, float(random.uniform(0.7, 1.4)))
    if random.random() < 0.5:
        rgb = np.asarray(cv2.GaussianBlur(rgb, (0, 0), float(random.uniform(0.5, 0.9))), np.uint8)
    light = (rgb / 255.0) ** float(random.uniform(0.75, 1.35))
    if random.random() < 0.5:
        light *= ((1.0, 0.92, 0.78), (0.82, 0.93, 1.0))[int(random.integers(2))]
    if random.random() < 0.5:
        towards = float(random.uniform(0, 2 * np.pi))
        down, across = np.mgrid[0 : rgb.shape[0], 0 : rgb.shape[1]]
        along = np.cos(towards) * (across / rgb.shape[1] - 0.5) + np.sin(towards) * (down / rgb.shape[0] - 0.5)
        light *= 1 - float(random.uniform(0.2, 0.5)) * (along + 0.5)[..., None]
    rgb = (np.clip(light, 0, 1) * 255).round().astype(np.uint8)
    if random.random() < 0.6:
        held = io.BytesIO()
        Image.fromarray(rgb).save(held, "JPEG", quality=60)
        rgb = np.asarray(Image.open(held).convert("RGB"))
    return rgb, pads, left


def _part(random: np.random.Generator, rgb: Rgb, pads: Places, pieces: Pieces) -> tuple[Rgb, Places, Pieces]:
    places = np.array(list(pads.values()))
    low, high = places.min(axis=0), places.max(axis=0)
    kept: Pieces = ()
    while sum(map(len, kept)) < _ENOUGH:
        size = (high - low) * random.uniform(0.5, 0.85, 2)
        at = low + (high - low - size) * random.random(2)
        inside = {name for name, place in pads.items() if (at <= place).all() and (place <= at + size).all()}
        kept = tuple(piece for piece in pieces if piece <= inside)
    x0, y0 = np.maximum(at - _AROUND, 0).astype(int)
    x1, y1 = (at + size + _AROUND).astype(int)
    moved = {name: (pads[name][0] - x0, pads[name][1] - y0) for piece in kept for name in sorted(piece)}
    return rgb[y0:y1, x0:x1], moved, kept


def _turned(random: np.random.Generator, rgb: Rgb, pads: Places) -> tuple[Rgb, Places]:
    for _ in range(int(random.integers(4))):
        width = rgb.shape[1]
        rgb, pads = np.rot90(rgb), {name: (y, width - 1 - x) for name, (x, y) in pads.items()}
    if random.random() < 0.5:
        width = rgb.shape[1]
        rgb, pads = rgb[:, ::-1], {name: (width - 1 - x, y) for name, (x, y) in pads.items()}
    return np.ascontiguousarray(rgb), pads


def _sized(rgb: Rgb, pads: Places, times: float) -> tuple[Rgb, Places]:
    how = cv2.INTER_AREA if times < 1 else cv2.INTER_CUBIC
    sized = np.asarray(cv2.resize(rgb, None, fx=times, fy=times, interpolation=how), np.uint8)
    across, down = sized.shape[1] / rgb.shape[1], sized.shape[0] / rgb.shape[0]
    return sized, {name: ((x + 0.5) * across - 0.5, (y + 0.5) * down - 0.5) for name, (x, y) in pads.items()}
