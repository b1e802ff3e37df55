"""Protective-conductor continuity and insulation resistance: type, routine and in-service tests."""

from __future__ import annotations

from typing import Final

from lidoff.standards.rows import Source, Table

_E: Final = Source(
    table="earth-and-insulation",
    document="EN 50106",
    edition="2008",
    clause="routine tests",
    unit="ohm",
    seen="verified",
    witness="copy",
)
_TYPE: Final = {"document": "IEC 60335-1", "edition": "2010+A2:2016", "clause": "27.5", "seen": "memory"}
_UL: Final = {"document": "UL 60065", "edition": "not stated", "clause": "bonding test"}
_UK: Final = {"document": "UK in-service code", "edition": "not stated", "clause": "inspection tests", "witness": "web"}
_VDE: Final = {"document": "DIN VDE 0701-0702", "edition": "2008", "clause": "limits"}
_AU: Final = {"document": "AS/NZS 3760", "edition": "not stated", "clause": "earth continuity", "witness": "web"}
_ICT: Final = {"document": "IEC 62368-1", "edition": "2018", "clause": "5.6.6.2"}
_TUBE: Final = {"document": "IEC 62931", "edition": "2017", "clause": "insulation, thermal", "witness": "web"}
EARTH: Final = Table(
    id="earth-and-insulation",
    title="Protective conductor and insulation resistance by test",
    keys=("test", "quantity"),
    rows=(
        _E.row("type test", "resistance, cord left out", value=0.1, **_TYPE),
        _E.row("type test", "current, or 1.5 times rated if more", value=25.0, unit="A", **_TYPE),
        _E.row("type test", "no-load voltage", value=12.0, unit="V", **_TYPE),
        _E.row("bond test", "resistance", value=0.1, **_UL),
        _E.row("bond test", "current", value=25.0, unit="A", **_UL),
        _E.row("bond test", "no-load voltage", value=12.0, unit="V", **_UL),
        _E.row("bond test", "time", value=60.0, unit="s", **_UL),
        _E.row("routine test", "resistance", value=0.1),
        _E.row("routine test", "resistance with supply cord", value=0.2, note="or 0.1 ohm plus the cord"),
        _E.row("routine test", "least current", value=10.0, unit="A"),
        _E.row("routine test", "no-load voltage", value=12.0, unit="V"),
        _E.row("adapter", "resistance", value=0.1, **_ICT, seen="memory"),
        _E.row("adapter", "time, cord on a circuit under 16 A", value=120.0, unit="s", **_ICT),
        _E.row("in service, UK", "resistance, cord added", value=0.1, **_UK),
        _E.row("in service, UK", "insulation, class I", value=1e6, **_UK),
        _E.row("in service, UK", "insulation, class II", value=2e6, **_UK),
        _E.row("in service, UK", "insulation test voltage", value=500.0, unit="V", **_UK),
        _E.row("in service, UK", "insulation test voltage, surge-protected", value=250.0, unit="V", **_UK),
        _E.row("in service, Germany", "resistance to 5 m", value=0.3, **_VDE),
        _E.row("in service, Germany", "added per further 7.5 m", value=0.1, **_VDE),
        _E.row("in service, Germany", "resistance at most", value=1.0, **_VDE),
        _E.row("in service, Germany", "insulation, class I", value=1.0e6, **_VDE, seen="memory"),
        _E.row("in service, Germany", "insulation, class II", value=2.0e6, **_VDE, seen="memory"),
        _E.row("in service, Germany", "insulation, safety extra-low voltage", value=0.25e6, **_VDE),
        _E.row("in service, Germany", "insulation, heating class I to 3.5 kW", value=0.3e6, **_VDE),
        _E.row("in service, Germany", "protective-conductor current", value=3.5e-3, unit="A", **_VDE),
        _E.row("in service, Germany", "touch current", value=0.5e-3, unit="A", **_VDE),
        _E.row("in service, Australia", "resistance", value=1.0, **_AU),
        _E.row("LED tube", "insulation, cap to accessible parts", value=4e6, **_TUBE),
        _E.row("LED tube", "temperature of any point", value=75.0, unit="degC", **_TUBE),
    ),
)

TABLES: Final = (EARTH,)


def in_service_resistance_germany(length: float) -> float:
    """Most protective-conductor resistance [ohm] of a cord of `length` [m] (DIN VDE 0701-0702:2008).

    0.3 ohm up to 5 m, 0.1 ohm for each further 7.5 m begun or not (taken in proportion), 1.0 ohm at most.
    """
    base, per, most = (
        EARTH.number("in service, Germany", what)
        for what in ("resistance to 5 m", "added per further 7.5 m", "resistance at most")
    )
    return min(most, base + per * max(0.0, length - 5.0) / 7.5)
