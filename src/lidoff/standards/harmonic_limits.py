"""Harmonic current limits of IEC 61000-3-2, classes A to D, as tables and as lookups."""

from __future__ import annotations

from typing import Final

from lidoff.standards.rows import Row, Source, Table

_DOCUMENT: Final = "IEC 61000-3-2"
_EDITION: Final = "2018+A1:2020"


def _source(table: str, clause: str, unit: str, note: str = "") -> Source:
    return Source(
        table=table,
        document=_DOCUMENT,
        edition=_EDITION,
        clause=clause,
        unit=unit,
        seen="verified",
        witness="copy",
        note=note,
    )


_A: Final = _source("harmonics-class-a", "Table 1", "A")
_A_FORMULA: Final = {"seen": "computed"}
CLASS_A: Final = Table(
    id="harmonics-class-a",
    title="Harmonic current limits, class A (absolute)",
    keys=("order",),
    rows=(
        *(_A.row(n, value=v) for n, v in ((2, 1.08), (3, 2.30), (4, 0.43), (5, 1.14), (6, 0.30), (7, 0.77))),
        *(_A.row(n, value=0.23 * 8 / n, **_A_FORMULA, note="0.23 A x 8/n (Table 1)") for n in range(8, 41, 2)),
        *(_A.row(n, value=v) for n, v in ((9, 0.40), (11, 0.33), (13, 0.21))),
        *(_A.row(n, value=0.15 * 15 / n, **_A_FORMULA, note="0.15 A x 15/n (Table 1)") for n in range(15, 40, 2)),
    ),
)

CLASS_B_FACTOR: Final = _source("harmonics-class-b", "class B", "1").row("times class A", value=1.5)

_C: Final = _source("harmonics-class-c", "Table 2", "% of the fundamental")
CLASS_C: Final = Table(
    id="harmonics-class-c",
    title="Harmonic current limits, class C (lighting) above 25 W",
    keys=("order", "reading"),
    rows=(
        _C.row(2, "fixed", value=2.0),
        _C.row(3, "30 lambda", value=30.0, edition="2014", note="times the circuit power factor lambda"),
        _C.row(3, "27 fixed", value=27.0, seen="memory", note="the fixed figure of the newer text; not seen here"),
        _C.row(5, "fixed", value=10.0),
        _C.row(7, "fixed", value=7.0),
        _C.row(9, "fixed", value=5.0),
        *(_C.row(n, "fixed", value=3.0) for n in range(11, 40, 2)),
    ),
)

_ROUTES: Final = "class C, 5 W to 25 W (7.4.2 in GB 17625.1-2022)"
_R2: Final = _source("harmonics-class-c-route-2", _ROUTES, "% of the fundamental")
CLASS_C_ROUTE_2: Final = Table(
    id="harmonics-class-c-route-2",
    title="Class C, 5 W to 25 W, second route: third and fifth harmonic, and the timing of the current",
    keys=("quantity",),
    rows=(
        _R2.row("3", value=86.0),
        _R2.row("5", value=61.0),
        _R2.row("reached by", value=60.0, unit="deg", note="the current reaches the threshold at or before"),
        _R2.row("peak by", value=65.0, unit="deg", note="the current has its peak at or before"),
        _R2.row("not below before", value=90.0, unit="deg", note="it does not fall below the threshold before"),
        _R2.row("threshold", value=5.0, unit="% of the largest absolute peak"),
    ),
)

_R3: Final = _source("harmonics-class-c-route-3", _ROUTES, "% of the fundamental")
CLASS_C_ROUTE_3: Final = Table(
    id="harmonics-class-c-route-3",
    title="Class C, 5 W to 25 W, third route: distortion and single harmonics",
    keys=("quantity",),
    rows=tuple(
        _R3.row(what, value=v)
        for what, v in (
            ("thd", 70.0),
            ("2", 5.0),
            ("3", 35.0),
            ("5", 25.0),
            ("7", 30.0),
            ("9", 20.0),
            ("11", 20.0),
        )
    ),
)

_D: Final = _source("harmonics-class-d", "Table 3", "mA/W")
_D_CAP: Final = _source("harmonics-class-d", "Table 3", "A")
CLASS_D: Final = Table(
    id="harmonics-class-d",
    title="Harmonic current limits, class D: per watt, and capped",
    keys=("order", "column"),
    rows=(
        *(_D.row(n, "per watt", value=v) for n, v in ((3, 3.4), (5, 1.9), (7, 1.0), (9, 0.5), (11, 0.35))),
        *(
            _D.row(n, "per watt", value=3.85 / n, seen="computed", note="3.85/n mA/W (Table 3)")
            for n in range(13, 40, 2)
        ),
        *(_D_CAP.row(n, "cap", value=v) for n, v in ((3, 2.30), (5, 1.14), (7, 0.77), (9, 0.40), (11, 0.33))),
        *(
            _D_CAP.row(n, "cap", value=CLASS_A.number(n), seen="computed", note="the class A value")
            for n in range(13, 40, 2)
        ),
    ),
)

_S: Final = _source("harmonics-scope", "scope and classification", "W")
SCOPE: Final = Table(
    id="harmonics-scope",
    title="Where the harmonic limits apply, and what is left out of account",
    keys=("what",),
    rows=(
        _S.row("no lighting limit below", value=5.0, clause="class C", note="from the 2018 edition on"),
        _S.row("class C table above", value=25.0, clause="class C"),
        _S.row("class D from", value=75.0, clause="class D", note="up to 75 W, lighting apart: no limit"),
        _S.row("class D to", value=600.0, clause="class D"),
        _S.row("least voltage", value=220.0, unit="V", clause="scope", note="no limits were set below it"),
        _S.row("ignored below", value=0.005, unit="A", clause="measurement", note="or the share below, if more"),
        _S.row("ignored below share", value=0.6, unit="% of the input current", clause="measurement"),
        _S.row(
            "smoothed single values",
            value=150.0,
            unit="% of the limit",
            clause="measurement",
            note="average over the run within 100 %, single 1.5 s smoothed values within 150 %",
        ),
    ),
)

TABLES: Final = (
    CLASS_A,
    Table(id="harmonics-class-b", title="Class B against class A", keys=("what",), rows=(CLASS_B_FACTOR,)),
    CLASS_C,
    CLASS_C_ROUTE_2,
    CLASS_C_ROUTE_3,
    CLASS_D,
    SCOPE,
)


def class_d_limit(order: int, power: float) -> tuple[float, Row] | None:
    """Limit of class D [A] for `order` at `power` [W], the cap included, and its row; None where there is none."""
    row = CLASS_D.get(order, "per watt")
    if row is None:
        return None
    return min(row.number * 1e-3 * power, CLASS_D.number(order, "cap")), row
