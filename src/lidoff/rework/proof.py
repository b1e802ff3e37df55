"""A design proved: its record opened again, solved, switched on, unplugged, broken in every single way, and judged."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from lidoff.circuit import Circuit, build
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.hazards import Finding, Findings
from lidoff.record import Item
from lidoff.record.model import Table
from lidoff.rework.case import Case
from lidoff.rework.choosing import open_strings
from lidoff.rework.edits import read_reworked
from lidoff.rework.measures import COSTLY
from lidoff.rework.search import Settled, state_of
from lidoff.rework.worst import Worst, at_mains, worst_case
from lidoff.standards.risk import LEVELS
from lidoff.studies import Fault, Faults, Stress, SwitchOn, Unplugged, faults, stress, switch_on, unplug
from lidoff.studies.fault_effects import BARE_END

_WORSE: Final = 1.02  # times what a part got before, from which the rework is to blame for it
_GRAVE: Final = 4  # severity of a fault that may kill, or that nothing clears


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What one capacitor holds: `before` unplugging [V], and after it how long [s] until it is below 60 V.

    `open_volts` and `open_to_60` are the same with the LED string open; None where that was not followed, or, of a
    time, where it takes longer than was looked at. `energy` [J] is that at the open string's voltage.
    """

    part: str
    volts: float
    to_60: float | None
    open_volts: float | None
    open_to_60: float | None
    energy: float | None

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "part": self.part,
            "voltage": self.volts,
            "to_60": self.to_60,
            "open_string_voltage": self.open_volts,
            "open_string_to_60": self.open_to_60,
            "energy": self.energy,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """Everything worked out about a design from its own record.

    `appeared` and `vanished` are findings against those on the item as found; `problems` say why it is not offered,
    none where it passes. `grave` are single faults that may kill or that nothing clears.
    """

    item: Item
    circuit: Circuit
    solution: Solution
    figures: Mapping[str, Any]
    worst: Worst
    stress: tuple[Stress, ...]
    switched_on: SwitchOn | None
    unplugged: Unplugged | None
    held: tuple[Held, ...]
    faults: Faults | None
    findings: Findings
    appeared: tuple[Finding, ...]
    vanished: tuple[Finding, ...]
    problems: tuple[str, ...]

    @property
    def passed(self) -> bool:
        """Whether nothing speaks against it but, perhaps, a goal that is not met."""
        return not self.problems

    @property
    def severities(self) -> tuple[int, int, int]:
        """How many single faults have severity 4, 3 and 2."""
        found = self.faults.faults if self.faults is not None else ()
        return tuple(sum(one.severity == level for one in found) for level in (4, 3, 2))  # type: ignore[return-value]


def prove(case: Case, text: str, fitted: frozenset[str], settled: Settled) -> Proof:
    """The proof of a design's record. `fitted` are the parts that it brings or changes, `settled` where it comes from.

    Raises LidoffError where the record cannot be opened again or has no settled cycle.
    """
    item = read_reworked(text, case.path)
    circuit = build(item, state=state_of(case, item))
    solution = solve(circuit)
    worst = _worst(case, circuit, settled)
    high = solve(at_mains(circuit)["high"])
    rows = stress(high)
    skipped: list[str] = []
    surge = _try(lambda: switch_on(circuit), "Switching on", skipped)
    pulled = _try(lambda: unplug(circuit, solution), "Pulling the plug", skipped)
    failed = _try(lambda: faults(circuit, item), "The single faults", skipped)
    known: dict[str, Any] = {"stress": stress(solution)}
    if failed is not None:
        known["faults"] = tuple(one.as_json() for one in failed.faults)
    if surge is not None:
        known["switched_on"] = surge
    if pulled is not None:
        known["unplugged"] = pulled
    findings = case.judge(item, solution, Table(known))
    appeared, vanished = compared(case.findings, findings)
    problems = [
        *([] if solution.settled else ["Its cycle does not settle: it wanders from cycle to cycle."]),
        *_overloaded(case, rows, fitted),
        *_hazardous(appeared),
        *_grave(case, failed),
        *(f"{sentence} could not be worked out, so it is not offered." for sentence in skipped),
    ]
    return Proof(
        item=item,
        circuit=circuit,
        solution=solution,
        figures=Table(solution.figures()),
        worst=worst,
        stress=rows,
        switched_on=surge,
        unplugged=pulled,
        held=_held(circuit, pulled),
        faults=failed,
        findings=findings,
        appeared=appeared,
        vanished=vanished,
        problems=tuple(problems),
    )


def _worst(case: Case, circuit: Circuit, settled: Settled) -> Worst:
    """The worst case of the record's own circuit.

    Figures that take many solutions are taken over from the search, where the circuit read from the record is the one
    that was searched, value by value.
    """
    dear = {e.goal: e for e in settled.worst.extents if e.goal.name in COSTLY}
    if not dear or not alike(circuit, settled.circuit):
        return worst_case(circuit, case.goals, case.full, case.before)
    cheap = [goal for goal in case.goals if goal not in dear]
    fresh = worst_case(circuit, cheap, case.full, case.before)
    found = {e.goal: e for e in fresh.extents} | dear
    return Worst(
        extents=tuple(found[goal] for goal in case.goals),
        solved=fresh.solved + settled.worst.solved,
        unsolved=fresh.unsolved + settled.worst.unsolved,
        drawn=fresh.drawn,
    )


def alike(one: Circuit, other: Circuit) -> bool:
    """Whether two circuits have the same parts at the same nodes with the same values, to a thousandth."""
    first, second = ({e.ref: e for e in c.elements} for c in (one, other))
    if first.keys() != second.keys():
        return False
    for ref, element in first.items():
        mate = second[ref]
        if element.kind != mate.kind or element.nodes != mate.nodes or element.tolerance != mate.tolerance:
            return False
        for key in element.values.keys() | mate.values.keys():
            a, b = element.values.get(key), mate.values.get(key)
            # What a fuse is rated for is chosen after the search and changes no current.
            if element.kind == "fuse" and key == "rating":
                continue
            if isinstance(a, float | int) and isinstance(b, float | int):
                if not math.isclose(a, b, rel_tol=1e-3, abs_tol=1e-15):
                    return False
            elif a != b:
                return False
    return True


def _try(work: Any, words: str, skipped: list[str]) -> Any:
    try:
        return work()
    except LidoffError as error:
        skipped.append(f"{words} ({error})")
        return None


def compared(before: Findings, after: Findings) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Findings that appear and that vanish. One is the same where its rule is, and it is about no further part."""
    appeared = tuple(one for one in after.findings if not _known(one, before))
    vanished = tuple(one for one in before.findings if not any(one.id == other.id for other in after.findings))
    return appeared, vanished


def _known(one: Finding, before: Findings) -> bool:
    same = [other for other in before.findings if other.id == one.id]
    worst = max((LEVELS.index(other.risk.level) for other in same), default=-1)
    about = {ref for other in same for ref in other.about}
    return bool(same) and LEVELS.index(one.risk.level) <= worst and (not one.about or bool(set(one.about) & about))


def _overloaded(case: Case, rows: tuple[Stress, ...], fitted: frozenset[str]) -> list[str]:
    before = {(row.part, row.quantity, row.measure): row.times for row in stress(solve(at_mains(case.before)["high"]))}
    found = []
    for row in rows:
        if row.verdict != "over" or row.times is None:
            continue
        # A fuse or switch is rated for the nominal mains, whose range its standard counts in.
        if row.measure == "mains voltage" and row.times <= 1.0 + case.circuit.supply.range:
            continue
        was = before.get((row.part, row.quantity, row.measure))
        if row.part not in fitted and was is not None and row.times <= max(1.0, _WORSE * was):
            continue
        if row.assumed and row.part not in fitted:
            continue
        found.append(f"{row.part} gets {row.times:.2g} times its rated {row.quantity} at the highest mains.")
    return found


def _hazardous(appeared: tuple[Finding, ...]) -> list[str]:
    return [
        f"A finding appears that was not there before: {one.title} ({one.risk.level} risk). {one.because[0]}"
        for one in appeared
        if LEVELS.index(one.risk.level) >= LEVELS.index("high")
    ]


def _grave(case: Case, failed: Faults | None) -> list[str]:
    """Faults that may kill, or that nothing clears, beyond those that the item had as found."""
    if failed is None:
        return []
    had = {(one.part, one.mode) for one in _found(case.before_faults) if one.severity >= _GRAVE}
    new = [
        one
        for one in failed.faults
        if one.severity >= _GRAVE and (one.part, one.mode) not in had and not only_bare_ends(one)
    ]
    many = f" ({len(new)} of them)" if len(new) > 1 else ""
    return [f"Single faults become grave that were not{many}: {new[0].outcome}"] if new else []


def only_bare_ends(one: Fault) -> bool:
    """Whether a fault is grave only where the string can be cut and its ends lie bare: that is told as a caution."""
    return bool(one.touched) and all(e.what == BARE_END for e in one.touched) and not one.overstressed


def _found(failed: Faults | None) -> tuple[Fault, ...]:
    return failed.faults if failed is not None else ()


def _held(circuit: Circuit, pulled: Unplugged | None) -> tuple[Held, ...]:
    """What the capacitors hold after unplugging, the string whole and open."""
    if pulled is None:
        return ()
    opened: Unplugged | None = None
    if any(e.kind == "led" for e in circuit.elements):
        try:
            opened = unplug(open_strings(circuit))
        except LidoffError:
            opened = None
    other = {one.what: one for one in opened.capacitors} if opened is not None else {}
    found = []
    whole = {one.what: one for one in pulled.capacitors}
    for ref in dict.fromkeys((*whole, *other)):
        own, bare = whole.get(ref), other.get(ref)
        found.append(
            Held(
                part=ref,
                volts=own.start if own is not None else 0.0,
                to_60=own.to_60 if own is not None else 0.0,
                open_volts=bare.start if bare is not None else None,
                open_to_60=bare.to_60 if bare is not None else None,
                energy=(bare or own).energy if (bare or own) is not None else None,  # type: ignore[union-attr]
            )
        )
    return tuple(found)
