"""How far an item is: at each page, what is known, what is missing, and what to do next."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from lidoff.circuit.checking import missing
from lidoff.desk.columns import UNPOWERED
from lidoff.desk.item_desk import Snapshot
from lidoff.hazards import look_list
from lidoff.record import Item


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """`known` and `missing` as short sentences, `next` the one thing to do now ("" where nothing is left)."""

    known: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    next: str = ""


def standing(page: str, snapshot: Snapshot) -> Standing:
    """How far the item is at that page."""
    item = snapshot.item
    return _PAGES[page](item) if item is not None and page in _PAGES else Standing()


def next_page(snapshot: Snapshot) -> tuple[str, str] | None:
    """The first page in the order of the work on which something is left to do, with what that is."""
    if snapshot.item is None:
        return None
    for page, stands in _PAGES.items():
        found = stands(snapshot.item)
        if found.next:
            return page, found.next
    return None


def _looked(item: Item, *phases: str) -> tuple[int, list[str]]:
    """How many questions of those phases have an answer, and what the others are about."""
    looks = [look for look in look_list(item) if look.phase in phases]
    return sum(look.answer is not None for look in looks), [look.question.what for look in looks if look.answer is None]


def _shows(item: Item, *what: str) -> bool:
    return any(photo.shows in what for photo in item.photos)


def _write_down(gap: str) -> str:
    """A gap as what to do about it."""
    return f"{'Take' if gap.startswith('a photograph') else 'Write down'} {gap}."


def _counted(count: int, one: str, many: str = "") -> str:
    return f"{count or 'no'} {one if count == 1 else many or one + 's'}"


def _outside(item: Item) -> Standing:
    seen, open_ones = _looked(item, "outside")
    gaps = [
        words
        for there, words in (
            (item.title, "what it is"),
            (item.kind, "what sort of product"),
            (item.protection_class != "?", "its protection class"),
            (item.region, "whose plug and code practice"),
            (item.rated, "what the label claims"),
            (_shows(item, "label"), "a photograph of the label"),
        )
        if not there
    ]
    known = [f"{_counted(seen, 'question')} of the look list answered"] if seen else []
    if item.rated:
        known.insert(0, "the label's claims")
    ask = _write_down(gaps[0]) if gaps else (f"Look at: {open_ones[0]}." if open_ones else "")
    return Standing(known=tuple(known), missing=(*gaps, *open_ones), next=ask)


def _closed(item: Item) -> Standing:
    _, open_ones = _looked(item, "closed")
    cold = sum(one.quantity in UNPOWERED for one in item.readings)
    hot = len(item.readings) - cold
    gaps = []
    if not any(one.quantity == "resistance" and one.at in ("input", ("live", "neutral")) for one in item.readings):
        gaps.append("the resistance between the plug's pins, unpowered")
    if not any(one.at == "input" and one.quantity in ("power", "current") for one in item.readings):
        gaps.append("power and current at the socket")
    known = (
        f"{_counted(cold, 'reading')} unpowered",
        f"{_counted(hot, 'reading')} powered",
        f"{_counted(len(item.states), 'state')}, {_counted(len(item.meters), 'meter')}",
    )
    mains = [one for one in missing(item) if "mains voltage" in one]
    ask = f"Read {gaps[0]}." if gaps else (mains[0] if mains else (f"Look at: {open_ones[0]}." if open_ones else ""))
    return Standing(known=known, missing=(*gaps, *mains, *open_ones), next=ask)


def _plug(item: Item) -> Standing:
    seen, open_ones = _looked(item, "plug")
    gaps = [] if item.plug.get("kind") else ["which plug it is"]
    if not item.wires:
        gaps.append("the cord: its print, and what shows its cross-section")
    known = tuple(
        words
        for there, words in (
            (item.plug.get("kind"), f"a plug {item.plug.get('kind')}"),
            (item.wires, _counted(len(item.wires), "wire")),
            (seen, f"{_counted(seen, 'question')} answered"),
        )
        if there
    )
    ask = _write_down(gaps[0]) if gaps else (f"Look at: {open_ones[0]}." if open_ones else "")
    return Standing(known=known, missing=(*gaps, *open_ones), next=ask)


def _opening(item: Item) -> Standing:
    seen, open_ones = _looked(item, "open")
    gaps = []
    if not _shows(item, "parts"):
        gaps.append("a photograph of the parts, before anything is touched")
    if not _shows(item, "copper"):
        gaps.append("a photograph of the copper side")
    if not item.gaps:
        gaps.append("the smallest distances between live parts and what can be touched")
    known = (_counted(len(item.photos), "photograph"), f"{_counted(seen, 'question')} answered")
    ask = f"Take {gaps[0]}." if gaps and gaps[0].startswith("a photograph") else ""
    ask = ask or (f"Look at: {open_ones[0]}." if open_ones else (f"Measure {gaps[0]}." if gaps else ""))
    return Standing(known=known, missing=(*gaps, *open_ones), next=ask)


def _parts(item: Item) -> Standing:
    if not item.parts:
        return Standing(missing=("every part",), next="Say the first part: its name, its marking or value.")
    gaps = [one for one in missing(item) if " no value" in one or "rating" in one]
    ask = gaps[0] if gaps and " no value" in gaps[0] else ""
    return Standing(known=(_counted(len(item.parts), "part"),), missing=tuple(gaps), next=ask)


def _connections(item: Item) -> Standing:
    if not item.parts:
        return Standing(missing=("every connection",), next="Write down the parts first.")
    loose = [part.name for part in item.parts if not part.nodes]
    nodes = [node for part in item.parts for node in part.nodes.values()]
    nodes += [node for block in item.blocks for node in block.nodes]
    hanging = sorted({node for node in nodes if nodes.count(node) == 1 and node not in ("live", "neutral", "earth")})
    gaps = [f"where {name} is joined" for name in loose] + [f"what else is on the node {node}" for node in hanging]
    if not {"live", "neutral"} & set(nodes) and not loose:
        gaps.append("which nodes are live and neutral")
    ask = f"Find out {gaps[0]}." if gaps else ""
    return Standing(known=(_counted(len(set(nodes)), "node"),), missing=tuple(gaps), next=ask)


def _readings(item: Item) -> Standing:
    if not item.readings and not item.recordings:
        return Standing(missing=("any reading",), next="Take a reading: nothing checks what is computed until then.")
    gaps = [
        one
        for one in missing(item)
        if ("reading" in one.lower() or "meter" in one.lower()) and "mains voltage" not in one
    ]
    return Standing(known=(_counted(len(item.readings), "reading"),), missing=tuple(gaps))


def _hazards(item: Item) -> Standing:
    seen, open_ones = _looked(item, "outside", "closed", "plug", "open")
    known = (f"{seen} of {seen + len(open_ones)} questions answered",)
    ask = f"Look at: {open_ones[0]}." if open_ones else ""
    return Standing(known=known, missing=tuple(open_ones), next=ask)


_PAGES: Final[Mapping[str, Callable[[Item], Standing]]] = MappingProxyType(
    {
        "outside": _outside,
        "closed": _closed,
        "plug": _plug,
        "opening": _opening,
        "parts": _parts,
        "connections": _connections,
        "readings": _readings,
        "hazards": _hazards,
    }
)
