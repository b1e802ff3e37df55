"""Rules on the light itself."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.model import Basis
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, step
from lidoff.hazards.words import plain
from lidoff.standards.light_limits import MODULATION
from lidoff.studies.glow import is_lit

_BOUND: Final = "ieee-1789-seizure-prevention"


def _slow(facts: Facts) -> Iterable[Outcome]:
    light = facts.figures.get("light")
    if light is not None and facts.circuit is not None and not is_lit(facts.circuit, light):
        return
    if light is None:
        if facts.item.kind == "luminaire" and facts.item.parts and not facts.figures:
            yield Open(needs=("The light's course over the mains cycle, computed or recorded with a light probe.",))
        return
    for bound in light.get("bounds", ()):
        if bound["id"] == _BOUND and bound["beyond"]:
            yield Hit(
                because=(
                    f"The light swings at {bound['quantity']} by {plain(bound['value'])} % of its mean; below 90 Hz it "
                    f"is to keep under {bound['limit']:g} %.",
                ),
                evidence=(
                    f"Computed light: {bound['quantity']} {bound['value']:.3g} %, over the mains cycle as solved.",
                ),
                confidence="worked out",
                from_circuit=True,
                about=tuple(light.get("sources", ())),
            )


_LIGHT = {"frequency": 50.0, "percent_flicker": 100.0, "sources": ["LED1"]}
_OVER = {"id": _BOUND, "beyond": True, "quantity": "50 Hz", "value": 100.0, "limit": 5.0}
_UNDER = {"id": _BOUND, "beyond": False, "quantity": "50 Hz", "value": 0.01, "limit": 5.0}
_LAMP = 'item = { kind = "luminaire" }'

RULES: Final = (
    Rule(
        code="F01",
        id="flicker-below-90-hz",
        title="Light that flickers below 90 Hz",
        looks_at="The computed light over the mains cycle: what it holds below 90 Hz.",
        why="Flicker that slow is seen and, in the few who are prone to it, can bring on a seizure. A single diode "
        "in the "
        "line, or half a bridge that failed, makes light at the mains frequency.",
        basis=(Basis.of(MODULATION.row("seizure prevention", "below 90 Hz"), "at most 5 % below 90 Hz"),),
        limits="Of the settled cycle only: a loose contact or a wandering dimmer flickers slower and is not in it. A "
        "glow of less than a thousandth of the LEDs' test current is not judged.",
        settles="A light probe on the item, its recording in the record.",
        action="Do not use it where people stay. Find out whether half of the rectifier failed.",
        caution="Do not look into it at length to judge it; a camera shows the bands.",
        severity=3,
        steps=(
            step("somebody prone to it looks at the light for long", 1e-3),
            step("a seizure follows", 0.01),
        ),
        check=_slow,
        bad=Case(
            about="One diode in the line of a string.",
            record=_LAMP,
            worked_out={"figures": {"light": {**_LIGHT, "bounds": [_OVER]}}},
            says=("50 Hz", "under 5 %"),
        ),
        good=Case(
            about="Twice the mains frequency only.",
            record=_LAMP,
            worked_out={"figures": {"light": {**_LIGHT, "frequency": 100.0, "bounds": [_UNDER]}}},
        ),
        undecided=Case(
            about="Parts, but no solved cycle.",
            record='item = { kind = "luminaire" }\npart = [\n'
            '  { ref = "R1", kind = "resistor", value = "1k", nodes = ["live", "a"] },\n'
            '  { ref = "D1", kind = "diode", nodes = { anode = "a", cathode = "b" } },\n'
            '  { ref = "LED1", kind = "led", series = 30, forward_voltage = "3 V", '
            'nodes = { anode = "b", cathode = "neutral" } },\n]',
            says=("light probe",),
        ),
    ),
)
