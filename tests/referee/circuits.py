"""Circuits of the trade for the referee, beside the five of tests/reference/cycle. Values invented, of usual size."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from tests.cycle.growing import part

from lidoff.circuit import Circuit, Element, Mains
from lidoff.record import Table

TRADE: dict[str, Callable[[], Circuit]] = {}


def _entered(make: Callable[[], Circuit]) -> Callable[[], Circuit]:
    TRADE[make.__name__] = make
    return make


def circuit(*elements: Element, **supply: Any) -> Circuit:
    """A circuit on 230 V 50 Hz unless `supply` says otherwise."""
    return Circuit(elements=elements, supply=Mains(**supply))


def bridge(one: str, two: str, ref: str = "BR1", **values: Any) -> Element:
    return part(ref, "bridge", {"ac1": one, "ac2": two, "plus": "p", "minus": "m"}, **values)


def led(anode: str, cathode: str, ref: str = "LED1", **values: Any) -> Element:
    return part(ref, "led", {"anode": anode, "cathode": cathode}, **{"forward_voltage": 3.0, **values})


def dimmer(load: str, *, line: str = "live", track: float = 330e3, position: float = 0.4, farads: float = 150e-9,
           snubber: bool = True, holding: float = 5e-3) -> tuple[Element, ...]:  # fmt: skip
    """A diac-fired triac between `line` and `load`, timed from the load's side."""
    parts = (
        part("VR1", "potentiometer", {"a": load, "wiper": "w"}, value=track, position=position),
        part("R1", "resistor", ["w", "t"], value=4700.0),
        part("C1", "capacitor", ["t", line], value=farads),
        part("D1", "diac", ["t", "g"]),
        part("Q1", "triac", {"mt1": line, "mt2": load, "gate": "g"}, holding_current=holding),
    )
    if not snubber:
        return parts
    return (
        *parts,
        part("R2", "resistor", [load, "s"], value=68.0),
        part("C2", "capacitor", ["s", line], value=47e-9),
    )


@_entered
def dropper_with_zener() -> Circuit:
    """A capacitor dropper into a zener and a slow capacitor, as in sensor switches."""
    return circuit(
        part("F1", "fuse", ["live", "f"]),
        part("R1", "resistor", ["f", "a"], value=220.0),
        part("C1", "capacitor", ["a", "b"], value=470e-9),
        part("R2", "resistor", ["a", "b"], value=1e6),
        bridge("b", "neutral"),
        part("DZ1", "zener", {"anode": "m", "cathode": "p"}, voltage=24.0, slope_resistance=15.0),
        part("C2", "capacitor", ["p", "m"], value=100e-6),
        part("R3", "resistor", ["p", "m"], value=1800.0),
    )


@_entered
def half_wave_dropper() -> Circuit:
    """A dropper into one diode and one zener: the zener also carries the other half-cycle forwards."""
    return circuit(
        part("R1", "resistor", ["live", "a"], value=150.0),
        part("C1", "capacitor", ["a", "b"], value=330e-9),
        part("DZ1", "zener", {"anode": "neutral", "cathode": "b"}, voltage=12.0),
        part("D1", "diode", {"anode": "b", "cathode": "p"}, forward_voltage=0.85),
        part("C2", "capacitor", ["p", "neutral"], value=47e-6, esr=0.6),
        led("p", "x", series=2, forward_voltage=3.1),
        part("R2", "resistor", ["x", "neutral"], value=820.0),
    )


@_entered
def valley_fill() -> Circuit:
    """Two capacitors charged in series and discharged side by side, feeding a current regulator."""
    return circuit(
        part("R1", "resistor", ["live", "a"], value=10.0),
        bridge("a", "neutral"),
        part("C1", "capacitor", ["p", "q"], value=4.7e-6),
        part("D1", "diode", {"anode": "q", "cathode": "r"}),
        part("C2", "capacitor", ["r", "m"], value=4.7e-6),
        part("D2", "diode", {"anode": "m", "cathode": "q"}),
        part("D3", "diode", {"anode": "r", "cathode": "p"}),
        led("p", "x", series=40),
        part("U1", "regulator", {"input": "x", "output": "m"}, limit=20e-3),
    )


@_entered
def voltage_doubler() -> Circuit:
    """Two half-wave rectifiers on one capacitor pair, 120 V 60 Hz."""
    return circuit(
        part("R1", "resistor", ["live", "a"], value=4.7),
        part("D1", "diode", {"anode": "a", "cathode": "p"}),
        part("D2", "diode", {"anode": "m", "cathode": "a"}),
        part("C1", "capacitor", ["p", "neutral"], value=10e-6),
        part("C2", "capacitor", ["neutral", "m"], value=10e-6),
        led("p", "x", series=80, forward_voltage=3.05),
        part("R2", "resistor", ["x", "m"], value=1000.0),
        voltage=120.0,
        frequency=60.0,
    )


@_entered
def dimmer_behind_filter() -> Circuit:
    """An LC input filter before a dimmer: it rings when the triac fires."""
    return circuit(
        part("C9", "capacitor", ["live", "neutral"], value=100e-9),
        part("L1", "inductor", ["live", "n"], value=1.5e-3, resistance=0.9),
        *dimmer("load", line="n", position=0.35),
        part("R9", "resistor", ["load", "neutral"], value=530.0),
    )


@_entered
def dimmer_on_a_motor() -> Circuit:
    """A dimmer as a fan's speed control: the triac conducts on past the mains' zero crossing."""
    return circuit(
        *dimmer("load", track=250e3, position=0.5, farads=100e-9),
        part("M1", "motor", ["load", "neutral"], resistance=180.0, inductance=0.5),
        part("RV1", "varistor", ["live", "neutral"], voltage=430.0),
    )


@_entered
def dimmer_of_two_stages() -> Circuit:
    """A second timing stage, a potentiometer joined at both ends, 240 V."""
    return circuit(
        part("VR1", "potentiometer", {"a": "load", "wiper": "w", "b": "w"}, value=220e3, position=0.3, taper="log"),
        part("R1", "resistor", ["w", "t"], value=6800.0),
        part("C1", "capacitor", ["t", "live"], value=100e-9),
        part("R3", "resistor", ["t", "u"], value=15e3),
        part("C3", "capacitor", ["u", "live"], value=47e-9),
        part("D1", "diac", ["u", "g"], breakover=30.0, breakback=8.0),
        part("Q1", "triac", {"mt1": "live", "mt2": "load", "gate": "g"}),
        part("R9", "resistor", ["load", "neutral"], value=960.0),
        voltage=240.0,
    )


@_entered
def dimmer_with_uneven_diac() -> Circuit:
    """A diac that breaks over at unequal voltages: unequal half-cycles and direct current."""
    parts = circuit(*dimmer("load", position=0.45), part("R9", "resistor", ["load", "neutral"], value=880.0))
    return replace(
        parts,
        elements=tuple(
            replace(e, values=Table({**e.values, "asymmetry": 3.0})) if e.ref == "D1" else e for e in parts.elements
        ),
    )


@_entered
def thyristor_behind_rectifier() -> Circuit:
    """A thyristor across the bridge's output, its load on the mains side."""
    return circuit(
        part("R9", "resistor", ["live", "a"], value=700.0),
        bridge("a", "neutral"),
        part("R1", "resistor", ["p", "t"], value=120e3),
        part("C1", "capacitor", ["t", "m"], value=100e-9),
        part("D1", "diac", ["t", "g"]),
        part("Q1", "thyristor", {"anode": "p", "cathode": "m", "gate": "g"}, holding_current=8e-3),
    )


@_entered
def half_wave_heater() -> Circuit:
    """The half setting of a heater: a diode in series, its switch open."""
    return circuit(
        part("F1", "fuse", ["live", "f"]),
        part("D1", "diode", {"anode": "f", "cathode": "h"}),
        part("S1", "switch", ["f", "h"], closed=False),
        part("EH1", "heater", ["h", "neutral"], power=400.0, voltage=230.0),
        resistance=0.25,
    )


@_entered
def lamps_in_series() -> Circuit:
    """A small lamp in series with a larger one, the larger one hardly warm."""
    return circuit(
        part("LA1", "lamp", ["live", "a"], power=25.0, voltage=230.0),
        part("LA2", "lamp", ["a", "neutral"], power=60.0, voltage=230.0),
    )


@_entered
def dimmed_strip() -> Circuit:
    """A dimmer before a bridge and an LED string: its timing current flows through the string."""
    return circuit(
        *dimmer("load", position=0.35, farads=100e-9),
        bridge("load", "neutral"),
        led("p", "x", series=60, parallel=2, forward_voltage=2.9, test_current=5e-3),
        part("R3", "resistor", ["x", "m"], value=1500.0),
    )


@_entered
def glowing_strip() -> Circuit:
    """The same turned down until the triac no longer fires: light by the snubber's current alone."""
    return circuit(
        *dimmer("load", track=2e6, position=1.0, farads=100e-9),
        bridge("load", "neutral"),
        led("p", "x", series=60, parallel=2, forward_voltage=2.9, test_current=5e-3),
        part("R3", "resistor", ["x", "m"], value=1500.0),
    )


@_entered
def strip_with_regulators() -> Circuit:
    """Two regulated strings of different length on one unsmoothed bridge."""
    return circuit(
        bridge("live", "neutral"),
        led("p", "x", series=72),
        part("U1", "regulator", {"input": "x", "output": "m"}, limit=30e-3, dropout=5.0),
        led("p", "y", "LED2", series=48, parallel=2),
        part("U2", "regulator", {"input": "y", "output": "m"}, limit=25e-3),
    )


@_entered
def transformer_supply() -> Circuit:
    """A 12 V transformer, bridge and slow capacitor."""
    return circuit(
        part("T1", "transformer", {"p1": "live", "p2": "neutral", "s1": "s", "s2": "t"}, ratio=18.0, magnetising=12.0,
             leakage=40e-3, resistance_primary=120.0, resistance_secondary=0.4),
        bridge("s", "t"),
        part("C1", "capacitor", ["p", "m"], value=470e-6),
        part("R1", "resistor", ["p", "m"], value=68.0),
    )  # fmt: skip


@_entered
def transistor_string() -> Circuit:
    """A transistor with a zener at its base keeps the current of a smoothed string."""
    return circuit(
        part("R1", "resistor", ["live", "a"], value=22.0),
        bridge("a", "neutral"),
        part("C1", "capacitor", ["p", "m"], value=4.7e-6),
        led("p", "c", series=84),
        part("R2", "resistor", ["p", "b"], value=220e3),
        part("DZ1", "zener", {"anode": "m", "cathode": "b"}, voltage=5.6),
        part("Q1", "transistor", {"base": "b", "collector": "c", "emitter": "e"}, gain=120.0),
        part("R3", "resistor", ["e", "m"], value=220.0),
    )


@_entered
def mosfet_string() -> Circuit:
    """A MOSFET whose source resistor sets the current of an unsmoothed string."""
    return circuit(
        bridge("live", "neutral"),
        led("p", "d", series=70),
        part("R2", "resistor", ["p", "g"], value=470e3),
        part("DZ1", "zener", {"anode": "m", "cathode": "g"}, voltage=8.2),
        part("Q1", "mosfet", {"gate": "g", "drain": "d", "source": "s"}, threshold=3.2, transconductance=0.8),
        part("R3", "resistor", ["s", "m"], value=150.0),
    )


@_entered
def folded_block() -> Circuit:
    """Twelve sections in series, two rows side by side, each with a capacitor of its own."""
    many = {"series": 12.0, "parallel": 2.0}
    # Five LEDs a section; `series` of the element is the number of sections, that of its values the number of LEDs.
    five = led("q", "section/a", "section/LED1", forward_voltage=2.95)
    five = replace(five, values=Table({**five.values, "series": 5.0}), series=12.0, parallel=2.0)
    return circuit(
        bridge("live", "neutral"),
        part("R1", "resistor", ["p", "q"], value=330.0),
        five,
        part("section/R1", "resistor", ["section/a", "m"], value=47.0, **many),
        part("section/C1", "capacitor", ["q", "section/a"], value=22e-6, esr=0.5, **many),
    )


@_entered
def parallel_groups() -> Circuit:
    """Three unequal strings side by side behind one resistor, a slow capacitor across them."""
    return circuit(
        part("R1", "resistor", ["live", "a"], value=15.0),
        bridge("a", "neutral"),
        part("C1", "capacitor", ["p", "m"], value=2.2e-6),
        part("R2", "resistor", ["p", "q"], value=820.0),
        led("q", "x", series=80, forward_voltage=2.95),
        part("R3", "resistor", ["x", "m"], value=1000.0),
        led("q", "y", "LED2", series=78, parallel=2, forward_voltage=3.0),
        part("R4", "resistor", ["y", "m"], value=1500.0),
        led("q", "m", "LED3", series=86, forward_voltage=3.05, slope=0.09),
    )


@_entered
def charger_on_bent_mains() -> Circuit:
    """A charger's front end with a choke, on mains with 5 % of the third harmonic."""
    return circuit(
        part("C9", "capacitor", ["live", "neutral"], value=100e-9),
        part("L1", "choke", {"a1": "live", "a2": "a", "b1": "neutral", "b2": "b"}, value=10e-3, resistance=0.8),
        bridge("a", "b"),
        part("C1", "capacitor", ["p", "m"], value=10e-6, esr=1.2),
        part("U1", "converter", {"plus": "p", "minus": "m"}, power=8.0),
        shape=Table({3: 0.05}),
    )


@_entered
def neon_beside_a_load() -> Circuit:
    """A glow lamp that shows that a heater is on."""
    return circuit(
        part("R9", "resistor", ["live", "neutral"], value=53.0),
        part("NE1", "indicator", ["live", "neutral"], series=150e3),
    )
