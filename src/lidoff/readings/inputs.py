"""What a computed value hangs on that is not known exactly: unknown values, part tolerances, the mains.

Each input runs over a coordinate from -1 to 1 that stands for its range. Part tolerances are shares that hold in every
state; the mains is each state's own; an unknown is one value for all states unless a state sets it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np

from lidoff.circuit import Circuit, with_values
from lidoff.circuit.build import MET
from lidoff.figures.wave import Floats
from lidoff.kinds import KINDS, Key
from lidoff.record import Item, State, Table, Unknown

SHAPE_ALLOWANCE: Final = 0.01
"""Half-width of the third and fifth harmonic of a mains nobody recorded [share of the fundamental].

Our choice: recordings of one house show 1.3 % of the fifth, and a test supply may have 2 % in all (IEC 62301).
"""
_SHAPE_WRITTEN: Final = 0.0025  # where the record gives the shape
SHAPE_ORDERS: Final = (3, 5)

# The range searched for "?" without bounds, by kind and key, else by unit: what is met in small mains products (common
# practice, no source).
_WIDE: Final[Mapping[str, tuple[float, float]]] = Table(
    {
        "supply.voltage": (80.0, 280.0),
        "supply.frequency": (45.0, 65.0),
        "supply.resistance": (0.01, 100.0),
        "supply.inductance": (1e-6, 0.1),
        "supply.dc": (1.0, 400.0),
        "led.forward_voltage": (1.5, 100.0),
        "led.slope": (0.02, 0.3),
        "capacitor.esr": (1e-3, 100.0),
        "diode.forward_voltage": (0.3, 2.0),
        "bridge.forward_voltage": (0.3, 2.0),
        "potentiometer.position": (0.0, 1.0),
        "K": (1000.0, 6000.0),
        **MET,
    }
)
_LOG_FROM: Final = 3.0  # a range from x to more than this many times x is searched in logarithms

Origin = Literal["unknown", "tolerance", "mains", "shape"]
Coordinates = Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One thing that is not known exactly.

    `name` is the record's ("R1.value", "supply.voltage"), `state` the state it belongs to ("" for the record as it
    stands), None where it holds in all.
    For an unknown `low` and `high` are values [unit]; else they are shares about what is recorded. `given` says whether
    an unknown's range was written.
    """

    name: str
    state: str | None
    origin: Origin
    low: float
    high: float
    unit: str = ""
    logarithmic: bool = False
    whole: bool = False
    given: bool = True

    @property
    def id(self) -> str:
        """The name with its state: different for every input of a record."""
        return f"{self.name}@{self.state}" if self.state else self.name

    def at(self, z: float | Floats) -> Any:
        """The value or share at coordinate z (-1 the low end, 1 the high one)."""
        if self.logarithmic:
            return np.exp(math.log(self.low) + 0.5 * (np.asarray(z) + 1.0) * math.log(self.high / self.low))
        return self.low + 0.5 * (np.asarray(z) + 1.0) * (self.high - self.low)

    def coordinate(self, value: float) -> float:
        """The coordinate of a value or share."""
        if self.logarithmic:
            return 2.0 * math.log(value / self.low) / math.log(self.high / self.low) - 1.0
        return 2.0 * (value - self.low) / (self.high - self.low) - 1.0

    def touches(self, circuit: Circuit) -> bool:
        """Whether this input has a part in that circuit."""
        owner, _, key = self.name.rpartition(".")
        if self.state is not None and self.state != (circuit.state or ""):
            return False
        if owner == "supply":
            return (circuit.supply.dc is not None) == (key == "dc") or key in ("resistance", "inductance")
        if key in ("repeat", "parallel") and any(element.block == owner for element in circuit.elements):
            return True
        return circuit.element(owner) is not None


def inputs_of(item: Item, circuits: Iterable[Circuit]) -> tuple[Input, ...]:
    """Every input of these circuits, one of each: unknowns first, then tolerances, then each state's mains."""
    found: dict[str, Input] = {}
    circuits = list(circuits)
    for circuit in circuits:
        state = item.state(circuit.state) if circuit.state is not None else None
        for name, unknown in circuit.unknowns.items():
            one = _unknown(circuit, name, unknown, state)
            if one is not None:
                found.setdefault(one.id, one)
    for circuit in circuits:
        for element in circuit.elements:
            for key, share in element.tolerances.items():
                if share > 0.0 and key in element.values and key not in element.unknown:
                    one = Input(name=f"{element.ref}.{key}", state=None, origin="tolerance", low=-share, high=share)
                    found.setdefault(one.id, one)
    for circuit in circuits:
        for one in mains_inputs(circuit):
            found.setdefault(one.id, one)
    return tuple(found.values())


def mains_inputs(circuit: Circuit) -> list[Input]:
    """The inputs that a circuit's supply brings: its voltage and, where it is the mains, its shape."""
    supply, state = circuit.supply, circuit.state or ""
    found = []
    key = "dc" if supply.dc is not None else "voltage"
    if supply.range > 0.0 and f"supply.{key}" not in circuit.unknowns:
        found.append(Input(name=f"supply.{key}", state=state, origin="mains", low=-supply.range, high=supply.range))
    if supply.dc is None:
        width = _SHAPE_WRITTEN if supply.shape else SHAPE_ALLOWANCE
        found += [
            Input(name=f"supply.h{order}", state=state, origin="shape", low=-width, high=width)
            for order in SHAPE_ORDERS
        ]
    return found


def _unknown(circuit: Circuit, name: str, unknown: Unknown, state: State | None) -> Input | None:
    owner, _, word = name.rpartition(".")
    key = _key(circuit, owner, word)
    kind = "supply" if owner == "supply" else _kind_of(circuit, owner)
    low, high = unknown.between or _WIDE.get(f"{kind}.{word}") or _WIDE.get(key.unit, (1.0, 100.0))
    if not high > low:
        return None
    own = state is not None and (
        word in state.set.get(owner, {})
        or (owner == "supply" and state.supply is not None and getattr(state.supply, word) is not None)
    )
    return Input(
        name=name,
        state=circuit.state or "" if own else None,
        origin="unknown",
        low=low,
        high=high,
        unit=key.unit,
        logarithmic=low > 0.0 and high > _LOG_FROM * low and not key.whole,
        whole=key.whole,
        given=unknown.between is not None,
    )


def _kind_of(circuit: Circuit, owner: str) -> str:
    element = circuit.element(owner)
    return element.kind if element is not None else "block"


def _key(circuit: Circuit, owner: str, word: str) -> Key:
    if owner == "supply":
        units = {"voltage": "V", "dc": "V", "frequency": "Hz", "resistance": "ohm", "inductance": "H"}
        return Key(name=word, unit=units[word])
    element = circuit.element(owner)
    found = KINDS[element.kind].key(word) if element is not None else None
    return found if found is not None else Key(name=word, unit="", least=1.0, least_open=False, whole=True)


def applied(circuit: Circuit, inputs: Iterable[Input], z: Iterable[float]) -> Circuit:
    """The circuit with its inputs at coordinates z; those that have no part in it are passed over."""
    values: dict[str, float] = {}
    shape = dict(circuit.supply.shape)
    for one, coordinate in zip(inputs, z, strict=True):
        if not one.touches(circuit):
            continue
        value = float(one.at(coordinate))
        owner, _, key = one.name.rpartition(".")
        if one.origin == "unknown":
            values[one.name] = value
        elif one.origin == "shape":
            order = int(key[1:])
            shape[order] = shape.get(order, 0.0) + value
        else:
            values[one.name] = _recorded(circuit, owner, key) * (1.0 + value)
    changed = with_values(circuit, values) if values else circuit
    if shape != dict(circuit.supply.shape):
        changed = replace(changed, supply=replace(changed.supply, shape=Table(shape)))
    return changed


def _recorded(circuit: Circuit, owner: str, key: str) -> float:
    if owner == "supply":
        return float(getattr(circuit.supply, key))
    element = circuit.element(owner)
    assert element is not None
    return element.number(key)
