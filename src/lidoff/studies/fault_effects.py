"""What a fault does: which part gets too much, whether a fuse opens, what a hand then finds live."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

import networkx as nx
import numpy as np

from lidoff.circuit import behind_reference
from lidoff.circuit.connect import graph_of
from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import Solution, transient
from lidoff.markings import decode
from lidoff.record import Item
from lidoff.standards.plugs import PLUG_FUSE
from lidoff.standards.touch import ENERGY_SOURCES
from lidoff.studies.fault_list import Case
from lidoff.studies.fuses import Fuse, fuse_of, melting_i2t, opening
from lidoff.studies.stress import stress
from lidoff.studies.switch_on import Surge, cold, surge_of
from lidoff.studies.thermal import temperature
from lidoff.studies.touch import Touch, touch
from lidoff.studies.traces import Trace, of_solution, of_stretch

FINENESS: Final = 4.0  # of the solver's steps: costs some 0.1 % of a figure, saves much where a filter rings
CYCLES: Final = 24  # of the search for the settled state: a fault that still wanders then is told by its last cycles
_WORSE: Final = 1.05  # times the stress of the sound circuit from which a fault is to blame for it
_REVERSE: Final = 1.5  # [V] that an electrolytic stands backwards (common practice, no source)
_MOST_ROWS: Final = 8  # overstressed parts told of one fault
# Words in a sighting about a fuse that take its credit away.
_AGAINST: Final = {
    "no filler seen": ("no filler", "without filler", "no sand", "not filled", "unfilled", "empty", "glass, empty"),
    "unmarked": ("unmarked", "no mark", "not marked", "no print", "illegible"),
    "not on the approved list": ("off-list", "off list", "not on the list", "not listed", "unlisted", "counterfeit"),
    "bridged": ("foil", "bridged", "nail", "wire instead", "bypassed"),
    "none there": ("no fuse", "missing"),
}
_ALONE: Final = {"none there": ("none",)}  # answers that mean it only where they stand alone
_PLUG_RATINGS: Final = (1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 13.0)  # [A] see the plug fuse's table in `lidoff.standards`
UNSOLVED: Final = (CircuitError, ArithmeticError, np.linalg.LinAlgError)
PLUG_FUSE_NAME: Final = "plug fuse"
BARE_END: Final = "bare end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Overstress:
    """A part that gets more than it is rated for, and more than in the sound circuit.

    `value` and `rating` [W, V or A] are as in `Stress`; `quantity` may also be "i2t" [A2s], of the first half-cycle
    after switch-on from rest, and "reverse voltage" [V], of an electrolytic. `temperature` [K] is a simple estimate,
    where the rating is of power; `crest` is true where DC is held against the crest of an AC rating, which is what
    `rating` then is; `others` is true where these are the other members of the block of which one failed.
    """

    part: str
    kind: str
    quantity: str
    value: float
    rating: float
    times: float
    assumed: bool
    temperature: float | None
    crest: bool = False
    others: bool = False

    def as_json(self) -> dict[str, Any]:
        """The mapping that `faults --json` prints for an overstressed part."""
        return {
            "part": self.part,
            "quantity": self.quantity,
            "value": self.value,
            "rating": self.rating,
            "times": self.times,
            "assumed": self.assumed,
            "temperature": self.temperature,
            "others": self.others,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseVerdict:
    """The fuse that acts first, or the one that would have to.

    `opens` is None where it may or may not, or its rated current is not known; `time` [s] is the most it may take,
    `time_least` [s] the least. `current` [A rms] flows through it, `prospective` [A] could at most at the terminals.
    `credited` says whether it can be relied on to clear, `why_not` why not. `surge` [1] is the first half-cycle's I2t
    over what it certainly stands: above 1 it may open at switch-on.
    """

    part: str
    opens: bool | None
    time: float | None
    time_least: float | None
    current: float
    prospective: float
    credited: bool
    why_not: str | None
    surge: float | None
    basis: str

    def as_json(self) -> dict[str, Any]:
        """The mapping that `faults --json` prints for a fuse."""
        return {
            "part": self.part,
            "opens": self.opens,
            "time": self.time,
            "time_least": self.time_least,
            "current": self.current,
            "prospective": self.prospective,
            "credited": self.credited,
            "why_not": self.why_not,
            "surge": self.surge,
            "basis": self.basis,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """Something that a person can touch, and what it gives.

    `what` is the surface's name or "bare end"; `reached` as recorded ("by hand", "test finger", "with a tool", "?").
    """

    what: str
    reached: str
    touch: Touch

    def as_json(self) -> dict[str, Any]:
        """The mapping that `faults --json` prints for something touched."""
        return {"what": self.what, "reached": self.reached} | self.touch.as_json()


@dataclass(frozen=True, slots=True, kw_only=True)
class FirstHalfCycle:
    """What happens in the first half-cycle after switch-on, cold, at the crest of the mains.

    `peak` [A] at the terminals, `hard_peak` [A] without the mains' assumed coil; `i2t` [A2s] there; `surges` by
    part. As in `switch_on`, peaks are those behind the whole reference impedance where the record gives no other, I2t
    is worked out without its coil.
    """

    peak: float
    hard_peak: float
    i2t: float
    surges: Mapping[str, Surge]


def first_half_cycle(circuit: Circuit) -> FirstHalfCycle | None:
    """The first half-cycle after switch-on, None where it could not be followed."""
    bare = cold(circuit)
    mains = behind_reference(bare)
    try:
        hottest = _half_cycle(bare)
        worst = hottest if mains is bare else _half_cycle(mains)
    except UNSOLVED:
        return None
    return FirstHalfCycle(
        peak=float(np.abs(worst.source).max()),
        hard_peak=float(np.abs(hottest.source).max()),
        i2t=float(hottest.weight @ hottest.source**2),
        surges={e.ref: surge_of(e, circuit, worst, hottest, math.inf) for e in circuit.elements},
    )


def _half_cycle(circuit: Circuit) -> Trace:
    half = 0.5 / circuit.supply.frequency
    return of_stretch(*transient(circuit, duration=half, phase=0.5 * math.pi, fineness=FINENESS))


def sound_stress(solution: Solution, first: FirstHalfCycle | None) -> dict[tuple[str, str], float]:
    """Part and quantity to share of rating in the sound circuit."""
    known: dict[tuple[str, str], float] = {}
    for row in stress(solution):
        if row.times is not None:
            known[row.part, row.quantity] = row.times
    for ref, surge in (first.surges if first is not None else {}).items():
        if surge.times is not None:
            known[ref, "i2t"] = surge.times
    return known


def overstressed(
    solution: Solution,
    case: Case,
    sound: Mapping[tuple[str, str], float],
    first: FirstHalfCycle | None,
    electrolytics: frozenset[str],
) -> tuple[Overstress, ...]:
    """Parts that get more than their rating because of the fault, worst first; each part and quantity once.

    `first` is the first half-cycle with the fault; `electrolytics` are the capacitors not to be driven backwards.
    """
    worst: dict[tuple[str, str], Overstress] = {}
    for over in (*_steady(solution), *_at_first(solution, first), *_backwards(solution, electrolytics)):
        owner = case.owners.get(over.part, over.part)
        if over.part in case.silent or over.times <= max(1.0, _WORSE * sound.get((owner, over.quantity), 0.0)):
            continue
        before = worst.get((owner, over.quantity))
        if before is None or over.times > before.times:
            worst[owner, over.quantity] = replace(over, part=owner, others=over.part.endswith(("~row", "~rows")))
    return tuple(sorted(worst.values(), key=lambda o: (-o.times, o.part, o.quantity))[:_MOST_ROWS])


def _steady(solution: Solution) -> Iterator[Overstress]:
    kinds = {e.ref: e.kind for e in solution.circuit.elements}
    for row in stress(solution):
        if row.rating is None or row.times is None or kinds[row.part] == "fuse":  # fuses have a verdict of their own
            continue
        # Only a piece of a track is hot: how hot its own power rating does not say.
        heats = row.quantity == "power" and kinds[row.part] != "potentiometer"
        yield Overstress(
            part=row.part,
            kind=kinds[row.part],
            quantity=row.quantity,
            value=row.value,
            rating=row.rating,
            times=row.times,
            assumed=row.assumed,
            temperature=temperature(kinds[row.part], row.times) if heats else None,
            crest=row.crest,
        )


def _at_first(solution: Solution, first: FirstHalfCycle | None) -> Iterator[Overstress]:
    """I2t of rectifiers and triacs at switch-on; that of fuses is in their verdict."""
    for element in solution.circuit.elements:
        surge = first.surges.get(element.ref) if first is not None else None
        if surge is None or surge.rating is None or surge.times is None or element.kind == "fuse":
            continue
        yield Overstress(
            part=element.ref,
            kind=element.kind,
            quantity="i2t",
            value=surge.i2t,
            rating=surge.rating,
            times=surge.times,
            assumed=surge.assumed,
            temperature=None,
        )


def _backwards(solution: Solution, electrolytics: frozenset[str]) -> Iterator[Overstress]:
    trace = of_solution(solution)
    for element in solution.circuit.elements:
        if element.ref in electrolytics and element.kind == "capacitor":
            volts = trace.voltage(element)
            against = -float(volts.min()) if float(volts.mean()) >= 0.0 else float(volts.max())
            yield Overstress(
                part=element.ref,
                kind="capacitor",
                quantity="reverse voltage",
                value=max(against, 0.0),
                rating=_REVERSE,
                times=max(against, 0.0) / _REVERSE,
                assumed=True,
                temperature=None,
            )


# Fuses ----------------------------------------------------------------------------------------------------------------


def fuses_of(circuit: Circuit, item: Item | None) -> tuple[Fuse, ...]:
    """The fuses of a circuit, and the one in the plug where the record tells of it."""
    found: list[Fuse] = []
    for element in circuit.elements:
        if element.kind == "fuse":
            part = item.part(element.ref) if item is not None else None
            marking = part.marking if part is not None else None
            found.append(_marked(fuse_of(element, _breaking(marking)), marking))
    rating = item.plug.get("fuse") if item is not None else None
    if isinstance(rating, int | float):
        breaking = PLUG_FUSE.number("breaking capacity")
        found.append(Fuse(ref=PLUG_FUSE_NAME, rating=float(rating), plug=True, breaking=breaking))
    return tuple(found)


def _marked(fuse: Fuse, marking: str | None) -> Fuse:
    """A fuse with the amperes and the speed of its print, where the record says neither."""
    taken = decode(marking, kind="fuse").candidates if marking else ()
    if not taken or fuse.rating is not None:
        return fuse
    speed = taken[0].more.get("speed")
    known = fuse.speed if fuse.speed is not None or not isinstance(speed, str) else speed
    return replace(fuse, rating=taken[0].value, speed=known)


def _breaking(marking: str | None) -> float | None:
    if not marking:
        return None
    taken = decode(marking, kind="fuse").candidates
    value = taken[0].more.get("breaking_capacity") if taken else None
    return float(value) if isinstance(value, int | float) else None


def fuse_verdicts(
    case: Case, solution: Solution, fuses: Iterable[Fuse], item: Item | None, first: FirstHalfCycle | None
) -> tuple[FuseVerdict, ...]:
    """What each fuse does about a fault, the one that acts first in front."""
    found: list[FuseVerdict] = []
    for fuse in fuses:
        if fuse.ref == case.part:  # it is what failed: open it carries nothing, bridged it clears nothing
            continue
        current = _through(solution, fuse)
        act = opening(fuse, current)
        least = melting_i2t(fuse)[0]
        against = _against(fuse, item, current)
        opens = None if act is None else act.opens
        found.append(
            FuseVerdict(
                part=fuse.ref,
                opens=opens,
                time=None if act is None else act.most,
                time_least=None if act is None else act.least,
                current=current,
                prospective=prospective(solution.circuit),
                credited=opens is True and against is None,
                why_not=against if against is not None else None if opens else _why_not_open(opens, fuse),
                surge=_surge(fuse, first, least),
                basis="its rated current is not known" if act is None else act.basis,
            )
        )
    return tuple(sorted(found, key=_acts_first))


def _surge(fuse: Fuse, first: FirstHalfCycle | None, least: float | None) -> float | None:
    if first is None or not least:
        return None
    own = first.surges.get(fuse.ref)
    if own is None and not fuse.plug:
        return None
    return (first.i2t if own is None else own.i2t) / least


def prospective(circuit: Circuit) -> float:
    """Current that a dead short at the item's terminals could draw from this supply [A rms]."""
    supply = circuit.supply
    reactance = 2.0 * np.pi * supply.frequency * supply.inductance
    return float(supply.voltage / max(np.hypot(supply.resistance, reactance), 1e-3))


def _through(solution: Solution, fuse: Fuse) -> float:
    if fuse.plug:
        trace = of_solution(solution)
        return float(np.sqrt(trace.weight @ trace.source**2 / trace.weight.sum()))
    return float(solution.part_figures(fuse.ref)["current_rms"])


def _against(fuse: Fuse, item: Item | None, current: float) -> str | None:
    """Why a fuse cannot be relied on, whatever its curve says; None where nothing speaks against it."""
    for sighting in item.sightings if item is not None else ():
        about = sighting.about.casefold()
        # A sighting about the plug's fuse says nothing of one on the board; any other may be about either.
        if "fuse" not in about or ("plug" in about and not fuse.plug):
            continue
        seen = (sighting.seen or sighting.note or "").casefold()
        for reason, words in _AGAINST.items():
            if any(word in seen for word in words) or seen in _ALONE.get(reason, ()):
                return reason
    if fuse.rating is None:
        return "its rated current is not known"
    if fuse.plug and fuse.rating not in _PLUG_RATINGS:
        return "a rating that plug fuses are not made in"
    if fuse.breaking is not None and current > fuse.breaking:
        return f"{current:.0f} A is more than the {fuse.breaking:.0f} A it is made to break"
    return None


def _why_not_open(opens: bool | None, fuse: Fuse) -> str | None:
    if opens is False:
        return "the current is too small to open it"
    return "the current may be too small to open it" if fuse.rating is not None else "its rated current is not known"


def _acts_first(verdict: FuseVerdict) -> tuple[int, float]:
    order = 0 if verdict.opens and verdict.credited else 1 if verdict.opens else 2 if verdict.opens is None else 3
    return order, verdict.time if verdict.time is not None else float("inf")


# Touch ----------------------------------------------------------------------------------------------------------------


def exposures(case: Case, solution: Solution, item: Item | None) -> tuple[Exposure, ...]:
    """Every surface that stands on a node, and every bare end, as far as it is not harmless."""
    wanted: list[tuple[str, str, str]] = []
    circuit = solution.circuit
    for surface in item.surfaces if item is not None else ():
        node = surface.get("node")
        name, reached = str(surface.get("name", "a surface")), str(surface.get("reached", "?"))
        if case.surface == name:
            wanted.append((name, reached, case.exposed[0]))
        elif isinstance(node, str) and node not in ("insulated", "earth") and circuit.resolve(node) in circuit.nodes:
            wanted.append((name, reached, circuit.resolve(node)))
    if case.surface is None:
        wanted += [(BARE_END, "by hand", node) for node in case.exposed]
    found = []
    for what, reached, node in wanted:
        if harmless(solution, node):
            continue
        try:
            felt = touch(circuit, node, solution=solution)
        except UNSOLVED:
            continue
        if felt.level != "ES1":
            found.append(Exposure(what=what, reached=reached, touch=felt))
    return tuple(sorted(found, key=lambda e: (e.touch.level, e.touch.current_rms), reverse=True))


def harmless(solution: Solution, node: str) -> bool:
    """Whether a node's voltage to earth is within ES1 even before it is touched."""
    trace = of_solution(solution)
    volts = trace.node(node)
    if "earth" in trace.built.index:
        volts = volts - trace.node("earth")
    return float(np.abs(volts).max()) <= ENERGY_SOURCES.number("ES1", "ac to 1 kHz", "voltage peak")


def live_when_off(case: Case) -> tuple[str, ...]:
    """Parts that stay joined to live with the switch open: no current flows, so all that hangs on live is live."""
    if not case.off:
        return ()
    open_switches = {e.ref for e in case.circuit.elements if e.kind == "switch" and not e.values["closed"]}
    graph = graph_of(tuple(e for e in case.circuit.elements if e.ref not in open_switches))
    if "live" not in graph:
        return ()
    if "neutral" in graph:
        graph.remove_node("neutral")
    reached = nx.node_connected_component(graph, "live")
    ways = ("fuse", "switch")  # a fuse or a switch is no use of the current: what lies behind it counts
    return tuple(
        e.ref
        for e in case.circuit.elements
        if e.kind not in ways and any(node in reached for node in e.nodes if node is not None)
    )
