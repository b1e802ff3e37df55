"""Insulation coordination after IEC 60664-1: impulse voltages, clearances, creepage distances."""

from __future__ import annotations

from typing import Any, Final

from lidoff.standards.rows import Source, Table

_DOC: Final[dict[str, Any]] = {"document": "IEC 60664-1", "edition": "2020", "seen": "verified", "witness": "copy"}

_IMPULSE: Final = Source(table="impulse", clause="Table F.1", unit="V", **_DOC)
IMPULSE: Final = Table(
    id="impulse",
    title="Rated impulse voltage by overvoltage category and line-to-neutral voltage up to [V]",
    keys=("line to neutral up to [V]", "category"),
    rows=tuple(
        _IMPULSE.grid(
            ("I", "II", "III", "IV"),
            {
                50.0: (330, 500, 800, 1500),
                100.0: (500, 800, 1500, 2500),
                150.0: (800, 1500, 2500, 4000),
                300.0: (1500, 2500, 4000, 6000),
                600.0: (2500, 4000, 6000, 8000),
                1000.0: (4000, 6000, 8000, 12000),
                1500.0: (6000, 8000, 10000, 15000),
            },
        )
    ),
)

CATEGORIES: Final = {
    "I": "circuits in which transients are limited",
    "II": "appliances, portable tools, household loads fed from the fixed installation",
    "III": "the fixed installation: switches, sockets, wiring",
    "IV": "the origin of the installation: meters, main fuses",
}
"""What the overvoltage categories mean (IEC 60664-1, 4.3)."""

_CLEARANCE: Final = Source(
    table="clearance", clause="Table F.2", unit="mm", **_DOC, note="inhomogeneous field (case A), up to 2000 m"
)
CLEARANCE: Final = Table(
    id="clearance",
    title="Least clearance by impulse withstand voltage [V] and pollution degree",
    keys=("impulse [V]", "pollution degree"),
    rows=tuple(
        _CLEARANCE.grid(
            (1, 2, 3),
            {
                330.0: (0.01, 0.2, 0.8),
                500.0: (0.04, 0.2, 0.8),
                800.0: (0.10, 0.2, 0.8),
                1000.0: (0.15, 0.2, 0.8),
                1200.0: (0.25, 0.25, 0.8),
                1500.0: (0.5, 0.5, 0.8),
                2000.0: (1.0, 1.0, 1.0),
                2500.0: (1.5, 1.5, 1.5),
                3000.0: (2.0, 2.0, 2.0),
                4000.0: (3.0, 3.0, 3.0),
                5000.0: (4.0, 4.0, 4.0),
                6000.0: (5.5, 5.5, 5.5),
                8000.0: (8.0, 8.0, 8.0),
                10000.0: (11.0, 11.0, 11.0),
                12000.0: (14.0, 14.0, 14.0),
            },
        )
    ),
)

_ALTITUDE: Final = Source(table="altitude", clause="Table A.2", unit="1", **_DOC)
ALTITUDE: Final = Table(
    id="altitude",
    title="Multiplier for clearances by altitude [m]",
    keys=("altitude [m]",),
    rows=tuple(
        _ALTITUDE.row(height, value=factor)
        for height, factor in (
            (2000.0, 1.00),
            (3000.0, 1.14),
            (4000.0, 1.29),
            (5000.0, 1.48),
            (6000.0, 1.70),
            (7000.0, 1.95),
            (8000.0, 2.25),
            (9000.0, 2.62),
            (10000.0, 3.02),
            (15000.0, 6.67),
            (20000.0, 14.5),
        )
    ),
)

_CREEPAGE: Final = Source(
    table="creepage",
    clause="Table F.5 (F.4 in 2007)",
    unit="mm",
    **_DOC,
    note="two copies agree on every row; the printed-wiring column of pollution degree 2 leaves out group IIIb",
)
CREEPAGE: Final = Table(
    id="creepage",
    title="Least creepage distance, basic insulation, by working voltage [V rms]",
    keys=("voltage [V rms]", "column"),
    rows=tuple(
        _CREEPAGE.grid(
            ("printed 1", "printed 2", "1", "2 I", "2 II", "2 III", "3 I", "3 II", "3 III"),
            {
                10.0: (0.025, 0.040, 0.080, 0.40, 0.40, 0.40, 1.00, 1.00, 1.00),
                25.0: (0.025, 0.040, 0.125, 0.50, 0.50, 0.50, 1.25, 1.25, 1.25),
                32.0: (0.025, 0.040, 0.14, 0.53, 0.53, 0.53, 1.30, 1.30, 1.30),
                40.0: (0.025, 0.040, 0.16, 0.56, 0.80, 1.10, 1.40, 1.60, 1.80),
                50.0: (0.025, 0.040, 0.18, 0.60, 0.85, 1.20, 1.50, 1.70, 1.90),
                63.0: (0.040, 0.063, 0.20, 0.63, 0.90, 1.25, 1.60, 1.80, 2.00),
                80.0: (0.063, 0.100, 0.22, 0.67, 0.95, 1.30, 1.70, 1.90, 2.10),
                100.0: (0.100, 0.160, 0.25, 0.71, 1.00, 1.40, 1.80, 2.00, 2.20),
                125.0: (0.160, 0.250, 0.28, 0.75, 1.05, 1.50, 1.90, 2.10, 2.40),
                160.0: (0.250, 0.400, 0.32, 0.80, 1.10, 1.60, 2.00, 2.20, 2.50),
                200.0: (0.400, 0.630, 0.42, 1.00, 1.40, 2.00, 2.50, 2.80, 3.20),
                250.0: (0.560, 1.00, 0.56, 1.25, 1.80, 2.50, 3.20, 3.60, 4.00),
                320.0: (0.75, 1.60, 0.75, 1.60, 2.20, 3.20, 4.00, 4.50, 5.00),
                400.0: (1.0, 2.0, 1.0, 2.0, 2.8, 4.0, 5.0, 5.6, 6.3),
                500.0: (1.3, 2.5, 1.3, 2.5, 3.6, 5.0, 6.3, 7.1, 8.0),
                630.0: (1.8, 3.2, 1.8, 3.2, 4.5, 6.3, 8.0, 9.0, 10.0),
                800.0: (2.4, 4.0, 2.4, 4.0, 5.6, 8.0, 10.0, 11.0, 12.5),
                1000.0: (3.2, 5.0, 3.2, 5.0, 7.1, 10.0, 12.5, 14.0, 16.0),
            },
        )
    ),
)

_GROUP: Final = Source(
    table="material-groups",
    document="IEC 60112",
    edition="2020",
    clause="groups of IEC 60664-1, 5.3.2.4",
    unit="1",
    seen="memory",
)
MATERIAL_GROUPS: Final = Table(
    id="material-groups",
    title="Material groups by the least comparative tracking index",
    keys=("group",),
    rows=(
        _GROUP.row("I", value=600.0),
        _GROUP.row("II", value=400.0),
        _GROUP.row("IIIa", value=175.0, note="taken for a board that is not known: FR-4 commonly 175 to 250"),
        _GROUP.row("IIIb", value=100.0),
    ),
)

_RULE: Final = Source(
    table="insulation-rules", document="IEC 60664-1", edition="2020", clause="5.2, 5.3, 6.2", unit="1", seen="memory"
)
RULES: Final = Table(
    id="insulation-rules",
    title="Rules round the clearance and creepage tables",
    keys=("rule",),
    rows=(
        _RULE.row("reinforced creepage, times basic", value=2.0),
        _RULE.row("reinforced clearance, impulse steps up", value=1.0, note="or 160 % of the required withstand"),
        _RULE.row("least clearance in pollution degree 4", value=1.6, unit="mm"),
        _RULE.row("printed clearance floor in pollution degree 2", value=0.04, unit="mm"),
        _RULE.row("groove width in pollution degree 1", value=0.25, unit="mm"),
        _RULE.row("groove width in pollution degree 2", value=1.0, unit="mm"),
        _RULE.row("groove width in pollution degree 3", value=1.5, unit="mm"),
        _RULE.row("creepage never under clearance", value="yes", unit="text", seen="verified", witness="web"),
        _RULE.row("clearance interpolation", value="linear", unit="text", seen="verified", witness="copy"),
        _RULE.row("creepage interpolation", value="linear", unit="text"),
    ),
)

TABLES: Final = (IMPULSE, CLEARANCE, ALTITUDE, CREEPAGE, MATERIAL_GROUPS, RULES)
