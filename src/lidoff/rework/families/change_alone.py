"""The change alone: a longer or shorter run, or another mains, with nothing else touched."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from lidoff.rework.case import Case
from lidoff.rework.edits import Edits
from lidoff.rework.family import NOTHING, Family, Plan


def _plans(case: Case) -> Iterable[Plan] | str:
    words = " and ".join(goal.words for goal in case.changes)
    if not words:
        return "Nothing is asked to be changed in length or mains."
    old, new = case.before.supply, case.circuit.supply
    said = []
    if old.voltage != new.voltage or old.frequency != new.frequency:
        said.append(
            f"crest {case.crest:.0f} V in place of {2**0.5 * old.voltage:.0f} V, {new.frequency:g} Hz in place of "
            f"{old.frequency:g} Hz"
        )
    if any(goal.name == "length" for goal in case.changes):
        said.append("sections side by side draw their currents one beside the other: I = N · I_section")
    return [
        Plan(
            variant="as it is",
            edits=Edits(),
            axes=((NOTHING,),),
            equations=tuple(said),
            why=f"Nothing else is touched: {words}.",
            cost=1,
        )
    ]


FAMILY: Final = Family(
    id="change-alone",
    title="The change alone",
    about="The run made longer or shorter, or the item put on another mains, with no other part touched: whether all "
    "parts stand it, and what becomes of the light.",
    equations=("I = N · I_section",),
    source="The circuit is solved as it then is.",
    limits="Cord, plug, connectors and tracks are not in the circuit: what they carry has to be looked at as well.",
    serves=("length", "mains"),
    plan=_plans,
)
