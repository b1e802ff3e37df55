"""A thyristor on the rectified side in place of the triac ahead: its timing no longer charges through the string."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from lidoff.record import Table
from lidoff.rework import equations
from lidoff.rework.case import Case
from lidoff.rework.edits import NewPart, fresh
from lidoff.rework.families.building import cut, fuse_part, surge_part
from lidoff.rework.family import Family, Plan
from lidoff.rework.site import Gap, Site, gap_of

_BREAKOVER: Final = 32.0
_TRACKS: Final = (220e3, 470e3, 100e3)
# Once the thyristor has fired these carry the whole of the rectified mains: large, with a small capacitor.
_ENDS: Final = (100e3, 120e3, 150e3)
_TAPERS: Final = ("linear", "log", "reverse-log")
_FARADS: Final = 47e-9
_RESET: Final = 100.0
_LINE: Final = 10.0  # [ohm] fusible resistor that takes the dimmer's place in the line


def _plans(case: Case) -> Iterable[Plan] | str:
    site = case.site
    if site is None or not site.strings:
        return "There is no rectifier with an LED string behind it."
    if not site.dimmed:
        return "There is no triac dimmer ahead of the rectifier that a thyristor could take the place of."
    if site.stores:
        return (
            "A smoothing capacitor behind the rectifier keeps the voltage from falling: the thyristor would not let go."
        )
    gap = gap_of(site, site.controls)
    if gap is None:
        return "The line was not found in series with the rectifier."
    return _made(case, site, gap)


def _made(case: Case, site: Site, gap: Gap) -> Iterable[Plan]:
    taken = case.refs
    removed = set(site.controls)
    opened, node = cut(case, site, site.minus, removed)
    parts: list[NewPart] = []
    line = gap.line
    if site.fuse is None:
        middle = f"{gap.load}_f"
        parts.append(fuse_part(case, taken, line, middle))
        line = middle
    parts.append(surge_part(case, taken, line, gap.load, _LINE, role="fusible resistor in the line"))
    knob = NewPart(
        ref=fresh("VR", taken),
        kind="potentiometer",
        role="knob",
        values=Table({"value": _TRACKS[0], "taper": "linear", "position": 0.0, "clockwise": "a"}),
        nodes=Table({"a": site.plus, "wiper": f"{site.minus}_w"}),
        tolerance=0.20,
        why="Sets when in the half-cycle the thyristor fires.",
        must=("plastic shaft, its bushing joined to nothing that can be touched: the track is live",),
    )
    end = NewPart(
        ref=fresh("R", taken),
        kind="resistor",
        role="end resistor",
        values=Table({"value": _ENDS[0]}),
        nodes=Table({"1": f"{site.minus}_w", "2": f"{site.minus}_t"}),
        tolerance=0.05,
        why="Keeps the current of the timing in bounds where the knob is at its bright end.",
        series=12,
    )
    capacitor = NewPart(
        ref=fresh("C", taken),
        kind="capacitor",
        role="timing capacitor",
        values=Table({"value": _FARADS}),
        nodes=Table({"1": f"{site.minus}_t", "2": site.minus}),
        tolerance=0.10,
        why="Charged through the knob; the diac empties it into the gate.",
        series=6,
    )
    diac = NewPart(
        ref=fresh("D", taken),
        kind="diac",
        role="trigger diac",
        values=Table({"breakover": _BREAKOVER}),
        nodes=Table({"1": f"{site.minus}_t", "2": f"{site.minus}_g"}),
        tolerance=0.125,
        why="Fires at a set voltage.",
        must=("32 V ±4 V",),
    )
    thyristor = NewPart(
        ref=fresh("Q", taken),
        kind="thyristor",
        role="thyristor",
        values=Table({"gate_current": 0.2e-3, "holding_current": 5e-3}),
        nodes=Table({"anode": node, "cathode": site.minus, "gate": f"{site.minus}_g"}),
        why="Switches the string on the rectified side; its timing sees the whole half-cycle.",
        must=("sensitive gate, 400 V or more (600 V on 230 V)",),
    )
    reset = NewPart(
        ref=fresh("D", taken),
        kind="diode",
        role="reset diode",
        values=Table({}),
        nodes=Table({"anode": f"{site.minus}_d", "cathode": node}),
        why="Empties the timing capacitor when the thyristor fires, and holds it empty to the end of the half-cycle: "
        "each half-cycle then begins alike.",
        must=("400 V or more, such as a 1 A rectifier of 1000 V",),
    )
    limiter = NewPart(
        ref=fresh("R", taken),
        kind="resistor",
        role="reset resistor",
        values=Table({"value": _RESET}),
        nodes=Table({"1": f"{site.minus}_t", "2": f"{site.minus}_d"}),
        tolerance=0.05,
        why="Keeps the surge of emptying the capacitor small.",
        series=12,
    )
    parts += [knob, end, capacitor, diac, limiter, reset, thyristor]
    travel = [Table({f"{knob.ref}.value": track, f"{knob.ref}.taper": taper}) for track in _TRACKS for taper in _TAPERS]
    stops = [Table({f"{end.ref}.value": ohms}) for ohms in _ENDS]
    supply = case.circuit.supply
    angle = equations.firing_angle(_ENDS[0] + _TRACKS[0], _FARADS, _BREAKOVER + 0.8, supply.voltage, supply.frequency)
    words = "not at all" if angle is None else f"at {angle:.0f}°"
    edits = replace(gap.edits, removed=site.controls).joined(opened)
    yield Plan(
        variant="diac-fired",
        edits=replace(edits, added=tuple(parts)),
        axes=(tuple(travel), tuple(stops)),
        equations=(
            f"u' = (√2 U |sin ωt| − u) / RC: with {_TRACKS[0] / 1e3:g} kΩ and {_FARADS * 1e9:g} nF the first half-cycle"
            f" fires {words}",
        ),
        why="Bridge first, then thyristor: the timing network hangs on the rectified mains itself, no longer behind "
        "the LED string.",
        cautions=(
            "The knob now sits on the lamp's side of the lead: a box in the lead needs both rectified conductors led "
            "through it.",
            "The track, its shaft and the thyristor are live.",
        ),
        cost=2,
        checks=("floor",),
    )


FAMILY: Final = Family(
    id="rectified-thyristor",
    title="Thyristor on the rectified side",
    about="The triac ahead of the bridge taken out; a thyristor behind the bridge switches the string, timed from the "
    "rectified mains.",
    equations=("u' = (√2 U |sin ωt| − u) / RC, u(firing) = U_BO + U_G",),
    source="RC network on a sine in closed form, as for the timing network; the circuit itself is solved.",
    limits="No smoothing capacitor behind the bridge. The light flickers as before. The string still gives nothing "
    "where the mains is below its voltage.",
    serves=("dead_travel", "glow_off"),
    plan=_plans,
)
