"""Circuits for the studies, as people would write them down."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lidoff.circuit import build
from lidoff.circuit.model import Circuit
from lidoff.record import Item, read_text
from lidoff.studies import Fault, Faults, faults

HEAD = "lidoff = 1\n"
MAINS = '[supply]\nvoltage = "230 V"\nfrequency = "50 Hz"\n'
PLUGGED = '[item]\nregion = "GB"\n[plug]\nkind = "BS 1363"\nfuse = "3 A"\n' + MAINS


def item_of(text: str) -> Item:
    """The record that `text` is."""
    return read_text(HEAD + text, Path("item.toml"))


def circuit_of(text: str, state: str | None = None, **changes: Any) -> Circuit:
    """The circuit of the record that `text` is, on 230 V 50 Hz unless it says otherwise."""
    return build(item_of(text if "[supply]" in text else MAINS + text), state, changes or None)


def study(text: str, *, with_item: bool = True) -> Faults:
    """All single faults of the circuit that `text` is, with or without the record around it."""
    item = item_of(text if "[supply]" in text else MAINS + text)
    return faults(circuit_of(text), item if with_item else None)


def fault(found: Faults, ref: str, mode: str) -> Fault:
    """The one fault of a part in one mode."""
    return next(f for f in found.faults if (f.part, f.mode) == (ref, mode))


def part(ref: str, kind: str, nodes: str, **keys: Any) -> str:
    """A [[part]] table; `nodes` is "a b" or "anode=a cathode=b"."""
    lines = ["[[part]]", f'ref = "{ref}"', f'kind = "{kind}"']
    words = nodes.split()
    if "=" in nodes:
        lines.append(
            "nodes = { " + ", ".join(f'{pin} = "{node}"' for pin, node in (w.split("=") for w in words)) + " }"
        )
    else:
        lines.append(f'nodes = ["{words[0]}", "{words[1]}"]')
    for key, value in keys.items():
        if isinstance(value, dict):
            lines.append(f"{key} = {{ " + ", ".join(f'{k} = "{v}"' for k, v in value.items()) + " }")
        elif isinstance(value, bool):
            lines.append(f"{key} = {str(value).lower()}")
        else:
            lines.append(f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}")
    return "\n".join(lines) + "\n"


def dimmer(track: str = "470k", farads: str = "100n", position: float = 0.1, **diac: Any) -> str:
    """An in-line dimmer from live to the node "load", with a snubber."""
    return (
        part("VR1", "potentiometer", "a=load wiper=w", value=track, position=position, tolerance="20 %")
        + part("R1", "resistor", "w t", value="4k7", tolerance="5 %")
        + part("C1", "capacitor", "t live", value=farads, tolerance="10 %")
        + part("D1", "diac", "t g", **diac)
        + part("Q1", "triac", "mt1=live mt2=load gate=g")
        + part("R2", "resistor", "load s", value="68R")
        + part("C2", "capacitor", "s live", value="47n", tolerance="10 %")
    )


def string(first: str, second: str, **led: Any) -> str:
    """A bridge with an unsmoothed LED string and its resistor between two nodes."""
    keys = {"series": 60, "parallel": 2, "forward_voltage": "2.9 V", "test_current": "5 mA"} | led
    return (
        part("BR1", "bridge", f"ac1={first} ac2={second} plus=p minus=m")
        + part("LED1", "led", "anode=p cathode=x", **keys)
        + part("R3", "resistor", "x m", value="1k5", tolerance="5 %", rating={"power": "7 W", "voltage": "350 V"})
    )


STRIP = string("live", "neutral")
DIMMED_STRIP = dimmer() + string("load", "neutral")
DIMMED_LAMP = dimmer("330k", "150n") + part("R9", "resistor", "load neutral", value="880R", rating={"power": "100 W"})
DROPPER = (
    part("R1", "resistor", "live a", value="470R", rating={"power": "1 W"})
    + part("C1", "capacitor", "a b", value="330n", rating={"voltage_ac": "275 V", "class": "X2"})
    + part("R2", "resistor", "a b", value="1M", rating={"power": "0.25 W", "voltage": "350 V"})
    + part("BR1", "bridge", "ac1=b ac2=neutral plus=p minus=m", rating={"voltage": "1000 V", "current": "1 A"})
    + part("C2", "capacitor", "p m", value="4u7", rating={"voltage": "100 V"})
    + part("LED1", "led", "anode=p cathode=m", series=20, forward_voltage="3.0 V")
)
CHARGER = (
    part("R1", "resistor", "live a", value="10R", rating={"power": "2 W"})
    + part("BR1", "bridge", "ac1=a ac2=neutral plus=p minus=m", rating={"voltage": "1000 V", "current": "1 A"})
    + part("C1", "capacitor", "p m", value="4u7", rating={"voltage": "400 V"})
    + part("U1", "converter", "plus=p minus=m", power="6 W", minimum_voltage="60 V")
)
