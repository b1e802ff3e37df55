"""Circuits: parts with all values, joined at nodes; built from a record in one of its states."""

from lidoff.circuit.build import build, with_values
from lidoff.circuit.checking import check, missing
from lidoff.circuit.impedance import behind_reference, with_coil
from lidoff.circuit.model import About, Circuit, CircuitError, Element, Mains

__all__ = [
    "About",
    "Circuit",
    "CircuitError",
    "Element",
    "Mains",
    "behind_reference",
    "build",
    "check",
    "missing",
    "with_coil",
    "with_values",
]
