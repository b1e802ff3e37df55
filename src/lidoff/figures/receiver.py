"""What a measuring receiver's quasi-peak detector shows for regularly repeated steps of current."""

from __future__ import annotations

from typing import Final

import numpy as np

from lidoff.figures.wave import Floats
from lidoff.standards.emission import PULSE_RESPONSE, QUASI_PEAK

BORDER: Final = QUASI_PEAK.number("B", "from")


def impulse_to_reading(frequency: Floats, repetition: float) -> Floats:
    """Quasi-peak reading [V rms of an equal sine] per impulse area [V s] at `frequency` [Hz].

    Impulses repeat `repetition` times a second [Hz]. CISPR 16-1-1 defines the detector by impulses of a stated area
    that read the same as a sine of 2 mV: 13.5 uVs at 25 Hz in band A (9 kHz to 150 kHz), 0.316 uVs at 100 Hz in band B
    (to 30 MHz), with a table of how the area changes with the repetition. All from memory of the document.
    """
    sine = QUASI_PEAK.number("both", "sine")
    gains = {}
    for band in ("A", "B"):
        rates = np.array([float(row.key[1]) for row in PULSE_RESPONSE.rows if row.key[0] == band])
        more = np.array([row.number for row in PULSE_RESPONSE.rows if row.key[0] == band])
        order = np.argsort(rates)
        # dB of impulse area needed for the same reading, between the table's rates on a logarithmic scale.
        needed = np.interp(np.log(repetition), np.log(rates[order]), more[order])
        gains[band] = sine / QUASI_PEAK.number(band, "area") * 10.0 ** (-float(needed) / 20.0)
    return np.asarray(np.where(frequency < BORDER, gains["A"], gains["B"]), dtype=np.float64)
