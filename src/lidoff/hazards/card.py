"""The bench card: what is live, what holds charge and how long, read before anything is touched."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from lidoff.hazards.facts import Facts
from lidoff.hazards.judge import CAUTIONS
from lidoff.quantity import engineering

_LOW: Final = 34.0  # [V]
_AT_ONCE: Final = 0.01  # [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Charged:
    """A capacitor, or the pins: start [V] at the worst instant, seconds to 60 V and 34 V (None: longer), energy [J]."""

    what: str
    start: float
    to_60: float | None
    to_34: float | None
    energy: float | None
    words: str

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "what": self.what,
            "start": self.start,
            "to_60": self.to_60,
            "to_34": self.to_34,
            "energy": self.energy,
            "words": self.words,
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCard:
    """What to know before a hand goes in.

    `live` are the nodes joined to the mains, `live_parts` the parts on them, `isolated` the parts that are not.
    `charged` is what holds more than 34 V after unplugging, slowest first. `wait` [s] is how long until all of it is
    below 34 V, None where that is longer than was looked at or not known. `known` is false where there is no circuit.
    """

    title: str
    known: bool
    live: tuple[str, ...]
    live_parts: tuple[str, ...]
    isolated: tuple[str, ...]
    charged: tuple[Charged, ...]
    wait: float | None
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """A mapping in SI units."""
        return {
            "title": self.title,
            "known": self.known,
            "live": list(self.live),
            "live_parts": list(self.live_parts),
            "isolated": list(self.isolated),
            "charged": [one.as_json() for one in self.charged],
            "wait": self.wait,
            "sentences": list(self.sentences),
            "cautions": list(self.cautions),
        }


def bench_card(facts: Facts) -> BenchCard:
    """The card of an item, from its circuit and from what was worked out with the plug pulled."""
    net = facts.net
    known = bool(net.elements)
    inside = [e for e in net.elements if {n for n in e.nodes if n is not None} & net.joined]
    apart = [e for e in net.elements if e not in inside]
    charged = _charged(facts)
    wait = _wait(facts, charged)
    return BenchCard(
        title=facts.item.title,
        known=known,
        live=tuple(sorted(net.joined)),
        live_parts=tuple(e.ref for e in inside),
        isolated=tuple(e.ref for e in apart),
        charged=charged,
        wait=wait,
        sentences=tuple(_sentences(facts, known, [e.ref for e in apart], charged, wait)),
        cautions=CAUTIONS,
    )


def _charged(facts: Facts) -> tuple[Charged, ...]:
    if facts.unplugged is None:
        return ()
    rows = [facts.unplugged.pins, *facts.unplugged.capacitors]
    found = [
        Charged(
            what=row.what,
            start=row.start,
            to_60=row.to_60,
            to_34=row.to_34,
            energy=row.energy,
            words=_falls(row.what, row.start, row.to_34, row.energy, facts.unplugged.looked),
        )
        for row in rows
        if row.start > _LOW
    ]
    return tuple(sorted(found, key=lambda one: -(one.to_34 if one.to_34 is not None else float("inf"))))


def _falls(what: str, start: float, to_34: float | None, energy: float | None, looked: float) -> str:
    name = "The plug's pins" if what == "pins" else what
    verb = "hold" if what == "pins" else "holds"
    heat = f" ({engineering(energy, 'J', 2)})" if energy is not None else ""
    after = (
        "below 34 V at once"
        if to_34 is not None and to_34 < _AT_ONCE
        else f"below 34 V after {engineering(to_34, 's', 2)}"
        if to_34 is not None
        else f"still above 34 V after {looked:.0f} s"
    )
    return f"{name} {verb} up to {start:.0f} V{heat}, {after}."


def _wait(facts: Facts, charged: tuple[Charged, ...]) -> float | None:
    if facts.unplugged is None or any(one.to_34 is None for one in charged):
        return None
    return max((one.to_34 for one in charged if one.to_34 is not None), default=0.0)


def _sentences(
    facts: Facts, known: bool, apart: list[str], charged: tuple[Charged, ...], wait: float | None
) -> list[str]:
    said = []
    if not known:
        said.append("Nobody recorded how it is joined: take every part of it as live, and every capacitor as charged.")
    elif facts.unproven():
        said.append(
            "Some joins are known from a picture alone: take every part as live, and every capacitor as charged, "
            "whatever stands below."
        )
    elif apart:
        said.append(
            f"Plugged in, everything is live but {', '.join(apart)}, and those only as far as the record is right."
        )
    else:
        said.append("Plugged in, every part inside is joined to the mains: take all of it as live.")
    polarised = facts.polarised
    if known and polarised is not True:
        switch = "the switch may be in the neutral, and " if any(e.kind == "switch" for e in facts.elements) else ""
        said.append(f"The plug may stand either way round: {switch}either side may be live.")
    said += [one.words for one in charged]
    if facts.unplugged is None:
        said.append("How long it holds charge was not worked out: measure every capacitor.")
    elif not charged:
        said.append("By the recorded circuit nothing holds more than 34 V once the plug is out. Measure all the same.")
    elif wait is None:
        said.append("Waiting does not empty it: discharge it through a resistor and measure.")
    else:
        said.append(f"Wait {max(1.0, 5.0 * wait):.0f} s, then measure; a broken bleeder is not in these figures.")
    state = facts.circuit.state if facts.circuit is not None else None
    if facts.unplugged is not None and (len(facts.item.states) > 1 or _has_knob(facts)):
        where = f"the state “{state}”" if state else "the record as it stands"
        said.append(f"These are the figures of {where}; in another state or at another setting more may be left.")
    return said


def _has_knob(facts: Facts) -> bool:
    return any(element.kind in ("potentiometer", "switch") for element in facts.elements)
