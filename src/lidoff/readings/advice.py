"""What to measure next: which one reading would narrow what is open the most, and how to take it with least danger.

The gain is the share of the open uncertainty that the reading is expected to remove: each open value's standard
uncertainty with the reading over that without it, by linear updating of the inputs' covariance (the same rule as JCGM
100, Annex H, read backwards), geometric mean over what is open, taken from 1.

Never proposed: an earthed scope on a board on the mains, ohms on a live or charged board, a hand meter's current jacks
in a mains lead, anything that needs both hands on live parts. Dead or low-voltage measurements and plug-in meters go
first.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from lidoff.circuit import Circuit, CircuitError, Element
from lidoff.cycle import Solution
from lidoff.figures.wave import Floats
from lidoff.readings.forward import Forward
from lidoff.readings.inputs import Input
from lidoff.readings.model import Proposal
from lidoff.readings.observe import true_value
from lidoff.readings.words import in_state, name_of
from lidoff.record import Table

_MOST: Final = 5
_LEAST_GAIN: Final = 0.03
_LOW_VOLTAGE: Final = 60.0  # [V] dc, the usual upper end of extra-low voltage (IEC 61140, from memory)

PLUG_IN: Final = (
    "Take it with a plug-in power meter between the socket and the item, closed up or out of reach: nothing is opened "
    "and nothing live is touched. No probes into a socket; where there is no plug, this is work for a licensed person."
)
DEAD: Final = (
    "Unplug it, wait, and discharge every capacitor through a resistor; check that no voltage is left before the meter "
    "goes on. Never set a meter to ohms, capacitance or diode test on a live or charged board."
)
BENCH: Final = (
    "With the item unplugged and its capacitors discharged: a bench supply set below 60 V dc, its current limit set "
    "before it is joined. Nothing else stays connected, least of all the mains."
)
LIGHT: Final = "Hold the light meter at a distance from the item, closed up: nothing live is touched."
CLIPS: Final = (
    "Only if nothing above will do: unplug and discharge it, fix insulated clips of a meter rated for the mains (CAT "
    "II or better), plug in behind an RCD and an isolating transformer, and read without touching anything; unplug and "
    "discharge before the clips come off. Local codes and a licensed person decide whether you may."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A value that is open: how it answers the inputs (slopes per coordinate); `rest` is the u no input can mend."""

    slope: Floats
    rest: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    quantity: str
    at: str | tuple[str, str]
    state: str | None
    accuracy: float  # half-width, share of the value
    floor: float  # half-width [unit]
    weight: float  # for the order only: dead and low-voltage ones go first
    how: str
    caution: str


def gain_of(targets: Sequence[Target], covariance: Floats, slope: Floats, sigma: float) -> float:
    """Share of the open uncertainty that a reading of that slope and standard uncertainty removes [0 to 1]."""
    moved = covariance @ slope
    total = float(slope @ moved) + sigma * sigma
    if total <= 0.0 or not targets:
        return 0.0
    logs = 0.0
    for target in targets:
        before = float(target.slope @ covariance @ target.slope) + target.rest**2
        after = before - float(target.slope @ moved) ** 2 / total
        if before > 0.0:
            logs += 0.5 * math.log(max(after, 1e-12 * before) / before)
    return 1.0 - math.exp(logs / len(targets))


def propose(
    forward: Forward,
    covariance: Floats,
    targets: Sequence[Target],
    z: Floats,
    *,
    states: Sequence[str | None],
    without_volts: Mapping[str | None, Sequence[Target]],
    taken: frozenset[tuple[str, object, str | None]],
) -> tuple[Proposal, ...]:
    """The readings worth taking next, best first; the mains voltage of a state where it is wanted goes before all.

    `without_volts` maps the states whose powers and currents cannot be judged for want of the volts to these; what the
    volts would remove is reckoned for them, all else as it is before any reading.
    """
    found: list[tuple[float, float, Proposal]] = []
    for state in states:
        circuit = forward.circuit(state)
        if circuit is None:
            continue
        candidates = [one for one in _powered(circuit, state) if (one.quantity, one.at, one.state) not in taken]
        for candidate, slope, value in _sloped(forward, circuit, candidates, z):
            sigma = (candidate.accuracy * abs(value) + candidate.floor) / math.sqrt(3.0)
            first = candidate.quantity == "voltage" and candidate.at == "input" and state in without_volts
            gain = (
                gain_of(without_volts[state], np.eye(slope.size) / 3.0, slope, sigma)
                if first
                else gain_of(targets, covariance, slope, sigma)
            )
            found.append((1.0 if first else 0.0, gain * candidate.weight, _proposal(candidate, gain, first)))
    for k, one in enumerate(forward.inputs):
        for candidate in _dead(forward, one):
            if (candidate.quantity, candidate.at, candidate.state) in taken:
                continue
            slope = np.zeros(len(forward.inputs))
            slope[k] = 1.0
            sigma = _dead_sigma(forward, one, candidate)
            gain = gain_of(targets, covariance, slope, sigma)
            found.append((0.0, gain * candidate.weight, _proposal(candidate, gain, False)))
    found.sort(key=lambda entry: (-entry[0], -entry[1]))
    kept = [proposal for first, _, proposal in found if first or proposal.gain >= _LEAST_GAIN]
    return tuple(_spread(kept)[:_MOST])


def _spread(proposals: list[Proposal]) -> list[Proposal]:
    """Each quantity at each place once, in its best state."""
    seen: set[tuple[str, object]] = set()
    kept = []
    for proposal in proposals:
        key: tuple[str, object] = (proposal.quantity, proposal.at)
        if proposal.quantity == "voltage" and proposal.at == "input":
            key = (proposal.quantity, proposal.state)
        if key not in seen:
            seen.add(key)
            kept.append(proposal)
    return kept


def _on_plug_in(quantity: str) -> str:
    return "The mains voltage" if quantity == "voltage" else f"The {name_of(quantity)}"


def _proposal(candidate: _Candidate, gain: float, first: bool) -> Proposal:
    percent = f"{gain:.0%}".replace("%", " %")
    if first:
        why = (
            f"Take it together with the other readings: without it no power or current{in_state(candidate.state)} can "
            f"be judged; it is expected to remove {percent} of what is uncertain about them."
        )
    else:
        why = f"Expected to remove {percent} of what is open."
    return Proposal(
        quantity=candidate.quantity,
        at=candidate.at,
        state=candidate.state,
        gain=gain,
        why=why,
        how=candidate.how,
        caution=candidate.caution,
    )


def _powered(circuit: Circuit, state: str | None) -> list[_Candidate]:
    if circuit.supply.dc is not None:
        return [
            _Candidate(
                quantity="current",
                at="input",
                state=state,
                accuracy=0.01,
                floor=1e-5,
                weight=1.0,
                how=f"The bench supply's own ammeter{in_state(state)}.",
                caution=BENCH,
            )
        ]
    plug = {
        "voltage": (0.01, 0.1, 1.0),
        "power": (0.01, 0.1, 0.85),
        "current": (0.01, 1e-3, 0.85),
        "power_factor": (0.0, 0.02, 0.8),
    }
    found = [
        _Candidate(
            quantity=quantity,
            at="input",
            state=state,
            accuracy=share,
            floor=floor,
            weight=weight,
            how=f"{_on_plug_in(quantity)} on a plug-in power meter{in_state(state)}.",
            caution=PLUG_IN,
        )
        for quantity, (share, floor, weight) in plug.items()
    ]
    if any(element.kind == "led" for element in circuit.elements):
        found.append(
            _Candidate(
                quantity="percent_flicker",
                at="input",
                state=state,
                accuracy=0.05,
                floor=0.5,
                weight=0.85,
                how=f"Percent flicker with a light meter{in_state(state)}.",
                caution=LIGHT,
            )
        )
    for element in circuit.elements:
        # Smoothed rails only: clips stay on while it runs.
        if element.kind == "capacitor" and element.block is None and _on_rail(circuit, element):
            found.append(
                _Candidate(
                    quantity="voltage_dc",
                    at=element.ref,
                    state=state,
                    accuracy=0.01,
                    floor=0.05,
                    weight=0.4,
                    how=f"The mean voltage across {element.ref} with clips put on while it is dead{in_state(state)}.",
                    caution=CLIPS,
                )
            )
    return found


def _on_rail(circuit: Circuit, element: Element) -> bool:
    nodes = {node for node in element.nodes if node is not None}
    return any(
        other.kind == "bridge" and {other.node("plus"), other.node("minus")} == nodes for other in circuit.elements
    )


def _sloped(
    forward: Forward, circuit: Circuit, candidates: Sequence[_Candidate], z: Floats
) -> list[tuple[_Candidate, Floats, float]]:
    """Each candidate with its slopes along the inputs and its value, from one set of solved circuits."""
    rig = forward.rig(("runs", circuit.state, ()), circuit, lambda c: c, dead=False)

    def values(at: Floats) -> Floats:
        try:
            solution: Solution = forward.solution(rig, at)
        except CircuitError:
            return np.full(len(candidates), math.nan)
        found = [true_value(solution, one.quantity, one.at) for one in candidates]
        return np.array([math.nan if value is None else value for value in found])

    middle = values(z)
    slopes = np.zeros((len(candidates), len(forward.inputs)))
    for k in forward.matters(forward.rigs[rig]):
        step = 0.5 * min(1.0, 1.0 - abs(float(z[k]))) or 0.05
        up, down = z.copy(), z.copy()
        up[k], down[k] = min(z[k] + step, 1.0), max(z[k] - step, -1.0)
        slopes[:, k] = (values(up) - values(down)) / (up[k] - down[k])
    slopes = np.nan_to_num(slopes)
    return [(one, slopes[row], float(middle[row])) for row, one in enumerate(candidates) if math.isfinite(middle[row])]


# Keys that a meter reads from the part itself when it is dead: quantity, half-width as a share of the value.
_DEAD_KEYS: Final[Mapping[tuple[str, str], tuple[str, float]]] = Table(
    {
        ("resistor", "value"): ("resistance", 0.01),
        ("potentiometer", "value"): ("resistance", 0.01),
        ("inductor", "resistance"): ("resistance", 0.02),
        ("thermistor", "cold"): ("resistance", 0.02),
        ("capacitor", "value"): ("capacitance", 0.04),
    }
)


def _dead(forward: Forward, one: Input) -> list[_Candidate]:
    owner, _, key = one.name.rpartition(".")
    element = next(
        (found for circuit in forward.circuits.values() if (found := circuit.element(owner)) is not None), None
    )
    if element is None:
        return []
    known = _DEAD_KEYS.get((element.kind, key))
    if known is not None:
        quantity, accuracy = known
        return [
            _Candidate(
                quantity=quantity,
                at=owner,
                state=None,
                accuracy=accuracy,
                floor=0.0,
                weight=1.0,
                how=f"The {quantity} of {owner} with the item unplugged and one leg of {owner} lifted.",
                caution=DEAD,
            )
        ]
    if element.kind == "led" and key == "forward_voltage":
        return [_on_supply(element, key, "voltage_dc", "one LED of the string")]
    if element.kind == "zener" and key == "voltage" and element.number("voltage") < _LOW_VOLTAGE:
        return [_on_supply(element, key, "voltage_dc", owner)]
    if element.kind == "diac" and key == "breakover" and element.number("breakover") < _LOW_VOLTAGE:
        return [_on_supply(element, key, "voltage_dc", owner)]
    return []


def _on_supply(element: Element, key: str, quantity: str, what: str) -> _Candidate:
    return _Candidate(
        quantity=quantity,
        at=element.ref,
        state=None,
        accuracy=0.01,
        floor=0.0,
        weight=1.0,
        how=(
            f"The {name_of(key)} of {what} on a bench supply through a series resistor, at about its usual current, "
            f"with the item unplugged."
        ),
        caution=BENCH,
    )


def _dead_sigma(forward: Forward, one: Input, candidate: _Candidate) -> float:
    """Standard uncertainty of the direct reading in the input's coordinate."""
    if one.origin != "unknown":
        return candidate.accuracy / math.sqrt(3.0) / one.high
    middle = float(one.at(0.0))
    slope = abs(float(one.at(0.01)) - float(one.at(-0.01))) / 0.02
    return candidate.accuracy * middle / math.sqrt(3.0) / max(slope, 1e-300)


def repeat_of(judged_u: float, sigma: float) -> float:
    """Gain of reading the same once more with the same kind of meter: the meter's part falls by the root of two."""
    before = math.hypot(judged_u, sigma)
    return 1.0 - math.hypot(judged_u, sigma / math.sqrt(2.0)) / before if before > 0.0 else 0.0
