"""Conducted radio disturbance: limits at the mains port and the artificial mains network they are measured on."""

from __future__ import annotations

import math
from typing import Final

from lidoff.standards.rows import Row, Source, Table

_DB: Final = "dBuV"
_L: Final = Source(
    table="conducted-limits",
    document="47 CFR 18",
    edition="as in force 2024",
    clause="18.307(b)",
    unit=_DB,
    seen="verified",
    witness="text",
    note="the same table as CISPR 32, CISPR 14-1 and CISPR 11 class B; a Russian national limit for dwellings agrees",
)
_LOW: Final = {
    "document": "CISPR 15",
    "edition": "2018",
    "clause": "mains terminals",
    "seen": "memory",
    "note": "the same figures were read for induction equipment in 47 CFR 18.307(a)",
}
_CLASS_A: Final = {
    "document": "CISPR 32",
    "edition": "2015",
    "clause": "class A, mains port",
    "witness": "text",
    "note": "read in a Russian national limit",
}
CONDUCTED: Final = Table(
    id="conducted-limits",
    title="Disturbance voltage limits at the mains port: at the lower and upper end of each band",
    keys=("limit", "detector", "from [Hz]", "to [Hz]", "end"),
    rows=tuple(
        _L.row(name, detector, low, high, end, value=value, **other)
        for name, detector, low, high, start, stop, other in (
            ("lighting", "quasi-peak", 9e3, 50e3, 110.0, 110.0, _LOW),
            ("lighting", "quasi-peak", 50e3, 150e3, 90.0, 80.0, _LOW),
            ("residential", "quasi-peak", 150e3, 500e3, 66.0, 56.0, {}),
            ("residential", "quasi-peak", 500e3, 5e6, 56.0, 56.0, {}),
            ("residential", "quasi-peak", 5e6, 30e6, 60.0, 60.0, {}),
            ("residential", "average", 150e3, 500e3, 56.0, 46.0, {}),
            ("residential", "average", 500e3, 5e6, 46.0, 46.0, {}),
            ("residential", "average", 5e6, 30e6, 50.0, 50.0, {}),
            ("other premises", "quasi-peak", 150e3, 500e3, 79.0, 79.0, _CLASS_A),
            ("other premises", "quasi-peak", 500e3, 30e6, 73.0, 73.0, _CLASS_A),
            ("other premises", "average", 150e3, 500e3, 66.0, 66.0, _CLASS_A),
            ("other premises", "average", 500e3, 30e6, 60.0, 60.0, _CLASS_A),
        )
        for end, value in (("lower", start), ("upper", stop))
    ),
)

_N: Final = Source(
    table="artificial-mains-network",
    document="CISPR 16-1-2",
    edition="2014",
    clause="4.2",
    unit="ohm",
    seen="verified",
    witness="copy",
)
_INSIDE: Final = {"seen": "memory", "clause": "4.2, Annex A"}
NETWORK: Final = Table(
    id="artificial-mains-network",
    title="Artificial mains network 50 ohm / 50 uH + 5 ohm, 9 kHz to 30 MHz, per line",
    keys=("element",),
    rows=(
        _N.row("receiver", value=50.0),
        _N.row("inductance", value=50e-6, unit="H"),
        _N.row("damping", value=5.0),
        _N.row("coupling capacitor", value=0.25e-6, unit="F", **_INSIDE),
        _N.row("bleed", value=1000.0, **_INSIDE),
        _N.row("damping capacitor", value=8e-6, unit="F", **_INSIDE),
        _N.row("mains-side inductance", value=250e-6, unit="H", **_INSIDE),
        _N.row("mains-side capacitor", value=4e-6, unit="F", **_INSIDE),
        _N.row("mains-side damping", value=10.0, **_INSIDE),
    ),
)

_Q: Final = Source(
    table="quasi-peak",
    document="CISPR 16-1-1",
    edition="2019",
    clause="4, quasi-peak receivers, Table 2",
    unit="V s",
    seen="memory",
)
QUASI_PEAK: Final = Table(
    id="quasi-peak",
    title="Quasi-peak receiver: the impulse that reads the same as a sine",
    keys=("band", "quantity"),
    rows=(
        _Q.row("both", "sine", value=2e-3, unit="V rms"),
        _Q.row("A", "from", value=9e3, unit="Hz"),
        _Q.row("A", "bandwidth", value=200.0, unit="Hz"),
        _Q.row("A", "area", value=13.5e-6),
        _Q.row("A", "repetition", value=25.0, unit="Hz"),
        _Q.row("B", "from", value=150e3, unit="Hz"),
        _Q.row("B", "bandwidth", value=9e3, unit="Hz"),
        _Q.row("B", "area", value=0.316e-6),
        _Q.row("B", "repetition", value=100.0, unit="Hz"),
    ),
)

_PULSE: Final = Source(
    table="pulse-response",
    document="CISPR 16-1-1",
    edition="2019",
    clause="4, pulse response, Table 3",
    unit="dB",
    seen="memory",
    note="impulse level that gives the same reading, relative to the repetition of the definition",
)
PULSE_RESPONSE: Final = Table(
    id="pulse-response",
    title="Quasi-peak receiver: impulse level for the same reading, by band and repetition [Hz]",
    keys=("band", "repetition [Hz]"),
    rows=(
        *(
            _PULSE.row("A", rate, value=level)
            for rate, level in (
                (100.0, -4.0),
                (60.0, -3.0),
                (25.0, 0.0),
                (10.0, 4.0),
                (5.0, 7.5),
                (2.0, 13.0),
                (1.0, 17.0),
            )
        ),
        *(
            _PULSE.row("B", rate, value=level)
            for rate, level in ((1000.0, -4.5), (100.0, 0.0), (20.0, 6.5), (10.0, 10.0), (2.0, 20.5), (1.0, 22.5))
        ),
    ),
)

TABLES: Final = (CONDUCTED, NETWORK, QUASI_PEAK, PULSE_RESPONSE)


def conducted_limit(
    frequency: float, limit: str = "lighting", detector: str = "quasi-peak"
) -> tuple[float, Row] | None:
    """Disturbance voltage limit [dBuV] at `frequency` [Hz] and the row it rests on; None where there is none.

    `limit` is "lighting", "residential" or "other premises"; lighting goes on as residential from 150 kHz. Within a
    band the limit falls in a straight line with the logarithm of the frequency. At a border the lower limit applies.
    """
    names = ("lighting", "residential") if limit == "lighting" else (limit,)
    found: list[tuple[float, Row]] = []
    for row in CONDUCTED.rows:
        name, kind, low, high, end = row.key
        if name not in names or kind != detector or end != "lower" or not float(low) <= frequency <= float(high):
            continue
        stop = CONDUCTED.number(name, kind, low, high, "upper")
        share = math.log(frequency / float(low)) / math.log(float(high) / float(low))
        found.append((row.number + share * (stop - row.number), row))
    return min(found, key=lambda pair: pair[0], default=None)
