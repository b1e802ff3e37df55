"""Charge left on plug pins and capacitors after unplugging: what each standard allows, and when."""

from __future__ import annotations

import math
from typing import Final

from lidoff.standards.rows import Source, Table

_D: Final = Source(
    table="discharge",
    document="IEC 60335-1",
    edition="2010+A2:2016",
    clause="22.5",
    unit="V",
    seen="verified",
    witness="copy",
)
_IT: Final = {"document": "IEC 60950-1", "edition": "2005+A2:2013", "clause": "2.1.1.7"}
_AV: Final = {"document": "IEC 60065", "edition": "2011", "clause": "9.1.1, Annex D"}
_LAB: Final = {"document": "IEC 61010-1", "edition": "2010", "clause": "6.10.3"}
_MACHINE: Final = {"document": "IEC 60204-1", "edition": "2016", "clause": "6.2.4", "witness": "web"}
_PI: Final = {"clause": "8.1.4"}
_LUM: Final = {"document": "IEC 60598-1", "edition": "2014+A1:2017", "clause": "8.2.7", "seen": "memory"}
_ICT: Final = {"document": "IEC 62368-1", "edition": "2018", "clause": "5.5.2.2"}
DISCHARGE: Final = Table(
    id="discharge",
    title="Voltage, time and capacitance after disconnection, by kind of product",
    keys=("product", "quantity"),
    rows=(
        _D.row("appliance", "voltage between pins", value=34.0, note="Japan's national law: 45 V"),
        _D.row("appliance", "after", value=1.0, unit="s"),
        _D.row("appliance", "exempt up to", value=0.1e-6, unit="F"),
        _D.row(
            "information technology",
            "time constant, pluggable type A",
            value=1.0,
            unit="s",
            **_IT,
            note="so at most 37 % of the first voltage after 1 s; meter loading 100 Mohm",
        ),
        _D.row("information technology", "time constant, pluggable type B", value=10.0, unit="s", **_IT),
        _D.row("information technology", "exempt up to", value=0.1e-6, unit="F", **_IT),
        _D.row("information technology", "no test below, peak", value=42.4, **_IT),
        _D.row("information technology", "no test below, direct", value=60.0, **_IT),
        _D.row(
            "adapter",
            "after",
            value=2.0,
            unit="s",
            **_ICT,
            note="then within ES1 for ordinary persons by the capacitor table (class from memory)",
        ),
        _D.row("audio and video", "after", value=2.0, unit="s", **_AV, seen="memory"),
        _D.row("audio and video", "voltage, peak", value=35.0, **_AV),
        _D.row("audio and video", "voltage, direct", value=60.0, **_AV),
        _D.row("laboratory", "after", value=5.0, unit="s", **_LAB),
        _D.row("laboratory", "voltage", value=60.0, **_LAB),
        _D.row("laboratory", "charge", value=45e-6, unit="C", **_LAB),
        _D.row("machine", "voltage", value=60.0, **_MACHINE),
        _D.row("machine", "after", value=5.0, unit="s", **_MACHINE),
        _D.row("machine", "after, exposed plug pins", value=1.0, unit="s", **_MACHINE),
        _D.row("luminaire", "voltage", value=34.0, **_LUM),
        _D.row("luminaire", "after", value=1.0, unit="s", **_LUM),
        _D.row("luminaire", "exempt up to", value=0.1e-6, unit="F", **_LUM),
        _D.row("protective impedance", "direct current", value=2e-3, unit="A", **_PI),
        _D.row("protective impedance", "peak current", value=0.7e-3, unit="A", **_PI),
        _D.row("protective impedance", "capacitance, 42.4 V to 450 V peak", value=0.1e-6, unit="F", **_PI),
        _D.row("protective impedance", "charge, 450 V to 15 kV", value=45e-6, unit="C", **_PI),
        _D.row("protective impedance", "energy, over 15 kV", value=0.35, unit="J", **_PI),
        _D.row("protective impedance", "live above, peak", value=42.4, **_PI),
    ),
)

TABLES: Final = (DISCHARGE,)


def bleed_time_constant(start: float, end: float, seconds: float) -> float:
    """Largest RC [s] that brings `start` [V] down to `end` [V] within `seconds` [s] (exponential discharge)."""
    if not 0.0 < end < start:
        raise ValueError(f"no discharge runs from {start:g} V to {end:g} V; the end lies between zero and the start")
    return seconds / math.log(start / end)
