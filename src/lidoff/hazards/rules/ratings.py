"""Rules on computed stresses against what parts are rated for."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.given import stressed
from lidoff.hazards.model import Basis, Step, memory
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, step
from lidoff.hazards.words import plain
from lidoff.quantity import engineering
from lidoff.standards.temperatures import DERATING
from lidoff.studies import Stress
from lidoff.studies.ratings import Measure, Quantity

_UNPLUG: Final = "Pull the plug, discharge what the bench card lists, and let it cool before you touch it."
_BURNS: Final = (
    step("it runs on like that unattended", 0.5),
    step("it fails by burning", 0.005),
    step("the fire leaves the case or somebody is burnt", 0.05),
)
_BURSTS: Final = (
    step("it fails in the life of the item", 0.2),
    step("it bursts or burns rather than opens", 0.1),
    step("somebody is hurt by it", 0.02),
)
_PEAK: Final[Measure] = "peak"
_REVERSE: Final[Measure] = "peak reverse"
_RMS: Final[Measure] = "rms"
_RESISTORS: Final = ("resistor",)
_STRING: Final = """part = [
  { ref = "R1", kind = "resistor", value = "1k", nodes = ["live", "a"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "a", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C1", kind = "capacitor", value = "10u", nodes = ["p", "m"] },
  { ref = "LED1", kind = "led", series = 60, forward_voltage = "3 V", nodes = { anode = "p", cathode = "m" } },
]"""
_LINEAR: Final = """part = [
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "live", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "LED1", kind = "led", series = 80, forward_voltage = "3 V", nodes = { anode = "p", cathode = "x" } },
  { ref = "U1", kind = "regulator", limit = "20 mA", nodes = { input = "x", output = "m" } },
]"""
_DIMMER: Final = """part = [
  { ref = "VR1", kind = "potentiometer", value = "250k", nodes = { a = "load", wiper = "t" } },
  { ref = "C1", kind = "capacitor", value = "100n", nodes = ["t", "live"] },
  { ref = "D1", kind = "diac", nodes = ["t", "g"] },
  { ref = "Q1", kind = "triac", nodes = { mt1 = "live", mt2 = "load", gate = "g" } },
  { ref = "L1", kind = "lamp", power = "60 W", voltage = "230 V", nodes = ["load", "neutral"] },
]"""


def _over(kinds: tuple[str, ...], *quantities: Quantity) -> Callable[[Facts], Iterable[Outcome]]:
    """A check that fires on rows over a recorded rating, and is undecided on those over an assumed one."""

    def check(facts: Facts) -> Iterable[Outcome]:
        kind_of = {element.ref: element.kind for element in facts.elements}
        for row in facts.stress or ():
            if row.verdict != "over" or row.quantity not in quantities or kind_of.get(row.part) not in kinds:
                continue
            if row.assumed:
                yield Open(
                    needs=(f"The rating of {row.part} for {row.quantity}: {_words(row)}, {row.why}.",),
                    about=(row.part,),
                )
            else:
                yield Hit(
                    because=(f"{row.part}: {_words(row)}.",),
                    evidence=(
                        f"Computed {row.measure} of {row.part}: {engineering(row.value, row.unit, 3)}",
                        f"{row.part} rating{', ' + row.why if row.marked else ''}: "
                        f"{engineering(row.rating or 0.0, row.unit, 3)}",
                    ),
                    confidence="worked out",
                    from_circuit=True,
                    about=(row.part,),
                )

    return check


def _words(row: Stress) -> str:
    rating = "no rating" if row.rating is None else engineering(row.rating, row.unit, 3)
    return f"{row.measure} {engineering(row.value, row.unit, 3)} against {rating}, {plain(row.times or 0.0)} times"


def _measure(kind: str, quantity: Quantity) -> Measure:
    """What the stress study holds against such a rating, for the cases."""
    if quantity == "power":
        return "mean power"
    if quantity == "current":
        return "mean" if kind == "led" else "rms"
    return {"capacitor": _PEAK, "diode": _REVERSE}.get(kind, _RMS)


def _rule(
    code: str,
    id: str,
    title: str,
    *,
    kinds: tuple[str, ...],
    quantities: tuple[Quantity, ...],
    looks_at: str,
    why: str,
    basis: tuple[Basis, ...],
    limits: str,
    action: str,
    steps: tuple[Step, ...],
    severity: int,
    record: str,
    ref: str,
    over: tuple[float, float],
) -> Rule:
    """A rule on rows of the stress study; `over` is the bad case's value and rating, `record` and `ref` its part."""
    quantity = quantities[0]
    value, rating = over
    measure = _measure(kinds[0], quantity)
    return Rule(
        code=code,
        id=id,
        title=title,
        looks_at=looks_at,
        why=why,
        basis=basis,
        limits=limits,
        settles="The part's print and body against its maker's table, and the figure measured under power by somebody "
        "equipped for it.",
        action=action,
        caution=_UNPLUG,
        severity=severity,
        steps=steps,
        check=_over(kinds, *quantities),
        bad=Case(
            about=f"{value / rating:.2g} times its recorded rating.",
            record=record,
            worked_out={"stress": (stressed(ref, quantity, value, rating, measure),)},
            says=(ref, "times"),
        ),
        good=Case(
            about="Within its rating.",
            record=record,
            worked_out={"stress": (stressed(ref, quantity, 0.6 * rating, rating, measure),)},
        ),
        undecided=Case(
            about="Its rating was not recorded; a rule of thumb stands in.",
            record=record,
            worked_out={"stress": (stressed(ref, quantity, value, rating, measure, assumed=True),)},
            says=(f"The rating of {ref}",),
        ),
    )


RULES: Final = (
    _rule(
        "R01",
        "resistor-over-power",
        "Resistor over its rated power",
        kinds=_RESISTORS,
        quantities=("power",),
        looks_at="Computed mean power of every resistor against its recorded rating.",
        why="It bakes the board under it, drifts, and at last opens or burns.",
        basis=(
            memory("IEC 60115-1", "rated dissipation"),
            Basis.of(DERATING.row("resistor power, share of rating, most")),
        ),
        limits="Room air at 70 °C or less is assumed by the rating; a closed case makes it worse.",
        action="A larger resistor, clear of the board, or two that share.",
        steps=_BURNS,
        severity=3,
        record=_STRING,
        ref="R1",
        over=(2.4, 2.0),
    ),
    _rule(
        "R02",
        "resistor-over-voltage",
        "Resistor over its limiting voltage",
        kinds=_RESISTORS,
        quantities=("voltage",),
        looks_at="Computed voltage across every resistor against its limiting element voltage.",
        why="Too much voltage eats a thin film away; a bleeder that opens leaves the capacitor charged, one that "
        "shorts "
        "burns.",
        basis=(
            memory("IEC 60115-1", "limiting element voltage"),
            Basis.of(DERATING.row("working voltage, quarter-watt film")),
        ),
        limits="Series rows of resistors are judged one by one, with the voltage that the solver gives each.",
        action="Two or three resistors in a row in its place.",
        steps=_BURSTS,
        severity=2,
        record=_STRING,
        ref="R1",
        over=(330.0, 250.0),
    ),
    _rule(
        "R03",
        "capacitor-over-voltage",
        "Capacitor over its rated voltage",
        kinds=("capacitor",),
        quantities=("voltage",),
        looks_at="Computed voltage of every capacitor: the peak of smoothing ones, the rms of mains ones.",
        why="An electrolytic over its voltage gasses until its vent opens or its can flies. A film capacitor breaks "
        "down.",
        basis=(
            memory("IEC 60384-4", "rated voltage of aluminium electrolytics"),
            Basis.of(DERATING.row("electrolytic voltage, share of rating")),
        ),
        limits="The mains as recorded; at its upper end it is more.",
        action="A capacitor of the next higher voltage.",
        steps=_BURSTS,
        severity=2,
        record=_STRING,
        ref="C1",
        over=(250.0, 200.0),
    ),
    _rule(
        "R04",
        "rectifier-over-rating",
        "Rectifier over its rating",
        kinds=("diode", "bridge"),
        quantities=("voltage", "current"),
        looks_at="Computed peak reverse voltage and mean current of diodes and bridges.",
        why="A rectifier that breaks down puts alternating voltage on what follows, a smoothing capacitor first of "
        "all.",
        basis=(
            memory("IEC 60747-2", "repetitive peak reverse voltage, mean forward current"),
            Basis.of(DERATING.row("mains rectifier at 230 V, least rating")),
        ),
        limits="Pulses on the mains come on top; a margin of a half is usual.",
        action="A rectifier of a higher rating.",
        steps=_BURSTS,
        severity=2,
        record=_STRING,
        ref="BR1",
        over=(325.0, 200.0),
    ),
    _rule(
        "R05",
        "triac-over-rating",
        "Triac or thyristor over its rating",
        kinds=("triac", "thyristor"),
        quantities=("current", "voltage"),
        looks_at="Computed off-state voltage and rms current of triacs and thyristors.",
        why="A triac that breaks down conducts for good, in one direction or both: full power, or a direct current "
        "that "
        "heats motors and transformers.",
        basis=(memory("IEC 60747-6", "repetitive peak off-state voltage, rms on-state current"),),
        limits="Without its heat sink a triac carries a fraction of its rated current.",
        action="A triac of a higher rating, on a sufficient heat sink.",
        steps=_BURSTS,
        severity=3,
        record=_DIMMER,
        ref="Q1",
        over=(6.0, 4.0),
    ),
    _rule(
        "R06",
        "potentiometer-over-power",
        "Track of a potentiometer overloaded",
        kinds=("potentiometer",),
        quantities=("current", "power"),
        looks_at="The current in the track against what its rated power allows the whole track, and its mean power.",
        why="A track takes its rated power over its whole length. Near its end a short piece carries the current and "
        "burns through, under a knob that somebody holds.",
        basis=(memory("IEC 60393-1", "rated dissipation; current limit of the element"),),
        limits="One position of the knob: the recorded state.",
        action="A fixed resistor in a row with it, or a larger track.",
        steps=_BURNS,
        severity=2,
        record=_DIMMER,
        ref="VR1",
        over=(0.0021, 0.0012),
    ),
    _rule(
        "R07",
        "led-over-current",
        "LEDs over their rated current",
        kinds=("led",),
        quantities=("current",),
        looks_at="Computed mean current of each LED against its recorded rating.",
        why="An overdriven LED gets hot, browns its board and its lens, and fails; where two share, the other then "
        "takes all of it.",
        basis=(memory("Bench practice", "common practice, no source", "no part over its maker's rating"),),
        limits="A mean over the cycle; peaks are allowed to be higher. The board's temperature is not worked out.",
        action="Less current: a larger series resistor, or a lower setting of the regulator.",
        steps=(
            step("it runs on like that", 0.5),
            step("lens or board overheat rather than the LED going dark", 0.005),
            step("somebody is burnt or it sets something alight", 0.02),
        ),
        severity=2,
        record=_STRING,
        ref="LED1",
        over=(0.03, 0.02),
    ),
    _rule(
        "R08",
        "semiconductor-over-power",
        "Transistor, regulator or zener over its rated power",
        kinds=("transistor", "mosfet", "regulator", "zener"),
        quantities=("power",),
        looks_at="Computed mean power of transistors, linear regulators and zener diodes against their rating.",
        why="Silicon that is too hot fails short: what it held back then flows through what follows.",
        basis=(memory("Bench practice", "common practice, no source", "no part over its maker's rating"),),
        limits="The rating holds with the heat sink or copper of its maker's table; without it the part bears less.",
        action="A heat sink, a larger case, or less voltage across it.",
        steps=_BURNS,
        severity=3,
        record=_LINEAR,
        ref="U1",
        over=(1.6, 1.0),
    ),
)
