"""Hypothesis strategies for legal records, for every room that needs some: `from tests.record.strategies import items`.

`items()` gives whole items; their circuits are legal records, not circuits that must work.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from lidoff.kinds import CAPACITOR_CLASSES, KINDS, MAINS_NODES, RATING_UNITS, Key
from lidoff.quantity import UNIT_OF_QUANTITY, parse_reading
from lidoff.record import (
    Accuracy,
    Block,
    Item,
    Meter,
    OwnParagraph,
    Part,
    Photo,
    Reading,
    Recording,
    Sighting,
    State,
    Supply,
    Table,
    Telling,
    Unknown,
)
from lidoff.record.fields import out_of_bounds
from lidoff.record.measured import METER_KEYS, METER_KINDS, bounds_of
from lidoff.record.supply import INFERABLE
from lidoff.record.telling import ALWAYS, CHAPTERS, START
from lidoff.record.things import SHOWS, SIDES

NODES = (*MAINS_NODES, "p", "m", "x", "t w", "g2", "live2")
TEXTS = st.text(st.sampled_from("abcXYZ 019äΩ\"'\\#[]=\n\t.,"), min_size=1, max_size=20).map(str.strip).filter(bool)
FILES = st.sampled_from(["photos/a.jpg", "recordings/b c.csv", "x.png"])
SHARES = st.one_of(st.integers(0, 100).map(lambda percent: percent / 100), st.floats(0.0, 1.0))
_DIGITS = st.integers(1, 9999)


@st.composite
def numbers(draw: st.DrawFn, spec: Key) -> float:
    """A value that the key may have: short numbers over many decades, and floats to the last bit."""
    if spec.whole:
        return float(draw(st.integers(1, 200)))
    if spec.most is not None:
        low = spec.least if spec.least is not None else -spec.most
        return draw(st.floats(low, spec.most, exclude_min=spec.least_open, allow_subnormal=False))
    short = st.builds(lambda digits, power: float(f"{digits}e{power}"), _DIGITS, st.integers(-14, 8))
    value = draw(st.one_of(short, st.floats(1e-15, 1e12)))
    if spec.least is None and draw(st.booleans()):
        value = -value
    if not spec.least_open and draw(st.integers(0, 9)) == 0:
        value = 0.0
    return value if out_of_bounds(value, spec) is None else float(spec.least or 1.0)


@st.composite
def unknowns(draw: st.DrawFn, spec: Key) -> Unknown:
    """A value to be inferred, with or without bounds."""
    low, high = sorted((draw(numbers(spec)), draw(numbers(spec))))
    return Unknown((low, high)) if low < high and draw(st.booleans()) else Unknown()


@st.composite
def values(draw: st.DrawFn, keys: tuple[Key, ...], *, least: int = 0) -> Table:
    """Some of the keys of a part kind with values."""
    chosen = draw(st.lists(st.sampled_from(keys), unique_by=lambda key: key.name, min_size=least, max_size=len(keys)))
    found: dict[str, Any] = {}
    for key in sorted(chosen, key=keys.index):
        if key.unit == "bool":
            found[key.name] = draw(st.booleans())
        elif key.unit == "word":
            found[key.name] = draw(st.sampled_from(key.choices))
        else:
            found[key.name] = draw(st.one_of(numbers(key), numbers(key), unknowns(key)))
    return Table(found)


@st.composite
def parts(draw: st.DrawFn, ref: str, block: str | None = None, kind_name: str | None = None) -> Part:
    """One part of any kind."""
    kind = KINDS[kind_name or draw(st.sampled_from(sorted(KINDS)))]
    names = ("in", "out", "u", "v") if block else NODES
    pins = kind.pins
    if kind.optional_pins and draw(st.booleans()):
        absent = draw(st.sampled_from(sorted(kind.optional_pins)))
        pins = tuple(pin for pin in pins if pin != absent)
    if len(kind.pins) == 2:
        nodes = dict(zip(pins, draw(st.permutations(names)), strict=False))
    else:
        nodes = {pin: draw(st.sampled_from(names)) for pin in pins}
    found = draw(values(kind.keys))
    rating: dict[str, Any] = {
        name: draw(numbers(Key(name=name, unit=unit)))
        for name, unit in RATING_UNITS.items()
        if draw(st.integers(0, 4)) == 0
    }
    if kind.name == "capacitor" and draw(st.booleans()):
        rating["class"] = draw(st.sampled_from(CAPACITOR_CLASSES))
    if kind.name == "fuse" and rating:
        # A fuse's rated current has two places to stand in; a record as read has it in both or in the values alone.
        rated = found.get("rating")
        if isinstance(rated, float):
            rating["current"] = rated
        else:
            rating.pop("current", None)
            found = Table({key: value for key, value in found.items() if key != "rating"})
    numeric = [key.name for key in kind.keys if key.unit not in ("bool", "word")]
    tolerance: Any = draw(st.one_of(st.none(), SHARES))
    if numeric and draw(st.integers(0, 5)) == 0:
        tolerance = Table({draw(st.sampled_from(numeric)): draw(SHARES)})
    return Part(
        ref=ref,
        kind=kind.name,
        marking=draw(st.one_of(st.none(), TEXTS.filter(lambda text: text != "?"))),
        values=found,
        tolerance=tolerance,
        rating=Table(rating),
        nodes=Table(nodes) if draw(st.integers(0, 9)) else Table(),
        block=block,
        count=draw(st.one_of(st.none(), st.integers(1, 500))),
        note=draw(st.one_of(st.none(), TEXTS)),
    )


@st.composite
def supplies(draw: st.DrawFn, *, bench: bool = False) -> Supply:
    """The mains, or a bench supply."""
    specs = {spec.name: spec for spec in INFERABLE}
    optional = {
        name: draw(st.one_of(st.none(), numbers(specs[name]), unknowns(specs[name])))
        for name in ("resistance", "inductance")
    }
    measured, width = draw(st.one_of(st.none(), st.booleans())), draw(st.one_of(st.none(), SHARES))
    if bench:
        return Supply(
            dc=draw(st.one_of(numbers(specs["dc"]), unknowns(specs["dc"]))),
            limit=draw(st.one_of(st.none(), numbers(Key(name="limit", unit="A")))),
            nodes=("live", "neutral"),
            measured=measured,
            range=width,
            **optional,
        )
    shape = st.dictionaries(st.integers(2, 40), SHARES, max_size=4).map(Table)
    return Supply(
        voltage=draw(st.one_of(st.none(), numbers(specs["voltage"]), unknowns(specs["voltage"]))),
        frequency=draw(st.one_of(st.none(), numbers(specs["frequency"]), unknowns(specs["frequency"]))),
        shape=draw(st.one_of(st.none(), shape)),
        measured=measured,
        range=width,
        **optional,
    )


@st.composite
def states(draw: st.DrawFn, name: str, known: tuple[Part, ...]) -> State:
    """A state of an item that has the parts `known`."""
    names = [part.name for part in known]
    removed, bypassed, changed = (
        tuple(draw(st.lists(st.sampled_from(names), unique=True, max_size=3))) if names else () for _ in range(3)
    )
    given: dict[str, Any] = {}
    for part in known:
        if part.name in changed and part.name not in removed:
            given[part.name] = draw(values(KINDS[part.kind].keys, least=1))
    return State(
        name=name,
        set=Table(given),
        remove=removed,
        bypass=tuple(part for part in bypassed if part not in removed),
        add=tuple(draw(parts(f"ADD{number}")) for number in range(draw(st.integers(0, 2)))),
        supply=draw(st.one_of(st.none(), supplies(), supplies(bench=True))),
        minutes_on=draw(st.one_of(st.none(), st.floats(0.0, 1e4), st.integers(0, 99).map(float))),
        note=draw(st.one_of(st.none(), TEXTS)),
    )


@st.composite
def meters(draw: st.DrawFn, name: str) -> Meter:
    """A meter of any kind."""
    quantities = draw(st.lists(st.sampled_from(sorted(UNIT_OF_QUANTITY)), unique=True, max_size=4))
    width = st.builds(lambda digits, power: float(f"{digits}e{power}"), st.integers(1, 99), st.integers(-6, 1))
    extra: dict[str, Any] = {spec.name: draw(numbers(spec)) for spec in METER_KEYS if draw(st.integers(0, 5)) == 0}
    return Meter(
        name=name,
        kind=draw(st.sampled_from([*METER_KINDS, "?"])),
        accuracy=Table(
            {
                quantity: Accuracy(
                    share=draw(st.integers(0, 50)) / 1000,
                    floor=draw(st.one_of(st.just(0.0), width)),
                    normal=draw(st.booleans()),
                )
                for quantity in quantities
            }
        ),
        resolution=Table({quantity: draw(width) for quantity in quantities if draw(st.booleans())}),
        extra=Table(extra),
    )


@st.composite
def readings(draw: st.DrawFn, item: Item) -> Reading:
    """A reading at any place of `item`, with any of its meters and states."""
    quantity = draw(st.sampled_from(sorted(UNIT_OF_QUANTITY)))
    spec = bounds_of(quantity)
    unit = {"": "", "ohm": "R", "K": "K", "deg": "deg"}.get(spec.unit, spec.unit)
    if spec.most is not None:
        text = f"{draw(st.integers(1, 99)) / 100 * spec.most:.2f} {unit}".strip()
    else:
        text = f"{draw(st.integers(1, 9999)) / 10 ** draw(st.integers(0, 3))} {unit}".strip()
    if draw(st.booleans()):
        text = f"about {text}"
    read = parse_reading(text, spec.unit)
    joined = sorted({node for part in item.parts if part.block is None for node in part.nodes.values()})
    places: list[Any] = ["input", ("live", "neutral"), *(part.name for part in item.parts)]
    if len(joined) > 1:
        places.append((joined[0], joined[1]))
    return Reading(
        quantity=quantity,
        value=read.value,
        unit=spec.unit,
        text=text,
        doubt=read.doubt,
        digit=read.digit,
        meter=draw(st.sampled_from([None, *(meter.name for meter in item.meters)])),
        state=draw(st.sampled_from([None, *(state.name for state in item.states)])),
        at=draw(st.sampled_from(places)),
        note=draw(st.one_of(st.none(), TEXTS)),
    )


_WIRES = st.fixed_dictionaries(
    {"ref": st.sampled_from(["W1", "W2"])},
    optional={
        "print": TEXTS,
        "length": st.sampled_from([1.4, 0.31, 2.0]),
        "resistance": st.sampled_from([Table({"value": 0.11, "method": "1 A and millivolts", "leads": 0.2})]),
        "mass": st.sampled_from([0.0024, 0.0067]),
        "core": st.sampled_from(["copper", "copper-clad aluminium", "?"]),
        "told_by": st.sampled_from([("scraped",), ("scraped", "weighed")]),
        "from": TEXTS,
        "to": TEXTS,
    },
).map(Table)
_GAPS = st.fixed_dictionaries(
    {"between": st.just(("live", "surface:end cap"))},
    optional={
        "clearance": st.sampled_from([0.0021, 0.0, 0.00315]),
        "creepage": st.sampled_from([0.0024, 0.008]),
        "insulation": st.sampled_from(["functional", "basic", "supplementary", "reinforced", "?"]),
        "pollution_degree": st.integers(1, 4),
        "material_group": st.sampled_from(["I", "II", "IIIa", "IIIb"]),
    },
).map(Table)
_PLUGS = st.fixed_dictionaries(
    {},
    optional={
        "kind": TEXTS,
        "fuse": st.sampled_from([3.0, 3.15, 13.0]),
        "wiring": st.just(Table({"brown": "live", "blue": "neutral", "green/yellow": "nothing"})),
        "switch_breaks": st.sampled_from(["live", "neutral", "both"]),
    },
).map(Table)
_VERDICTS = st.fixed_dictionaries(
    {}, optional={"text": TEXTS, "for": TEXTS, "because": st.lists(TEXTS, min_size=1, max_size=3).map(tuple)}
).map(Table)
_DRAWINGS = st.dictionaries(
    TEXTS, st.one_of(TEXTS, st.booleans(), st.integers(0, 99), st.tuples(st.floats(0, 1), st.just(2))), max_size=3
).map(Table)


_SOME_CHAPTERS = st.lists(st.sampled_from(CHAPTERS), max_size=3, unique=True).map(tuple)
_TELLINGS = st.builds(
    Telling,
    order=_SOME_CHAPTERS,
    leave_out=_SOME_CHAPTERS.map(lambda names: tuple(name for name in names if name not in ALWAYS)),
    form=st.sampled_from([None, "short", "full"]),
    paragraphs=st.lists(st.builds(OwnParagraph, after=st.sampled_from([START, *CHAPTERS]), text=TEXTS), max_size=2).map(
        tuple
    ),
)


@st.composite
def items(draw: st.DrawFn, path: Path = Path("item.toml"), most_parts: int = 6) -> Item:
    """A legal record of everything that a record may hold."""
    blocks: tuple[Block, ...] = ()
    found = [draw(parts(f"P{number}")) for number in range(draw(st.integers(0, most_parts)))]
    if found and draw(st.integers(0, 2)) == 0:
        counts = st.one_of(st.integers(1, 40), st.sampled_from([Unknown(), Unknown((2.0, 30.0))]))
        blocks = (Block(name="section", repeat=draw(counts), parallel=draw(counts), nodes=("p", "live")),)
        nodes = Table({"1": "in", "2": "out"})
        found.append(replace(draw(parts("R1", "section", "resistor")), nodes=nodes))
        found.append(draw(parts("P0", "section")))
    item = Item(
        path=path,
        title=draw(st.one_of(st.just(""), TEXTS)),
        protection_class=draw(st.sampled_from(["I", "II", "III", "?"])),
        region=draw(st.sampled_from([None, "GB", "EU", "US"])),
        kind=draw(st.sampled_from([None, "luminaire", "adapter", "dimmer"])),
        use=draw(st.one_of(st.none(), TEXTS)),
        note=draw(st.one_of(st.none(), TEXTS)),
        rated=draw(
            st.sampled_from(
                [
                    Table(),
                    Table({"voltage": 230.0, "power": 9.0}),
                    Table({"voltage_low": 220.0, "voltage_high": 240.0, "frequency_low": 50.0, "frequency_high": 60.0}),
                ]
            )
        ),
        supply=draw(supplies()),
        parts=tuple(found),
        blocks=blocks,
        photos=tuple(
            draw(
                st.lists(
                    st.builds(
                        Photo,
                        file=FILES,
                        side=st.sampled_from([None, *SIDES]),
                        shows=st.sampled_from([None, *SHOWS]),
                        note=st.one_of(st.none(), TEXTS),
                    ),
                    max_size=2,
                )
            )
        ),
        sightings=tuple(
            draw(
                st.lists(
                    st.builds(
                        Sighting,
                        about=TEXTS,
                        seen=st.one_of(st.just(""), TEXTS),
                        photo=st.one_of(st.none(), FILES),
                        note=st.one_of(st.none(), TEXTS),
                    ),
                    max_size=2,
                )
            )
        ),
        wires=tuple(draw(st.lists(_WIRES, max_size=2))),
        gaps=tuple(draw(st.lists(_GAPS, max_size=2))),
        surfaces=draw(st.sampled_from([(), (Table({"name": "end cap", "reached": "by hand", "node": "insulated"}),)])),
        plug=draw(_PLUGS),
        verdict=draw(_VERDICTS),
        drawing=draw(_DRAWINGS),
        writeup=draw(_TELLINGS),
    )
    item = replace(
        item,
        states=tuple(draw(states(name, item.parts)) for name in ("full", "knob down")[: draw(st.integers(0, 2))]),
        meters=tuple(draw(meters(name)) for name in ("plug-in meter", "hand meter")[: draw(st.integers(0, 2))]),
    )
    recording = Recording(
        file="recordings/clamp.csv",
        columns=Table({"time": "t", "voltage": 2, "current": "CH1 (A)"}),
        units=Table({"time": "ms"}),
        scale=Table({"current": "10 A/V"}),
        sample_rate=draw(st.sampled_from([None, 1e5])),
        coupling=draw(st.sampled_from([None, "dc", "ac"])),
    )
    return replace(
        item,
        readings=tuple(draw(readings(item)) for _ in range(draw(st.integers(0, 3)))),
        recordings=(recording,) if draw(st.booleans()) else (),
    )


def bare(value: Any) -> Any:
    """A record without the lines it was read from and what was said about it, to compare two of them."""
    if isinstance(value, Table):
        return Table({key: bare(held) for key, held in value.items()})
    if isinstance(value, tuple):
        return tuple(bare(one) for one in value)
    if not is_dataclass(value) or isinstance(value, type):
        return value
    changed = {field.name: bare(getattr(value, field.name)) for field in fields(value)}
    changed.update({name: kept for name, kept in (("line", 0), ("warnings", ()), ("path", Path())) if name in changed})
    return replace(value, **changed)
