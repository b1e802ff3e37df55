"""Touch current: limits, the networks that stand in for a body, capacitor limits, extra-low voltage."""

from __future__ import annotations

import math
from typing import Final

from lidoff.standards.rows import Source, Table

_ES: Final = Source(
    table="energy-sources",
    document="IEC 62368-1",
    edition="2018",
    clause="Table 4",
    unit="V",
    seen="verified",
    witness="copy",
)
_MA: Final = {"unit": "A"}
_ES2_AC: Final = {
    "unit": "A",
    "seen": "memory",
    "note": "the copy prints 0.5 mA, a slip: its own formula must meet 100 mA at 100 kHz",
}
ENERGY_SOURCES: Final = Table(
    id="energy-sources",
    title="Electrical energy source limits in steady state (ES1, ES2; above ES2 is ES3)",
    keys=("class", "kind", "quantity"),
    rows=(
        _ES.row("ES1", "dc", "voltage", value=60.0),
        _ES.row("ES1", "dc", "current", value=2e-3, **_MA),
        _ES.row("ES2", "dc", "voltage", value=120.0),
        _ES.row("ES2", "dc", "current", value=25e-3, **_MA),
        _ES.row("ES1", "ac to 1 kHz", "voltage rms", value=30.0),
        _ES.row("ES1", "ac to 1 kHz", "voltage peak", value=42.4),
        _ES.row("ES1", "ac to 1 kHz", "current rms", value=0.5e-3, **_MA),
        _ES.row("ES1", "ac to 1 kHz", "current peak", value=0.707e-3, **_MA),
        _ES.row("ES2", "ac to 1 kHz", "voltage rms", value=50.0),
        _ES.row("ES2", "ac to 1 kHz", "voltage peak", value=70.7),
        _ES.row("ES2", "ac to 1 kHz", "current rms", value=5e-3, **_ES2_AC),
        _ES.row("ES2", "ac to 1 kHz", "current peak", value=7.07e-3, **_ES2_AC),
        _ES.row("ES1", "ac 1 kHz to 100 kHz", "voltage rms, per kHz added to 30 V", value=0.4, unit="V/kHz"),
        _ES.row("ES2", "ac 1 kHz to 100 kHz", "voltage rms, per kHz added to 50 V", value=0.9, unit="V/kHz"),
        _ES.row("ES1", "ac 1 kHz to 100 kHz", "current rms, per kHz", value=0.5e-3, unit="A/kHz"),
        _ES.row("ES2", "ac 1 kHz to 100 kHz", "current rms, per kHz added to 5 mA", value=0.95e-3, unit="A/kHz"),
        _ES.row("ES1", "ac over 100 kHz", "voltage rms", value=70.0),
        _ES.row("ES2", "ac over 100 kHz", "voltage rms", value=140.0),
        _ES.row("ES1", "ac over 100 kHz", "current rms", value=50e-3, **_MA),
        _ES.row("ES2", "ac over 100 kHz", "current rms", value=100e-3, **_MA),
    ),
)

_CAP: Final = Source(
    table="charged-capacitors",
    document="IEC 62368-1",
    edition="2018",
    clause="Table 5",
    unit="V peak",
    seen="verified",
    witness="copy",
    note="linear interpolation is allowed; capacitance is nominal plus tolerance; flat beyond the end rows",
)
CHARGED_CAPACITORS: Final = Table(
    id="charged-capacitors",
    title="Charged capacitors: voltage limit by capacitance [nF]",
    keys=("capacitance [nF]", "class"),
    rows=tuple(
        _CAP.grid(
            ("ES1", "ES2"),
            {
                300.0: (60, 120),
                170.0: (75, 150),
                91.0: (100, 200),
                61.0: (125, 250),
                41.0: (150, 300),
                28.0: (200, 400),
                18.0: (250, 500),
                12.0: (350, 700),
                8.0: (500, 1000),
                4.0: (1000, 2000),
                1.6: (2500, 5000),
                0.8: (5000, 10000),
                0.4: (10000, 20000),
                0.2: (20000, 40000),
                0.133: (25000, 50000),
            },
        )
    ),
)

_LEAK: Final = Source(
    table="leakage",
    document="IEC 60335-1",
    edition="1991",
    clause="13.2, 16.2",
    unit="A",
    seen="verified",
    witness="copy",
)
_AV: Final = {"document": "IEC 60065", "edition": "2011", "clause": "9.1.1, Annex D"}
_LUM: Final = {"document": "IEC 60598-1", "edition": "2014+A1:2017", "clause": "10.3", "seen": "memory"}
LEAKAGE: Final = Table(
    id="leakage",
    title="Leakage and touch current by construction",
    keys=("construction",),
    rows=(
        _LEAK.row("class II", value=0.25e-3, note="newer editions word it as 0.35 mA peak touch current (from memory)"),
        _LEAK.row("class 0, 0I, III", value=0.5e-3, note="0.7 mA peak in newer editions (from memory)"),
        _LEAK.row("class I portable", value=0.75e-3),
        _LEAK.row("class I stationary motor-operated", value=3.5e-3),
        _LEAK.row("class I stationary heating", value=0.75e-3),
        _LEAK.row("class I stationary heating, per kW", value=0.75e-3, unit="A/kW"),
        _LEAK.row("class I stationary heating, at most", value=5e-3),
        _LEAK.row("accessible part, peak", value=0.7e-3, **_AV),
        _LEAK.row("accessible part, direct", value=2e-3, **_AV),
        _LEAK.row(
            "lamp gear, touch voltage over 50 kohm, peak",
            value=34.0,
            unit="V",
            document="IEC 61347-1",
            edition="2015",
            clause="Annex A",
        ),
        _LEAK.row("luminaire class II, touch, peak", value=0.7e-3, **_LUM),
        _LEAK.row("luminaire class I to 4 A, protective conductor", value=1.0e-3, **_LUM),
        _LEAK.row(
            "luminaire class III, bare parts, peak",
            value=0.7e-3,
            document="IEC 60598-1",
            edition="2008",
            clause="8.2.3",
        ),
    ),
)

_BODY: Final = Source(
    table="body-networks",
    document="IEC 60990",
    edition="2016",
    clause="Figure 4",
    unit="ohm",
    seen="verified",
    witness="copy",
)
_LETGO: Final = {"clause": "Figure 5", "seen": "memory"}
BODY_NETWORKS: Final = Table(
    id="body-networks",
    title="Networks that stand in for a body: skin, inner resistance, weighting filters",
    keys=("network", "element"),
    rows=(
        _BODY.row("unweighted", "RS", value=1500.0, clause="Figure 3", note="figure number from memory"),
        _BODY.row("unweighted", "CS", value=0.22e-6, unit="F", clause="Figure 3"),
        _BODY.row("unweighted", "RB", value=500.0, clause="Figure 3"),
        _BODY.row("perception", "RS", value=1500.0),
        _BODY.row("perception", "CS", value=0.22e-6, unit="F"),
        _BODY.row("perception", "RB", value=500.0),
        _BODY.row("perception", "R1", value=10000.0),
        _BODY.row("perception", "C1", value=0.022e-6, unit="F"),
        _BODY.row("let-go", "RS", value=1500.0, **_LETGO),
        _BODY.row("let-go", "CS", value=0.22e-6, unit="F", **_LETGO),
        _BODY.row("let-go", "RB", value=500.0, **_LETGO),
        _BODY.row("let-go", "R2", value=10000.0, **_LETGO),
        _BODY.row("let-go", "C2", value=0.0062e-6, unit="F", **_LETGO),
        _BODY.row("let-go", "R3", value=20000.0, **_LETGO),
        _BODY.row("let-go", "C3", value=0.0091e-6, unit="F", **_LETGO),
        _BODY.row("meter", "least input resistance", value=1e6),
        _BODY.row("meter", "most input capacitance", value=200e-12, unit="F"),
        _BODY.row(
            "short cut",
            "resistance",
            value=2000.0,
            document="IEC 62368-1",
            edition="2018",
            clause="Table 4",
            note="for sinusoidal and direct current",
        ),
    ),
)

_ELV: Final = Source(
    table="extra-low-voltage",
    document="IEC 62368-1",
    edition="2018",
    clause="Table 4",
    unit="V",
    seen="verified",
    witness="copy",
)
EXTRA_LOW: Final = Table(
    id="extra-low-voltage",
    title="Extra-low voltage and the reach of the Low Voltage Directive",
    keys=("what",),
    rows=(
        _ELV.row("upper band, alternating", value=50.0),
        _ELV.row("upper band, direct", value=120.0),
        _ELV.row("touchable dry, alternating", value=25.0, document="IEC 60598-1", edition="2008", clause="8.2.3"),
        _ELV.row("touchable dry, direct", value=60.0, document="IEC 60598-1", edition="2008", clause="8.2.3"),
        _ELV.row("appliances, peak", value=42.4, document="IEC 60335-1", edition="2010+A2:2016", clause="8.1.4"),
        *(
            _ELV.row(what, value=v, document="2014/35/EU", edition="2014", clause="Article 1", seen="memory")
            for what, v in (
                ("directive from, alternating", 50.0),
                ("directive to, alternating", 1000.0),
                ("directive from, direct", 75.0),
                ("directive to, direct", 1500.0),
            )
        ),
    ),
)

TABLES: Final = (ENERGY_SOURCES, CHARGED_CAPACITORS, LEAKAGE, BODY_NETWORKS, EXTRA_LOW)


def capacitor_voltage_limit(capacitance: float, level: str = "ES1") -> float:
    """Highest voltage [V peak] of a charged capacitor of `capacitance` [F] in class `level` "ES1" or "ES2".

    Linear between the rows of IEC 62368-1, Table 5, as it allows; give nominal plus tolerance.
    """
    nano = capacitance * 1e9
    axis = [float(point) for point in CHARGED_CAPACITORS.axis(0)]
    if nano >= axis[0]:
        return CHARGED_CAPACITORS.number(axis[0], level)
    if nano <= axis[-1]:
        return CHARGED_CAPACITORS.number(axis[-1], level)
    lower = next(i for i, point in enumerate(axis) if nano >= point)
    big, small = axis[lower - 1], axis[lower]
    at_big, at_small = CHARGED_CAPACITORS.number(big, level), CHARGED_CAPACITORS.number(small, level)
    return at_small + (nano - small) / (big - small) * (at_big - at_small)


def es_current_limit(frequency: float, level: str = "ES1") -> float:
    """Limit of alternating touch current [A rms] at `frequency` [Hz] in class "ES1" or "ES2" (IEC 62368-1, Table 4)."""
    if frequency <= 1e3:
        return ENERGY_SOURCES.number(level, "ac to 1 kHz", "current rms")
    if frequency > 1e5:
        return ENERGY_SOURCES.number(level, "ac over 100 kHz", "current rms")
    kilo = frequency / 1e3
    if level == "ES1":
        return ENERGY_SOURCES.number("ES1", "ac 1 kHz to 100 kHz", "current rms, per kHz") * kilo
    slope = ENERGY_SOURCES.number("ES2", "ac 1 kHz to 100 kHz", "current rms, per kHz added to 5 mA")
    return ENERGY_SOURCES.number("ES2", "ac to 1 kHz", "current rms") + slope * kilo


def network_impedance(network: str, frequency: float) -> complex:
    """Impedance [ohm] of a body network at `frequency` [Hz] (IEC 60990): "unweighted" or "perception".

    The let-go network differs from "unweighted" by filters that load it by less than 5 %: use "unweighted" for it.
    """
    w = 2.0 * math.pi * frequency
    rs, cs, rb = (BODY_NETWORKS.number(network, element) for element in ("RS", "CS", "RB"))
    lower: complex = complex(rb)
    if network == "perception" and w > 0.0:
        filter_branch = BODY_NETWORKS.number(network, "R1") + 1.0 / (1j * w * BODY_NETWORKS.number(network, "C1"))
        lower = rb * filter_branch / (rb + filter_branch)
    return rs / (1.0 + 1j * w * rs * cs) + lower


def indicated_share(network: str, frequency: float) -> complex:
    """What a body network indicates per ampere through it [1] at `frequency` [Hz]: its output voltage over 500 ohm.

    "unweighted" indicates all; "perception" weighs by its low-pass (IEC 60990, Figures 3 and 4).
    """
    if network == "unweighted":
        return 1.0 + 0.0j
    w = 2.0 * math.pi * frequency
    rs, cs, rb = (BODY_NETWORKS.number(network, element) for element in ("RS", "CS", "RB"))
    lower = network_impedance(network, frequency) - rs / (1.0 + 1j * w * rs * cs)
    corner = BODY_NETWORKS.number(network, "R1") * BODY_NETWORKS.number(network, "C1")
    return lower / rb / (1.0 + 1j * w * corner)
