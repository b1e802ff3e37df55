"""From goals to designs: every family tried, its values settled, its parts chosen, its record proved."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from lidoff.errors import LidoffError
from lidoff.record import Item
from lidoff.record.model import Table
from lidoff.rework.case import Case, Judge, case_of
from lidoff.rework.cautions import DROPPER, GENERAL, REPLACE, bench_steps
from lidoff.rework.choosing import Chosen, choose
from lidoff.rework.edits import reworked_text
from lidoff.rework.energy import HOURS, energy_of
from lidoff.rework.families.registry import FAMILIES
from lidoff.rework.family import COST, Family, Plan
from lidoff.rework.goals import Goal, parse_goals
from lidoff.rework.life import space_class
from lidoff.rework.measures import Run
from lidoff.rework.model import Design, Rejected, Rework
from lidoff.rework.proof import Proof, only_bare_ends, prove
from lidoff.rework.search import Settled, settle
from lidoff.rework.worst import Extent, at_mains
from lidoff.studies import vary

Progress = Callable[[str], None]


def design(
    item: Item,
    goals: Sequence[Goal] | Iterable[str],
    judge: Judge,
    *,
    state: str | None = None,
    hours: float = HOURS,
    text: str | None = None,
    progress: Progress | None = None,
    families: Sequence[Family] = FAMILIES,
) -> Rework:
    """Designs that reach the goals, each proved, and the families that do not, with the reason.

    `judge` judges an item for hazards (`lidoff.account` has it); `hours` [h] a year is what energy is stated for;
    `text` is the record's own text, read from its file where it is not given; `progress` is called with what is tried.
    Raises ReworkError where a goal cannot be set for this item, LidoffError where the item cannot be solved.
    """
    wanted = tuple(goal if isinstance(goal, Goal) else None for goal in goals)
    parsed = tuple(g for g in wanted if g is not None) if all(wanted) and wanted else parse_goals(map(str, goals))
    case = case_of(item, parsed, judge, text=text, state=state)
    designs: list[Design] = []
    rejected: list[Rejected] = []
    for family in families:
        if not any(case.asked(name) for name in family.serves):
            continue
        if progress is not None:
            progress(family.title)
        made = _of_family(case, family, hours)
        if isinstance(made, Design):
            designs.append(made)
        else:
            rejected.append(made)
    designs.sort(key=lambda one: one.order)
    others = [f for f in families if not any(case.asked(name) for name in f.serves)]
    rejected.sort(key=lambda one: (one.distance is None, one.distance or 0.0))
    as_found, holds = _as_found(case)
    verdict, do_not = _verdict(case, designs)
    if holds and not do_not:
        verdict = f"As found it holds already, at its values and over the range of the mains. {verdict}"
    notes = [*case.notes]
    if others:
        notes.append(f"Not tried, for they move none of these goals: {', '.join(f.title.lower() for f in others)}.")
    return Rework(
        title=item.title,
        state=case.state,
        goals=(*case.changes, *case.goals),
        before=Table(case.before_solution.figures()),
        designs=tuple(designs),
        rejected=tuple(rejected),
        verdict=verdict,
        replace=do_not,
        cautions=GENERAL,
        notes=tuple(notes),
        as_found=Table(as_found),
        before_solution=case.before_solution,
        full=case.full,
        warnings=case.before.warnings,
    )


def _as_found(case: Case) -> tuple[dict[str, float | None], bool]:
    """Each goal's figure of the circuit that is started from, and whether all hold over the range of the mains."""
    ends = at_mains(case.circuit)
    given = [goal for goal in case.goals if not goal.implied]
    runs = {end: Run(circuit, case.full, quick=end != "nominal", before=case.before) for end, circuit in ends.items()}
    values = {goal.key: runs["nominal"].value(goal) for goal in case.goals}
    holds = bool(given) and all(goal.met(value, value) for goal in given for value in [values[goal.key]])
    holds = holds and all(
        goal.met(value, value) for end in ("low", "high") for goal in given for value in [runs[end].value(goal)]
    )
    return values, holds


def _of_family(case: Case, family: Family, hours: float) -> Design | Rejected:
    plans = family.plan(case)
    if isinstance(plans, str):
        return Rejected(family=family.id, title=family.title, why=plans)
    best: Settled | None = None
    failed: Design | None = None
    why = ""
    for plan in plans:
        found = settle(case, plan)
        if isinstance(found, str):
            why = why or f"{plan.variant}: {found}"
            continue
        if best is None or found.distance < best.distance - 1e-9:
            best = found
        if found.worst.met and case.open_to_touch is not None:
            return _closed(case, family, found)
        if found.worst.met:
            made = _made(case, family, found, hours)
            if isinstance(made, Design):
                if made.meets_goal:
                    return made
                failed = failed or made
            else:
                why = why or made
    if failed is not None:
        return _turned_down(family, failed.variant, failed.proof.problems, failed.extents, 0.0)
    if best is None:
        return Rejected(family=family.id, title=family.title, why=why or "No way of doing it was found for this item.")
    if best.worst.met:
        return _turned_down(family, best.plan.variant, (why,), best.worst.extents, best.distance)
    return _turned_down(family, best.plan.variant, tuple(_missed(case, best)), best.worst.extents, best.distance)


def _closed(case: Case, family: Family, found: Settled) -> Rejected:
    """A family that would reach the goal, of an item whose live parts can be reached."""
    reach = case.open_to_touch
    assert reach is not None
    return _turned_down(
        family,
        found.plan.variant,
        (
            f"It would reach the goal, and is refused: {reach.title[0].lower()}{reach.title[1:]} ({reach.id}, "
            f"{reach.risk.level} risk). Nothing inside is worth changing until that is put right.",
        ),
        found.worst.extents,
        0.0,
    )


def _turned_down(
    family: Family, variant: str, why: Sequence[str], extents: tuple[Extent, ...], distance: float
) -> Rejected:
    return Rejected(
        family=family.id,
        title=family.title,
        variant=variant,
        why=" ".join(sentence for sentence in why if sentence) or "It does not hold at its worst case.",
        nearest=extents,
        distance=distance,
    )


def _missed(case: Case, found: Settled) -> list[str]:
    """Which goals a plan misses, and by how much, as sentences; and what the plan itself says of it."""
    said = []
    for extent in found.worst.extents:
        if extent.met:
            continue
        goal = extent.goal
        if extent.low is None or extent.high is None:
            said.append(f"{_capital(goal.words)} could not be worked out at every corner.")
        elif goal.implied:
            said.append(f"{_capital(goal.words)} is lost: it comes to {goal.shown(extent.nominal)}.")
        elif goal.shown(extent.low) == goal.shown(extent.high):
            said.append(f"{_capital(goal.words)} is missed: it stays at {goal.shown(extent.low)}.")
        else:
            said.append(
                f"{_capital(goal.words)} is missed: {goal.shown(extent.nominal)} as designed, "
                f"{goal.span(extent.low, extent.high)} at the worst of mains and tolerances."
            )
    if case.site is not None and case.site.dimmed and "dimmer stands ahead" in found.plan.why:
        said.append(found.plan.why.partition(".")[2].strip())
    return said


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _made(case: Case, family: Family, found: Settled, hours: float) -> Design | str:
    plan = found.plan
    edits = plan.edits.with_values(found.choice)
    try:
        chosen = choose(case, edits, found.circuit)
        if chosen.problems:
            return " ".join(chosen.problems)
        note = _note(family, plan)
        record = reworked_text(case.text, case.base, chosen.edits, note)
        fitted = frozenset({part.ref for part in chosen.parts})
        proof = prove(case, record, fitted, found)
    except LidoffError as error:
        return f"The design could not be proved: {error}"
    return _finished(case, family, plan, chosen, record, proof, hours)


def _note(family: Family, plan: Plan) -> str:
    return (
        f"Reworked on paper: {family.title.lower()}, {plan.variant}. Readings and test rigs of the item as found are "
        "left out; they stand in its own record. For its maker's own bench only."
    )


def _finished(
    case: Case, family: Family, plan: Plan, chosen: Chosen, record: str, proof: Proof, hours: float
) -> Design:
    area = sum(part.area for part in chosen.parts)
    fuse = next((part for part in chosen.parts if part.kind == "fuse"), None)
    return Design(
        family=family.id,
        title=family.title,
        variant=plan.variant,
        why=plan.why,
        record=record,
        removed=chosen.edits.removed,
        parts=chosen.parts,
        equations=plan.equations,
        source=family.source,
        limits=family.limits,
        extents=proof.worst.extents,
        proof=proof,
        energy=energy_of(case.before_solution, proof.solution, hours),
        cautions=(
            *(DROPPER if plan.live_everywhere else ()),
            *family.cautions,
            *plan.cautions,
            *_hot(chosen),
            *_bare(proof),
            *GENERAL,
        ),
        steps=bench_steps(_held_words(proof), fuse.must[-1] if fuse is not None and fuse.must else None),
        cost=plan.cost,
        cost_words=COST[min(plan.cost, 3)],
        area=area,
        space=space_class(area),
        extras=Table(_extras(plan, proof)),
    )


def _extras(plan: Plan, proof: Proof) -> dict[str, float]:
    """Figures that a plan wants told beside the goals: how far down a knob goes."""
    found: dict[str, float] = {}
    if "floor" in plan.checks:
        knob = next((e.ref for e in proof.circuit.elements if e.kind == "potentiometer"), None)
        if knob is not None:
            turned = vary(proof.circuit, f"{knob}.position", 0.0, 1.0)
            if turned.floor is not None:
                found["floor"] = turned.floor
    return found


def _hot(chosen: Chosen) -> tuple[str, ...]:
    hot = [p for p in chosen.parts if p.temperature is not None and p.temperature > 273.15 + 70.0]
    return tuple(
        f"{p.ref} gets to some {p.temperature - 273.15:.0f} °C in free air ({p.heat:.2g} W), hotter in a closed case."
        for p in hot
        if p.temperature is not None
    )


def _bare(proof: Proof) -> tuple[str, ...]:
    found = proof.faults.faults if proof.faults is not None else ()
    return tuple(f"Where it can be cut or lose an end cap: {one.outcome}" for one in found if only_bare_ends(one))


def _held_words(proof: Proof) -> str | None:
    worst = max(proof.held, key=lambda h: h.open_volts or h.volts, default=None)
    if worst is None:
        return None
    time = "longer than five minutes" if worst.to_60 is None else f"{worst.to_60:.2g} s"
    words = f"{worst.part} holds {worst.volts:.0f} V and is below 60 V after {time}"
    if worst.open_volts is not None:
        late = "longer than five minutes" if worst.open_to_60 is None else f"{worst.open_to_60:.2g} s"
        words += f"; with the string open it holds {worst.open_volts:.0f} V and takes {late}"
    return f"{words}. A discharge resistor may have failed: measure."


def _verdict(case: Case, designs: Sequence[Design]) -> tuple[str, bool]:
    """What to make of it all, and whether that is "do not"."""
    offered = [one for one in designs if one.meets_goal]
    if reach := case.open_to_touch:
        return (
            f"{REPLACE} {reach.title} ({reach.risk.level} risk): as long as what is live can be reached, no "
            "change inside makes this item one to use.",
            True,
        )
    if not offered:
        level = case.findings.level
        if level in ("high", "serious"):
            return (
                f"{REPLACE} No rework that was tried reaches the goal, and the item stands at {level} risk as it is.",
                True,
            )
        return "No rework that was tried reaches the goal; the nearest are listed with what they miss.", False
    stays = [f for f in offered[0].proof.findings.findings if f.risk.level in ("high", "serious")]
    count = len({one.family for one in offered})
    families = f"{count} way{'s' * (count != 1)} reach{'es' * (count == 1)} the goal at the worst case"
    if stays:
        return (
            f"{families}. None of them mends what was found besides: {stays[0].title.lower()} ({stays[0].risk.level} "
            "risk). That comes first, or the item is replaced.",
            False,
        )
    return f"{families}.", False
