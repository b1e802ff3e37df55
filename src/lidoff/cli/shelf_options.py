"""Options that the commands of the shelf share, and what comes of them."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

if TYPE_CHECKING:
    from lidoff.shelf import Query

_MANY = {"negative": (), "consume_multiple": False}

ShelfPlace = Annotated[
    Path | None,
    Parameter(
        name="--shelf",
        help="The shelf's folder, or its .sqlite file; without it the one that LIDOFF_SHELF names, else your own.",
    ),
]
Sentence = Annotated[
    str,
    Parameter(help="In words, such as: strips over 8 W with flicker over 80 %", show_default=False),
]


@Parameter(name="*")
@dataclass(frozen=True, slots=True, kw_only=True)
class Filter:
    """Which items are meant, beside what a sentence says; all of it has to be met."""

    where: Annotated[
        list[str] | None,
        Parameter(name="--where", help='A figure compared, such as "power>8 W" or "flicker=10 %..30 %".', **_MANY),
    ] = None
    part: Annotated[
        list[str] | None, Parameter(name="--part", help='A part, such as triac or "capacitor 220n".', **_MANY)
    ] = None
    marking: Annotated[
        list[str] | None, Parameter(name="--marking", help="Part of what is printed on a part.", **_MANY)
    ] = None
    group: Annotated[
        list[str] | None, Parameter(name="--group", help="A recognised group, such as capacitor-dropper.", **_MANY)
    ] = None
    finding: Annotated[list[str] | None, Parameter(name="--finding", help="A finding, by its rule's id.", **_MANY)] = (
        None
    )
    seen: Annotated[
        list[str] | None,
        Parameter(
            name="--seen", help='What was seen, such as "plug-fuse-filler=no filler"; =? for not looked.', **_MANY
        ),
    ] = None
    risk: Annotated[str | None, Parameter(name="--risk", help="A finding at this level of risk or above.")] = None
    severity: Annotated[
        int | None, Parameter(name="--severity", help="A finding of this severity, 1 to 4, or above.")
    ] = None
    class_: Annotated[str | None, Parameter(name="--class", help="Protection class: I, II or III.")] = None
    region: Annotated[str | None, Parameter(name="--region", help="GB, EU or US.")] = None
    kind: Annotated[str | None, Parameter(name="--kind", help="luminaire, appliance, adapter, dimmer or other.")] = None


def place_of(given: Path | None) -> Path:
    """The index that is meant."""
    from lidoff.shelf import index_path

    return index_path(given, os.environ)


def query_of(sentence: str, options: Filter | None) -> Query:
    """The question that a sentence and the options ask together."""
    from lidoff.shelf import EVERYTHING, from_options, understand

    asked = understand(sentence) if sentence.strip() else EVERYTHING
    if options is None:
        return asked
    return asked.and_(
        from_options(
            wheres=options.where or (),
            parts=options.part or (),
            markings=options.marking or (),
            groups=options.group or (),
            findings=options.finding or (),
            seen=options.seen or (),
            risk=options.risk,
            severity=options.severity,
            protection_class=options.class_,
            region=options.region,
            kind=options.kind,
        )
    )
