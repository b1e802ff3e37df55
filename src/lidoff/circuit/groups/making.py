"""Putting readings together: parts with their roles."""

from __future__ import annotations

from collections.abc import Iterable

from lidoff.circuit.groups.model import Tie
from lidoff.circuit.groups.units import Unit

Parts = tuple[tuple[str, str, Tie], ...]


def own(role: str, *units: Unit) -> Parts:
    """The refs of some units as parts of that role, belonging to this reading alone."""
    return tuple((ref, role, "own") for unit in units for ref in unit.refs)


def shared(role: str, *units: Unit) -> Parts:
    """The refs of some units as parts of that role, belonging to another group first."""
    return tuple((ref, role, "shared") for unit in units for ref in unit.refs)


def labels(units: Iterable[Unit]) -> list[str]:
    """The refs of some units, one after the other."""
    return [ref for unit in units for ref in unit.refs]


def power_of(volts: float, ohms: float) -> float:
    """Heat in a resistor [W] at that voltage [V]."""
    return volts * volts / ohms
