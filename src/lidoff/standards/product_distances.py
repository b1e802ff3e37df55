"""Distances and electric strength as product standards print them: appliances, adapters, luminaires."""

from __future__ import annotations

from typing import Any, Final

from lidoff.standards.rows import Source, Table

_H: Final[dict[str, Any]] = {
    "document": "IEC 60335-1",
    "edition": "2010+A2:2016",
    "seen": "verified",
    "witness": "copy",
}
_HC: Final = Source(table="appliance-clearance", clause="Table 16", unit="mm", **_H)
APPLIANCE_CLEARANCE: Final = Table(
    id="appliance-clearance",
    title="Appliances: least clearance by rated impulse voltage [V]",
    keys=("impulse [V]",),
    rows=(
        *(
            _HC.row(float(u), value=0.5, note="0.8 mm in pollution degree 3 (from memory)")
            for u in (330, 500, 800, 1500)
        ),
        *(_HC.row(float(u), value=d) for u, d in ((2500, 1.5), (4000, 3.0), (6000, 5.5), (8000, 8.0), (10000, 11.0))),
        _HC.row("added where wear or distortion is possible", value=0.5, seen="memory", clause="29.1"),
        _HC.row(
            "reinforced at 230 V",
            value=3.0,
            seen="memory",
            clause="29.1",
            note="the next impulse step, 4000 V: the number was read, the rule is from memory",
        ),
    ),
)

_HK: Final = Source(table="appliance-creepage", clause="Table 17", unit="mm", **_H)
APPLIANCE_CREEPAGE: Final = Table(
    id="appliance-creepage",
    title="Appliances: least creepage over 125 V to 250 V working voltage",
    keys=("insulation", "column"),
    rows=(
        *_HK.grid(
            ("1", "2 I", "2 II", "2 III", "3 I", "3 II", "3 III"),
            {"basic": (0.56, 1.25, 1.8, 2.5, 3.2, 3.6, 4.0)},
        ),
        *(
            _HK.row("functional", column, value=v, clause="Table 18")
            for column, v in (
                ("1", 0.42),
                ("2 I", 1.0),
                ("2 II", 1.4),
                ("2 III", 2.0),
                ("3 I", 2.5),
                ("3 II", 2.8),
                ("3 III", 3.2),
            )
        ),
        _HK.row("reinforced", "2 III", value=5.0, seen="computed", note="twice basic; the rule is from memory"),
        _HK.row("reinforced", "3 III", value=8.0, seen="computed", note="twice basic; the rule is from memory"),
    ),
)

_HS: Final = Source(table="appliance-strength", clause="16.3, Table 7", unit="V", **_H)
APPLIANCE_STRENGTH: Final = Table(
    id="appliance-strength",
    title="Appliances: electric-strength test voltage by rated voltage and insulation",
    keys=("rated voltage", "insulation"),
    rows=(
        *_HS.grid(
            ("basic", "supplementary", "reinforced"),
            {"up to 150 V": (1250, 1250, 2500), "over 150 V to 250 V": (1250, 1750, 3000)},
        ),
    ),
)

_A: Final[dict[str, Any]] = {"document": "IEC 62368-1", "edition": "2018", "seen": "verified", "witness": "copy"}
_AC: Final = Source(table="adapter-clearance", clause="Table 14", unit="mm", **_A)
ADAPTER_CLEARANCE: Final = Table(
    id="adapter-clearance",
    title="Adapters and chargers: least clearance in pollution degree 2",
    keys=("by [V peak]", "insulation"),
    rows=(
        *_AC.grid(("basic", "reinforced"), {"withstand 2500": (1.5, 3.0), "withstand 4000": (3.0, 5.5)}),
        *(
            _AC.row(line, insulation, value=v, clause="Table 10")
            for line, insulation, v in (
                ("working 800", "basic", 0.2),
                ("working 800", "reinforced", 0.4),
                ("working 2500", "basic", 1.8),
                ("working 2500", "reinforced", 3.6),
            )
        ),
    ),
)

_AO: Final = Source(table="adapter-other", clause="Table 17", unit="mm", **_A)
ADAPTER_OTHER: Final = Table(
    id="adapter-other",
    title="Adapters and chargers: creepage, electric strength, altitude, solid insulation",
    keys=("what",),
    rows=(
        _AO.row("creepage 250 V", value=2.5, note="pollution degree 2, group IIIa"),
        _AO.row("creepage 400 V", value=4.0, note="pollution degree 2, group IIIa"),
        _AO.row("test for 2500 V transient", value=2920, unit="V peak", clause="Table 15"),
        _AO.row("test for 4000 V transient", value=4920, unit="V peak", clause="Table 15"),
        *(
            _AO.row(f"altitude {height} m", value=factor, unit="1", clause="Table 16")
            for height, factor in ((2000, 1.00), (3000, 1.14), (4000, 1.29), (5000, 1.48))
        ),
        _AO.row(
            "single layer of solid insulation",
            value=0.4,
            clause="5.4.4",
            seen="memory",
            note="supplementary or reinforced",
        ),
    ),
)

_O: Final = Source(
    table="it-secondary-clearance",
    document="IEC 60950-1",
    edition="2005+A2:2013",
    clause="Table 2K",
    unit="mm",
    seen="verified",
    witness="copy",
    note="secondary circuits, row up to 300 V rms, 420 V peak",
)
IT_SECONDARY: Final = Table(
    id="it-secondary-clearance",
    title="Older adapters: clearances in secondary circuits by mains transient; plain and with quality control",
    keys=("transient and control", "insulation"),
    rows=tuple(
        _O.grid(
            ("functional", "basic", "reinforced"),
            {
                "2500 V": (1.7, 2.0, 4.0),
                "2500 V, quality control": (1.5, 1.5, 3.0),
                "1500 V": (1.6, 1.9, 3.8),
                "1500 V, quality control": (1.0, 1.0, 2.0),
            },
        )
    ),
)

_P: Final = Source(
    table="it-primary",
    document="IEC 60950-1",
    edition="2005+A2:2013",
    clause="Table 2H",
    unit="mm",
    seen="memory",
    note="commonly quoted at 240 V to 250 V, pollution degree 2, group IIIb",
)
IT_PRIMARY: Final = Table(
    id="it-primary",
    title="Older adapters: commonly quoted primary distances",
    keys=("quantity", "insulation"),
    rows=(
        _P.row("clearance", "basic", value=2.0),
        _P.row("clearance", "reinforced", value=4.0),
        _P.row("creepage", "basic", value=2.5),
        _P.row("creepage", "reinforced", value=5.0),
        _P.row("optocoupler habit", "reinforced", value=6.4, note="8.0 mm is as common"),
    ),
)

_L: Final = Source(
    table="luminaire-distances",
    document="IEC 60598-1",
    edition="2014+A1:2017",
    clause="Table 11.1",
    unit="mm",
    seen="memory",
    note="50/60 Hz sinusoidal; not seen here",
)
LUMINAIRE: Final = Table(
    id="luminaire-distances",
    title="Luminaires: creepage and clearance by working voltage up to [V]",
    keys=("quantity", "working voltage up to [V]"),
    rows=(
        *_L.grid(
            (50.0, 150.0, 250.0, 500.0, 750.0),
            {
                "creepage basic, PTI 600 and over": (0.6, 0.8, 1.5, 3.0, 4.0),
                "creepage basic, PTI under 600": (1.2, 1.6, 2.5, 5.0, 8.0),
                "creepage reinforced": (None, 3.2, 5.0, 6.0, 8.0),
                "clearance basic": (0.2, 0.8, 1.5, 3.0, 4.0),
                "clearance reinforced": (None, 1.6, 3.0, 6.0, 8.0),
            },
        ),
    ),
)

TABLES: Final = (
    APPLIANCE_CLEARANCE,
    APPLIANCE_CREEPAGE,
    APPLIANCE_STRENGTH,
    ADAPTER_CLEARANCE,
    ADAPTER_OTHER,
    IT_SECONDARY,
    IT_PRIMARY,
    LUMINAIRE,
)
