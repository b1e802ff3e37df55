"""Conductors: resistance by cross-section, metals, copper-clad aluminium, AWG sizes."""

from __future__ import annotations

from typing import Final

from lidoff.standards.rows import Source, Table

_R: Final = Source(
    table="conductor-resistance",
    document="IEC 60228",
    edition="2004",
    clause="Tables 1 to 3",
    unit="ohm/km",
    seen="verified",
    witness="copy",
    note="three sources agree; highest direct-current resistance at 20 degC",
)
RESISTANCE: Final = Table(
    id="conductor-resistance",
    title="Highest resistance of a conductor at 20 degC by cross-section [mm2] and class",
    keys=("area [mm2]", "class"),
    rows=(
        *_R.grid(
            ("1/2 plain", "1/2 tinned", "5/6 plain", "5/6 tinned"),
            {
                0.5: (36.0, 36.7, 39.0, 40.1),
                0.75: (24.5, 24.8, 26.0, 26.7),
                1.0: (18.1, 18.2, 19.5, 20.0),
                1.5: (12.1, 12.2, 13.3, 13.7),
                2.5: (7.41, 7.56, 7.98, 8.21),
                4.0: (4.61, 4.70, 4.95, 5.09),
                6.0: (3.08, 3.11, 3.30, 3.39),
            },
        ),
        _R.row(
            1.25,
            "5/6 plain",
            value=15.6,
            document="BS 6500",
            edition="2000",
            clause="conductor resistance",
            seen="memory",
            note="not a row of IEC 60228",
        ),
        *(
            _R.row(
                area,
                column,
                value=value,
                document="VDE 0295",
                edition="2005",
                clause="equipment wires",
                note="class column not legible in the copy",
            )
            for area, plain, tinned in ((0.14, 134, 138), (0.22, 96, 99), (0.25, 76, 79), (0.34, 53, 56))
            for column, value in (("wire plain", plain), ("wire tinned", tinned))
        ),
    ),
)

_K: Final = Source(
    table="conductor-temperature",
    document="IEC 60228",
    edition="2004",
    clause="temperature correction",
    unit="1",
    seen="verified",
    witness="copy",
    note="multiply a measured resistance by it to refer to 20 degC",
)
TEMPERATURE: Final = Table(
    id="conductor-temperature",
    title="Temperature correction factor of conductor resistance by temperature [degC]",
    keys=("temperature [degC]",),
    rows=tuple(
        _K.row(t, value=k)
        for t, k in (
            (5.0, 1.064),
            (10.0, 1.042),
            (15.0, 1.020),
            (25.0, 0.980),
            (30.0, 0.962),
            (40.0, 0.926),
            (50.0, 0.893),
            (70.0, 0.833),
        )
    ),
)

_M: Final = Source(
    table="conductor-metals",
    document="ASTM B566",
    edition="2004a",
    clause="conductivity, density",
    unit="1",
    seen="verified",
    witness="copy",
)
_CU: Final = {"document": "IEC 60028", "edition": "1925", "clause": "annealed copper standard"}
_BOOK: Final = {"document": "Conductor handbook", "edition": "not stated", "clause": "p. 970"}
METALS: Final = Table(
    id="conductor-metals",
    title="Conductor metals: conductivity, resistivity, temperature coefficient, density",
    keys=("metal", "quantity"),
    rows=(
        _M.row("copper", "conductivity", value=58.0, unit="m/(ohm mm2)", **_CU),
        _M.row("copper", "resistivity", value=1.0 / 58.0, unit="ohm mm2/m", **_CU, seen="computed"),
        _M.row("copper", "temperature coefficient", value=3.93e-3, unit="1/K", **_CU),
        _M.row("copper", "density", value=8.9, unit="g/cm3", **_CU, seen="memory"),
        _M.row("aluminium", "conductivity", value=34.8, unit="m/(ohm mm2)", **_BOOK),
        _M.row("aluminium", "resistivity", value=1.0 / 34.8, unit="ohm mm2/m", **_BOOK, seen="computed"),
        _M.row("aluminium", "temperature coefficient", value=4.03e-3, unit="1/K", **_BOOK),
        _M.row("aluminium", "density", value=2.7, unit="g/cm3", **_BOOK, seen="memory"),
        _M.row("copper-clad aluminium 10 %", "least conductivity", value=62.9, unit="% IACS"),
        _M.row("copper-clad aluminium 10 %", "resistivity", value=0.02741, unit="ohm mm2/m", seen="computed"),
        _M.row("copper-clad aluminium 10 %", "density", value=3.32, unit="g/cm3"),
        _M.row("copper-clad aluminium 10 %", "copper by mass", value=27.0, unit="%"),
        _M.row("copper-clad aluminium 10 %", "temperature coefficient", value=4.0e-3, unit="1/K", seen="memory"),
        _M.row("copper-clad aluminium 15 %", "least conductivity", value=64.4, unit="% IACS"),
        _M.row("copper-clad aluminium 15 %", "resistivity", value=0.02677, unit="ohm mm2/m", seen="computed"),
        _M.row("copper-clad aluminium 15 %", "density", value=3.63, unit="g/cm3"),
        _M.row("copper-clad aluminium 15 %", "copper by mass", value=34.0, unit="%"),
        _M.row("copper-clad aluminium 15 %", "temperature coefficient", value=4.0e-3, unit="1/K", seen="memory"),
    ),
)

_A: Final = Source(
    table="awg",
    document="ASTM B258",
    edition="2018",
    clause="sizes",
    unit="mm",
    seen="verified",
    witness="web",
    note="solid copper at 20 degC",
)
AWG: Final = Table(
    id="awg",
    title="AWG sizes: diameter, area, resistance",
    keys=("size", "quantity"),
    rows=tuple(
        _A.row(size, quantity, value=value, unit=unit)
        for size, d, area, r in (
            (16, 1.29, 1.31, 13.2),
            (17, 1.15, 1.04, 16.6),
            (18, 1.02, 0.823, 21.0),
            (19, 0.912, 0.653, 26.4),
            (20, 0.812, 0.518, 33.3),
            (21, 0.723, 0.410, 42.0),
            (22, 0.644, 0.326, 53.0),
            (23, 0.573, 0.258, 66.8),
            (24, 0.511, 0.205, 84.2),
            (26, 0.405, 0.129, 134.0),
            (28, 0.321, 0.0810, 213.0),
        )
        for quantity, value, unit in (("diameter", d, "mm"), ("area", area, "mm2"), ("resistance", r, "ohm/km"))
    ),
)

_CCA: Final = Source(
    table="awg-copper-clad",
    document="ASTM B566",
    edition="2004a",
    clause="resistance by size",
    unit="ohm/1000 ft",
    seen="verified",
    witness="copy",
)
AWG_COPPER_CLAD: Final = Table(
    id="awg-copper-clad",
    title="Copper-clad aluminium by AWG size: resistance",
    keys=("size", "copper by volume"),
    rows=tuple(_CCA.grid(("10 %", "15 %"), {16: (6.23, 6.05), 18: (9.90, 9.61), 20: (15.7, 15.2)})),
)

TABLES: Final = (RESISTANCE, TEMPERATURE, METALS, AWG, AWG_COPPER_CLAD)


def at_20_degrees(resistance: float, temperature: float) -> float:
    """A copper resistance [ohm] measured at `temperature` [degC], referred to 20 degC (IEC 60228: 1/(1 + 0.004 dT))."""
    return resistance / (1.0 + 0.004 * (temperature - 20.0))


def awg_diameter(size: int) -> float:
    """Diameter [mm] of an AWG `size`: 0.127 mm x 92^((36 - n)/39) (ASTM B258, formula from memory)."""
    return float(0.127 * 92.0 ** ((36 - size) / 39.0))


def core_mass(area: float, metal: str) -> float:
    """Mass [g/m] of a solid core of `area` [mm2] of a metal of the table `conductor-metals`."""
    return area * METALS.number(metal, "density")
