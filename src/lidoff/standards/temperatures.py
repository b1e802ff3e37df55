"""Temperatures that may be touched, temperature rises, and the derating habits of the bench."""

from __future__ import annotations

from typing import Final

from lidoff.standards.rows import Source, Table

_T: Final = Source(
    table="touch-temperatures",
    document="IEC 62368-1",
    edition="2018",
    clause="Table 38 (TS1)",
    unit="degC",
    seen="memory",
    note="at 25 degC room; not rescaled to the rated ambient",
)
_READ: Final = {"seen": "verified", "witness": "copy"}
_MARKS: Final = {
    ("held 1 min and over", "metal"): _READ,
    ("touched 1 s to 10 s", "plastic"): _READ,
    ("under 1 s", "plastic"): _READ,
}
_ECMA: Final = {
    "document": "ECMA-287",
    "edition": "not stated",
    "clause": "touch temperatures",
    "seen": "verified",
    "witness": "web",
    "note": "",
}
TOUCH: Final = Table(
    id="touch-temperatures",
    title="Highest temperature of a part that is touched, by contact and material",
    keys=("contact", "material"),
    rows=(
        *(
            _T.row(contact, material, value=value, **_MARKS.get((contact, material), {}))
            for contact, values in (
                ("held 1 min and over", (48, 48, 48, 48)),
                ("held 10 s to 1 min", (51, 56, 60, 60)),
                ("touched 1 s to 10 s", (60, 71, 77, 107)),
                ("under 1 s", (70, 85, 94, 140)),
            )
            for material, value in zip(("metal", "glass", "plastic", "wood"), values, strict=True)
        ),
        _T.row("ECMA, held up to 8 h", "any", value=43, **_ECMA),
        _T.row("ECMA, under 10 s", "metal", value=55, **_ECMA),
        _T.row("ECMA, under 10 s", "other", value=65, **_ECMA),
        _T.row("ECMA, under 1 s", "metal", value=65, **_ECMA),
        _T.row("ECMA, under 1 s", "other", value=85, **_ECMA),
    ),
)

_R: Final = Source(
    table="temperature-rises",
    document="IEC 60335-1",
    edition="1991",
    clause="Table 3",
    unit="K",
    seen="verified",
    witness="text",
    note="over 25 degC ambient; read in a national adoption of 1994, newer editions have new tables",
)
_AV: Final = {"document": "IEC 60065", "edition": "2011", "clause": "Table 3", "note": ""}
RISES: Final = Table(
    id="temperature-rises",
    title="Temperature rises of appliances by part and material",
    keys=("part", "material"),
    rows=(
        *_R.grid(
            ("metal", "porcelain", "moulded, rubber, wood"),
            {"handle held continuously": (30, 40, 50), "handle held briefly": (35, 45, 60)},
        ),
        _R.row("enclosure of a motor-operated appliance", "any", value=60),
        _R.row("X or Y capacitor without T mark", "any", value=50),
        _R.row("other capacitor without mark", "any", value=20),
        _R.row("capacitor with T mark, below its mark", "any", value=25, note="its marked temperature less 25 K"),
        _R.row("PVC cord", "any", value=50, seen="memory"),
        _R.row("winding class A", "any", value=75, seen="memory"),
        _R.row("winding class E", "any", value=90, seen="memory"),
        _R.row("winding class B", "any", value=95, seen="memory"),
        _R.row("winding class F", "any", value=115, seen="memory"),
        _R.row("audio and video: PVC or rubber cord, normal", "any", value=60, **_AV),
        _R.row("audio and video: PVC or rubber cord, fault", "any", value=100, **_AV),
    ),
)

_O: Final = Source(
    table="other-temperatures",
    document="IEC 60335-1",
    edition="2010+A2:2016",
    clause="30.1",
    unit="degC",
    seen="verified",
    witness="copy",
)
_LUM: Final = {"document": "IEC 60598-1", "edition": "2014+A1:2017", "clause": "Table 12.1", "seen": "memory"}
OTHER: Final = Table(
    id="other-temperatures",
    title="Ball-pressure and luminaire temperatures",
    keys=("what",),
    rows=(
        _O.row("ball pressure, external parts", value=75.0),
        _O.row("ball pressure, parts holding live parts", value=125.0),
        _O.row("ball pressure, added to the rise", value=40.0),
        _O.row("luminaire, touched metal", value=70.0, **_LUM),
        _O.row("luminaire, touched other", value=75.0, **_LUM),
        _O.row("luminaire, normally flammable mounting surface", value=90.0, **_LUM),
    ),
)

_D: Final = Source(
    table="derating", document="Bench practice", edition="-", clause="common practice", unit="1", seen="memory"
)
_CAPS: Final = {
    "document": "Capacitor makers",
    "edition": "various",
    "clause": "life",
    "seen": "verified",
    "witness": "web",
}
_CHIP: Final = {
    "document": "Chip resistor tables",
    "edition": "various",
    "clause": "power by size",
    "seen": "verified",
    "witness": "web",
    "unit": "W",
}
DERATING: Final = Table(
    id="derating",
    title="Derating habits",
    keys=("what",),
    rows=(
        _D.row(
            "electrolytic life doubles per",
            value=10.0,
            unit="K",
            **_CAPS,
            note="L = L0 x 2^((T0 - T)/10); ripple heating lowers the margin",
        ),
        _D.row("electrolytic voltage, share of rating", value=0.9),
        _D.row("resistor power, share of rating, cautious", value=0.5),
        _D.row("resistor power, share of rating, most", value=0.7),
        _D.row("film resistor derates from", value=70.0, unit="degC"),
        _D.row("film resistor derates to nothing at", value=155.0, unit="degC"),
        _D.row("working voltage, quarter-watt film", value=250.0, unit="V", note="up to 350 V by maker"),
        _D.row("working voltage, 0805", value=150.0, unit="V"),
        _D.row("working voltage, 1206", value=200.0, unit="V"),
        _D.row("mains rectifier at 230 V, least rating", value=400.0, unit="V", note="1000 V types are used"),
        _D.row("X2 capacitor at 230 V, rating", value=275.0, unit="V"),
        *(
            _D.row(f"power, {size}", value=watts, **_CHIP)
            for size, watts in (
                ("0402", 0.062),
                ("0603", 0.1),
                ("0805", 0.125),
                ("1206", 0.25),
                ("2010", 0.75),
                ("2512", 1.0),
            )
        ),
    ),
)

TABLES: Final = (TOUCH, RISES, OTHER, DERATING)


def electrolytic_life(rated_life: float, rated_temperature: float, temperature: float) -> float:
    """Life [unit of rated_life] of an aluminium electrolytic at `temperature` [degC].

    Doubles for each 10 K below `rated_temperature` [degC] (capacitor makers' rule); voltage and ripple left out.
    """
    per = DERATING.number("electrolytic life doubles per")
    return float(rated_life * 2.0 ** ((rated_temperature - temperature) / per))
