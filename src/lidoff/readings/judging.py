"""The whole job: every reading judged, what is not known inferred, what to measure next, recordings read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from lidoff.circuit import Circuit, CircuitError
from lidoff.readings.accuracy import error_of
from lidoff.readings.contradictions import (
    Broken,
    Mains,
    Notes,
    broken_relations,
    mains_of,
    negative_power,
    peaks_like_rms,
    watts_like_volt_amperes,
)
from lidoff.readings.left_out import Culprit, find_culprit
from lidoff.readings.misreadings import likely
from lidoff.readings.model import Contradiction, Judged, Judgement, Proposal, Verdict
from lidoff.readings.observe import UNPOWERED
from lidoff.readings.recordings import read_all
from lidoff.readings.states import Assigned, assign
from lidoff.readings.verdicts import NEEDS_VOLTS, Prediction, Ruling, rule, unreachable
from lidoff.readings.words import amount, in_state, listed, name_of, shown
from lidoff.readings.workbench import Workbench, workbench_with
from lidoff.record import Item, Unknown, effective_supply


def judge(item: Item) -> Judgement:
    """Every reading of the item against its circuit, and all that follows from them.

    Nothing is demanded: what cannot be computed is said, reading by reading, and the rest goes on.
    """
    return _Case(item).judgement()


_LEAST_GAIN: Final = 0.01  # what removes less is not proposed


@dataclass(frozen=True, slots=True)
class _Said:
    """What the contradictions make of one reading: a verdict, None where it is left to the circuit, and why."""

    verdict: Verdict | None
    why: str


class _Case:
    """One item being judged. Its steps share what has been solved."""

    def __init__(self, item: Item) -> None:
        self.item = item
        self.assigned: Assigned = assign(item)
        self.states = self.assigned.states
        self.errors = [error_of(item, reading) for reading in item.readings]
        self.mains = _mains(item, set(self.states))
        self.warnings: list[str] = list(self.assigned.warnings)

    def judgement(self) -> Judgement:
        item = self.item
        bench = workbench_with(item, self.states, self.errors, skip=self.assigned.undecided)
        contradictions, said = self._contradictions(bench)
        judged = [self._judged(number, bench, said.get(number)) for number in range(len(item.readings))]
        judged = self._volts_at_fault(judged, bench)
        self.warnings += [error.assumed for error in self.errors if error.assumed]
        self.warnings += bench.warnings
        self.warnings += [
            f"The circuit{in_state(state)} does not settle: what is computed there wanders from cycle to cycle."
            for state in sorted(bench.forward.wandering, key=str)
        ]
        return Judgement(
            readings=tuple(judged),
            contradictions=tuple(contradictions),
            inferred=bench.inferred,
            narrowed=bench.narrowed,
            joint=bench.joint,
            suspect=bench.suspect,
            next=self._next(bench, judged),
            recordings=read_all(item, self._circuits(bench)),
            warnings=tuple(dict.fromkeys(self.warnings)),
        )

    def _circuits(self, bench: Workbench) -> Mapping[str | None, Circuit]:
        """The circuits that recordings are laid over."""
        first = self.item.states[0].name if self.item.states else None
        for recording in self.item.recordings:
            bench.forward.circuit(recording.state or first)
        circuits = dict(bench.forward.circuits)
        if first in circuits:
            circuits.setdefault(None, circuits[first])
        return circuits

    # Contradictions ---------------------------------------------------------------------------------------------------

    def _contradictions(self, bench: Workbench) -> tuple[list[Contradiction], dict[int, _Said]]:
        notes = Notes(readings=self.item.readings, states=self.states, errors=self.errors, mains=self.mains)
        # What a meter shows is not the value itself where its kind keeps it from that: no definition binds it.
        bent = frozenset(bench.bent_by_meter())
        broken = broken_relations(notes)
        left = [one for one in broken if not bent & set(one.readings)]
        found: list[Contradiction] = []
        said: dict[int, _Said] = {}
        for one in broken:
            what = one.what
            if one not in left:
                what += " The meter explains it: what it shows of this wave is not the value itself (see the readings)."
            found.append(Contradiction(id=one.id, readings=one.readings, state=self._state_of(one), what=what))
        for group in _groups(left):
            said |= self._named(find_culprit(notes, group, bench.fit_of, bent, bench.suspect))
        found += watts_like_volt_amperes(notes, bench.power_factors())
        found += negative_power(notes)
        found += peaks_like_rms(notes)
        return found, said

    def _state_of(self, one: Broken) -> str | None:
        return self.states[one.readings[0]]

    def _named(self, culprit: Culprit) -> dict[int, _Said]:
        involved = tuple(sorted({reading for one in culprit.broken for reading in one.readings}))
        story = " ".join(dict.fromkeys(one.what for one in culprit.broken))
        names = {number: self._name(number) for number in involved}
        if culprit.reading is not None:
            wrong = culprit.reading
            others = [names[number] for number in involved if number != wrong]
            rest = f"the others ({listed(others)})" if others else "the rest"
            said = {
                wrong: _Said("contradicts", f"{story} Leaving this one out mends it: {rest} go together without it.")
            }
            said |= {
                number: _Said(None, f"{story} Leaving out the {names[wrong]} mends it.")
                for number in involved
                if number != wrong
            }
            return said
        suspects = culprit.suspects
        worst = max(one.miss for one in culprit.broken)
        verdict: Verdict = "contradicts" if worst > 3.0 else "doubtful"
        which = listed([names[number] for number in suspects])
        all_of = "both" if len(suspects) == 2 else "all"
        return {
            number: _Said(
                verdict, f"{story} Which one is wrong cannot be told from what was read: {which} are {all_of} possible."
            )
            for number in (suspects if len(suspects) > 1 else involved)
        }

    def _name(self, number: int) -> str:
        reading = self.item.readings[number]
        return f"{name_of(reading.quantity)} of {shown(reading.quantity, reading.value, reading.unit)}"

    # Readings ---------------------------------------------------------------------------------------------------------

    def _judged(self, number: int, bench: Workbench, said: _Said | None) -> Judged:
        reading, error, state = self.item.readings[number], self.errors[number], self.states[number]
        prediction = bench.predictions.get(number) or bench.aside.predictions.get(number)
        if prediction is None:
            reason = self.assigned.undecided.get(number) or unreachable(reading, bench.reason(number))
            ruling = Ruling(verdict="cannot-tell", why=reason)
        else:
            mains = self._unread_mains(number, bench)
            ruling = rule(reading, error, prediction, state=state, mains=mains, fitting=bench.mains_fitting(state))
            ruling = self._of_doubted_mains(number, bench, self._instead(number, bench, prediction, ruling))
        if said is not None:
            verdict = said.verdict or ruling.verdict
            ruling = Ruling(verdict=verdict, why=f"{said.why} {ruling.why}")
        return Judged(
            reading=reading,
            state=state,
            sigma=error.sigma,
            computed=prediction.computed if prediction else None,
            true=prediction.true if prediction else None,
            low95=prediction.low95 if prediction else None,
            high95=prediction.high95 if prediction else None,
            u=prediction.u if prediction else None,
            verdict=ruling.verdict,
            why=ruling.why,
        )

    def _unread_mains(self, number: int, bench: Workbench) -> tuple[float, float] | None:
        """The range of a mains that nobody read in that state [V]."""
        state = self.states[number]
        if self.item.readings[number].quantity in UNPOWERED or not bench.unread(state):
            return None
        supply = effective_supply(self.item, state)
        volts, width = supply.voltage, supply.range or 0.0
        if volts is None:
            return None
        if isinstance(volts, Unknown):
            return volts.between or (0.0, 0.0)
        return volts * (1.0 - width), volts * (1.0 + width)

    def _instead(self, number: int, bench: Workbench, prediction: Prediction, ruling: Ruling) -> Ruling:
        """The ruling with what else the reading may be, and what is odd about a value that is right."""
        reading = self.item.readings[number]
        said = [ruling.why]
        if ruling.verdict in ("doubtful", "contradicts"):
            running = reading.quantity not in UNPOWERED and number in bench.place
            solution = bench.solution_of(number) if running else None
            said.append(likely(solution, reading, prediction.computed, prediction.u, self.errors[number].sigma))
        if reading.quantity == "power_factor" and ruling.verdict in ("agrees", "doubtful"):
            said.append(_power_factor_story(bench, number, prediction))
        return Ruling(verdict=ruling.verdict, why=" ".join(filter(None, said)))

    def _of_doubted_mains(self, number: int, bench: Workbench, ruling: Ruling) -> Ruling:
        """The ruling in a state whose mains was read plainly wrong: the volts contradict, the rest goes on without."""
        state = self.states[number]
        volts = bench.doubted.get(state)
        if volts is None or self.item.readings[number].quantity in UNPOWERED:
            return ruling
        if number != volts:
            value = amount(self.item.readings[volts].value, "V")
            return Ruling(
                verdict=ruling.verdict,
                why=f"Judged without the {value} read{in_state(state)}, which do not fit. {ruling.why}",
            )
        found = bench.mains_found(state)
        at = f", with the mains at about {found:.0f} V" if found is not None else ""
        return Ruling(
            verdict="contradicts",
            why=(
                f"With these volts the other readings{in_state(state)} cannot be explained; without them they go "
                f"together{at}. {ruling.why}"
            ),
        )

    def _volts_at_fault(self, judged: list[Judged], bench: Workbench) -> list[Judged]:
        """Where several readings of a state contradict and all fit another mains than was read: the volts are it."""
        for state, number in bench.centred.items():
            bad = [
                k for k, one in enumerate(judged)
                if self.states[k] == state and one.verdict == "contradicts" and k != number
            ]  # fmt: skip
            named = judged[number].verdict == "contradicts"
            if len(bad) < (1 if named else 2) or not bench.mended_without(number):
                continue
            value = self._name(number)
            judged[number] = (
                judged[number]
                if named
                else replace(
                    judged[number],
                    verdict="contradicts",
                    why=(
                        f"With this {value} the other readings{in_state(state)} contradict the circuit; without it "
                        f"they fit it together, at another mains voltage. {judged[number].why}"
                    ),
                )
            )
            for k in bad:
                judged[k] = replace(
                    judged[k],
                    verdict="cannot-tell",
                    why=(
                        f"It was judged at the {value}, which is itself in doubt: the readings{in_state(state)} fit "
                        f"the circuit together at another voltage. Read the mains voltage again. {judged[k].why}"
                    ),
                )
        return judged

    # What next --------------------------------------------------------------------------------------------------------

    def _next(self, bench: Workbench, judged: list[Judged]) -> tuple[Proposal, ...]:
        without = [
            state for state in dict.fromkeys(self.states or self._first())
            if bench.unread(state) and self._has_power(state, judged)
        ]  # fmt: skip
        open_ones = [number for number, one in enumerate(judged) if one.verdict in ("cannot-tell", "doubtful")]
        taken = frozenset((r.quantity, r.at, s) for r, s in zip(self.item.readings, self.states, strict=True))
        try:
            found = list(bench.proposals(open_ones, without, taken))
        except CircuitError:
            found = []
        for number, one in enumerate(judged):
            proposal = bench.again(number, one) if one.verdict in ("doubtful", "contradicts") else None
            if proposal is not None:
                found.append(proposal)
        return tuple(one for one in found if one.gain >= _LEAST_GAIN or one.quantity == "voltage")[:8]

    def _first(self) -> tuple[str | None, ...]:
        """The state that is looked at where nothing was read; none where there is no circuit."""
        return (self.item.states[0].name if self.item.states else None,) if self.item.parts else ()

    def _has_power(self, state: str | None, judged: list[Judged]) -> bool:
        return not judged or any(one.state == state and one.reading.quantity in NEEDS_VOLTS for one in judged)


def _groups(broken: list[Broken]) -> list[list[Broken]]:
    """Broken relations that share a reading, put together."""
    groups: list[list[Broken]] = []
    for one in broken:
        joined = [group for group in groups if any(set(one.readings) & set(other.readings) for other in group)]
        merged = [one, *(other for group in joined for other in group)]
        groups = [group for group in groups if group not in joined] + [merged]
    return groups


def _power_factor_story(bench: Workbench, number: int, prediction: Prediction) -> str:
    """Why a power factor is what it is: displacement and distortion, and which of them the meter reports."""
    figures = bench.input_figures(number)
    shift, distortion = figures.get("displacement_factor"), figures.get("thd")
    if shift is None or distortion is None or abs(shift - prediction.true) < 0.03:
        return ""
    start = (
        f"The current's fundamental is in step with the mains (displacement factor of {abs(shift):.2f}): the "
        f"distortion of {distortion:.0%} alone lowers the power factor"
        if abs(shift) > 0.985
        else f"The current's fundamental has a displacement factor of {abs(shift):.2f}, and the distortion of "
        f"{distortion:.0%} lowers the power factor further"
    ).replace("%", " %")
    return (
        f"{start}, to {abs(shift):.2f}/√(1 + {distortion:.2f}²) = {prediction.true:.2f}. So the meter shows the true "
        f"power factor."
    )


def _mains(item: Item, states: set[str | None]) -> Mapping[str | None, Mains | None]:
    found: dict[str | None, Mains | None] = {}
    for state in states:
        supply = effective_supply(item, state)
        known = supply.dc is None and isinstance(supply.voltage, float | int)
        found[state] = (
            mains_of(float(supply.voltage), supply.range or 0.0, bool(supply.measured))  # type: ignore[arg-type]
            if known
            else None
        )
    return found
