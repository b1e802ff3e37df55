"""Random legal circuits, grown from the building blocks that small mains products are made of."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from lidoff.circuit import Circuit, Element, Mains
from lidoff.kinds import KINDS, REQUIRED
from lidoff.record import Table


def part(ref: str, kind: str, nodes: Any, *, series: float = 1.0, parallel: float = 1.0, **values: Any) -> Element:
    """An element with its kind's defaults filled in; `nodes` a list in pin order or pin = node."""
    known = KINDS[kind]
    whole = {
        key.name: key.default for key in known.keys if key.default is not REQUIRED and key.default is not None
    } | values
    missing = [key.name for key in known.keys if key.default is REQUIRED and key.name not in whole]
    assert not missing, f"{ref}: {missing}"
    pins = tuple(nodes.get(pin) for pin in known.pins) if isinstance(nodes, dict) else tuple(nodes)
    return Element(ref=ref, kind=kind, nodes=pins, values=Table(whole), series=series, parallel=parallel)


class Grower:
    """Grows one circuit from a seed."""

    def __init__(self, seed: int) -> None:
        self.rng = np.random.default_rng(seed)
        self.elements: list[Element] = []
        self.count = 0
        self.volts, self.hertz = [(230.0, 50.0), (120.0, 60.0), (100.0, 50.0), (250.0, 60.0)][self.rng.integers(4)]

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def between(self, low: float, high: float) -> float:
        return float(np.exp(self.rng.uniform(np.log(low), np.log(high))))

    def node(self) -> str:
        self.count += 1
        return f"n{self.count}"

    def add(self, kind: str, nodes: Any, **values: Any) -> None:
        self.elements.append(part(f"{KINDS[kind].prefix}{len(self.elements) + 1}", kind, nodes, **values))

    def series(self, kind: str, start: str, **values: Any) -> str:
        end = self.node()
        self.add(kind, [start, end] if self.chance(0.5) else [end, start], **values)
        return end

    def grow(self) -> Circuit:
        line = self.input_stage("live")
        if self.chance(0.15):  # two loads side by side
            self.load(line, "neutral")
        self.controlled(line, "neutral")
        self.rng.shuffle(self.elements)  # type: ignore[arg-type]
        supply = Mains(
            voltage=self.volts,
            frequency=self.hertz,
            resistance=self.between(0.05, 2.0),
            inductance=self.between(1e-5, 1e-3) if self.chance(0.2) else 0.0,
            shape=Table({3: 0.02, 5: 0.01}) if self.chance(0.2) else Table(),
        )
        return Circuit(elements=tuple(self.elements), supply=supply)

    def input_stage(self, line: str) -> str:
        if self.chance(0.4):
            line = self.series("fuse", line)
        if self.chance(0.3):
            line = self.series("switch", line)
        if self.chance(0.2):
            line = self.series("thermistor", line, cold=10.0)
        if self.chance(0.3):
            self.add("capacitor", [line, "neutral"], value=self.between(1e-8, 4.7e-7))
            if self.chance(0.7):
                self.add("resistor", [line, "neutral"], value=self.between(2e5, 1e6))
        if self.chance(0.2):
            line = self.series("inductor", line, value=self.between(1e-4, 5e-3), resistance=self.between(0.5, 5.0))
        if self.chance(0.15):
            self.add("varistor", [line, "neutral"], voltage=2.0 * self.volts)
        if self.chance(0.1):
            middle = self.series("resistor", line, value=150e3)
            self.add("indicator", [middle, "neutral"])
        return line

    def controlled(self, line: str, end: str) -> None:
        choice = self.rng.integers(6)
        if choice <= 1:
            self.dimmer(line, end)
        elif choice == 2:
            self.dropper(line, end)
        elif choice == 3:
            middle = self.node()
            self.add("diode", {"anode": line, "cathode": middle})
            if self.chance(0.5):
                self.add("switch", [line, middle], closed=self.chance(0.5))
            self.load(middle, end)
        else:
            self.load(line, end)

    def dimmer(self, line: str, end: str) -> None:
        load, gate, timing = self.node(), self.node(), self.node()
        track = self.between(1e5, 5e5)
        wiper = self.node()
        self.add("potentiometer", {"a": load, "wiper": wiper}, value=track, position=float(self.rng.random()))
        self.add("resistor", [wiper, timing], value=self.between(1e3, 1e4))
        self.add("capacitor", [timing, line], value=self.between(4.7e-8, 1.5e-7))
        if self.chance(0.3):
            second = self.node()
            self.add("resistor", [timing, second], value=self.between(1e4, 3e4))
            self.add("capacitor", [second, line], value=self.between(2e-8, 1e-7))
            timing = second
        self.add("diac", [timing, gate], asymmetry=float(self.rng.choice([0.0, 0.0, 3.0])))
        self.add("triac", {"mt1": line, "mt2": load, "gate": gate}, holding_current=self.between(3e-3, 3e-2))
        if self.chance(0.6):
            middle = self.series("resistor", load, value=self.between(33.0, 330.0))
            self.add("capacitor", [middle, line], value=self.between(1e-8, 1e-7))
        if self.chance(0.3):
            load = self.series("inductor", load, value=self.between(3e-5, 3e-4), resistance=0.3)
        self.load(load, end)

    def dropper(self, line: str, end: str) -> None:
        line = self.series("resistor", line, value=self.between(47.0, 1e3))
        middle = self.node()
        value = self.between(1e-7, 2.2e-6)
        self.add("capacitor", [line, middle], value=value)
        if self.chance(0.8):
            self.add("resistor", [line, middle], value=self.between(3e5, 2e6))
        self.rectified(middle, end, low=True)

    def load(self, line: str, end: str) -> None:
        choice = self.rng.integers(5)
        if choice == 0:
            self.add("resistor", [line, end], value=self.between(30.0, 5e3))
        elif choice == 1:
            kind = "lamp" if self.chance(0.6) else "heater"
            watts = self.between(10.0, 100.0)
            if self.chance(0.2):
                line = self.series(kind, line, power=watts, voltage=self.volts)
            self.add(kind, [line, end], power=self.between(10.0, 100.0), voltage=self.volts)
        elif choice == 2 and self.chance(0.5):
            ratio = self.volts / self.between(6.0, 24.0)
            one, two = self.node(), self.node()
            self.add(
                "transformer",
                {"p1": line, "p2": end, "s1": one, "s2": two},
                ratio=ratio,
                magnetising=self.between(5.0, 30.0),
                leakage=self.between(1e-3, 0.1),
                resistance_primary=self.between(10.0, 300.0),
                resistance_secondary=self.between(0.1, 3.0),
            )
            plus, minus = self.bridge(one, two)
            self.add("capacitor", [plus, minus], value=self.between(1e-4, 1e-3))
            self.add("resistor", [plus, minus], value=self.between(20.0, 1e3))
        else:
            self.rectified(line, end, low=False)

    def bridge(self, one: str, two: str) -> tuple[str, str]:
        plus, minus = self.node(), self.node()
        if self.chance(0.7):
            self.add("bridge", {"ac1": one, "ac2": two, "plus": plus, "minus": minus})
        else:
            for first, second in ((one, plus), (two, plus), (minus, one), (minus, two)):
                self.add("diode", {"anode": first, "cathode": second})
        return plus, minus

    def rectified(self, line: str, end: str, *, low: bool) -> None:
        if not low and self.chance(0.15):
            plus, minus = self.doubler(line, end)
            volts = 2.3 * self.volts
            smooth = True
        else:
            plus, minus = self.bridge(line, end)
            volts = (self.between(0.1, 0.5) if low else 1.3) * self.volts
            smooth = self.smoothing(plus, minus)
        if low and self.chance(0.3):
            self.add("zener", {"anode": minus, "cathode": plus}, voltage=self.between(5.0, 30.0))
        self.consumer(plus, minus, volts, smooth, low)

    def doubler(self, line: str, end: str) -> tuple[str, str]:
        plus, minus = self.node(), self.node()
        self.add("diode", {"anode": line, "cathode": plus})
        self.add("diode", {"anode": minus, "cathode": line})
        value = self.between(1e-6, 4.7e-5)
        self.add("capacitor", [plus, end], value=value)
        self.add("capacitor", [end, minus], value=value)
        return plus, minus

    def smoothing(self, plus: str, minus: str) -> bool:
        choice = self.rng.integers(4)
        if choice == 0:
            return False
        if choice == 1 and self.chance(0.5):  # valley-fill
            one, two = self.node(), self.node()
            value = self.between(2e-6, 3e-5)
            self.add("capacitor", [plus, one], value=value)
            self.add("diode", {"anode": one, "cathode": two})
            self.add("capacitor", [two, minus], value=value)
            self.add("diode", {"anode": minus, "cathode": one})
            self.add("diode", {"anode": two, "cathode": plus})
            return True
        esr = self.between(0.1, 5.0) if self.chance(0.3) else 0.0
        self.add("capacitor", [plus, minus], value=self.between(1e-6, 2.2e-4), esr=esr)
        return True

    def consumer(self, plus: str, minus: str, volts: float, smooth: bool, low: bool) -> None:
        choice = self.rng.integers(6)
        if choice == 0:
            self.add("resistor", [plus, minus], value=self.between(500.0, 5e4))
            return
        if choice == 1 and smooth and not low:
            self.add("converter", {"plus": plus, "minus": minus}, power=self.between(1.0, 10.0))
            return
        string = self.rng.uniform(0.3, 0.9) * volts
        inner = self.node()
        fold = float(self.rng.choice([1, 1, 4, 12]))
        self.add(
            "led",
            {"anode": plus, "cathode": inner},
            series=max(1.0, round(string / 3.0 / fold)) * fold,
            parallel=float(self.rng.integers(1, 4)),
            forward_voltage=3.0,
        )
        if choice == 2:
            self.add("regulator", {"input": inner, "output": minus}, limit=self.between(5e-3, 5e-2))
        elif choice == 3 and self.chance(0.6):
            base, sense = self.node(), self.node()
            self.add("resistor", [plus, base], value=self.between(1e5, 5e5))
            self.add("zener", {"anode": minus, "cathode": base}, voltage=5.1)
            self.add("transistor", {"base": base, "collector": inner, "emitter": sense})
            self.add("resistor", [sense, minus], value=self.between(100.0, 1e3))
        elif choice == 4 and self.chance(0.3):
            gate = self.node()
            self.add("thyristor", {"anode": inner, "cathode": minus, "gate": gate})
            self.add("resistor", [inner, gate], value=self.between(5e3, 5e4))
        else:
            self.add("resistor", [inner, minus], value=self.between(100.0, 4.7e3))


def grown(seed: int) -> Circuit:
    """The circuit of that seed."""
    return Grower(seed).grow()


def swapped(circuit: Circuit) -> Circuit:
    """The same circuit with the plug the other way up."""
    other = {"live": "neutral", "neutral": "live"}
    return replace(
        circuit,
        elements=tuple(replace(e, nodes=tuple(other.get(n, n) if n else n for n in e.nodes)) for e in circuit.elements),
    )


def renamed(circuit: Circuit, prefix: str) -> Circuit:
    """The same circuit with other node names, in reverse order of parts."""
    fixed = ("live", "neutral", "earth", None)
    return replace(
        circuit,
        elements=tuple(
            replace(e, nodes=tuple(n if n in fixed else f"{prefix}{n}" for n in e.nodes))
            for e in reversed(circuit.elements)
        ),
    )
