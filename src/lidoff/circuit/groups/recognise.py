"""From readings to groups: who gets a contested part, in which order groups stand, and what is left over."""

from __future__ import annotations

from collections.abc import Iterable

from lidoff.circuit.groups.model import Family, Group, Groups, Reading
from lidoff.circuit.groups.registry import FAMILIES
from lidoff.circuit.groups.scene import scene_of
from lidoff.circuit.groups.words import ref_order
from lidoff.circuit.model import Circuit
from lidoff.record.model import Table


def recognise(circuit: Circuit, families: tuple[Family, ...] = FAMILIES) -> Groups:
    """The groups that a circuit's parts form, from its connections, kinds and values alone.

    Neither the order of parts, nor the names of nodes, nor which rail is live, nor which way round an unpolarised part
    was written changes them. Readings that contest a part are ranked: the one that explains more comes first.
    """
    scene = scene_of(circuit)
    found = [(family, reading) for family in families for reading in family.find(scene)]
    ranked = _ranked(found)
    # A part that groups only share (a capacitor that something empties) has not been explained by that.
    known = {ref for group in ranked for ref in group.own}
    left = [element.ref for element in circuit.elements if element.ref not in known]
    return Groups(groups=ranked, unexplained=tuple(sorted(left, key=ref_order)))


def _ranked(found: Iterable[tuple[Family, Reading]]) -> tuple[Group, ...]:
    rows = sorted(found, key=lambda row: (-row[1].weight, -len(row[1].own), row[1].name, _refs(row[1].own)))
    owner: dict[str, Group] = {}
    groups: list[Group] = []
    for family, reading in rows:
        rivals = {owner[ref].id: owner[ref] for ref in reading.own if ref in owner}
        if rivals and (reading.fallback or _said(reading, rivals)):
            continue
        before = [group for group in groups if set(group.own) & set(reading.own)] if rivals else []
        group = _group(family, reading, 1 + max((other.rank for other in before), default=0))
        if any(other.id == group.id for other in groups):
            continue
        groups.append(group)
        if group.rank == 1:  # a second reading takes no part from a first one
            owner |= dict.fromkeys(reading.own, group)
    groups.sort(key=lambda group: (group.rank > 1, group.stage, _refs(group.refs), group.name))
    return tuple(groups)


def _said(reading: Reading, rivals: dict[str, Group]) -> bool:
    """Whether one better group already has all of it: of the same name, or with more besides."""
    mine = set(reading.own)
    return any(
        mine < set(rival.own) or (reading.name == rival.name and mine <= set(rival.refs)) for rival in rivals.values()
    )


def _refs(refs: tuple[str, ...]) -> tuple[object, ...]:
    return tuple(ref_order(ref) for ref in sorted(refs, key=ref_order))


def _group(family: Family, reading: Reading, rank: int) -> Group:
    roles: dict[str, str] = {}
    ties: dict[str, str] = {}
    for ref, role, tie in reading.parts:
        roles.setdefault(ref, role)
        ties.setdefault(ref, tie)
    refs = tuple(sorted(roles, key=ref_order))
    return Group(
        id=f"{reading.name}:{'+'.join(sorted(set(reading.own), key=ref_order))}",
        name=reading.name,
        title=reading.title,
        refs=refs,
        roles=Table({ref: roles[ref] for ref in refs}),
        figures=reading.figures,
        why=reading.why,
        remarks=tuple(dict.fromkeys(reading.remarks)),
        rank=rank,
        shared=tuple(ref for ref in refs if ties[ref] == "shared"),
        stage=family.stage if reading.stage is None else reading.stage,
    )
