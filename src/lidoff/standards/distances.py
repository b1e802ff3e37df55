"""The distances that insulation needs: lookups and interpolation in the tables of IEC 60664-1."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from lidoff.standards import insulation
from lidoff.standards.rows import Row, Table

Insulation = Literal["functional", "basic", "supplementary", "reinforced"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Distance:
    """A required distance [mm], the rows it was taken from, and how, in a sentence."""

    value: float
    rows: tuple[Row, ...]
    how: str

    @property
    def verified(self) -> bool:
        """Whether every row and rule used was read in a source rather than remembered."""
        return all(row.verified for row in self.rows)


def rated_impulse(line_to_neutral: float, category: str = "II") -> Row:
    """The rated impulse voltage row [V] for a mains of `line_to_neutral` [V rms] (IEC 60664-1, Table F.1).

    `category` is the overvoltage category "I" to "IV"; appliances are in II. No interpolation: the next row up.
    Raises ValueError above 1500 V.
    """
    for limit in insulation.IMPULSE.axis(0):
        if line_to_neutral <= float(limit) * (1.0 + 1e-9):
            return insulation.IMPULSE.row(limit, category)
    raise ValueError(f"{line_to_neutral:g} V is above the last row of the impulse table, 1500 V")


def _between(table: Table, x: float, column: str | float) -> tuple[float, tuple[Row, ...]]:
    """The value at x along the first axis, linearly between rows; below the first row that row's value."""
    axis: Sequence[float] = [float(point) for point in table.axis(0)]
    if x <= axis[0]:
        row = table.row(axis[0], column)
        return row.number, (row,)
    if x > axis[-1] * (1.0 + 1e-9):
        raise ValueError(f"{x:g} lies above the last row of the table {table.id!r}, {axis[-1]:g}")
    upper = next(i for i, point in enumerate(axis) if x <= point * (1.0 + 1e-9))
    high = table.row(axis[upper], column)
    if abs(x - axis[upper]) <= 1e-9 * axis[upper]:
        return high.number, (high,)
    low = table.row(axis[upper - 1], column)
    share = (x - axis[upper - 1]) / (axis[upper] - axis[upper - 1])
    return low.number + share * (high.number - low.number), (low, high)


def altitude_factor(altitude: float) -> float:
    """Multiplier for clearances [1] at `altitude` [m] (IEC 60664-1, Table A.2, linear between rows)."""
    if altitude <= 2000.0:
        return 1.0
    axis = [float(point) for point in insulation.ALTITUDE.axis(0)]
    if altitude > axis[-1]:
        raise ValueError(f"{altitude:g} m lies above the last row of the altitude table, {axis[-1]:g} m")
    upper = next(i for i, point in enumerate(axis) if altitude <= point)
    low, high = (insulation.ALTITUDE.number(axis[i]) for i in (upper - 1, upper))
    return low + (altitude - axis[upper - 1]) / (axis[upper] - axis[upper - 1]) * (high - low)


def required_clearance(
    impulse: float, pollution_degree: int = 2, kind: Insulation = "basic", altitude: float = 0.0
) -> Distance:
    """The least clearance [mm] for an `impulse` withstand voltage [V peak] (IEC 60664-1, Table F.2, interpolated).

    Reinforced insulation takes the next higher preferred impulse voltage for a preferred one, and 160 % of it for any
    other (rule from memory). `altitude` [m] above 2000 m lengthens it. Raises ValueError beyond the table, or for a
    pollution degree other than 1 to 3.
    """
    if pollution_degree not in (1, 2, 3):
        raise ValueError(f"the clearance table has pollution degrees 1 to 3, not {pollution_degree}")
    rules: tuple[Row, ...] = ()
    how = f"{kind} insulation for {impulse:g} V impulse in pollution degree {pollution_degree}"
    if kind == "reinforced":
        preferred = sorted({row.number for row in insulation.IMPULSE.rows})
        steps = [step for step in preferred if step > impulse * (1.0 + 1e-9)]
        stepped = any(abs(step - impulse) <= 1e-9 * step for step in preferred) and bool(steps)
        impulse = steps[0] if stepped else 1.6 * impulse
        rules = (insulation.RULES.row("reinforced clearance, impulse steps up"),)
        how += f", taken as {impulse:g} V ({'the next preferred step' if stepped else '160 %'})"
    value, rows = _between(insulation.CLEARANCE, impulse, pollution_degree)
    factor = altitude_factor(altitude)
    if factor > 1.0:
        how += f", times {factor:.3g} for {altitude:g} m"
    return Distance(value=value * factor, rows=(*rows, *rules), how=how)


def required_creepage(
    voltage: float,
    pollution_degree: int = 2,
    material_group: str = "IIIa",
    kind: Insulation = "basic",
    *,
    printed: bool = False,
) -> Distance:
    """The least creepage distance [mm] at a working `voltage` [V rms] (IEC 60664-1, Table F.5, linear between rows).

    Reinforced insulation takes twice the basic distance (rule from memory). `printed` takes the printed-wiring columns,
    which are there for pollution degrees 1 and 2 (2: not group IIIb). A creepage distance is also never less than the
    clearance of the same place: the caller compares. Raises ValueError beyond the table or for an unknown column.
    """
    group = material_group if material_group in ("I", "II") else "III"
    if material_group not in ("I", "II", "IIIa", "IIIb", "III"):
        raise ValueError(f"material groups are I, II, IIIa and IIIb, not {material_group!r}")
    if pollution_degree not in (1, 2, 3):
        raise ValueError(f"the creepage table has pollution degrees 1 to 3, not {pollution_degree}")
    if printed and (pollution_degree == 3 or (pollution_degree == 2 and material_group == "IIIb")):
        raise ValueError(f"no printed-wiring column for pollution degree {pollution_degree}, group {material_group}")
    if printed:
        column = f"printed {pollution_degree}"
    else:
        column = "1" if pollution_degree == 1 else f"{pollution_degree} {group}"
    value, rows = _between(insulation.CREEPAGE, voltage, column)
    place = "on printed wiring" if printed else f"on group {material_group}"
    how = f"{kind} insulation at {voltage:.3g} V in pollution degree {pollution_degree} {place}"
    rules = (insulation.RULES.row("creepage interpolation"),) if len(rows) > 1 else ()
    if kind == "reinforced":
        value *= 2.0
        rules = (*rules, insulation.RULES.row("reinforced creepage, times basic"))
        how += ", twice the basic distance"
    return Distance(value=value, rows=(*rows, *rules), how=how)
