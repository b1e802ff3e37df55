"""Waveforms of the trade in closed form, uniformly sampled over whole mains cycles (end point left out)."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np

FOLDER = Path(__file__).resolve().parent.parent / "reference" / "figures"
SAMPLES = 1 << 14


def angle(samples: int = SAMPLES, cycles: int = 1) -> np.ndarray:
    """Phase of the mains [rad]."""
    return 2.0 * np.pi * cycles * np.arange(samples) / samples


def rectified(samples: int = SAMPLES) -> np.ndarray:
    """The magnitude of a sine of peak 1."""
    return np.abs(np.sin(angle(samples)))


def above(level: float, samples: int = SAMPLES) -> np.ndarray:
    """1 while the rectified sine is over `level`, else 0, the cell that holds the crossing in proportion."""
    edge = np.arcsin(level)
    phase = np.mod(angle(samples), np.pi)
    cell = 2.0 * np.pi / samples
    rising = np.clip((phase - edge) / cell + 0.5, 0.0, 1.0)
    falling = np.clip((np.pi - edge - phase) / cell + 0.5, 0.0, 1.0)
    return np.minimum(rising, falling)


def printed(text: str) -> float:
    """Half a unit of the last digit of a printed number, and a hair: what rounding can hide."""
    return 0.505 * 10.0 ** -len(text.partition(".")[2])


def lines(name: str) -> list[dict[str, str]]:
    """The rows of a reference file."""
    with (FOLDER / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))
