"""Off but glowing: what leaks through open switches, dimmers at their end, and the wiring, as light."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from lidoff.circuit import with_values
from lidoff.circuit.model import Circuit, CircuitError, Element
from lidoff.cycle import Solution, solve
from lidoff.record import Table

# A switch on a wall has some metres of cable behind it whose two cores lie side by side: about 100 pF a metre, five
# metres (common practice, no source).
STRAY: Final = 500e-12
_LIT: Final = 1e-3
"""Share of an LED's test current from which its light is light to speak of.

A thousandth of what a lamp gives is a glow of some candelas per square metre at most. The eye then fuses what beats
faster than some 40 Hz (Ferry-Porter law, from memory), and the practices on flicker are about light that people see by
(IEEE Std 1789-2015 on lighting; SVM over 100 lx). What leaks through an open switch is microamperes: far below.
"""
_GLOWS: Final = 1e-5  # share of full light from which an LED is seen in a dark room (common practice, no source)


@dataclass(frozen=True, slots=True, kw_only=True)
class Glow:
    """One way of being off, and the light that it leaves.

    `way` says how in words, `changes` how in values ("S1.closed": False); `stray` [F] is the wiring's capacitance added
    across the open switch. `mean_current` [A] is that of the string that gives most light, `share` the light relative
    to full [1], `lightness` how bright that looks beside full [1]: CIE 1976 lightness L*, over 100 (CIE 15). `glows`
    says whether it is seen in a dark room. `sentence` is for people.
    """

    way: str
    changes: Mapping[str, float | bool]
    stray: float
    mean_current: float
    share: float
    lightness: float
    percent_flicker: float | None
    glows: bool
    sentence: str

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "way": self.way,
            "changes": dict(self.changes),
            "stray": self.stray,
            "mean_current": self.mean_current,
            "share": self.share,
            "lightness": self.lightness,
            "percent_flicker": self.percent_flicker,
            "glows": self.glows,
            "sentence": self.sentence,
        }


def glow(circuit: Circuit) -> tuple[Glow, ...]:
    """Every way in which the circuit can be off, brightest first: each switch opened, each knob at its dim end.

    Full is the circuit with all switches closed and each knob at its bright end. Empty where the circuit has no LEDs,
    or gives no light at full. Raises CircuitError where an off circuit is not solved.
    """
    switches = [e for e in circuit.elements if e.kind in ("switch", "thermostat")]
    knobs = [e for e in circuit.elements if e.kind == "potentiometer"]
    if not any(e.kind == "led" for e in circuit.elements):
        return ()
    bright: dict[str, float | bool] = {f"{e.ref}.closed": True for e in switches}
    dim: dict[str, float] = {}
    for knob in knobs:
        name = f"{knob.ref}.position"
        lights = [_light(_solved(with_values(circuit, bright | {name: end}))) for end in (0.0, 1.0)]
        bright[name], dim[name] = (0.0, 1.0) if lights[0] >= lights[1] else (1.0, 0.0)
    full = _light(_solved(with_values(circuit, bright)))
    if full <= 0.0:
        return ()
    found: list[Glow] = []
    for knob in knobs:
        name = f"{knob.ref}.position"
        found.append(_judged(circuit, bright | {name: dim[name]}, f"{knob.ref} turned down", 0.0, full))
    for switch in switches:
        changes = bright | {f"{switch.ref}.closed": False}
        found.append(_judged(circuit, changes, f"{switch.ref} open", 0.0, full))
        wired = _with_stray(circuit, switch)
        found.append(_judged(wired, changes, f"{switch.ref} open, five metres of cable behind it", STRAY, full))
    return tuple(sorted(found, key=lambda g: (-g.share, g.way)))


def is_lit(circuit: Circuit, light: Mapping[str, Any] | None) -> bool:
    """Whether there is light of which flicker is worth a word. `light`: the light figures of the circuit, or None."""
    if light is None or light["percent_flicker"] is None:
        return False
    strings = [e for e in circuit.elements if e.ref in light["sources"]]
    least = min((e.number("test_current") * e.number("parallel") for e in strings), default=0.0)
    return float(light["mean_current"]) >= _LIT * least


def lightness(share: float) -> float:
    """How bright a share [1] of the full light looks beside it [1]: CIE 1976 lightness L* over 100 (CIE 15)."""
    return (1.16 * share ** (1.0 / 3.0) - 0.16) if share > (6.0 / 29.0) ** 3 else 9.033 * max(share, 0.0)


def _solved(circuit: Circuit) -> Solution | None:
    try:
        return solve(circuit)
    except CircuitError:
        return None


def _light(solution: Solution | None) -> float:
    return 0.0 if solution is None else float(solution.waves.weight @ solution.light)


def _with_stray(circuit: Circuit, switch: Element) -> Circuit:
    first, second = switch.nodes
    wiring = Element(
        ref=f"wiring across {switch.ref}",
        kind="capacitor",
        nodes=(first, second),
        values=Table({"value": STRAY, "esr": 0.0}),
    )
    return replace(circuit, elements=(*circuit.elements, wiring))


def _judged(circuit: Circuit, changes: Mapping[str, float | bool], way: str, stray: float, full: float) -> Glow:
    solution = solve(with_values(circuit, changes))
    share = max(_light(solution), 0.0) / full
    figures = solution.light_figures() or {"mean_current": 0.0, "percent_flicker": None}
    glows = share >= _GLOWS
    amperes = float(figures["mean_current"])
    if glows:
        sentence = (
            f"With {way} the LEDs still get {1e3 * amperes:.2g} mA: {share:.2g} of the full light, "
            f"which looks {lightness(share):.2g} times as bright."
        )
    else:
        sentence = f"With {way} the LEDs get {1e6 * max(amperes, 0.0):.2g} µA, and nothing is seen."
    return Glow(
        way=way,
        changes=Table(changes),
        stray=stray,
        mean_current=amperes,
        share=share,
        lightness=lightness(share),
        percent_flicker=figures["percent_flicker"],
        glows=glows,
        sentence=sentence,
    )
