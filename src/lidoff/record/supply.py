"""The mains or the bench supply: reading `[supply]`, and the supply that holds in a state."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, Final

from lidoff.kinds import Key
from lidoff.record.fields import Fields, from_zero, positive, tabled
from lidoff.record.locate import Path
from lidoff.record.model import Item, State, Supply, Table, Unknown
from lidoff.record.problems import Notes

_VOLTAGE: Final = from_zero("voltage", "V")
# Wide enough for railways and ships; what it catches is a k or an m too many.
_FREQUENCY: Final = Key(name="frequency", unit="Hz", least=10.0, least_open=False, most=1000.0)
_RESISTANCE: Final = from_zero("resistance", "ohm")
_INDUCTANCE: Final = from_zero("inductance", "H")
_DC: Final = from_zero("dc", "V")
INFERABLE: Final = (_VOLTAGE, _FREQUENCY, _RESISTANCE, _INDUCTANCE, _DC)
_ORDER: Final = re.compile(r"h([1-9]\d?)")

NOMINAL_MAINS: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {"GB": (230.0, 50.0), "EU": (230.0, 50.0), "US": (120.0, 60.0)}
)
"""Region to nominal mains [V rms, Hz] (IEC 60038:2009, table 1, low-voltage systems; from memory)."""
_ELSEWHERE: Final = (230.0, 50.0)
# Real part of the reference impedance of a single-phase supply, 0.4 + j0.25 ohm (IEC 60725:2012; from memory).
_SOURCE_RESISTANCE: Final = 0.4
_RANGE: Final = 0.10
_RANGE_MEASURED: Final = 0.01


def read_supply(notes: Notes, data: Mapping[str, Any], path: Path, key: str) -> Supply:
    """The supply written in one table; what is left out is None."""
    fields = Fields(notes, data, path, key, "a supply", INFERABLE)
    limit = positive("limit", "A")
    supply = Supply(
        voltage=fields.number(_VOLTAGE),
        measured=fields.flag("measured"),
        range=fields.share("range"),
        frequency=fields.number(_FREQUENCY),
        resistance=fields.number(_RESISTANCE),
        inductance=fields.number(_INDUCTANCE),
        shape=_read_shape(fields),
        dc=fields.number(_DC),
        limit=fields.known(limit),
        nodes=fields.node_pair("nodes"),
    )
    if "dc" not in data:
        for name in ("limit", "nodes"):
            if name in data:
                fields.warn(name, "is not used, for it belongs to a bench supply, which is given by dc")
    elif "nodes" not in data:
        fields.error("dc", 'a bench supply needs nodes = ["+ node", "- node"] beside it')
    if "dc" in data and "voltage" in data:
        fields.error("voltage", "is the mains and dc a bench supply; leave one of them out")
    fields.finish()
    return supply


def _read_shape(fields: Fields) -> Mapping[int, float] | None:
    table = fields.table("shape", "a shape of the mains")
    if table is None:
        return None
    shares: dict[int, float | None] = {}
    for name in table.data:
        match = _ORDER.fullmatch(name)
        if match and int(match[1]) >= 2:
            shares[int(match[1])] = table.share(name)
    table.finish(more=["h3", "h5", "h7"])
    return tabled(shares)


def effective_supply(item: Item, state: State | str | None = None) -> Supply:
    """The supply that holds in a state, every key filled in; `assumed` says which keys nobody wrote down.

    A state's own keys go before the record's, one by one; a voltage measured in a state counts for that state. Where
    neither gives a voltage [V] it is the one on the label, else the nominal mains of the region, else 230 V 50 Hz.
    An unknown stays Unknown. With a bench supply (`dc`) voltage, frequency and shape are None.
    Raises KeyError where the record has no state of that name.
    """
    own = _own_supply(item, state)
    base = item.supply
    if own.dc is not None or (base.dc is not None and own.voltage is None):
        return _bench(own, base)
    assumed: dict[str, str] = {}
    voltage, frequency = _first(own.voltage, base.voltage), _first(own.frequency, base.frequency)
    if voltage is None:
        voltage, why = _assumed_voltage(item)
        assumed["voltage"] = f"The mains voltage is taken as {voltage:g} V, {why}."
    if frequency is None:
        frequency, why = _assumed_frequency(item, voltage)
        assumed["frequency"] = f"The mains frequency is taken as {frequency:g} Hz, {why}."
    measured = bool(own.measured) if own.voltage is not None or own.measured is not None else bool(base.measured)
    width = own.range
    if width is None and not own.measured:
        width = base.range if not base.measured or measured else None
    if width is None:
        width = _RANGE_MEASURED if measured else _RANGE
        assumed["range"] = f"The mains is taken to lie within {width:.0%}, as nobody wrote a range."
    resistance = _first(own.resistance, base.resistance)
    if resistance is None:
        resistance = _SOURCE_RESISTANCE
        assumed["resistance"] = f"The mains is taken to have {resistance:g} ohm, the reference impedance of IEC 60725."
    inductance = _first(own.inductance, base.inductance)
    if inductance is None:
        assumed["inductance"] = "The mains is taken without inductance, except for what follows a switch-on."
    shape: Mapping[int, float] | None = _first(own.shape, base.shape)
    return Supply(
        voltage=voltage,
        measured=measured,
        range=width,
        frequency=frequency,
        resistance=resistance,
        inductance=0.0 if inductance is None else inductance,
        shape=Table() if shape is None else shape,
        assumed=tabled(assumed),
    )


def _own_supply(item: Item, state: State | str | None) -> Supply:
    if isinstance(state, str):
        named = item.state(state)
        if named is None:
            raise KeyError(state)
        state = named
    return state.supply if state is not None and state.supply is not None else Supply()


def _bench(own: Supply, base: Supply) -> Supply:
    """A bench supply: ideal up to its current limit unless its resistance is written."""
    given = own if own.dc is not None else base
    measured = bool(given.measured)
    assumed = {} if given.range is not None else {"range": "The bench supply is taken to lie within 1 %."}
    return replace(
        given,
        measured=measured,
        range=_RANGE_MEASURED if given.range is None else given.range,
        resistance=0.0 if given.resistance is None else given.resistance,
        inductance=0.0 if given.inductance is None else given.inductance,
        voltage=None,
        frequency=None,
        shape=None,
        assumed=tabled(assumed),
    )


def _first(own: Any, base: Any) -> Any:
    return own if own is not None else base


def _assumed_voltage(item: Item) -> tuple[float, str]:
    label = item.rated.get("voltage")
    if label is not None:
        return label, "as its label says"
    nominal, why = _nominal(item)
    low, high = item.rated.get("voltage_low"), item.rated.get("voltage_high")
    if low is None or high is None or low <= nominal[0] <= high:
        return nominal[0], why
    fitting = [volts for volts, _ in NOMINAL_MAINS.values() if low <= volts <= high]
    return (fitting[0] if fitting else (low + high) / 2.0), "from the range on its label"


def _assumed_frequency(item: Item, voltage: float | Unknown) -> tuple[float, str]:
    label = item.rated.get("frequency")
    if label is not None:
        return label, "as its label says"
    nominal, why = _nominal(item)
    # Without a region, 100 to 127 V tell the mains of North America from that of Europe well enough.
    if item.region not in NOMINAL_MAINS and isinstance(voltage, float) and voltage < 150.0:
        return 60.0, "usual at such a voltage"
    return nominal[1], why


def _nominal(item: Item) -> tuple[tuple[float, float], str]:
    if item.region is None or item.region not in NOMINAL_MAINS:
        return _ELSEWHERE, "the nominal mains of most countries, as nobody wrote which"
    return NOMINAL_MAINS[item.region], f"the nominal mains of {item.region}"
