"""An item judged: the studies that hazards hang on are run, and their results handed to the rules."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import numpy as np

from lidoff.account.pictured import pictured_joins
from lidoff.circuit import Circuit, build
from lidoff.circuit.groups import recognise
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.hazards import Facts, Findings, Pictured, Touched, Working, judge
from lidoff.record import Item
from lidoff.record.model import EMPTY
from lidoff.studies import stress, switch_on, unplug
from lidoff.studies.surgery import renamed
from lidoff.studies.touch import touch

_SIDES: Final = ("live", "neutral")


def hazards_of(item: Item, chosen: Mapping[str, float] | None = None) -> Findings:
    """The findings on an item, its first state on the mains solved for them.

    `chosen` maps "rule-id.2" to the probability [1] that the user chose for that step of the rule's scenario. What
    could not be worked out stands in `skipped`; a record without parts is judged by what was seen.
    """
    return judge(facts_of(item, chosen))


def facts_of(
    item: Item,
    chosen: Mapping[str, float] | None = None,
    *,
    solved: Solution | None = None,
    known: Mapping[str, Any] = EMPTY,
) -> Facts:
    """All that the rules look at: record, circuit, groups and the results of the studies.

    `solved` is the first state on the mains, where it was solved already, and `known` the results of studies of it by
    their name in `Facts`: those are not run again.
    """
    work = _Work(item)
    circuit = solved.circuit if solved is not None else work.circuit()
    solution = solved if solved is not None else work.solution(circuit) if circuit is not None else None
    results: dict[str, Any] = {}
    if circuit is not None and solution is not None:
        results = work.results(circuit, solution, known)
    pictured = work.pictured()
    return Facts(
        item=item,
        circuit=circuit,
        groups=recognise(circuit) if circuit is not None else None,
        chosen=chosen or EMPTY,
        skipped=tuple(work.skipped),
        pictured=pictured,
        **results,
    )


class _Work:
    """The studies of one item, with a sentence for each that gave nothing."""

    def __init__(self, item: Item) -> None:
        self.item = item
        self.skipped: list[str] = []

    def pictured(self) -> tuple[Pictured, ...]:
        """The joins that rest on a picture alone; with a trace that cannot be read nobody can tell, which is said."""
        try:
            return pictured_joins(self.item)
        except LidoffError as error:
            self.skipped.append(f"Which joins rest on a picture alone was not told. {error}")
            return ()

    def circuit(self) -> Circuit | None:
        """The circuit of the first state on the mains; None where there is none."""
        if not self.item.parts:
            self.skipped.append("No parts are written down: nothing about the circuit was judged.")
            return None
        names: list[str | None] = [state.name for state in self.item.states] or [None]
        problem = ""
        for name in names:
            try:
                built = build(self.item, state=name)
            except LidoffError as error:
                problem = problem or f"{name or 'The record'}: {error}"
                continue
            if built.supply.dc is None:
                return built
        self.skipped.append(f"No state on the mains could be built. {problem}".strip())
        return None

    def solution(self, circuit: Circuit) -> Solution | None:
        """The settled cycle, None where it is not found."""
        try:
            return solve(circuit)
        except LidoffError as error:
            self.skipped.append(f"The mains cycle was not worked out: {error}")
            return None

    def results(self, circuit: Circuit, solution: Solution, known: Mapping[str, Any] = EMPTY) -> dict[str, Any]:
        """What the studies give, each by its name in `Facts`."""
        found: dict[str, Any] = {
            "figures": solution.figures(),
            "working": self._working(circuit, solution),
            "touched": self._touched(circuit, solution),
        }
        for name, words, study in (
            ("stress", "The stresses of the parts", lambda: stress(solution)),
            ("unplugged", "Pulling the plug", lambda: unplug(circuit, solution)),
            ("switched_on", "Switching on", lambda: switch_on(circuit)),
            ("faults", "The single faults", lambda: _faults(circuit, self.item)),
        ):
            if name in known:
                found[name] = known[name]
                continue
            try:
                found[name] = study()
            except LidoffError as error:
                self.skipped.append(f"{words}: not worked out. {error}")
        return found

    def _working(self, circuit: Circuit, solution: Solution) -> tuple[Working, ...]:
        """The voltage over every recorded gap; a hand on an insulated surface stands at earth."""
        nodes = {str(one.get("name")): one.get("node") for one in self.item.surfaces}
        found = []
        for gap in self.item.gaps:
            ends = gap.get("between", ())
            at = [_node(circuit, end, nodes) for end in ends]
            if len(at) != 2 or None in at:
                continue
            if "earth" not in at:
                waves = [solution.voltage(str(at[0]), str(at[1]))]
            else:  # with the plug the other way round the live side stands at earth
                waves = [solution.voltage(str(one), side) for one in at if one != "earth" for side in _SIDES]
            if waves:
                found.append(
                    Working(
                        between=(ends[0], ends[1]),
                        rms=max(float(np.sqrt(np.mean(wave**2))) for wave in waves),
                        peak=max(float(np.abs(wave).max()) for wave in waves),
                    )
                )
        return tuple(found)

    def _touched(self, circuit: Circuit, solution: Solution) -> tuple[Touched, ...]:
        found = []
        polarised = Facts(item=self.item).polarised
        for surface in self.item.surfaces:
            name, node = surface.get("name"), surface.get("node")
            if name is None or node in (None, "?", "insulated", "earth"):
                continue
            if circuit.resolve(node) not in circuit.nodes:
                continue
            try:
                felt = [touch(circuit, node, "perception", solution)]
                if polarised is not True and node not in _SIDES:
                    felt.append(touch(renamed(circuit, {"live": "neutral", "neutral": "live"}), node, "perception"))
                found.append(Touched(surface=name, touch=max(felt, key=lambda one: one.current_peak)))
            except LidoffError as error:
                self.skipped.append(f"A hand on {name}: not worked out. {error}")
        return tuple(found)


def _node(circuit: Circuit, end: str, nodes: Mapping[str, Any]) -> str | None:
    """The node that an end of a gap lies on, "earth" for a surface that is insulated."""
    name = end.removeprefix("surface:")
    node = nodes.get(name, end) if end.startswith("surface:") else end
    if node in ("insulated", "earth"):
        return "earth"
    if node in (None, "?"):
        return None
    at = circuit.resolve(str(node))
    return at if at in circuit.nodes else None


def _faults(circuit: Circuit, item: Item) -> tuple[Mapping[str, Any], ...]:
    from lidoff.studies.faults import faults

    return tuple(fault.as_json() for fault in faults(circuit, item).faults)
