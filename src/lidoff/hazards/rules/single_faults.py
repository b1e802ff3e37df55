"""Rules on the computed single faults: what becomes live, what overheats, what bursts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from lidoff.circuit import Element
from lidoff.hazards.facts import Facts
from lidoff.hazards.model import memory
from lidoff.hazards.questions import CLASS
from lidoff.hazards.rule import Case, Hit, Open, Outcome, Rule, step
from lidoff.hazards.rules.protection import CHARGER_FUSE, charger
from lidoff.hazards.words import plain
from lidoff.quantity import engineering

_HOT: Final = 2.0  # times its rated power from which a part is called overheating (our choice)
_MOST: Final = 5  # faults told in one finding
_GONE: Final = 30.0  # times its rated power at which a part is taken to open soon (our choice)
_BURSTS: Final = 1.5  # times its rated voltage from which an electrolytic is taken to burst (our choice)
_BARE_END: Final = "bare end"  # what the faults call a cut end
# IEC 60335-1, 19.11.2 (from memory): capacitors but those of class X and Y, and electronic components; not resistors,
# windings, heaters or lamps.
_ELECTRONIC: Final = (
    *("bridge", "diode", "zener", "led", "triac", "thyristor", "diac", "transistor", "mosfet", "regulator"),
    "converter",
)
_FIRST: Final = '{ ref = "R1", kind = "resistor", value = "10R", nodes = ["live", "a"] }'
_SMALL_CAN: Final = """part = [
  { ref = "C1", kind = "capacitor", value = "220n", rating = { class = "X2" }, nodes = ["live", "b"] },
  { ref = "R1", kind = "resistor", value = "1M", nodes = ["live", "b"] },
  { ref = "BR1", kind = "bridge", nodes = { ac1 = "b", ac2 = "neutral", plus = "p", minus = "m" } },
  { ref = "C2", kind = "capacitor", value = "10u", rating = { voltage = "25 V" }, nodes = ["p", "m"] },
  { ref = "LED1", kind = "led", series = 6, forward_voltage = "3 V", nodes = { anode = "p", cathode = "m" } },
]"""


def _name(one: Mapping[str, Any]) -> str:
    return f"{one['part']} {one['mode']}"


def _touchable(one: Mapping[str, Any]) -> bool:
    """Whether a fault brings the mains to a recorded surface that a hand or finger reaches."""
    return any(
        felt["what"] != _BARE_END and felt["reached"] in ("by hand", "test finger") for felt in one.get("touched", ())
    )


def _exposes(facts: Facts) -> Iterable[Outcome]:
    if facts.faults is None:
        return
    worst = [
        one for one in facts.faults if one["severity"] >= 4 and _touchable(one) and not _bridges_by_right(facts, one)
    ]
    if worst:
        yield Hit(
            because=tuple(one["outcome"] for one in worst[:_MOST]),
            evidence=tuple(f"Computed fault: {_name(one)}" for one in worst[:_MOST]),
            confidence="worked out",
            from_circuit=True,
            about=tuple(dict.fromkeys(one["part"] for one in worst)),
        )
    ends = [
        one
        for one in facts.faults
        if one["severity"] >= 4 and any(felt["what"] == _BARE_END for felt in one.get("touched", ()))
    ]
    if ends and facts.answer("output-ends") is None:
        refs = tuple(dict.fromkeys(one["part"] for one in ends))
        yield Open(
            needs=(
                f"Can {', '.join(refs)} be cut, pulled apart or lose an end cap in use? Its ends would be live. "
                "The look list asks for it (output-ends).",
            ),
            about=refs,
        )
    unknown = [str(one.get("name", "a surface")) for one in facts.item.surfaces if one.get("node") in (None, "?")]
    if unknown:
        yield Open(needs=(f"What {' and '.join(unknown)} is joined to, so that faults can be followed to it.",))


def _overheating(facts: Facts) -> Iterable[Outcome]:
    if facts.faults is None:
        if facts.circuit is not None:
            yield Open(needs=("The single faults worked out: lidoff faults.",))
        return
    # A fusible resistor in the line is there to do just that.
    fusible = {e.ref for e in facts.net.in_line("resistor")} if facts.answer("board-fuse") == "fusible resistor" else ()
    hot: list[tuple[Mapping[str, Any], Mapping[str, Any]]] = []
    guessed: list[str] = []
    for one in facts.faults:
        fuse = one.get("fuse") or {}
        if (fuse.get("opens") and fuse.get("credited")) or _not_counted(facts, one):
            continue
        over = [
            row
            for row in one["overstressed"]
            if row["quantity"] == "power"
            and (row["times"] or 0.0) >= _HOT
            and not (row["part"] in fusible and row["times"] >= _GONE)
        ]
        known = [row for row in over if not row.get("assumed")]
        if known:
            hot.append((one, max(known, key=lambda row: float(row["times"]))))
        guessed += [row["part"] for row in over if row.get("assumed")]
    if hot:
        hot.sort(key=lambda pair: -float(pair[1]["times"]))
        yield Hit(
            because=tuple(_hot_words(one, row) for one, row in hot[:_MOST]),
            evidence=tuple(f"Computed fault: {_name(one)}" for one, _ in hot[:_MOST]),
            confidence="worked out",
            from_circuit=True,
            about=tuple(dict.fromkeys(row["part"] for _, row in hot)),
        )
    elif guessed:
        refs = ", ".join(dict.fromkeys(guessed))
        yield Open(needs=(f"The power ratings of {refs}: by rule of thumb they overheat with a single fault.",))


def _hot_words(one: Mapping[str, Any], row: Mapping[str, Any]) -> str:
    times = float(row["times"])
    said = (
        f"{_name(one)}: {row['part']} takes {engineering(float(row['value']), 'W', 2)}, "
        f"{plain(times)} times its rating, and no fuse that can be relied on opens."
    )
    if times < _GONE:
        return said
    return f"{said} {row['part']} opens by itself soon; whether without a flame depends on its type."


def _not_counted(facts: Facts, fault: Mapping[str, Any]) -> bool:
    """Whether a fault is the short of a part that IEC 60335-1, 19.11.2 leaves whole."""
    element = facts.circuit.element(fault["part"]) if facts.circuit is not None else None
    return fault["mode"] == "short" and element is not None and not may_short(facts, element)


def _tells_more(
    one: Mapping[str, Any], row: Mapping[str, Any], other: Mapping[str, Any], before: Mapping[str, Any]
) -> bool:
    """Whether a fault is the one to tell: it does more, or as much and is a plain open part."""
    if row["times"] > 1.02 * before["times"]:
        return True
    return bool(row["times"] > 0.98 * before["times"] and one["mode"] == "open" and other["mode"] != "open")


def _bursts(facts: Facts) -> Iterable[Outcome]:
    if facts.faults is None:
        return
    cans = {e.ref for e in facts.elements if e.kind == "capacitor" and may_short(facts, e)}
    found: dict[str, tuple[Mapping[str, Any], Mapping[str, Any]]] = {}
    guessed: dict[str, str] = {}
    for one in facts.faults:
        fuse = one.get("fuse") or {}
        if (fuse.get("opens") and fuse.get("credited")) or _not_counted(facts, one):
            continue
        for row in one["overstressed"]:
            if row["quantity"] != "voltage" or row["part"] not in cans or (row["times"] or 0.0) < _BURSTS:
                continue
            if row.get("assumed"):
                guessed.setdefault(row["part"], _name(one))
            elif row["part"] not in found or _tells_more(one, row, *found[row["part"]]):
                found[row["part"]] = (one, row)
    for ref, (one, row) in found.items():
        volts, rated = (engineering(float(row[key]), "V", 2) for key in ("value", "rating"))
        yield Hit(
            because=(f"{_name(one)}: {ref} gets {volts} against {rated}, {plain(float(row['times']))} times.",),
            evidence=(f"Computed fault: {_name(one)}", f"{ref} rating: {rated}"),
            confidence="worked out",
            about=(ref,),
            from_circuit=True,
        )
    for ref, name in guessed.items():
        if ref not in found:
            yield Open(
                needs=(f"The voltage printed on {ref}: with {name} it is far over what is assumed.",), about=(ref,)
            )


def _bridges_by_right(facts: Facts, fault: Mapping[str, Any]) -> bool:
    """Whether a fault is the short of a class Y1 capacitor, which may stand alone across reinforced insulation."""
    element = facts.circuit.element(fault["part"]) if facts.circuit is not None else None
    if element is None or element.kind != "capacitor" or fault["mode"] != "short":
        return False
    return _class_of(facts, element) == "Y1"


def _class_of(facts: Facts, element: Element) -> str:
    """The class that a capacitor carries in its rating or its print; empty where there is none."""
    part = facts.part(element.ref)
    printed = CLASS.search((part.marking or "").upper()) if part is not None else None
    return str(element.rating.get("class") or (printed.group(1) if printed is not None else ""))


def may_short(facts: Facts, element: Element) -> bool:
    """Whether a short of that part is one of the faults of IEC 60335-1, 19.11.2, by whose list this goes."""
    if element.kind != "capacitor":
        return element.kind in _ELECTRONIC
    return not _class_of(facts, element)


def _given_fault(
    part: str, mode: str, outcome: str, *, over: float = 0.0, severity: int = 3, touched: bool = False
) -> Any:
    stressed = [{"part": "R1", "quantity": "power", "value": over, "rating": 1.0, "times": over, "assumed": False}]
    return {
        "part": part,
        "mode": mode,
        "outcome": outcome,
        "severity": severity,
        "overstressed": stressed if over else [],
        "fuse": None,
        "touched": [{"what": "shell", "reached": "by hand"}] if touched else [],
    }


def _high(volts: float, rating: float, *, assumed: bool = False) -> Any:
    row = {"part": "C2", "quantity": "voltage", "value": volts, "rating": rating, "times": volts / rating}
    over = [row | {"assumed": assumed}] if volts > rating else []
    return _given_fault("LED1", "open", "It goes dark.", severity=3) | {"overstressed": over}


RULES: Final = (
    Rule(
        code="S05",
        id="single-fault-overheats",
        title="A single fault overheats a part and nothing opens",
        looks_at="The computed single faults: parts at twice their rated power or more, with no fuse that can be "
        "relied on.",
        why="Parts do fail, one at a time. A sound design stays cold or opens a fuse then.",
        basis=(
            memory("IEC 60335-1", "19.11.2", "one fault at a time"),
            memory("IEC 62368-1", "B.4", "single fault conditions"),
        ),
        limits="A computed power, not a temperature; a part that opens by itself soon ends it. An aid, not the test.",
        settles="The fault made on the bench behind a screen, by somebody equipped for it.",
        action="A fuse or fusible resistor that opens, or a part with the rating.",
        caution="Do not try faults out on a bare bench.",
        severity=3,
        steps=(
            step("that part fails that way in its life", 0.01),
            step("the hot part sets something alight or is touched", 0.03),
            step("the fire leaves the case or the burn is severe", 0.1),
        ),
        check=_overheating,
        bad=Case(
            about="A string's regulator shorted.",
            record='item = { region = "EU" }\n' + charger(_FIRST),
            worked_out={"faults": (_given_fault("Q1", "short", "R1 overheats.", over=8.0),)},
            says=("Q1 short", "8 times its rating"),
        ),
        good=Case(
            about="No fault does anything but darken it.",
            record='item = { region = "EU" }\n' + charger(CHARGER_FUSE),
            worked_out={"faults": (_given_fault("LED1", "open", "It goes dark.", severity=1),)},
        ),
        undecided=Case(
            about="Faults not worked out.",
            record='item = { region = "EU" }\n' + charger(CHARGER_FUSE),
            says=("lidoff faults",),
        ),
    ),
    Rule(
        code="S06",
        id="single-fault-exposes",
        title="A single fault makes something touchable live",
        looks_at="The computed single faults that bring the mains to a surface or end that a person can touch.",
        why="Protection against shock has to hold when any one thing has failed.",
        basis=(memory("IEC 60335-1", "8.1, 19.13", "no shock after a fault"), memory("IEC 62368-1", "5.3.2, B.4")),
        limits="Knows only the surfaces and gaps that were recorded.",
        settles="The insulation between, measured and looked at.",
        action="Double or reinforced insulation between, or an earth.",
        caution="Do not try faults out on a bare bench.",
        severity=4,
        steps=(
            step("that part fails that way in its life", 0.01),
            step("what became live is touched with a way to earth", 0.1),
            step("the shock is severe", 0.05),
        ),
        check=_exposes,
        bad=Case(
            about="Water across the terminals of a strip.",
            record='item = { region = "EU" }\n' + charger(CHARGER_FUSE),
            worked_out={
                "faults": (_given_fault("terminals", "water", "The shell becomes live.", severity=4, touched=True),)
            },
            says=("shell becomes live",),
        ),
        good=Case(
            about="Nothing becomes live.",
            record='item = { region = "EU" }\n' + charger(CHARGER_FUSE),
            worked_out={"faults": (_given_fault("LED1", "open", "It goes dark.", severity=1),)},
        ),
        undecided=Case(
            about="Faults worked out, but no surface was written down.",
            record='item = { region = "EU" }\n'
            + charger(CHARGER_FUSE)
            + '\nsurface = [{ name = "shell", reached = "by hand", node = "?" }]',
            worked_out={"faults": (_given_fault("LED1", "open", "It goes dark.", severity=1),)},
            says=("shell",),
        ),
    ),
    Rule(
        code="S09",
        id="single-fault-bursts",
        title="A single fault drives a capacitor far over its voltage",
        looks_at="The computed single faults in which a smoothing capacitor gets 1.5 times its rated voltage or more.",
        why="An LED that opens is a common end of a strip. What it held down then rises to the crest of the mains, and "
        "a can made for less bursts, hot and with a bang.",
        basis=(
            memory("IEC 60335-1", "19.11.2", "open circuit of any component; short circuit of electronic ones"),
            memory("IEC 60384-4", "pressure relief", "vents of larger cans"),
        ),
        limits="Capacitors of class X and Y are left out. A small can has no vent; a large one may only hiss.",
        settles="The capacitor's print, and what else holds the voltage down (a zener, a second string).",
        action="A capacitor for the crest of the mains, or a zener across it that bears the current.",
        caution="Do not try faults out on a bare bench.",
        severity=2,
        steps=(
            step("that part fails that way in its life", 0.05),
            step("the can bursts rather than vents", 0.2),
            step("somebody is hit or burnt", 0.02),
        ),
        check=_bursts,
        bad=Case(
            about="A 25 V can behind a dropper whose string opens.",
            record='item = { region = "EU" }\n' + _SMALL_CAN,
            worked_out={"faults": (_high(330.0, 25.0),)},
            says=("C2 gets 330 V against 25 V, 13 times",),
        ),
        good=Case(
            about="A can for 400 V.",
            record='item = { region = "EU" }\n' + _SMALL_CAN.replace("25 V", "400 V"),
            worked_out={"faults": (_high(330.0, 400.0),)},
        ),
        undecided=Case(
            about="Its print was not read.",
            record='item = { region = "EU" }\n' + _SMALL_CAN.replace(' rating = { voltage = "25 V" },', ""),
            worked_out={"faults": (_high(330.0, 50.0, assumed=True),)},
            says=("The voltage printed on C2",),
        ),
        since="2",
    ),
)
