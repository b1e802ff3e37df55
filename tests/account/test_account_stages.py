"""Every stage in order; what cannot be run says why and the rest goes on; the result is frozen and remembered."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Mapping
from pathlib import Path

import pytest

import lidoff
from lidoff.account import STAGES, Account, Accountant, fingerprint, take
from lidoff.account.export import COLUMNS, as_csv, as_json
from lidoff.demo import NAMES, write_items

pytestmark = pytest.mark.xdist_group("account")


def account_of(tmp_path: Path, text: str) -> Account:
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    return take(lidoff.open(tmp_path))


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Mapping[str, Account]:
    folder = tmp_path_factory.mktemp("demo")
    write_items(folder)
    return {name: take(lidoff.open(folder / name)) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_nothing_of_a_shipped_record_is_skipped(name: str, demo: Mapping[str, Account]) -> None:
    account = demo[name]
    assert account.skipped == ()
    assert [state.name for state in account.states] == [state.name for state in account.item.states]
    assert account.main is account.states[0]
    for result in ("judgement", "groups", "drawings", "explanation", "switched_on", "unplugged", "faults", "findings"):
        assert getattr(account, result) is not None, result


@pytest.mark.parametrize("name", NAMES)
def test_every_part_of_a_shipped_record_has_a_group_and_a_place_in_the_order_of_stress(
    name: str, demo: Mapping[str, Account]
) -> None:
    account = demo[name]
    assert {one.part.name for one in account.parts} == {part.name for part in account.item.parts}
    assert all(one.groups for one in account.parts)
    times = [one.worst.times or 0.0 for one in account.parts if one.worst is not None]
    assert times == sorted(times, reverse=True)
    unrated = [one.worst is None for one in account.parts]
    assert unrated == sorted(unrated)


def test_the_dimmed_lamp_has_its_knob_and_what_it_would_be_without_the_string(demo: Mapping[str, Account]) -> None:
    [knob] = demo["globe-lamp"].knobs
    assert knob.ref == "VR1"
    assert knob.through == "LED1"
    assert knob.turn.dead_travel is not None
    assert knob.plain_dead_travel is not None
    assert knob.turn.dead_travel > 0.5
    assert knob.plain_dead_travel < 0.2


def test_only_the_dimmed_states_count_as_dimmed(demo: Mapping[str, Account]) -> None:
    pages = {state.name: state.page for state in demo["globe-lamp"].states}
    dimmed = {name: page.dimmed for name, page in pages.items() if page is not None}
    assert dimmed == {"knob full up": False, "knob a quarter up": True, "knob at the bottom": True}
    assert pages["rods on the bench supply"] is None


def test_values_say_where_they_come_from(demo: Mapping[str, Account]) -> None:
    account = demo["night-light"]
    origins = {one.part.name: one.origins for one in account.parts}
    assert origins["C1"]["value"] == "marked"
    assert origins["C1"]["esr"] == "assumed"
    assert origins["LED1"]["forward_voltage"] == "recorded"


def test_an_account_is_frozen(demo: Mapping[str, Account]) -> None:
    account = demo["night-light"]
    with pytest.raises(dataclasses.FrozenInstanceError):
        account.version = "0"  # type: ignore[misc]
    assert account.main is not None
    with pytest.raises(TypeError, match="frozen"):
        account.main.figures["input"] = {}  # type: ignore[index]


@pytest.mark.parametrize("name", NAMES)
def test_an_account_is_plain_json_and_a_table(name: str, demo: Mapping[str, Account]) -> None:
    account = demo[name]
    document = json.loads(json.dumps(as_json(account), allow_nan=False))
    assert document["fingerprint"] == account.fingerprint
    assert [state["state"] for state in document["states"]] == [state.name for state in account.states]
    lines = as_csv(account).splitlines()
    assert lines[0] == ",".join(COLUMNS)
    assert any(line.split(",")[1] == "input.power" and line.split(",")[3] == "W" for line in lines)
    assert sum(line.endswith("measured") for line in lines) == len(account.item.readings)


def test_a_text_in_the_table_is_never_taken_for_a_formula(tmp_path: Path) -> None:
    account = account_of(
        tmp_path,
        'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["live", "neutral"]\n'
        "[[state]]\nname = '=HYPERLINK(\"x\")'\n",
    )
    assert "\"'=HYPERLINK" in as_csv(account)


# Half a record ------------------------------------------------------------------------------------------------------


def test_without_parts_there_is_no_circuit_and_it_says_so(tmp_path: Path) -> None:
    account = account_of(tmp_path, 'lidoff = 1\n[item]\ntitle = "Only seen"\n')
    assert account.states == ()
    assert [one.stage for one in account.skipped] == ["cycle"]
    assert "No parts are written down" in account.skipped[0].why
    assert account.main is None


def test_one_state_that_cannot_be_solved_does_not_stop_the_others(tmp_path: Path) -> None:
    account = account_of(
        tmp_path,
        """
lidoff = 1
[[part]]
ref = "R1"
kind = "resistor"
value = "1k"
nodes = ["live", "a"]
[[part]]
ref = "R2"
kind = "resistor"
nodes = ["a", "neutral"]
[[state]]
name = "as found"
[[state]]
name = "R2 tried as 470"
set = { R2 = { value = "470R" } }
""",
    )
    assert [state.name for state in account.states] == ["R2 tried as 470"]
    assert [(one.stage, one.state) for one in account.skipped] == [("cycle", "as found")]
    assert "R2" in account.skipped[0].why
    assert account.main is None  # the state named first is the main one, solved or not
    assert account.groups is not None


def test_stages_are_announced_in_their_order(tmp_path: Path) -> None:
    (tmp_path / "item.toml").write_text('lidoff = 1\n[item]\ntitle = "x"\n', encoding="utf-8")
    told: list[str] = []
    take(lidoff.open(tmp_path), told.append)
    assert told == list(STAGES)


def test_a_knob_on_a_plain_load_has_no_string_in_its_way(tmp_path: Path, reference: Path) -> None:
    text = (reference / "cycle" / "dimmer_lamp.toml").read_text(encoding="utf-8")
    account = account_of(tmp_path, text)
    [knob] = account.knobs
    assert knob.through is None
    assert knob.plain_dead_travel is None
    assert knob.turn.dead_travel is None  # there is no LED


# Fingerprint and memory ---------------------------------------------------------------------------------------------

PLAIN = 'lidoff = 1\n[[part]]\nref = "R1"\nkind = "resistor"\nvalue = "1k"\nnodes = ["live", "neutral"]\n'


def print_of(tmp_path: Path, text: str) -> str:
    (tmp_path / "item.toml").write_text(text, encoding="utf-8")
    return fingerprint(lidoff.open(tmp_path))


def test_comments_and_layout_leave_the_fingerprint_as_it_is(tmp_path: Path) -> None:
    assert print_of(tmp_path, PLAIN) == print_of(tmp_path, "# seen on Tuesday\n\n" + PLAIN.replace(" = ", "="))


def test_another_value_is_another_fingerprint(tmp_path: Path) -> None:
    assert print_of(tmp_path, PLAIN) != print_of(tmp_path, PLAIN.replace("1k", "1k1"))


def test_the_samples_of_a_recording_count(tmp_path: Path) -> None:
    text = PLAIN + '[[recording]]\nfile = "wave.csv"\nsample_rate = "10 kHz"\ncolumns = { current = 1 }\n'
    absent = print_of(tmp_path, text)
    (tmp_path / "wave.csv").write_text("i\n0\n1\n", encoding="utf-8")
    first = print_of(tmp_path, text)
    (tmp_path / "wave.csv").write_text("i\n0\n2\n", encoding="utf-8")
    assert len({absent, first, print_of(tmp_path, text)}) == 3


def test_an_accountant_remembers_by_the_record_and_forgets_the_oldest(tmp_path: Path) -> None:
    file = tmp_path / "item.toml"
    accountant = Accountant(keep=2)

    def account(text: str) -> Account:
        file.write_text(text, encoding="utf-8")
        return accountant.account(lidoff.open(file))

    first = account(PLAIN)
    assert account(f"# a comment\n{PLAIN}") is first
    second = account(PLAIN.replace("1k", "2k"))
    assert second is not first
    account(PLAIN.replace("1k", "3k"))
    assert account(PLAIN.replace("1k", "2k")) is second
    assert account(PLAIN) is not first


def test_the_findings_of_an_account_are_those_of_the_item_alone(demo: Mapping[str, Account]) -> None:
    """What the account hands over instead of having it worked out again changes no finding."""
    from lidoff.account.hazards import hazards_of

    account = demo["night-light"]
    assert account.findings is not None
    assert [one.id for one in account.findings.findings] == [one.id for one in hazards_of(account.item).findings]
