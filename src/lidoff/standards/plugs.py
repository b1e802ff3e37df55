"""Plugs, plug fuses and flexible cords by region: dimensions, colours, ratings."""

from __future__ import annotations

from typing import Final

from lidoff.standards.rows import Source, Table

_F: Final = Source(
    table="plug-fuse",
    document="BS 1362",
    edition="1973",
    clause="dimensions, ratings, marking",
    unit="mm",
    seen="verified",
    witness="web",
)
PLUG_FUSE: Final = Table(
    id="plug-fuse",
    title="The British plug fuse: body, filler, colours, ratings",
    keys=("what",),
    rows=(
        _F.row("length", value=25.4),
        _F.row("length, plus", value=0.8),
        _F.row("length, minus", value=0.4),
        _F.row("cap diameter", value=6.3),
        _F.row("cap length, about", value=5.0),
        _F.row("filler", value="sand; many counterfeits have none and can burst", unit="text"),
        _F.row("preferred ratings", value="3 A and 13 A; 1, 2, 5, 7 and 10 A are also sold", unit="text"),
        _F.row("largest rating", value=13.0, unit="A"),
        _F.row("colour 3 A", value="red", unit="text"),
        _F.row("colour 13 A", value="brown", unit="text"),
        _F.row("colour of others", value="black", unit="text"),
        _F.row("colours before 1973", value="2 A blue, 5 A grey, 7 A black, 10 A yellow", unit="text"),
        _F.row("rated voltage", value=250.0, unit="V"),
        _F.row("approval", value="maker's name or mark required; an approval mark is usual", unit="text"),
        _F.row("breaking capacity", value=6000.0, unit="A", seen="memory", note="at 240 V or 250 V"),
        _F.row("most power loss", value=1.0, unit="W", seen="memory"),
    ),
)

_P: Final = Source(
    table="plugs",
    document="BS 1363",
    edition="1995",
    clause="plug dimensions",
    unit="mm",
    seen="verified",
    witness="web",
)
_US: Final = {"document": "NEMA WD 6", "edition": "not stated", "clause": "1-15P"}
_EU: Final = {"document": "CEE 7", "edition": "1983", "clause": "CEE 7/4, 7/7, 7/17"}
_SMALL: Final = {"document": "EN 50075", "edition": "1990", "clause": "standard sheet"}
PLUGS: Final = Table(
    id="plugs",
    title="Plugs: pins, spacings, terminal sides, ratings",
    keys=("plug", "what"),
    rows=(
        _P.row("BS 1363", "line and neutral pin width", value=6.4),
        _P.row("BS 1363", "line and neutral pin thickness", value=4.0),
        _P.row("BS 1363", "line and neutral pin length", value=17.7),
        _P.row("BS 1363", "line to neutral centres", value=22.2),
        _P.row("BS 1363", "earth pin width", value=8.0),
        _P.row("BS 1363", "earth pin thickness", value=4.0),
        _P.row("BS 1363", "earth pin length", value=22.3, note="other sources 22.7 mm (from memory)"),
        _P.row("BS 1363", "earth centre to line-neutral line", value=22.2),
        _P.row("BS 1363", "least distance of pin to edge", value=9.5),
        _P.row(
            "BS 1363",
            "sleeve length on line and neutral",
            value=9.5,
            seen="memory",
            note="none on a solid metal earth pin",
        ),
        _P.row(
            "BS 1363",
            "terminals, cover off, seen from inside",
            value="fuse and line (brown) right, neutral (blue) left, earth (green/yellow) top",
            unit="text",
        ),
        _P.row("BS 1363", "rated current", value=13.0, unit="A"),
        _P.row("BS 1363", "rated voltage", value=250.0, unit="V"),
        _P.row("NEMA 1-15P", "line blade width, least", value=6.3, **_US),
        _P.row("NEMA 1-15P", "line blade width, most", value=6.35, **_US),
        _P.row("NEMA 1-15P", "neutral blade width, least", value=7.9, **_US),
        _P.row("NEMA 1-15P", "neutral blade width, most", value=7.94, **_US),
        _P.row("NEMA 1-15P", "rated current", value=15.0, unit="A", **_US),
        _P.row("NEMA 1-15P", "rated voltage", value=125.0, unit="V", **_US),
        _P.row("NEMA 1-15P", "blade spacing", value=12.7, **_US, seen="memory"),
        _P.row("NEMA 1-15P", "blade thickness", value=1.5, **_US, seen="memory"),
        _P.row("NEMA 1-15P", "blade length, least", value=15.9, **_US, seen="memory"),
        _P.row("NEMA 1-15P", "blade length, most", value=18.3, **_US, seen="memory"),
        _P.row("CEE 7/16", "pin diameter", value=4.0, **_SMALL, seen="memory"),
        _P.row("CEE 7/16", "rated current", value=2.5, unit="A", **_SMALL, seen="memory"),
        _P.row("CEE 7/7", "pin diameter", value=4.8, **_EU, seen="memory"),
        _P.row("CEE 7/7", "pin centres", value=19.0, **_EU, seen="memory"),
        _P.row("CEE 7/7", "rated current", value=16.0, unit="A", **_EU),
        _P.row(
            "CEE 7/7",
            "fuse in the plug",
            value="none; protected by 16 A at the board; not polarised",
            unit="text",
            **_EU,
        ),
    ),
)

_W: Final = Source(
    table="cord-colours",
    document="IEC 60446",
    edition="2007",
    clause="colours",
    unit="text",
    seen="verified",
    witness="web",
)
_NEC: Final = {"document": "NFPA 70", "edition": "2020", "clause": "Article 400"}
COLOURS: Final = Table(
    id="cord-colours",
    title="Core colours of flexible cords by region",
    keys=("region", "core"),
    rows=(
        _W.row("EU, GB", "line", value="brown"),
        _W.row("EU, GB", "neutral", value="blue"),
        _W.row("EU, GB", "earth", value="green-yellow"),
        _W.row("US", "line", value="black", **_NEC),
        _W.row("US", "neutral", value="white", **_NEC),
        _W.row("US", "earth", value="green", **_NEC, seen="memory"),
        _W.row("US, flat cord", "neutral", value="ribbed", **_NEC, seen="memory"),
        _W.row("GB before 1977", "line", value="red", document="BS 6500", edition="2000", seen="memory"),
        _W.row("GB before 1977", "neutral", value="black", document="BS 6500", edition="2000", seen="memory"),
        _W.row("GB before 1977", "earth", value="green", document="BS 6500", edition="2000", seen="memory"),
    ),
)

_C: Final = Source(
    table="cords", document="BS 1363", edition="1995", clause="Table 2", unit="A", seen="verified", witness="web"
)
_CODE: Final = {"document": "UK in-service code", "edition": "not stated", "clause": "Table VII.1"}
CORDS: Final = Table(
    id="cords",
    title="Cord size [mm2] against plug rating and plug fuse",
    keys=("area [mm2]", "quantity"),
    rows=(
        _C.row(0.5, "rating", value=3.0),
        _C.row(0.5, "largest fuse", value=3.0, note="5 A only where inrush demands it, in a non-rewirable plug"),
        _C.row(0.75, "rating", value=6.0, note="10 A allowed for a cord up to 2 m that was tested at 10 A"),
        _C.row(0.75, "largest fuse", value=13.0),
        _C.row(
            0.75,
            "fuse of practice",
            value=5.0,
            **_CODE,
            note="practice gives 3 A or 5 A, fuse not above cord rating; Table 2 allows 13 A: both are reported",
        ),
        _C.row(1.0, "rating", value=10.0),
        _C.row(1.0, "largest fuse", value=13.0),
        _C.row(1.25, "rating", value=13.0),
        _C.row(1.25, "largest fuse", value=13.0),
        _C.row(1.5, "rating", value=15.0, note="13 A in the plug"),
        _C.row(1.5, "largest fuse", value=13.0),
        _C.row(2.5, "rating", value=20.0, note="too large for the plug"),
    ),
)

_RULE: Final = Source(
    table="fuse-rule-of-thumb",
    document="UK in-service code",
    edition="not stated",
    clause="fuse selection",
    unit="W",
    seen="verified",
    witness="web",
)
RULE_OF_THUMB: Final = Table(
    id="fuse-rule-of-thumb",
    title="Plug fuse by load",
    keys=("fuse",),
    rows=(_RULE.row("3 A up to", value=700.0, note="13 A above; the plug fuse is there to protect the cord"),),
)

TABLES: Final = (PLUG_FUSE, PLUGS, COLOURS, CORDS, RULE_OF_THUMB)
