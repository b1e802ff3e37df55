"""What is known of a knob: a turn or a variation already worked out, or its JSON, brought to one form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, Literal

from lidoff.circuit import Circuit
from lidoff.studies.turn import Turn
from lidoff.studies.vary import Variation, vary

_PLACES: Final = 21


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place of a knob: position [0..1], light [A of mean LED current], whether the triac fires there."""

    position: float
    light: float | None
    fires: bool | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Travel:
    """A knob from end to end. `study` says where the numbers come from; shares are of the travel [1]."""

    ref: str
    study: Literal["turn", "vary"]
    places: tuple[Place, ...]
    dead_travel: float | None
    snap_on: float | None
    snap_off: float | None

    @property
    def firing(self) -> float | None:
        """Share of the places at which the triac fires; None where that is not known of every place."""
        known = [place.fires for place in self.places if place.fires is not None]
        return sum(known) / len(known) if known and len(known) == len(self.places) else None

    @property
    def most_light(self) -> float | None:
        """The most light along the travel [A]."""
        return max((place.light for place in self.places if place.light is not None), default=None)

    def dark_place(self, position: float) -> float | None:
        """The place nearest to `position` at which the triac does not fire, None where it fires everywhere."""
        dark = [place.position for place in self.places if place.fires is False]
        return min(dark, key=lambda other: abs(other - position)) if dark else None


def travel_of(given: Turn | Variation | Mapping[str, Any]) -> Travel | None:
    """A turn or a variation of a knob's position in this form; None for a variation of anything else."""
    document = given.as_json() if isinstance(given, (Turn, Variation)) else given
    if "up" in document:
        rows = [(row["position"], row) for row in (*document["up"], *document.get("down", ()))]
        ref, study = str(document["ref"]), "turn"
    else:
        ref, _, key = str(document["key"]).rpartition(".")
        if key != "position":
            return None
        rows, study = [(row["value"], row) for row in document["points"]], "vary"
    return Travel(
        ref=ref,
        study="turn" if study == "turn" else "vary",
        places=tuple(_place(float(position), row) for position, row in rows),
        dead_travel=document.get("dead_travel"),
        snap_on=document.get("snap_on"),
        snap_off=document.get("snap_off"),
    )


def _place(position: float, row: Mapping[str, Any]) -> Place:
    light = row.get("light")
    return Place(
        position=position, light=None if light is None else float(light["mean_current"]), fires=row.get("fires")
    )


def worked_out(circuit: Circuit, ref: str) -> Travel | None:
    """The travel of a potentiometer, each place from rest."""
    return travel_of(vary(circuit, f"{ref}.position", 0.0, 1.0, _PLACES))
