"""What a record says is read into SI values; what is wrong with it is said in one sentence with line, key and ref."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lidoff.record import Accuracy, Item, Problem, RecordError, Unknown, examine, read_text

# The record of the format's own description, completed so that every name in it refers to something.
FULL = """lidoff = 1
[item]
title = "Bookcase light, plug-in"
class = "II"
region = "GB"
kind = "luminaire"
use = "on a bookcase, reach of children"
rated = { voltage = "230 V", frequency = "50 Hz", power = "9 W" }
[supply]
voltage = "230 V"
range = "10 %"
frequency = "50 Hz"
resistance = "0R4"
inductance = 0
shape = { h3 = "2 %", h5 = 0.01 }
[[part]]
ref = "F1"
kind = "fuse"
rating = "3.15 A"
speed = "quick"
nodes = ["live", "f"]
[[part]]
ref = "R1"
kind = "resistor"
marking = "brown green red gold"
value = "1k5"
tolerance = "5 %"
rating = { power = "0.5 W", voltage = "350 V" }
nodes = ["f", "a"]
[[part]]
ref = "C1"
kind = "capacitor"
value = "2u2"
esr = "?"
between = ["150 mR", "2 R"]
rating = { voltage_ac = "275 V", class = "X2", temperature = "100 °C" }
nodes = ["a", "b"]
[[part]]
ref = "BR1"
kind = "bridge"
nodes = { minus = "m", plus = "p", ac2 = "neutral", ac1 = "b" }
[[part]]
ref = "VR1"
kind = "potentiometer"
value = "470k"
position = "40 %"
nodes = { a = "p", wiper = "w" }
[[part]]
ref = "D1"
kind = "led"
block = "section"
series = "?"
parallel = 2
forward_voltage = "?"
between = { series = [2, 6], forward_voltage = ["2.8 V", "3.3 V"] }
count = 72
nodes = { anode = "in", cathode = "k" }
[[part]]
ref = "R1"
kind = "resistor"
block = "section"
value = "1240 R"
nodes = ["k", "out"]
[[block]]
name = "section"
repeat = 12
parallel = 1
nodes = ["p", "m"]
[[state]]
name = "full"
set = { VR1 = { position = 0.0 }, "section/R1" = { value = "1k3" }, section = { repeat = 10 } }
supply = { voltage = "243 V", measured = true }
minutes_on = 20
[[state]]
name = "string on a bench supply"
remove = ["VR1", "BR1"]
bypass = ["F1"]
add = [{ ref = "C9", kind = "capacitor", value = "4u7", nodes = ["p", "m"] }]
supply = { dc = "24 V", limit = "5 mA", nodes = ["p", "m"] }
[[meter]]
name = "plug-in meter"
kind = "power-meter"
accuracy = { power = "1 % + 0.2 W", current = "1 % + 2 digits", power_factor = "0.02" }
resolution = { power = "0.1 W", current = "1 mA" }
[[reading]]
quantity = "power"
value = "about 8.1 W"
meter = "plug-in meter"
state = "full"
at = "input"
[[reading]]
quantity = "resistance"
value = 1490.0
at = "section/R1"
[[reading]]
quantity = "voltage_dc"
value = "-21 V"
state = "string on a bench supply"
at = ["p", "m"]
[[recording]]
file = "recordings/clamp.csv"
columns = { time = "t", voltage = "CH1", current = 3 }
units = { time = "ms" }
scale = { current = "10 A/V" }
coupling = "dc"
[[photo]]
file = "photos/copper.jpg"
side = "bottom"
shows = "copper"
[[sighting]]
about = "cord-grip"
seen = "knot only"
photo = "photos/cord-entry.jpg"
note = "pulls through with two fingers"
[[wire]]
ref = "W1"
print = "2x0.5mm2"
length = "1.4 m"
resistance = { value = "0.11 R", method = "1 A and millivolts" }
mass = "2.4 g/m"
core = "copper"
told_by = ["scraped", "weighed"]
from = "plug"
to = "board"
[[gap]]
between = ["live", "surface:end cap"]
clearance = "2.1 mm"
creepage = "2.4 mm"
insulation = "reinforced"
pollution_degree = 2
material_group = "IIIa"
[[surface]]
name = "end cap"
reached = "by hand"
node = "insulated"
[plug]
kind = "BS 1363"
fuse = "3 A"
wiring = { brown = "live", blue = "neutral" }
switch_breaks = "live"
[verdict]
text = "Fine as a parts donor, not as a reading light."
for = "anyone who sits beside it"
because = ["flicker at 100 Hz", "cord held by a knot"]
[drawing]
R1 = { x = 3 }
"""


@pytest.fixture
def item() -> Item:
    return read_text(FULL, "lamp/item.toml")


def problems(text: str) -> tuple[Problem, ...]:
    try:
        return examine(text, Path("item.toml"))[1]
    except RecordError as error:
        return error.problems


def test_the_whole_format_reads_without_a_word(item: Item) -> None:
    """Every table and key of the format is known: nothing is warned about."""
    assert item.warnings == ()
    assert item.path == Path("lamp/item.toml")
    assert item.folder == Path("lamp")


def test_head_and_supply_are_in_si(item: Item) -> None:
    assert (item.title, item.protection_class, item.region, item.kind) == (
        "Bookcase light, plug-in",
        "II",
        "GB",
        "luminaire",
    )
    assert item.rated == {"voltage": 230.0, "frequency": 50.0, "power": 9.0}
    supply = item.supply
    assert (supply.voltage, supply.range, supply.frequency, supply.resistance) == (230.0, 0.1, 50.0, 0.4)
    assert supply.shape == {3: 0.02, 5: 0.01}
    assert supply.measured is None


def test_parts_are_in_si_with_their_lines(item: Item) -> None:
    resistor = item.parts[1]
    assert (resistor.ref, resistor.line, resistor.values, resistor.tolerance) == ("R1", 22, {"value": 1500.0}, 0.05)
    assert resistor.rating == {"power": 0.5, "voltage": 350.0}
    assert resistor.nodes == {"1": "f", "2": "a"}
    assert resistor.marking == "brown green red gold"
    assert item.parts[0].values == {"rating": 3.15, "speed": "quick"}
    assert item.parts[2].rating == {"voltage_ac": 275.0, "class": "X2", "temperature": 373.15}


def test_pins_stand_in_the_order_of_the_kind(item: Item) -> None:
    """Whatever the order written, first pin to second is the same for every part of a kind."""
    bridge = item.part("BR1")
    assert bridge is not None
    assert list(bridge.nodes) == ["ac1", "ac2", "plus", "minus"]


def test_unknowns_carry_their_bounds(item: Item) -> None:
    """With one unknown `between` is a list; with several it says which is which."""
    assert item.parts[2].values["esr"] == Unknown((0.15, 2.0))
    string = item.part("section/D1")
    assert string is not None
    assert string.values["series"] == Unknown((2.0, 6.0))
    assert string.values["forward_voltage"] == Unknown((2.8, 3.3))
    assert string.values["parallel"] == 2.0


def test_a_member_of_a_block_is_named_with_it(item: Item) -> None:
    """R1 and section/R1 are two parts; a bare ref serves where only one part has it."""
    outer, inner = item.part("R1"), item.part("section/R1")
    assert outer is not None
    assert inner is not None
    assert (outer.values["value"], inner.values["value"]) == (1500.0, 1240.0)
    assert item.part("D1") is item.part("section/D1")
    assert item.part("R7") is None


def test_a_fuse_may_give_its_current_in_the_table_of_ratings() -> None:
    """`rating = "2 A"` and `rating = { current = "2 A", voltage = "250 V" }` are the same rated current."""
    text = FULL.replace('rating = "3.15 A"', 'rating = { current = "2 A", voltage = "250 V" }')
    fuse = read_text(text, "item.toml").parts[0]
    assert fuse.values["rating"] == 2.0
    assert fuse.rating == {"current": 2.0, "voltage": 250.0}


def test_a_bare_ref_that_two_parts_bear_is_refused() -> None:
    """With an R5 in each of two blocks, a state has to say which; a part of the full name goes before both."""
    block = '[[block]]\nname = "{0}"\nnodes = ["p", "m"]\n[[part]]\nref = "R5"\nkind = "resistor"\nblock = "{0}"\n'
    text = "lidoff = 1\n" + block.format("x") + block.format("y") + '[[state]]\nname = "s"\nremove = ["R5"]\n'
    assert [one.key for one in problems(text)] == ["s.remove"]
    assert problems(text.replace('["R5"]', '["x/R5", "y"]')) == ()
    assert read_text(text + '[[part]]\nref = "R5"\nkind = "resistor"\n', "x.toml").states[0].remove == ("R5",)


def test_states_set_add_and_take_out(item: Item) -> None:
    full, bench = item.states
    assert full.set == {"VR1": {"position": 0.0}, "section/R1": {"value": 1300.0}, "section": {"repeat": 10.0}}
    assert full.supply is not None
    assert (full.supply.voltage, full.supply.measured, full.supply.frequency) == (243.0, True, None)
    assert full.minutes_on == 20.0
    assert (bench.remove, bench.bypass) == (("VR1", "BR1"), ("F1",))
    assert bench.add[0].values == {"value": 4.7e-6}
    assert bench.supply is not None
    assert (bench.supply.dc, bench.supply.limit, bench.supply.nodes) == (24.0, 0.005, ("p", "m"))


def test_meters_and_readings(item: Item) -> None:
    """Accuracies are share and floor; "about" makes the last digit doubtful; a bare number is in SI units."""
    meter = item.meter("plug-in meter")
    assert meter is not None
    assert meter.accuracy["power"] == Accuracy(share=0.01, floor=0.2)
    assert meter.accuracy["current"] == Accuracy(share=0.01, floor=0.002)
    assert meter.accuracy["power_factor"] == Accuracy(floor=0.02)
    power, resistance, voltage = item.readings
    assert (power.value, power.unit, power.doubt, power.digit, power.at) == (8.1, "W", 0.1, 0.1, "input")
    assert (resistance.value, resistance.at, resistance.text) == (1490.0, "section/R1", "")
    assert (voltage.value, voltage.at) == (-21.0, ("p", "m"))


def test_what_was_looked_at(item: Item) -> None:
    wire, gap = item.wires[0], item.gaps[0]
    assert wire["resistance"] == {"value": 0.11, "method": "1 A and millivolts"}
    assert (wire["length"], wire["mass"], wire["told_by"]) == (1.4, 0.0024, ("scraped", "weighed"))
    assert (gap["between"], gap["clearance"], gap["creepage"]) == (("live", "surface:end cap"), 0.0021, 0.0024)
    assert item.plug["fuse"] == 3.0
    assert item.verdict["because"] == ("flicker at 100 Hz", "cord held by a knot")
    assert item.drawing == {"R1": {"x": 3}}
    assert item.recordings[0].columns == {"time": "t", "voltage": "CH1", "current": 3}


def test_a_label_may_give_ranges() -> None:
    """Labels of adapters read "100-240 V" and "50/60 Hz"."""
    item = read_text('lidoff = 1\n[item]\nrated = { voltage = "100-240 V", frequency = "50/60 Hz" }\n', "x.toml")
    assert item.rated == {
        "voltage_low": 100.0,
        "voltage_high": 240.0,
        "frequency_low": 50.0,
        "frequency_high": 60.0,
    }


@pytest.mark.parametrize(
    "text",
    [
        "lidoff = 1\n",
        'lidoff = 1\n[[recording]]\nfile = "recordings/a.csv"\ncolumns = { time = 1, current = 2 }\n',
        'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\n',
        'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "?"\nmarking = "?"\n',
        'lidoff = 1\n[[reading]]\nquantity = "power"\nvalue = "8 W"\nat = ["p", "m"]\n',
        'lidoff = 1\n[[meter]]\nname = "my meter"\n',
        'lidoff = 1\n[[sighting]]\nnote = "smells of fish"\n',
    ],
)
def test_half_a_record_is_a_record(text: str) -> None:
    """Nothing is demanded that the asked-for result may not need."""
    assert problems(text) == ()


# What is written instead of what, then how many lines below it the problem stands, its key, and what is said.
WRONG = [
    ('value = "1k5"', 'value = "0R"', 0, "R1.value", 'must be above 0 Ω, but "0R" is written'),
    ('value = "2u2"', 'value = "-2u2"', 0, "C1.value", 'must be above 0 F, but "-2u2" is written'),
    ('value = "1k5"', "value = nan", 0, "R1.value", "nan is not a finite number; resistance is expected"),
    ('value = "1k5"', 'value = "1k5 F"', 0, "R1.value", 'in "1k5 F"|is in farads; resistance is expected in ohms'),
    ('value = "1k5"', 'value = ["1k5"]', 0, "R1.value", "is not a value; resistance is expected"),
    ('position = "40 %"', "position = 1.4", 0, "VR1.position", "must be at most 1, but 1.4 is written"),
    ('position = "40 %"', "position = -0.1", 0, "VR1.position", "must be at least 0, but -0.1 is written"),
    ("parallel = 2", "parallel = 2.5", 0, "section/D1.parallel", "must be a whole number, but 2.5 is written"),
    ('speed = "quick"', 'speed = "fast"', 0, "F1.speed", 'known: "very quick", quick, medium, slow, "very slow"'),
    ('kind = "bridge"', 'kind = "brige"', 0, "BR1.kind", '"brige" is not known here; nearest known: "bridge"'),
    ('kind = "bridge"', 'kind = "rectifier"', 0, "BR1.kind", 'nearest known: "bridge"'),
    ('ref = "BR1"', "", -1, "part.ref", 'is missing; every part and block needs one, such as ref = "R1"'),
    ('ref = "BR1"', 'ref = "F1"', 0, "F1.ref", r"two parts named F1 \(line 16\)"),
    ('ref = "BR1"', 'ref = "BR.1"', 0, "BR.1.ref", "must not hold blanks, points"),
    ('nodes = ["f", "a"]', 'nodes = ["f"]', 0, "R1.nodes", "must be a list of two nodes"),
    ('nodes = ["f", "a"]', "nodes = [1, 2]", 0, "R1.nodes", 'put it between quotes, "1"'),
    ('nodes = ["f", "a"]', 'nodes = ["f", "?"]', 0, "R1.nodes", r'"\?" is not a node'),
    ('plus = "p", ac2', 'pluss = "p", ac2', 0, "BR1.nodes.pluss", 'no pin "pluss"; nearest known: "plus"'),
    ('plus = "p", ac2', "ac2", 0, "BR1.nodes", "does not say where plus of BR1 is"),
    ('{ a = "p", wiper = "w" }', '{ wiper = "w" }', 0, "VR1.nodes", "does not say where a or b of VR1 is"),
    ('{ a = "p", wiper = "w" }', '["p", "w"]', 0, "VR1.nodes", "must say which pin is where, { a ="),
    (
        'rating = { power = "0.5 W"',
        'rating = { power = "0.5 V"',
        0,
        "R1.rating.power",
        "is in volts; power is expected",
    ),
    ('class = "X2"', 'class = "X3"', 0, "C1.rating.class", "known: X1, X2, Y1, Y2"),
    ('tolerance = "5 %"', "tolerance = 5", 0, "R1.tolerance", "write .5 %. if meant so"),
    ('between = ["150 mR", "2 R"]', 'between = ["2 R", "150 mR"]', 0, "C1.between", "first value must be below"),
    (
        "between = { series = [2, 6], ",
        "between = [2, 6] #",
        0,
        "section/D1.between",
        "must say which value it is about",
    ),
    ('block = "section"\nseries', 'block = "sektion"\nseries', 0, "sektion/D1.block", 'nearest known: "section"'),
    ("repeat = 12", "repeat = 0", 0, "section.repeat", "must be at least 1"),
    (
        'nodes = ["k", "out"]',
        'nodes = ["k", "live"]',
        0,
        "section/R1.nodes",
        '"live" cannot be reached inside a block',
    ),
    ('nodes = ["k", "out"]', 'nodes = ["k", "o"]', 1, "section", 'none of its parts joins the node "out"'),
    ("set = { VR1", "set = { VR2", 0, "full.set.VR2", 'there is no part or block "VR2".*nearest known: "VR1"'),
    ("{ VR1 = { position = 0.0 }", '{ "VR1.position" = 0.0', 0, "full.set.VR1.position", "write VR1 = { position"),
    ("position = 0.0", "position = 2", 0, "full.set.VR1.position", "must be at most 1"),
    ("position = 0.0", 'nodes = ["a"]', 0, "full.set.VR1.nodes", "cannot be set by a state"),
    ('remove = ["VR1", "BR1"]', 'remove = ["VR1", "BR2"]', 0, "string on a bench supply.remove", 'no part "BR2"'),
    ('bypass = ["F1"]', 'bypass = "F1"', 0, "string on a bench supply.bypass", r'write bypass = \["F1"\]'),
    ('bypass = ["F1"]', 'bypass = ["BR1"]', 0, "string on a bench supply.bypass", "taken out in this state already"),
    ('ref = "C9"', 'ref = "C1"', 0, "C1.ref", "two parts named C1"),
    (
        'nodes = ["p", "m"] }\n[[meter]]',
        'nodes = ["p", "q"] }\n[[meter]]',
        0,
        "string.*nodes",
        'no part joins a node "q"',
    ),
    (', nodes = ["p", "m"] }\n[[meter]]', " }\n[[meter]]", 0, "string on a bench supply.supply.dc", "needs nodes"),
    ('name = "full"', "", -1, "state.name", "is missing; every state needs a name"),
    ('kind = "power-meter"', 'kind = "powermeter"', 0, "plug-in meter.kind", 'nearest known: "power-meter"'),
    ('power = "1 % + 0.2 W"', 'power = "1 % + 0.2 V"', 0, "plug-in meter.accuracy.power", "is in volts"),
    (
        'quantity = "power"',
        'quantity = "powr"',
        0,
        "reading 1.quantity",
        '"powr" is not known here; nearest known: "power"',
    ),
    ('"about 8.1 W"', '"about 8.1 VA"', 0, r"reading 1 \(power\).value", "volt-amperes; power is expected in watts"),
    ('meter = "plug-in meter"', 'meter = "plugin meter"', 0, r"reading 1 \(power\).meter", 'nearest known: "plug-in'),
    (
        'state = "full"',
        'state = "ful"',
        0,
        r"reading 1 \(power\).state",
        'no state named "ful"; nearest known: "full"',
    ),
    ('at = "input"', 'at = "R9"', 0, r"reading 1 \(power\).at", 'neither "input" nor a part of this record'),
    ('at = "input"', 'at = "p"', 0, r"reading 1 \(power\).at", '"p" is a node; a reading between nodes names two'),
    ('at = ["p", "m"]', 'at = ["p", "M1"]', 0, r"reading 3 \(voltage_dc\).at", 'no part joins a node named "M1"'),
    ("value = 1490.0", "value = -3", 0, r"reading 2 \(resistance\).value", "no meter can show -3"),
    ("value = 1490.0", "", -2, r"reading 2 \(resistance\).value", "is missing; leave the reading out until"),
    (
        'file = "recordings/clamp.csv"',
        'file = "../clamp.csv"',
        0,
        "recording 1.file",
        "leads out of the record folder",
    ),
    ('file = "recordings/clamp.csv"', 'file = "/tmp/a.csv"', 0, "recording 1.file", "leads out of the record folder"),
    ('columns = { time = "t", ', "columns = { ", -2, "recording 1.sample_rate", "without a time column"),
    ("current = 3 }", "current = 0 }", 0, "recording 1.columns.current", "its number from 1 up"),
    ('units = { time = "ms" }', 'units = { time = "mV" }', 0, "recording 1.units.time", "is in volts"),
    (
        'scale = { current = "10 A/V" }',
        'scale = { current = "ten" }',
        0,
        "recording 1.scale.current",
        "must be a factor",
    ),
    ('shows = "copper"', 'shows = "cupper"', 0, "photo 1.shows", 'nearest known: "copper"'),
    ('clearance = "2.1 mm"', 'clearance = "2.1 V"', 0, "gap 1.clearance", "is in volts"),
    ("pollution_degree = 2", "pollution_degree = 7", 0, "gap 1.pollution_degree", "must be at most 4"),
    ('fuse = "3 A"', 'fuse = "3 W"', 0, "plug.fuse", "is in watts"),
    ('class = "II"', 'class = "2"', 0, "item.class", "known: I, II, III"),
    ('region = "GB"', 'region = "Atlantis"', 0, "item.region", "known: GB, EU, US"),
    ('range = "10 %"', "range = 10", 0, "supply.range", "write .10 %. if meant so"),
    ('frequency = "50 Hz"\nres', 'frequency = "50 kHz"\nres', 0, "supply.frequency", "must be at most 1.00 kHz"),
    ("lidoff = 1", "lidoff = 2", 0, "lidoff", "has format version 2 and this program reads version 1"),
    ("lidoff = 1", 'lidoff = "one"', 0, "lidoff", "must be the format version"),
    ("[supply]", "[[supply]]", 0, "supply", "with one pair of brackets"),
]


@pytest.mark.parametrize(("old", "new", "line", "key", "sentence"), WRONG, ids=[f"{one[3]}: {one[1]}" for one in WRONG])
def test_a_wrong_value_is_one_sentence(old: str, new: str, line: int, key: str, sentence: str) -> None:
    """One thing wrong gives one error, at its line, by its key, saying what to do."""
    assert old in FULL
    text = FULL.replace(old, new, 1)
    line += FULL[: FULL.index(old)].count("\n") + 1
    errors = [one for one in problems(text) if one.level == "error"]
    assert [one.line for one in errors] == [line], errors
    assert re.fullmatch(key, errors[0].key)
    assert re.search(sentence, errors[0].message)
    assert errors[0].message.startswith(f"{errors[0].key}: ")
    assert "\n" not in errors[0].message
    with pytest.raises(RecordError, match=rf"^item\.toml:{line}: {key}: "):
        read_text(text, "item.toml")


DOUBTFUL = [
    ('tolerance = "5 %"', 'tolerence = "5 %"', 0, "R1.tolerence", 'nearest known: "tolerance"'),
    ('esr = "?"', 'ers = "?"', 0, "C1.ers", 'nearest known: "esr"'),
    ("minutes_on = 20", "minuts_on = 20", 0, "full.minuts_on", 'nearest known: "minutes_on"'),
    ("[verdict]", "[veredict]", 0, "veredict", 'nearest known: "verdict"'),
    ("[supply]", "[mains]", 0, "mains", 'nearest known: "supply"'),
    ("shape = { h3", "shape = { third", 0, "supply.shape.third", "known: h3, h5, h7"),
    ('accuracy = { power = "1 % + 0.2 W"', 'accuracy = { powr = "1 %"', 0, "plug-in meter.accuracy.powr", '"power"'),
    ("lidoff = 1\n", "\n", 0, "lidoff", "is missing; the record is read as format version 1"),
    ('nodes = ["live", "f"]', 'nodes = ["Live", "f"]', 0, "F1.nodes", '"Live" is not the node "live" of the mains'),
    ('ac2 = "neutral"', 'ac2 = "nuetral"', 0, "BR1.nodes", '"nuetral" is not the node "neutral" of the mains'),
    ('nodes = ["f", "a"]', 'nodes = ["f", "f"]', 0, "R1.nodes", 'both pins are at "f"'),
    (
        'between = ["live", "surface:',
        'between = ["live", "surface:x ',
        0,
        "gap 1.between",
        'nearest known: "surface:end cap"',
    ),
    ('esr = "?"', 'esr = "1 R"', 1, "C1.between", "is not used"),
]


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "sentence"), DOUBTFUL, ids=[f"{one[3]}: {one[1]}" for one in DOUBTFUL]
)
def test_a_doubtful_key_is_a_warning(old: str, new: str, line: int, key: str, sentence: str) -> None:
    """A typo is warned about by key, line and nearest known word, and reading goes on."""
    assert old in FULL
    item = read_text(FULL.replace(old, new, 1), "item.toml")
    line += FULL[: FULL.index(old)].count("\n") + 1
    found = [one for one in item.warnings if one.line == line and one.key == key]
    assert len(found) == 1, item.warnings
    assert re.search(sentence, found[0].message)


def test_all_problems_are_found_at_once_in_line_order() -> None:
    """A record with several mistakes is not a riddle of one after the other."""
    text = FULL
    for old, new, *_ in (WRONG[0], WRONG[5], WRONG[46], DOUBTFUL[0]):
        text = text.replace(old, new, 1)
    with pytest.raises(RecordError) as caught:
        read_text(text, "item.toml")
    lines = [one.line for one in caught.value.problems]
    assert lines == sorted(lines)
    assert len(caught.value.errors) == 3
    assert len(caught.value.problems) == 4
    assert str(caught.value) == str(caught.value.errors[0])


def test_one_broken_part_is_complained_about_once() -> None:
    """Where a part cannot be read, what refers to it is not reported as a mistake of its own."""
    text = FULL.replace('kind = "bridge"', 'kind = "brige"', 1)
    assert len(problems(text)) == 1


def test_a_newer_format_is_refused_alone() -> None:
    """What else a newer record holds is not judged by the older rules."""
    text = FULL.replace("lidoff = 1", "lidoff = 7").replace("[supply]", "[mains]")
    assert [one.key for one in problems(text)] == ["lidoff"]


def test_errors_are_by_ref_not_by_position() -> None:
    """No message about a part says "part 3"."""
    for old, new, *_ in WRONG:
        for one in problems(FULL.replace(old, new, 1)):
            assert not re.search(r"\bpart \d", one.message)


@pytest.mark.parametrize(
    ("written", "speed"),
    [("FF", "very quick"), ("F", "quick"), ("M", "medium"), ("T", "slow"), ("TT", "very slow"), ("slow", "slow")],
)
def test_a_fuses_speed_may_be_the_letter_that_stands_on_it(written: str, speed: str) -> None:
    """Letters of IEC 60127-1, marking of fuse-links (from memory)."""
    text = f'lidoff = 1\n[[part]]\nref = "F1"\nkind = "fuse"\nspeed = "{written}"\nnodes = ["live", "a"]\n'
    assert read_text(text, "bench/item.toml").parts[0].values["speed"] == speed


def test_a_temperature_at_something_touchable_is_told_how_to_name_it() -> None:
    """The name alone is no part; the message says the form in which a surface is named."""
    text = 'lidoff = 1\n[[reading]]\nquantity = "temperature"\nvalue = "86 C"\nat = "barrel"\n'
    with pytest.raises(RecordError, match='what is touched is written "surface:barrel"'):
        read_text(text, "bench/item.toml")
