"""The questions of the look list as data, in the order in which to look."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from lidoff.circuit import Circuit
from lidoff.record import Item

CLASS: Final = re.compile(r"\b([XY][12])\b")
"""The class of a capacitor as it is printed."""
Phase = Literal["outside", "closed", "plug", "open"]
PHASES: Final[dict[Phase, str]] = {
    "outside": "Outside, unplugged",
    "closed": "Closed, with a meter",
    "plug": "The plug",
    "open": "Lid off, unplugged and discharged",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """What decides whether a question applies: the item, its circuit, and what is known of class, plug and cord."""

    item: Item
    circuit: Circuit | None
    british: bool
    small_european: bool
    american: bool
    class_one: bool
    cord: bool
    fuse_in_plug: bool

    @classmethod
    def of(cls, item: Item, circuit: Circuit | None, answer: Callable[[str], str | None]) -> Setting:
        """The setting of an item; `answer` gives the answer that a question has so far."""
        kind = str(item.plug.get("kind", "")).upper().replace(" ", "")
        british = "1363" in kind or (not kind and item.region == "GB")
        return cls(
            item=item,
            circuit=circuit,
            british=british,
            small_european="7/16" in kind or "50075" in kind,
            american="NEMA" in kind or (not kind and item.region == "US"),
            class_one=item.protection_class == "I",
            cord=answer("cord") != "no cord",
            fuse_in_plug=british and answer("plug-fuse") != "none",
        )

    def has(self, *kinds: str) -> bool:
        """Whether a part of one of these kinds is recorded."""
        return any(part.kind in kinds for part in self.item.parts)


def _always(_: Setting) -> bool:
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """One thing to look at.

    `what` names it, `ask` is the question, `answers` the words that count. `how` says how to look without danger.
    `photo_first` is empty, or says what to photograph before the step that destroys it. `table` is empty, or names the
    table of the record that holds what was found, for those who write the file by hand. `applies` tells from the item
    whether it is asked; `otherwise` finds an answer in the rest of the record.
    """

    id: str
    phase: Phase
    what: str
    ask: str
    answers: tuple[str, ...]
    how: str
    photo_first: str = ""
    table: str = ""
    applies: Callable[[Setting], bool] = _always
    otherwise: Callable[[Item], str | None] | None = None


def _fuse_there(item: Item) -> str | None:
    return "there" if "fuse" in item.plug else None


def _wiring(item: Item) -> str | None:
    wiring = dict(item.plug.get("wiring", {}))
    live = [core for core, pin in wiring.items() if pin == "live"]
    neutral = [core for core, pin in wiring.items() if pin == "neutral"]
    if not live or not neutral:
        return None
    right = {"brown", "black", "red", "smooth"}, {"blue", "white", "ribbed"}
    if live[0] in right[0] and neutral[0] in right[1]:
        return "right"
    if live[0] in right[1] and neutral[0] in right[0]:
        return "crossed"
    return None


def _core(item: Item) -> str | None:
    told = {wire.get("core") for wire in item.wires if wire.get("told_by")} - {None, "?"}
    return str(told.pop()) if len(told) == 1 else None


def _printed(item: Item) -> str | None:
    """The lowest class that any capacitor carries; the rule on classes looks at each by itself."""
    found: set[str] = set()
    for part in item.parts:
        if part.kind == "capacitor":
            match = CLASS.search((part.marking or "").upper())
            rated = part.rating.get("class")
            found |= {str(rated)} if rated else ({match[1]} if match else set())
    return f"{max(found)} printed" if found else None


def _gaps(item: Item) -> str | None:
    return "measured" if any("clearance" in gap or "creepage" in gap for gap in item.gaps) else None


def _surfaces(item: Item) -> str | None:
    known = [surface.get("node") for surface in item.surfaces]
    return "listed" if known and all(node not in (None, "?") for node in known) else None


_UNPLUGGED: Final = "Unplugged, the plug lying where you see it. "
_OPEN: Final = (
    "Unplugged, and every capacitor on the bench card measured below 34 V, before a finger or a tool goes in. "
)

QUESTIONS: Final = (
    # Outside
    Question(
        id="marking",
        phase="outside",
        what="Maker, ratings and marks on the item",
        ask="What is marked on the item itself?",
        answers=("maker and ratings", "ratings only", "no maker, no approval mark", "none"),
        how=_UNPLUGGED + "Read the label in slanting light; it may be moulded in.",
        photo_first="the label, before the case is opened through it",
    ),
    Question(
        id="class-mark",
        phase="outside",
        what="The mark of its protection class",
        ask="Is there a double square (class II), an earth pin or earth mark (class I), or neither?",
        answers=("double square", "earth", "class III mark", "neither"),
        how=_UNPLUGGED + "Look at the label and at the plug's pins.",
        otherwise=lambda item: {"I": "earth", "II": "double square", "III": "class III mark"}.get(
            item.protection_class
        ),
    ),
    Question(
        id="instructions",
        phase="outside",
        what="Papers and warnings",
        ask="Did instructions and warnings in the user's language come with it?",
        answers=("there", "none", "another language"),
        how="Ask who brought it; look in the box.",
    ),
    Question(
        id="enclosure",
        phase="outside",
        what="The state of the case",
        ask="Is the case whole?",
        answers=("whole", "cracked", "parts missing"),
        how=_UNPLUGGED + "Press lightly along the seams.",
    ),
    Question(
        id="enclosure-openings",
        phase="outside",
        what="Openings in the case",
        ask="What can reach live parts through an opening: nothing, a thin rod, a finger?",
        answers=("nothing", "thin rod reaches live parts", "finger reaches live parts"),
        how=_UNPLUGGED + "Try with a wooden skewer and a jointed finger probe, never on an item that is plugged in.",
    ),
    Question(
        id="opens-without-tool",
        phase="outside",
        what="Whether it opens without a tool",
        ask="Does the case, or a cover over live parts, come off by hand?",
        answers=("yes", "no"),
        how=_UNPLUGGED + "Pull and press as a child would.",
        photo_first="seams and seals, before they are cut",
    ),
    Question(
        id="output-ends",
        phase="outside",
        what="Bare ends, sockets and contacts",
        ask="Can metal be touched at a connector, a cut end or an end cap that is not sealed?",
        answers=("covered", "bare contacts", "no output"),
        how=_UNPLUGGED + "Look at every connector pulled apart, at strip ends and at end caps pulled with two fingers.",
        applies=lambda s: s.has("led", "converter", "transformer", "bridge", "regulator"),
    ),
    Question(
        id="surfaces",
        phase="outside",
        what="Metal that can be touched and what it is joined to",
        ask="Is every touchable surface listed with the node that it is joined to, or insulated?",
        answers=("listed", "no metal"),
        how=_UNPLUGGED + "Continuity from each plug pin to each piece of metal; write each down as a surface that "
        "can be touched, with what it is joined to.",
        table="surface",
        otherwise=_surfaces,
    ),
    Question(
        id="cord",
        phase="outside",
        what="The cord",
        ask="What is the cord like?",
        answers=("sound", "cuts or cracks", "single insulation", "no cord"),
        how=_UNPLUGGED + "Run it through the fingers, bend it at plug and case.",
    ),
    Question(
        id="cord-grip",
        phase="outside",
        what="The cord's grip in the case",
        ask="What holds the cord where it enters the case?",
        answers=("clamped", "moulded", "glued", "knot only", "none"),
        how=_UNPLUGGED + "Pull with two fingers, then with the weight of a few books; the conductors must not move.",
        photo_first="the entry, before the case is opened",
        applies=lambda s: s.cord,
    ),
    # Closed, with a meter
    Question(
        id="insulation-reading",
        phase="closed",
        what="Insulation resistance, plug pins to touchable metal",
        ask="What does an insulation tester show between the joined line pins and touchable metal?",
        answers=("over 2 megohm", "1 to 2 megohm", "under 1 megohm", "no metal"),
        how="By somebody trained on the tester, 500 V (250 V with surge protection inside), nobody touching the item.",
    ),
    Question(
        id="earth-bond",
        phase="closed",
        what="The protective conductor",
        ask="Is touchable metal joined to the earth pin?",
        answers=("joined", "not joined", "left off"),
        how=_UNPLUGGED + "Low-ohm meter from the earth pin to bare metal; flex the cord while reading.",
        applies=lambda s: s.class_one,
    ),
    Question(
        id="pins-after-unplugging",
        phase="closed",
        what="Charge on the plug pins",
        ask="What is left on the pins a second after pulling the plug?",
        answers=("under 34 V", "over 34 V"),
        how="Meter of 10 megohm or more, probes with guarded tips; never touch the pins to find out.",
        applies=lambda s: s.has("capacitor"),
    ),
    # Plug
    Question(
        id="plug-fuse",
        phase="plug",
        what="The fuse in the plug",
        ask="Is there a fuse in the plug?",
        answers=("there", "none", "bridged"),
        how=_UNPLUGGED + "Open the fuse carrier with a screwdriver.",
        photo_first="the fuse in its carrier",
        applies=lambda s: s.british,
        otherwise=_fuse_there,
    ),
    Question(
        id="plug-fuse-mark",
        phase="plug",
        what="The marks on the plug fuse",
        ask="Does the fuse carry the standard's number, its rating and a maker's or approval mark?",
        answers=("BS 1362 and approval", "BS 1362 only", "no mark"),
        how="Read it under a lens.",
        photo_first="the fuse's print, turned once round",
        applies=lambda s: s.fuse_in_plug,
    ),
    Question(
        id="plug-fuse-filler",
        phase="plug",
        what="The filler of the plug fuse",
        ask="Is the fuse filled with sand?",
        answers=("filler", "no filler"),
        how="Hold it against a lamp, shake it at the ear, weigh it against a known one; crushing it is the last "
        "resort, "
        "in a bag and with goggles.",
        photo_first="the whole fuse, before it is crushed",
        applies=lambda s: s.fuse_in_plug,
    ),
    Question(
        id="plug-pin-sleeves",
        phase="plug",
        what="The sleeves on the live pins",
        ask="Are the line and neutral pins sleeved next to the plug's face?",
        answers=("sleeved", "bare"),
        how=_UNPLUGGED + "Look at the pins.",
        applies=lambda s: s.british or s.small_european,
    ),
    Question(
        id="blades",
        phase="plug",
        what="The width of the blades",
        ask="Is one blade wider than the other?",
        answers=("one wider", "both alike"),
        how=_UNPLUGGED + "Lay them side by side against a rule.",
        applies=lambda s: s.american,
    ),
    Question(
        id="polarity",
        phase="plug",
        what="Which core is on which pin",
        ask="Are the cores on the right pins?",
        answers=("right", "crossed"),
        how=_UNPLUGGED + "Continuity from each pin to each core at the board.",
        applies=lambda s: s.british or s.american,
        otherwise=_wiring,
    ),
    Question(
        id="plug-terminations",
        phase="plug",
        what="The terminals in the plug",
        ask="How are the cores held in the plug?",
        answers=("screwed or crimped", "moulded", "soldered ends under screws", "loose strands"),
        how=_UNPLUGGED + "Cover off; pull each core by itself.",
        applies=lambda s: s.cord,
    ),
    # Open
    Question(
        id="heat-marks",
        phase="open",
        what="Traces of heat",
        ask="Is anything browned, softened or charred?",
        answers=("none", "browned", "charred"),
        how=_OPEN + "Look at both sides of the board, at the case over hot parts, and smell.",
        photo_first="board and case as found",
    ),
    Question(
        id="terminations",
        phase="open",
        what="Joints of mains conductors inside",
        ask="Would a mains conductor stay in its place if its joint came loose?",
        answers=("held twice", "solder alone", "twisted"),
        how=_OPEN + "Push each joint with a plastic stick.",
        applies=lambda s: s.cord,
    ),
    Question(
        id="insulation-sleeve",
        phase="open",
        what="Sleeves and barriers over live parts",
        ask="Are bare live parts kept off the case and off low-voltage wires by a sleeve, a barrier or distance?",
        answers=("sleeved", "bare near the case", "bare near low voltage"),
        how=_OPEN + "Look along every bare lead and joint.",
    ),
    Question(
        id="gaps",
        phase="open",
        what="Distances between live parts and what is touched",
        ask="Were the smallest distances through air and along surfaces measured?",
        answers=("measured",),
        how=_OPEN + "Feeler gauges, plastic callipers, or a scaled photograph; write each down with its two ends.",
        table="gap",
        otherwise=_gaps,
    ),
    Question(
        id="conductor",
        phase="open",
        what="Size of the cord's conductor",
        ask="Was the conductor measured: resistance with four wires, strands counted and gauged, or a bare core "
        "weighed?",
        answers=("measured",),
        how=_OPEN + "1 A through the whole core and millivolts at its ends; write down how it was measured.",
        table="wire",
        applies=lambda s: s.cord,
        otherwise=lambda item: (
            "measured" if any({"resistance", "mass", "strands"} & set(w) for w in item.wires) else None
        ),
    ),
    Question(
        id="core-metal",
        phase="open",
        what="Metal of the cord's conductor",
        ask="What are the strands made of, scraped and weighed?",
        answers=("copper", "copper-clad aluminium", "steel"),
        how=_OPEN + "Scrape a strand under a lens (white below red is not copper), try a magnet, weigh a bare metre.",
        photo_first="the strands, before they are scraped",
        applies=lambda s: s.cord,
        otherwise=_core,
    ),
    Question(
        id="capacitor-class",
        phase="open",
        what="Class printed on capacitors at the mains",
        ask="Do the capacitors at the mains carry X1, X2, Y1 or Y2 and approval marks?",
        answers=("X1 printed", "X2 printed", "Y1 printed", "Y2 printed", "no class printed"),
        how=_OPEN + "Read every side with a mirror; one sighting for the worst of them.",
        applies=lambda s: s.has("capacitor"),
        otherwise=_printed,
    ),
    Question(
        id="board-fuse",
        phase="open",
        what="A fuse or fusible resistor on the board",
        ask="Is there a fuse, or a resistor marked or known as fusible, in the line?",
        answers=("fuse", "fusible resistor", "plain resistor", "none"),
        how=_OPEN + "Follow the line from the cord to the first part.",
        otherwise=lambda item: "fuse" if any(part.kind == "fuse" for part in item.parts) else None,
    ),
    Question(
        id="heat-limit",
        phase="open",
        what="What stops the heat when the thermostat sticks",
        ask="Beside the thermostat, does a second thing that opens with heat stand in line with the heater?",
        answers=("second one there", "limits itself", "thermostat alone", "stuck or bridged"),
        how=_OPEN + "Follow both leads of the heater, into sleeves too: a thermal link is a small can or a brick with "
        "a temperature printed on it. Ohms over the thermostat cold, then warmed until it ought to open.",
        photo_first="sleeves and clamps on the heater, before they are moved",
        applies=lambda s: s.has("heater", "thermostat"),
    ),
    Question(
        id="output-isolation",
        phase="open",
        what="Insulation between mains and output",
        ask="Is the output kept from the mains by a transformer?",
        answers=("isolated", "joined to mains"),
        how=_OPEN + "Ohms from each plug pin to the output: any reading below 2 megohm is a connection.",
        applies=lambda s: s.item.kind == "adapter" or s.has("transformer", "converter"),
    ),
    Question(
        id="switch-breaks",
        phase="open",
        what="Which conductor the switch breaks",
        ask="Which conductor does the switch break?",
        answers=("live", "neutral", "both"),
        how=_OPEN + "Continuity from each plug pin with the switch on and off.",
        applies=lambda s: s.has("switch") or "switch_breaks" in s.item.plug,
        otherwise=lambda item: {"live": "live", "neutral": "neutral", "both": "both"}.get(
            str(item.plug.get("switch_breaks"))
        ),
    ),
)
