"""The limits that stand beside the input figures: harmonic classes and displacement-factor floors."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal

from lidoff.figures import harmonic_classes as classes
from lidoff.figures.comparison import Comparison, Item, Origin
from lidoff.figures.timing import current_timing
from lidoff.figures.wave import Floats
from lidoff.standards.harmonic_limits import SCOPE
from lidoff.standards.light_limits import EU_LIGHT_SOURCES, displacement_floor

Kind = Literal["luminaire", "appliance", "adapter", "dimmer", "other"]


def mains_scope(mains_voltage: float) -> tuple[str, ...]:
    """Why the harmonic limits do not reach a mains of `mains_voltage` [V rms], if they do not."""
    least = SCOPE.number("least voltage")
    if mains_voltage >= least * 0.9:
        return ()
    return (
        f"IEC 61000-3-2 sets no limits for mains below {least:g} V line to neutral; at {mains_voltage:.0f} V they are "
        "shown for comparison only.",
    )


def dimmed_scope(dimmed: bool) -> tuple[str, ...]:
    """That a dimmed position lies outside limits meant for full load."""
    return ("The limit is meant for full load; this is a dimmed position.",) if dimmed else ()


def region_scope(region: str | None) -> tuple[str, ...]:
    """That a requirement of the European Union is not the law of another region."""
    if region == "EU":
        return ()
    if region == "GB":
        return ("This is the European Union's requirement; Great Britain has rules of its own, which were not read.",)
    where = f"in the region {region}" if region else "everywhere"
    return (f"This is the European Union's requirement; it is not the law {where}.",)


def input_comparisons(
    figures: Mapping[str, Any],
    *,
    voltage_uniform: Floats,
    current_uniform: Floats,
    mains_frequency: float,
    cycles: int = 1,
    mains_voltage: float | None = None,
    kind: Kind = "other",
    rated_power: float | None = None,
    region: str | None = None,
    dimmed: bool = False,
    light: bool = False,
    origin: Origin = "computed",
) -> tuple[Comparison, ...]:
    """The input figures beside each published limit; those that are meant for the item come first.

    figures: of `input_figures`; voltage_uniform [V] and current_uniform [A] over `cycles` cycles of mains_frequency
    [Hz]; mains_voltage [V rms] nominal, rated_power [W] as labelled (else the power of the wave decides the class);
    `light` says that the item gives light whatever its `kind`. Between 5 W and 25 W the three routes of lighting are
    shown for comparison whatever the item is, a dimmer left out. No current, no comparison.
    """
    if figures["thd"] is None:
        return ()
    power = rated_power if rated_power is not None else float(figures["power"])
    nominal = mains_voltage if mains_voltage is not None else float(figures["voltage_rms"])
    mains = mains_scope(nominal)
    dim = dimmed_scope(dimmed)
    reach = (*mains, *dim)
    lighting = kind == "luminaire" or (light and kind != "dimmer")
    unrated = (
        () if rated_power is not None else ("No rated power is recorded; the power of the wave stands in for it.",)
    )
    found: list[Comparison] = []
    if lighting:
        if power < classes.LIGHTING_FLOOR:
            found.append(classes.class_c_none(power, origin, (*unrated, *reach)))
        elif power <= classes.LIGHTING_BORDER:
            timing = current_timing(voltage_uniform, current_uniform, mains_frequency, cycles)
            scope = (*unrated, *reach)
            found.extend(classes.class_c_routes(figures, timing, power, origin, not reach, scope))
        else:
            found.extend(classes.class_c_table(figures, origin, not reach, (*unrated, *reach)))
        found.extend(_displacement(figures, power, region, dim, origin))
    if not lighting and kind != "dimmer" and classes.LIGHTING_FLOOR <= power <= classes.LIGHTING_BORDER:
        not_c = "Class C is meant for lighting, which this is not."
        timing = current_timing(voltage_uniform, current_uniform, mains_frequency, cycles)
        found.extend(classes.class_c_routes(figures, timing, power, origin, False, (not_c, *unrated, *reach)))
    if lighting:
        not_a: tuple[str, ...] = ("Class A is not meant for lighting; class C is.",)
    elif power <= classes.CLASS_D_FLOOR:
        not_a = (f"Equipment up to {classes.CLASS_D_FLOOR:g} W that is not lighting has no limit.", *unrated)
    else:
        not_a = unrated
    found.append(
        classes.class_a(figures, origin, not (mains or lighting or power <= classes.CLASS_D_FLOOR), (*not_a, *mains))
    )
    not_d = (
        "Class D is not meant for lighting; its limits per watt are class C's first route."
        if lighting
        else f"Class D is meant for computers, monitors and television sets from {classes.CLASS_D_FLOOR:g} W on; "
        "other equipment is in class A."
    )
    if power > 0.0:
        found.append(classes.class_d(figures, power, origin, False, (not_d, *unrated, *mains)))
    return tuple(sorted(found, key=lambda comparison: not comparison.applies))


def _displacement(
    figures: Mapping[str, Any], power: float, region: str | None, dim: tuple[str, ...], origin: Origin
) -> tuple[Comparison, ...]:
    """The floor of the displacement factor for a light source of `power` [W]."""
    floor = displacement_floor(power)
    factor = figures["displacement_factor"]
    where = region_scope(region)
    meant = "Meant for LED mains light sources; whether this item is one in the regulation's sense was not looked at."
    none = () if floor is not None else ("Light sources up to 5 W have no floor.",)
    keys = {0.5: "over 5 W", 0.7: "over 10 W", 0.9: "over 25 W"}
    return (
        Comparison(
            id="displacement-factor-floor",
            title="Displacement factor of a light source",
            basis=EU_LIGHT_SOURCES.row("displacement factor", keys.get(floor or 0.5, "over 5 W")),
            items=(
                (Item(name="displacement factor", value=float(factor), limit=floor, unit="1"),)
                if floor is not None and factor is not None
                else ()
            ),
            kind="floor",
            origin=origin,
            applies=not (where or dim),
            scope=(*none, meant, *where, *dim),
        ),
    )


def limits(figures: Mapping[str, Any], **said: Any) -> list[dict[str, Any]]:
    """`input_comparisons` in the form that `figures --json` prints as `input.limits`; same arguments."""
    return [comparison.as_dict() for comparison in input_comparisons(figures, **said)]
