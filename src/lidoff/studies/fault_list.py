"""Which faults a circuit can have, one at a time, each as a changed circuit.

Every part open and short; every pair of pins of parts with three or more; and what such parts really do when they age
or are mistreated: a capacitor that has lost half its value, an electrolytic dried out, a triac that conducts one way
only, one LED of a pair gone, a strip reversed or cut, a wiper loose, insulation bridged, water, the plug the other way
up. This is the single-fault thinking of IEC 62368-1 and IEC 60335-1 clause 19, as an aid, not a test.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import combinations
from types import MappingProxyType
from typing import Any, Final

from lidoff.circuit.model import Circuit, Element
from lidoff.kinds import KINDS
from lidoff.record import Item, Table
from lidoff.record.model import EMPTY
from lidoff.studies.errors import StudyError
from lidoff.studies.fold import break_out
from lidoff.studies.surgery import OPEN, SHORT, as_resistor, joined, lifted, made, renamed, resistor, swapped, valued

# A dried-out electrolytic keeps some 30 % of its capacitance and has ten times its series resistance, which was that of
# a loss factor of 0.15 at 100 Hz (common practice, no source).
_DRY_SHARE: Final = 0.3
_DRY_LOSS: Final = 10.0 * 0.15 / (2.0 * math.pi * 100.0)
_ELECTROLYTIC: Final = 0.68e-6  # [F] smoothing capacitors from here on are taken to be electrolytics
# Tap water of 0.05 S/m in a film 10 mm wide and 1 mm thick over 3 mm: 6 kohm (common practice, no source).
WATER: Final = 5e3  # [ohm]
PLUG, TERMINALS = "plug", "terminals"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One fault: the part, how it fails, and the circuit that results.

    `mode` is the word for scripts ("short", "open diode ac1-plus"), `words` say it in a sentence after the part's name.
    `owners` maps names of parts made for the purpose to the part they belong to; `silent` are parts that are not judged
    any more, for they are what failed. `exposed` are nodes that lie bare, or come out at `surface`; `off`
    says that this is the item switched off.
    """

    part: str
    mode: str
    words: str
    circuit: Circuit
    owners: Mapping[str, str] = field(default_factory=lambda: EMPTY)
    silent: frozenset[str] = frozenset()
    exposed: tuple[str, ...] = ()
    surface: str | None = None
    off: bool = False


def is_electrolytic(element: Element) -> bool:
    """Whether a capacitor whose voltage keeps its sign is to be taken for an electrolytic, by its size and class."""
    return element.number("value") >= _ELECTROLYTIC and "class" not in element.rating


def cases(circuit: Circuit, item: Item | None, electrolytics: frozenset[str]) -> Iterator[Case]:
    """Every single fault of a circuit, part by part in the order of the record, then those of the whole item.

    `electrolytics` are the capacitors that may dry out.
    """
    for folded in circuit.elements:
        whole, element, owners = _single(circuit, folded)
        for case in _of_part(whole, element, folded.ref in electrolytics):
            yield replace(case, owners=Table({**owners, **case.owners}))
    yield from _of_item(circuit, item)


def _single(circuit: Circuit, element: Element) -> tuple[Circuit, Element, Mapping[str, str]]:
    """The circuit with that part on its own, where it stands for several of a block; and who the others are."""
    if element.block is None or element.series * element.parallel <= 1.0:
        return circuit, element, EMPTY
    try:
        broken = break_out(circuit, element.block)
    except StudyError:  # joined in some odd way: the fault then acts on all its members alike
        return circuit, element, EMPTY
    single = broken.circuit.element(element.ref)
    assert single is not None
    return broken.circuit, single, broken.others


def _of_part(circuit: Circuit, element: Element, electrolytic: bool) -> Iterator[Case]:
    special = _SPECIAL.get(element.kind)
    if special is not None:
        yield from special(circuit, element)
    elif len(element.pins) == 2:
        yield from _open_and_short(circuit, element)
    else:
        yield from _pins(circuit, element)
    if element.kind == "capacitor":
        yield from _aged(circuit, element, electrolytic)


def _open_and_short(circuit: Circuit, element: Element) -> Iterator[Case]:
    ref = element.ref
    opened, shorted = _OTHER_WORDS.get(element.kind, ("open", "shorted"))
    yield Case(part=ref, mode="open", words=opened, circuit=as_resistor(circuit, ref, OPEN), silent=frozenset({ref}))
    yield Case(part=ref, mode="short", words=shorted, circuit=as_resistor(circuit, ref, SHORT), silent=frozenset({ref}))


def _indicator(circuit: Circuit, element: Element) -> Iterator[Case]:
    """A neon that shorts leaves the resistor in its own lead; one fault does not take both."""
    opened, shorted = _open_and_short(circuit, element)
    yield opened
    series = element.number("series")
    if series > 0.0:
        limited = as_resistor(circuit, element.ref, max(series, SHORT))
        shorted = replace(shorted, words="shorted, its series resistor whole", circuit=limited)
    yield shorted


_OTHER_WORDS: Final = {
    "fuse": ("blown or missing", "bridged by foil or wire"),
    "switch": ("not closing any more", "welded, so that it no longer switches off"),
    "thermostat": ("not closing any more", "welded, so that nothing limits the temperature"),
}


def _pins(circuit: Circuit, element: Element) -> Iterator[Case]:
    """Each pin lifted, each pair of pins joined."""
    ref = element.ref
    for pin in element.pins:
        yield Case(part=ref, mode=f"open {pin}", words=f"with its {pin} open", circuit=lifted(circuit, ref, pin))
    yield from _pairs(circuit, element)


def _pairs(circuit: Circuit, element: Element, main: tuple[str, str] | None = None) -> Iterator[Case]:
    ref = element.ref
    for (pin, node), (other, second) in combinations(element.pins.items(), 2):
        if node == second:
            continue
        mode = "short" if (pin, other) == main else f"short {pin}-{other}"
        yield Case(
            part=ref,
            mode=mode,
            words=f"shorted from {pin} to {other}",
            circuit=joined(circuit, f"{ref}~short", node, second),
            silent=frozenset({f"{ref}~short"}),
        )


def _aged(circuit: Circuit, element: Element, electrolytic: bool) -> Iterator[Case]:
    ref, value = element.ref, element.number("value")
    yield Case(
        part=ref, mode="halved", words="with half its capacitance left", circuit=valued(circuit, ref, value=0.5 * value)
    )
    if electrolytic:
        dry = _DRY_SHARE * value
        yield Case(
            part=ref,
            mode="dried out",
            words="dried out",
            circuit=valued(circuit, ref, value=dry, esr=max(_DRY_LOSS / value, 10.0 * element.number("esr"))),
        )


def _bridge(circuit: Circuit, element: Element) -> Iterator[Case]:
    ref = element.ref
    ways = (("ac1", "plus"), ("ac2", "plus"), ("minus", "ac1"), ("minus", "ac2"))

    def diode(way: tuple[str, str]) -> Element:
        nodes = (element.node(way[0]), element.node(way[1]))
        return made(f"{ref}~{way[0]}-{way[1]}", "diode", nodes, dict(element.values), element)

    for way in ways:
        left = [diode(other) for other in ways if other != way]
        yield Case(
            part=ref,
            mode=f"open diode {way[0]}-{way[1]}",
            words=f"with its diode from {way[0]} to {way[1]} open",
            circuit=swapped(circuit, ref, *left),
            owners=Table({one.ref: ref for one in left}),
        )
    yield from _pairs(circuit, element)


def _led(circuit: Circuit, element: Element) -> Iterator[Case]:
    ref, series, parallel = element.ref, element.number("series"), element.number("parallel")
    anode, cathode = (element.nodes[0], element.nodes[1])
    assert anode is not None
    assert cathode is not None
    silent = frozenset({ref})
    yield Case(part=ref, mode="open", words="open", circuit=as_resistor(circuit, ref, OPEN), silent=silent)
    yield Case(part=ref, mode="short", words="shorted", circuit=as_resistor(circuit, ref, SHORT), silent=silent)
    if series > 1.0:
        yield Case(
            part=ref,
            mode="one LED short",
            words="with one LED shorted" if parallel < 2.0 else "with one group of its LEDs shorted",
            circuit=valued(circuit, ref, series=series - 1.0),
        )
    if parallel > 1.0:
        between = f"{ref}~between"
        mates = made(
            f"{ref}~mates",
            "led",
            (between, cathode),
            {**element.values, "series": 1.0, "parallel": parallel - 1},
            element,
        )
        pieces = [mates]
        if series > 1.0:
            rest = made(ref, "led", (anode, between), {**element.values, "series": series - 1.0}, element)
            pieces.append(rest)
        else:
            pieces = [replace(mates, nodes=(anode, cathode))]
        left = "its mate carries" if parallel == 2.0 else f"its {parallel - 1:g} mates carry"
        yield Case(
            part=ref,
            mode="one LED open",
            words=f"with one LED open, so that {left} it all",
            circuit=swapped(circuit, ref, *pieces),
            owners=Table({mates.ref: ref}),
        )
    turned = replace(element, nodes=(cathode, anode))
    yield Case(part=ref, mode="reversed", words="the wrong way round", circuit=swapped(circuit, ref, turned))
    if series > 1.0 or element.block is not None:
        yield from _cut(circuit, element, anode, cathode)


def _cut(circuit: Circuit, element: Element, anode: str, cathode: str) -> Iterator[Case]:
    """The string cut through, or its end cap off: both ends lie bare."""
    ref, series = element.ref, element.number("series")
    if series < 2.0:
        gone = as_resistor(circuit, ref, OPEN)
        yield Case(
            part=ref,
            mode="cut",
            words="cut, its ends bare",
            circuit=gone,
            silent=frozenset({ref}),
            exposed=(anode, cathode),
        )
        return
    near, far = f"{ref}~near", f"{ref}~far"
    upper = made(ref, "led", (anode, near), {**element.values, "series": math.ceil(series / 2.0)}, element)
    lower = made(f"{ref}~rest", "led", (far, cathode), {**element.values, "series": math.floor(series / 2.0)}, element)
    yield Case(
        part=ref,
        mode="cut",
        words="cut through, its ends bare",
        circuit=swapped(circuit, ref, upper, resistor(f"{ref}~cut", near, far, OPEN), lower),
        owners=Table({lower.ref: ref}),
        silent=frozenset({f"{ref}~cut"}),
        exposed=(near, far),
    )


def _gated(circuit: Circuit, element: Element) -> Iterator[Case]:
    """Triac or thyristor: never firing, stuck on, each other pair of pins, and conducting one way only."""
    ref = element.ref
    main = ("mt1", "mt2") if element.kind == "triac" else ("anode", "cathode")
    first, second, gate = element.nodes
    assert first is not None
    assert second is not None
    dead = valued(circuit, ref, gate_current=1e6, off_resistance=OPEN)
    yield Case(part=ref, mode="open", words="open, so that it never fires", circuit=dead)
    for case in _pairs(circuit, element, main):
        yield replace(case, words="stuck on") if case.mode == "short" else case
    yield Case(part=ref, mode="open gate", words="with its gate open", circuit=lifted(circuit, ref, "gate"))
    if element.kind == "triac":
        half = made(ref, "thyristor", (second, first, gate), dict(element.values), element)
        yield Case(part=ref, mode="one way", words="conducting one way only", circuit=swapped(circuit, ref, half))


def _potentiometer(circuit: Circuit, element: Element) -> Iterator[Case]:
    ref = element.ref
    a, wiper, b = (element.node(pin) for pin in ("a", "wiper", "b"))
    assert wiper is not None
    if a is not None and b is not None:
        track = made(ref, "resistor", (a, b), {"value": element.number("value")}, element)
        loose = swapped(circuit, ref, track, resistor(f"{ref}~wiper", a, wiper, OPEN))
        silent = frozenset({f"{ref}~wiper"})
    else:
        loose, silent = as_resistor(circuit, ref, OPEN), frozenset({ref})
    yield Case(part=ref, mode="wiper loose", words="with a loose wiper", circuit=loose, silent=silent)
    for pin in ("a", "b"):
        if a is not None and b is not None:
            yield Case(
                part=ref, mode=f"open {pin}", words=f"with its end {pin} open", circuit=lifted(circuit, ref, pin)
            )
    yield from _pairs(circuit, element)


def _windings(circuit: Circuit, element: Element) -> Iterator[Case]:
    """Transformer or choke: each winding open, each winding shorted, the two windings touching."""
    ref = element.ref
    names = ("primary", "secondary") if element.kind == "transformer" else ("winding a", "winding b")
    pins = KINDS[element.kind].pins
    for name, (pin, other) in zip(names, (pins[:2], pins[2:]), strict=True):
        yield Case(part=ref, mode=f"open {name}", words=f"with its {name} open", circuit=lifted(circuit, ref, pin))
        first, second = element.node(pin), element.node(other)
        assert first is not None
        assert second is not None
        yield Case(
            part=ref,
            mode=f"short {name}",
            words=f"with its {name} shorted",
            circuit=joined(circuit, f"{ref}~short", first, second),
            silent=frozenset({f"{ref}~short"}),
        )
    first, second = element.node(pins[0]), element.node(pins[2])
    assert first is not None
    assert second is not None
    if first != second:
        yield Case(
            part=ref,
            mode=f"short {names[0]}-{names[1]}",
            words="with its two windings touching",
            circuit=joined(circuit, f"{ref}~short", first, second),
            silent=frozenset({f"{ref}~short"}),
        )


_Special = Callable[[Circuit, Element], Iterator[Case]]
_SPECIAL: Final[Mapping[str, _Special]] = MappingProxyType(
    {
        "bridge": _bridge,
        "indicator": _indicator,
        "led": _led,
        "triac": _gated,
        "thyristor": _gated,
        "potentiometer": _potentiometer,
        "transformer": _windings,
        "choke": _windings,
    }
)


def _of_item(circuit: Circuit, item: Item | None) -> Iterator[Case]:
    """What befalls the whole item: plug turned, switched off, wetted, its insulation bridged."""
    turned = renamed(circuit, {"live": "neutral", "neutral": "live"})
    how = _turned_words(item)
    yield Case(part=PLUG, mode="reversed", words=how, circuit=turned)
    switches = [e.ref for e in circuit.elements if e.kind == "switch" and e.values["closed"]]
    if switches:
        name = " and ".join(switches)
        for mode, words, whole in (
            ("off", "switched off", circuit),
            ("off, plug reversed", f"switched off with the plug {how}", turned),
        ):
            off = whole
            for ref in switches:
                off = valued(off, ref, closed=False)
            yield Case(part=name, mode=mode, words=words, circuit=off, off=True)
    yield Case(
        part=TERMINALS,
        mode="water",
        words="bridged by water",
        circuit=joined(circuit, f"{TERMINALS}~water", "live", "neutral", WATER),
        silent=frozenset({f"{TERMINALS}~water"}),
    )
    yield from _gaps(circuit, item)


def _turned_words(item: Item | None) -> str:
    """How the two poles come to be swapped: a plug that fits both ways, or one that is wired so."""
    plug = item.plug if item is not None else EMPTY
    found = plug.get("wiring") or {}
    swapped_as_found = {(colour, pin) for colour, pin in found.items() if (colour, pin) in _SWAPPED}
    if swapped_as_found:
        return "wired with live and neutral swapped, as found"
    kind = str(plug.get("kind", "")).upper()
    if "1363" in kind or (item is not None and item.region == "GB" and not kind):
        return "wired with live and neutral swapped"
    return "the other way up"


_SWAPPED: Final = frozenset(
    {("brown", "neutral"), ("blue", "live"), ("black", "neutral"), ("white", "live"), ("red", "neutral")}
)


def _gaps(circuit: Circuit, item: Item | None) -> Iterator[Case]:
    """Each recorded gap that is less than reinforced, bridged: from node to node, or out to a surface."""
    surfaces = {f"surface:{s.get('name')}": s for s in item.surfaces} if item is not None else {}
    for gap in item.gaps if item is not None else ():
        ends = gap.get("between", ())
        if len(ends) != 2 or gap.get("insulation") == "reinforced":
            continue
        name = f"gap {ends[0]} to {ends[1]}".replace("surface:", "")
        nodes = [_node_of(circuit, end, surfaces) for end in ends]
        outside = next((str(end) for end in ends if str(end) in surfaces), None)
        if None not in nodes and nodes[0] != nodes[1]:
            ref = f"{name}~bridge"
            bridged = joined(circuit, ref, str(nodes[0]), str(nodes[1]))
            yield Case(part=name, mode="bridged", words="bridged", circuit=bridged, silent=frozenset({ref}))
        elif outside is not None and (inside := next((n for n in nodes if n is not None), None)) is not None:
            surface = str(surfaces[outside].get("name"))
            yield Case(part=name, mode="bridged", words="bridged", circuit=circuit, exposed=(inside,), surface=surface)


def _node_of(circuit: Circuit, end: str, surfaces: Mapping[str, Mapping[str, Any]]) -> str | None:
    """The node that an end of a gap is: its own, that of its surface, or none."""
    node = surfaces[end].get("node") if end in surfaces else end
    if not isinstance(node, str) or node == "insulated":
        return None
    resolved = circuit.resolve(node)
    return resolved if resolved in circuit.nodes or resolved == "earth" else None
