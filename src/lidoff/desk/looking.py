"""The look list on a page: the questions of a phase, with what was seen, as the record has it."""

from __future__ import annotations

from dataclasses import dataclass

from lidoff.desk.item_desk import Snapshot
from lidoff.hazards import Look, look_list


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A question with the answer and the note of its sighting; `from_record` where another part of it tells."""

    look: Look
    seen: str
    note: str
    photo: str
    from_record: bool

    @property
    def id(self) -> str:
        """The question's id."""
        return self.look.question.id

    @property
    def answers(self) -> tuple[str, ...]:
        """The words that may be chosen."""
        return (*self.look.question.answers, "cannot tell")

    @property
    def open(self) -> bool:
        """Whether nobody has looked."""
        return self.look.answer is None


def asked(snapshot: Snapshot, *phases: str) -> list[Asked]:
    """The questions of those phases that apply to the item, in order; all phases where none is named."""
    if snapshot.item is None:
        return []
    sightings = {str(one.get("about")): one for one in snapshot.tables("sighting")}
    found = []
    for look in look_list(snapshot.item):
        if phases and look.phase not in phases:
            continue
        sighting = sightings.get(look.question.id, {})
        seen = str(sighting.get("seen", "") or "")
        found.append(
            Asked(
                look=look,
                seen=seen or (look.answer or ""),
                note=str(sighting.get("note", "") or ""),
                photo=str(sighting.get("photo", "") or ""),
                from_record=not seen and look.answer is not None,
            )
        )
    return found
