"""Rules on clearances and creepage distances, by the recorded gaps and the computed working voltage."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final, Literal

from lidoff.hazards.facts import Facts, Working
from lidoff.hazards.model import Basis, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, step
from lidoff.standards.distances import Distance, Insulation, rated_impulse, required_clearance, required_creepage
from lidoff.standards.insulation import RULES as RULES_ROUND
from lidoff.standards.product_distances import APPLIANCE_CLEARANCE, APPLIANCE_CREEPAGE

_SETTLES: Final = "Feeler gauges, a scaled photograph, the part pushed the worst way; the standard's rules on grooves."
_ACTION: Final = "A barrier, a slot in the board, a sleeve, or more distance."
_CAUTION: Final = "Unplugged and discharged before anything is put between live parts."
_NOMINAL: Final = {"GB": 230.0, "EU": 230.0, "US": 120.0}
_STEPS: Final = (
    step("dirt, damp or a pulse bridges it in its life", 0.02),
    step("what is touched becomes live and is touched with a way to earth", 0.1),
    step("the shock is severe", 0.05),
)
_INNER: Final = (
    step("dirt, damp or a pulse bridges it in its life", 0.02),
    step("it arcs or burns", 0.1),
    step("the fire leaves the case or somebody is burnt", 0.05),
)


def _mains(facts: Facts) -> float | None:
    """The nominal voltage to neutral [V] by which impulses are chosen."""
    if facts.circuit is not None and facts.circuit.supply.dc is None:
        return 230.0 if facts.circuit.supply.voltage > 150.0 else 120.0
    return _NOMINAL.get(facts.item.region or "")


def _name(gap: Mapping[str, Any]) -> str:
    return " and ".join(str(end).removeprefix("surface:") for end in gap["between"])


def _working(facts: Facts, gap: Mapping[str, Any]) -> Working | None:
    return next((one for one in facts.working if set(one.between) == set(gap["between"])), None)


def _insulation(gap: Mapping[str, Any]) -> Insulation | None:
    said = gap.get("insulation")
    return said if said in ("functional", "basic", "supplementary", "reinforced") else None


def _gaps(facts: Facts, which: Literal["clearance", "creepage"]) -> Iterable[Outcome]:
    for gap in facts.item.gaps:
        if "between" not in gap:
            continue
        if which not in gap:
            if "clearance" not in gap and "creepage" not in gap:
                yield Open(needs=(f"The {which} between {_name(gap)}, measured.",), about=(_name(gap),))
            continue
        kind = _insulation(gap)
        if kind is None:
            yield Open(needs=(f"Which insulation it has to be between {_name(gap)}: basic, reinforced?",))
        elif which == "clearance":
            yield from _clearance(facts, gap, kind)
        else:
            yield from _creepage(facts, gap, kind)


def _clearance(facts: Facts, gap: Mapping[str, Any], kind: Insulation) -> Iterable[Outcome]:
    mains = _mains(facts)
    if mains is None:
        yield Open(needs=("The region or the mains voltage, by which the impulse voltage is chosen.",))
        return
    impulse = rated_impulse(mains)
    degree = gap.get("pollution_degree", 2)
    working = _working(facts, gap)
    if degree == 4 or (kind == "functional" and working is not None and working.rms < 0.5 * mains):
        return  # inner voltages: the impulse of the mains is not what such a gap is made for
    needed = required_clearance(impulse.number, degree, kind)
    basis = [Basis.of(row) for row in (impulse, *needed.rows)]
    product = ""
    if facts.item.kind == "appliance" and kind in ("basic", "supplementary", "reinforced"):
        row = (
            APPLIANCE_CLEARANCE.row("reinforced at 230 V")
            if kind == "reinforced" and mains > 150.0
            else APPLIANCE_CLEARANCE.row(impulse.number)
        )
        product = f" IEC 60335-1 has {row.number:g} mm for it."
        basis.append(Basis.of(row))
    yield from _compare(gap, "clearance", needed, basis, kind, product, working)


def _creepage(facts: Facts, gap: Mapping[str, Any], kind: Insulation) -> Iterable[Outcome]:
    working = _working(facts, gap)
    mains = _mains(facts)
    if working is None and (mains is None or not _at_mains(gap)):
        yield Open(needs=(f"The working voltage between {_name(gap)}: the circuit solved, or a reading.",))
        return
    volts = working.rms if working is not None else float(mains or 0.0)
    degree, group = gap.get("pollution_degree", 2), gap.get("material_group", "IIIa")
    if degree == 4 or volts > 1000.0:
        return
    group = "IIIa" if group == "?" else group
    needed = required_creepage(volts, degree, group, kind)
    basis = [Basis.of(row) for row in needed.rows]
    product, floor = "", 0.0
    if kind != "functional" and mains is not None:
        # Along a surface the way is never shorter than through air (IEC 60664-1, 5.3, see the rules table).
        floor = required_clearance(rated_impulse(mains).number, degree, kind).value
        if floor > needed.value:
            product = f" It is never less than the clearance, {floor:.3g} mm here."
            basis.append(Basis.of(RULES_ROUND.row("creepage never under clearance")))
    column = f"{degree} III" if group.startswith("III") else f"{degree} {group}"
    row = APPLIANCE_CREEPAGE.get(kind, "1" if degree == 1 else column) if 125.0 < volts <= 250.0 else None
    if row is not None and facts.item.kind == "appliance":
        product = f" IEC 60335-1 has {row.number:g} mm for over 125 V to 250 V."
        basis.append(Basis.of(row))
        if kind == "functional" and 1e3 * float(gap["creepage"]) >= row.number - 1e-9:
            return  # the product standard asks for less than the basic distance here
        if kind != "functional":
            floor = max(floor, row.number)  # it does not interpolate
    yield from _compare(gap, "creepage", needed, basis, kind, product, working, floor)


def _at_mains(gap: Mapping[str, Any]) -> bool:
    return bool({"live", "neutral"} & set(gap["between"]))


def _compare(
    gap: Mapping[str, Any],
    which: str,
    needed: Distance,
    basis: list[Basis],
    kind: Insulation,
    product: str,
    working: Working | None,
    floor: float = 0.0,
) -> Iterable[Outcome]:
    """A gap held against the distance of IEC 60664-1 and the `floor` [mm] that another rule sets."""
    found = 1e3 * float(gap[which])
    if found >= max(needed.value, floor) - 1e-9:
        return
    volts = f" The computed working voltage there is {working.rms:.3g} V." if working is not None else ""
    touched = any(str(end).startswith("surface:") for end in gap["between"]) or kind in ("supplementary", "reinforced")
    yield Hit(
        because=(
            f"The {which} between {_name(gap)} is {found:.3g} mm; {needed.value:.3g} mm is needed "
            f"({needed.how}).{product}"
            f"{volts}",
        ),
        evidence=(f"Recorded gap {_name(gap)}: {which} {found:.3g} mm, {kind} insulation",),
        confidence="seen" if kind != "functional" else "likely",
        from_circuit=which == "creepage" and working is not None and not _at_mains(gap),
        about=(_name(gap),),
        basis=tuple(dict.fromkeys(basis)),
        severity=4 if touched else 3,
        steps=_STEPS if touched else _INNER,
    )


def _gap(extra: str) -> str:
    return (
        'item = { region = "GB", kind = "appliance" }\nsurface = [{ name = "end cap", reached = "by hand", '
        'node = "insulated" }]\ngap = [{ between = ["live", "surface:end cap"], ' + extra + " }]"
    )


_WORKING: Final = {"working": (Working(between=("live", "surface:end cap"), rms=230.0, peak=325.0),)}

RULES: Final = (
    Rule(
        code="D01",
        id="clearance-too-small",
        title="Too little air between",
        looks_at="Recorded clearances against the rated impulse voltage of the mains, pollution degree and insulation.",
        why="Pulses on the mains jump a gap that is too short; what is touched is live for that moment, and the arc "
        "may "
        "stay.",
        basis=(memory("IEC 60664-1", "5.2", "dimensioning of clearances"),),
        limits="Overvoltage category II, up to 2000 m. Functional insulation may be shorter where a short does no "
        "harm.",
        settles=_SETTLES,
        action=_ACTION,
        caution=_CAUTION,
        severity=4,
        steps=_STEPS,
        check=lambda facts: _gaps(facts, "clearance"),
        bad=Case(
            about="2.1 mm where reinforced insulation is asked for.",
            record=_gap('clearance = "2.1 mm", insulation = "reinforced", pollution_degree = 2'),
            says=("2.1 mm", "3 mm is needed", "IEC 60335-1 has 3 mm"),
        ),
        good=Case(
            about="6 mm.",
            record=_gap('clearance = "6 mm", insulation = "reinforced", pollution_degree = 2'),
        ),
        undecided=Case(
            about="Measured, but which insulation is it?",
            record=_gap('clearance = "2.1 mm"'),
            says=("basic, reinforced",),
        ),
    ),
    Rule(
        code="D02",
        id="creepage-too-small",
        title="Too short a way along the surface",
        looks_at="Recorded creepage distances against the working voltage, pollution degree, material group and "
        "insulation.",
        why="Dirt and damp make a path along a surface; it carbonises a little at each spark until it conducts.",
        basis=(memory("IEC 60664-1", "5.3", "dimensioning of creepage distances"),),
        limits="Group IIIa is taken where the material is not known. A creepage distance is also never less than the "
        "clearance.",
        settles=_SETTLES,
        action=_ACTION,
        caution=_CAUTION,
        severity=4,
        steps=_STEPS,
        check=lambda facts: _gaps(facts, "creepage"),
        bad=Case(
            about="2.4 mm where reinforced insulation is asked for.",
            record=_gap(
                'creepage = "2.4 mm", insulation = "reinforced", pollution_degree = 2, material_group = "IIIa"'
            ),
            worked_out=_WORKING,
            says=("2.4 mm", "4.6 mm is needed", "IEC 60335-1 has 5 mm"),
        ),
        good=Case(
            about="8 mm.",
            record=_gap('creepage = "8 mm", insulation = "reinforced", pollution_degree = 2, material_group = "IIIa"'),
            worked_out=_WORKING,
        ),
        undecided=Case(
            about="Between two inner nodes, the working voltage not known.",
            record='item = { region = "GB", kind = "appliance" }\n'
            'gap = [{ between = ["p", "m"], creepage = "1 mm", insulation = "basic" }]',
            says=("working voltage",),
        ),
    ),
)
