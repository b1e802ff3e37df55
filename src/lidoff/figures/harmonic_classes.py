"""The input current's harmonics beside the limits of IEC 61000-3-2, route by route."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from lidoff.figures.comparison import Comparison, Item, Origin
from lidoff.figures.timing import Timing
from lidoff.standards import Row
from lidoff.standards.harmonic_limits import (
    CLASS_A,
    CLASS_C,
    CLASS_C_ROUTE_2,
    CLASS_C_ROUTE_3,
    CLASS_D,
    SCOPE,
    class_d_limit,
)

LIGHTING_FLOOR: Final = SCOPE.number("no lighting limit below")
LIGHTING_BORDER: Final = SCOPE.number("class C table above")
CLASS_D_FLOOR: Final = SCOPE.number("class D from")

Figures = Mapping[str, Any]


def _amperes(figures: Figures) -> dict[int, float]:
    return {int(line["order"]): float(line["current_rms"]) for line in figures["harmonics"]}


def _percent(figures: Figures) -> dict[int, float]:
    return {int(line["order"]): float(line["percent"]) for line in figures["harmonics"] if line["percent"] is not None}


def _counts_from(figures: Figures) -> float:
    """The current [A] below which a harmonic is left out: 0.6 % of the input current or 5 mA, whichever is more."""
    share = SCOPE.number("ignored below share") / 100.0 * float(figures["current_rms"])
    return max(share, SCOPE.number("ignored below"))


def _in_amperes(figures: Figures, limits: Mapping[int, float]) -> tuple[Item, ...]:
    least = _counts_from(figures)
    return tuple(
        Item(name=f"h{n}", value=i, limit=limits[n], unit="A", ignored=i < least)
        for n, i in _amperes(figures).items()
        if n in limits
    )


def _in_percent(figures: Figures, limits: Mapping[int, float]) -> tuple[Item, ...]:
    amperes, least = _amperes(figures), _counts_from(figures)
    return tuple(
        Item(name=f"h{n}", value=share, limit=limits[n], unit="%", ignored=amperes[n] < least)
        for n, share in _percent(figures).items()
        if n in limits
    )


def _all_read(rows: Sequence[Row]) -> bool:
    """Whether no row is from memory; arithmetic on rows that were read is as good as they are."""
    return all(row.seen != "memory" for row in rows)


def class_a(figures: Figures, origin: Origin, applies: bool, scope: tuple[str, ...]) -> Comparison:
    """Class A: absolute limits for most appliances, phase-control dimmers among them."""
    limits = {int(row.key[0]): row.number for row in CLASS_A.rows}
    return Comparison(
        id="harmonics-class-a",
        title="Harmonic currents, class A (appliances, dimmers)",
        basis=CLASS_A.row(3),
        items=_in_amperes(figures, limits),
        origin=origin,
        applies=applies,
        scope=scope,
        all_verified=_all_read(CLASS_A.rows),
    )


def _per_watt(figures: Figures, power: float) -> tuple[Item, ...]:
    found = {n: class_d_limit(n, power) for n in range(3, 40, 2)}
    return _in_amperes(figures, {n: pair[0] for n, pair in found.items() if pair is not None and pair[0] > 0.0})


def class_d(figures: Figures, power: float, origin: Origin, applies: bool, scope: tuple[str, ...]) -> Comparison:
    """Class D: per watt of `power` [W], for computers, monitors and television sets from 75 W to 600 W."""
    return Comparison(
        id="harmonics-class-d",
        title="Harmonic currents, class D (computers, monitors, television sets)",
        basis=CLASS_D.row(3, "per watt"),
        items=_per_watt(figures, power),
        origin=origin,
        applies=applies,
        scope=scope,
        all_verified=_all_read(CLASS_D.rows),
    )


def class_c_none(power: float, origin: Origin, scope: tuple[str, ...]) -> Comparison:
    """Class C below 5 W: the document sets no limit for a light of `power` [W]."""
    return Comparison(
        id="harmonics-class-c-none",
        title="Harmonic currents, class C (lighting), below 5 W",
        basis=SCOPE.row("no lighting limit below"),
        items=(),
        origin=origin,
        scope=(
            f"Lighting below {LIGHTING_FLOOR:g} W has no limit since the 2018 edition; this is {power:.3g} W.",
            *scope,
        ),
    )


def class_c_routes(
    figures: Figures, timing: Timing | None, power: float, origin: Origin, applies: bool, scope: tuple[str, ...]
) -> tuple[Comparison, ...]:
    """Class C, 5 W to 25 W: the three routes side by side; meeting any one of them is enough for the document."""
    note = "Any one of the three routes is enough for the document; they are shown side by side."
    first = Comparison(
        id="harmonics-class-c-route-1",
        title="Harmonic currents, class C (lighting), route 1: milliamperes per watt",
        basis=CLASS_D.row(3, "per watt"),
        items=_per_watt(figures, power),
        origin=origin,
        applies=applies,
        scope=(note, *scope),
        all_verified=_all_read(CLASS_D.rows),
    )
    two = {n: CLASS_C_ROUTE_2.number(str(n)) for n in (3, 5)}
    second = Comparison(
        id="harmonics-class-c-route-2",
        title="Harmonic currents, class C (lighting), route 2: third and fifth harmonic, and timing",
        basis=CLASS_C_ROUTE_2.row("3"),
        items=(*_in_percent(figures, two), *_timing_items(timing)),
        origin=origin,
        applies=applies,
        scope=(note, *scope),
    )
    three = {n: CLASS_C_ROUTE_3.number(str(n)) for n in (2, 3, 5, 7, 9, 11)}
    distortion = figures["thd"]
    third = Comparison(
        id="harmonics-class-c-route-3",
        title="Harmonic currents, class C (lighting), route 3: distortion and single harmonics",
        basis=CLASS_C_ROUTE_3.row("thd"),
        items=(
            *(
                (Item(name="THD", value=100.0 * distortion, limit=CLASS_C_ROUTE_3.number("thd"), unit="%"),)
                if distortion is not None
                else ()
            ),
            *_in_percent(figures, three),
        ),
        origin=origin,
        applies=applies,
        scope=(note, *scope),
    )
    return first, second, third


def _timing_items(timing: Timing | None) -> tuple[Item, ...]:
    if timing is None:
        return ()
    return (
        Item(
            name="start of the current",
            value=timing.reached,
            limit=CLASS_C_ROUTE_2.number("reached by"),
            unit="degrees",
        ),
        Item(name="peak of the current", value=timing.peak, limit=CLASS_C_ROUTE_2.number("peak by"), unit="degrees"),
        # "Not before 90 degrees" as a ceiling: what is missing to 180 against what may be missing.
        Item(
            name="end of the current, counted back from 180 degrees,",
            value=180.0 - timing.ended,
            limit=180.0 - CLASS_C_ROUTE_2.number("not below before"),
            unit="degrees",
        ),
    )


def class_c_table(figures: Figures, origin: Origin, applies: bool, scope: tuple[str, ...]) -> tuple[Comparison, ...]:
    """Class C above 25 W: shares of the fundamental, under both readings of the third harmonic's limit."""
    factor = figures["power_factor"]
    fixed = {int(row.key[0]): row.number for row in CLASS_C.rows if row.key[1] == "fixed"}
    readings = (
        ("30 lambda", "the limit of the third harmonic taken as 30 % times the power factor", abs(factor or 0.0)),
        ("27 fixed", "the limit of the third harmonic taken as 27 % (from memory of the newer text)", 1.0),
    )
    return tuple(
        Comparison(
            id=f"harmonics-class-c-table-{reading.split()[0]}",
            title=f"Harmonic currents, class C (lighting), above 25 W: {words}",
            basis=CLASS_C.row(3, reading),
            items=_in_percent(figures, {**fixed, 3: CLASS_C.number(3, reading) * times}),
            origin=origin,
            applies=applies,
            scope=scope,
            all_verified=_all_read([row for row in CLASS_C.rows if row.key[1] in ("fixed", reading)]),
        )
        for reading, words, times in readings
        if times > 0.0
    )
