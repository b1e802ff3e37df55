"""From a record to a circuit: values, states, blocks, and connections that cannot be solved."""

from __future__ import annotations

import pytest

from lidoff.circuit import CircuitError, build, with_values
from lidoff.record import read_text

HEAD = 'lidoff = 1\n[supply]\nvoltage = "230 V"\n'


def item(*tables: str):
    return read_text(HEAD + "\n".join(tables), "bench/item.toml")


def part(ref: str, kind: str, nodes: str, **values: object) -> str:
    lines = [f'ref = "{ref}"', f'kind = "{kind}"', f"nodes = {nodes}"]
    lines += [f"{key} = {value}" for key, value in values.items()]
    return "\n".join(["[[part]]", *lines])


R1 = part("R1", "resistor", '["live", "a"]', value='"1k"')
R2 = part("R2", "resistor", '["a", "neutral"]', value='"2k2"')
F1 = part("F1", "fuse", '["live", "b"]', rating='"1 A"')
R3 = part("R3", "resistor", '["b", "a"]', value='"470R"')


def test_values_defaults_and_what_was_assumed():
    circuit = build(item(R1, part("D1", "diode", '{ anode = "a", cathode = "neutral" }')))
    assert circuit.element("R1").number("value") == 1000.0
    diode = circuit.element("D1")
    assert diode.number("forward_voltage") == 0.93
    assert "forward_voltage" in diode.assumed
    assert circuit.element("R1").assumed == frozenset()


def test_a_marking_stands_in_for_a_missing_value():
    circuit = build(item(part("R1", "resistor", '["live", "a"]', marking='"brown green red gold"'), R2))
    assert circuit.element("R1").number("value") == 1500.0
    assert circuit.element("R1").marked == {"value"}


def test_a_written_value_goes_before_the_marking():
    circuit = build(item(part("R1", "resistor", '["live", "a"]', marking='"brown green red gold"', value='"150R"'), R2))
    assert circuit.element("R1").number("value") == 150.0


@pytest.mark.parametrize(
    ("table", "match"),
    [
        (part("R1", "resistor", '["live", "a"]'), r"R1: value is not given"),
        (part("R1", "resistor", '["live", "a"]', marking='"lilac plum"'), r"R1: its marking \"lilac plum\" cannot be"),
    ],
)
def test_a_missing_value_is_named(table, match):
    with pytest.raises(CircuitError, match=match):
        build(item(table, R2))


def test_an_unknown_value_takes_the_middle_and_is_listed():
    circuit = build(item(part("R1", "resistor", '["live", "a"]', value='"?"', between='["100 R", "10k"]'), R2))
    assert circuit.element("R1").number("value") == pytest.approx(1000.0)
    assert circuit.unknowns["R1.value"].between == (100.0, 10_000.0)
    assert any("R1.value is not known" in warning for warning in circuit.warnings)


def test_changes_by_name():
    circuit = build(item(R1, R2), changes={"R1.value": 680.0, "supply.voltage": 243.0, "supply.frequency": 60.0})
    assert circuit.element("R1").number("value") == 680.0
    assert (circuit.supply.voltage, circuit.supply.frequency) == (243.0, 60.0)
    assert with_values(circuit, {"R2.value": 1.0}).element("R2").number("value") == 1.0
    assert with_values(circuit, {"supply.voltage": 200.0}).supply.voltage == 200.0


@pytest.mark.parametrize("name", ["R9.value", "R1.colour"])
def test_a_change_of_nothing_is_refused(name):
    with pytest.raises(CircuitError, match=r"R9|R1\.colour"):
        build(item(R1, R2), changes={name: 1.0})


def test_a_change_outside_what_makes_sense_is_refused():
    with pytest.raises(CircuitError, match=r"R1\.value"):
        build(item(R1, R2), changes={"R1.value": 0.0})
    with pytest.raises(CircuitError, match=r"R1\.value"):
        build(item(R1, R2), changes={"R1.value": float("nan")})


# States ---------------------------------------------------------------------------------------------------------------

STATES = """
[[state]]
name = "as found"
[[state]]
name = "fuse bridged"
bypass = ["F1"]
[[state]]
name = "without"
remove = ["R3"]
[[state]]
name = "with a lamp"
add = [{ ref = "LA1", kind = "lamp", power = "40 W", voltage = "230 V", nodes = ["live", "neutral"] }]
set = { R2 = { value = "3k3" } }
supply = { voltage = "241 V", measured = true }
[[state]]
name = "bench"
remove = ["R1", "F1", "R3"]
supply = { dc = "24 V", limit = "5 mA", nodes = ["a", "neutral"] }
"""


def test_the_first_state_is_taken():
    assert build(item(R1, R2, F1, R3, STATES)).state == "as found"
    assert build(item(R1, R2)).state is None


def test_a_bypass_joins_its_nodes():
    circuit = build(item(R1, R2, F1, R3, STATES), state="fuse bridged")
    assert circuit.element("F1") is None
    assert circuit.resolve("b") == "live"
    assert circuit.element("R3").nodes == ("live", "a")


def test_a_bypass_from_live_to_neutral_is_refused():
    state = '[[state]]\nname = "oops"\nbypass = ["R1", "R2"]\n'
    with pytest.raises(CircuitError, match="joins live and neutral"):
        build(item(R1, R2, state))


def test_a_removed_part_leaves_loose_ends_which_are_said():
    circuit = build(item(R1, R2, F1, R3, STATES), state="without")
    assert circuit.element("R3") is None
    assert any("'b'" in warning for warning in circuit.warnings)


def test_a_state_adds_sets_and_brings_its_own_mains():
    circuit = build(item(R1, R2, F1, R3, STATES), state="with a lamp")
    assert circuit.element("LA1").kind == "lamp"
    assert circuit.element("R2").number("value") == 3300.0
    assert circuit.supply.voltage == 241.0
    assert circuit.supply.measured
    assert circuit.supply.range == pytest.approx(0.01)


def test_a_bench_supply_opens_the_mains():
    circuit = build(item(R1, R2, F1, R3, STATES), state="bench")
    assert circuit.supply.dc == 24.0
    assert circuit.supply.reference == "neutral"
    assert [e.ref for e in circuit.elements] == ["R2"]


def test_an_unknown_state_is_named():
    with pytest.raises(CircuitError, match="no state 'half'"):
        build(item(R1, R2), state="half")


# Blocks ---------------------------------------------------------------------------------------------------------------

BLOCK = """
[[block]]
name = "section"
repeat = 12
parallel = 2
nodes = ["a", "neutral"]
[[part]]
ref = "R1"
kind = "resistor"
block = "section"
value = "150R"
nodes = ["in", "x"]
[[part]]
ref = "LED1"
kind = "led"
block = "section"
forward_voltage = "3.0 V"
nodes = { anode = "x", cathode = "out" }
"""


def test_a_block_is_folded():
    circuit = build(item(part("R9", "resistor", '["live", "a"]', value='"10R"'), BLOCK))
    member = circuit.element("section/R1")
    assert (member.series, member.parallel) == (12.0, 2.0)
    assert member.nodes == ("a", "section/x")
    assert circuit.element("section/LED1").nodes == ("section/x", "neutral")
    changed = build(
        item(part("R9", "resistor", '["live", "a"]', value='"10R"'), BLOCK),
        changes={"section/R1.value": 330.0, "section.repeat": 6.0},
    )
    assert changed.element("section/R1").number("value") == 330.0
    assert changed.element("section/LED1").series == 6.0


# Connections ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("tables", "match"),
    [
        ([], "no parts"),
        ([R1], r"'neutral'"),
        ([R1, R2, part("R4", "resistor", '["q", "r"]', value="1"), part("R5", "resistor", '["r", "q"]', value="1")],
         r"R4, R5 hang in the air.*'q', 'r'"),
        ([R1, R2, part("R4", "resistor", '["a", "aa"]', value="1")], r"'aa' is joined by one pin only, R4.*'a'"),
        ([part("S1", "switch", '["live", "k"]'), part("F1", "fuse", '["k", "neutral"]')], r"S1 and F1 alone"),
    ],
    ids=["nothing", "no way back", "floating", "loose", "short"],
)  # fmt: skip
def test_what_cannot_be_solved_is_named(tables, match):
    with pytest.raises(CircuitError, match=match):
        build(item(*tables))


def test_an_open_switch_is_no_short():
    tables = [part("S1", "switch", '["live", "neutral"]', closed="false"), R1, R2]
    assert build(item(*tables)).element("S1") is not None


def test_a_part_on_one_node_does_nothing_and_is_said():
    circuit = build(item(R1, R2, part("R4", "resistor", '["a", "a"]', value="1")))
    assert circuit.left_out == ("R4",)
    assert any("R4" in warning for warning in circuit.warnings)


Y_CAPACITOR = part("C1", "capacitor", '["a", "shell"]', value='"1n"')
SHELL = '[[surface]]\nname = "shell"\nreached = "by hand"\nnode = "shell"\n'


def test_a_capacitor_to_a_touchable_shell_is_no_loose_end():
    """The hand is what joins the shell on; without a surface there, the same node is a slip of the pen."""
    assert build(item(R1, R2, Y_CAPACITOR, SHELL)).element("C1").pins["2"] == "shell"
    with pytest.raises(CircuitError, match=r"Node 'shell' is joined by one pin only, C1"):
        build(item(R1, R2, Y_CAPACITOR))
