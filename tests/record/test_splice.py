"""A change to a TOML text makes exactly that change to its data and leaves every other character alone."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from tests.record.toml_texts import KEYS, NUMBERS, texts

from lidoff.record.locate import locate
from lidoff.record.splice import remove_at, set_at

NEW = st.one_of(
    NUMBERS, st.lists(NUMBERS, max_size=3), st.dictionaries(KEYS, st.one_of(NUMBERS, st.lists(NUMBERS)), max_size=3)
)


def shared(old: str, new: str) -> int:
    """How many characters of the old text stand unchanged before and behind the one place where the two differ."""
    most = min(len(old), len(new))
    head = next((at for at in range(most) if old[at] != new[at]), most)
    tail = next((at for at in range(most - head) if old[-1 - at] != new[-1 - at]), most - head)
    return head + tail


def in_order(old: list[str], new: list[str]) -> bool:
    """Whether the old lines all stand in the new ones, in their order."""
    lines = iter(new)
    return all(line in lines for line in old)


def held(data: Any, path: tuple[str | int, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


@settings(max_examples=100)
@given(texts(), st.data(), NEW)
def test_setting_a_value_touches_only_that_value(
    pair: tuple[str, dict[str, Any]], data: st.DataObject, new: Any
) -> None:
    """Outside of the old value's own text, all characters stay as they were."""
    text, _ = pair
    places = locate(text)
    assume(places.entries)
    entry = data.draw(st.sampled_from(sorted(places.entries.values(), key=lambda one: one.start)))
    changed = set_at(text, entry.path, new)
    assert held(tomllib.loads(changed), entry.path) == (list(new) if isinstance(new, tuple) else new)
    assert changed[: entry.value] == text[: entry.value]
    assert changed.endswith(text[entry.end :])
    assert set_at(changed, entry.path, new) == changed


@settings(max_examples=100)
@given(texts(), st.data(), NEW, KEYS)
def test_adding_a_key_only_adds(pair: tuple[str, dict[str, Any]], data: st.DataObject, new: Any, key: str) -> None:
    """A new key in any table, whatever the style of that table, leaves every old character in its order."""
    text, _ = pair
    parsed = tomllib.loads(text)
    tables = [(), *(path for path in locate(text).lines if isinstance(held(parsed, path), dict))]
    table = data.draw(st.sampled_from(sorted(tables, key=repr)))
    assume(key not in held(parsed, table))
    changed = set_at(text, (*table, key), new)
    assert held(tomllib.loads(changed), (*table, key)) == new
    assert shared(text, changed) == len(text)


@settings(max_examples=100)
@given(texts(), st.data())
def test_removing_only_removes(pair: tuple[str, dict[str, Any]], data: st.DataObject) -> None:
    """Whatever is taken out, what is left is a part of the old text, and no other line is touched."""
    text, _ = pair
    paths = sorted(locate(text).lines, key=repr)
    assume(paths)
    path = data.draw(st.sampled_from(paths))
    assume(not (isinstance(held(tomllib.loads(text), path), list) and path not in locate(text).entries))
    changed = remove_at(text, path)
    assert path not in locate(changed).lines or isinstance(path[-1], int)
    left = iter(text)
    assert all(sign in left for sign in changed)


FORMS = """# my lamp
lidoff = 1 # format

[item] # the item
title = "Lamp"   # its name

# the dropper
[[part]]
ref = "R1"          # near the plug
value = "470R"      # measured
rating = { power = "1 W" }
nodes = [
  "live",  # brown
  "a",     # pin 1
]

# the bridge
[[part]]
ref = "BR1"
nodes.ac1 = "a"
nodes.ac2 = "neutral" # blue
[part.rating]
current = "1 A"

# the end
[supply]
voltage = "230 V"
"""


def test_a_value_is_replaced_and_its_comment_stays() -> None:
    """The comment behind a changed value stays where it was."""
    assert set_at(FORMS, ("part", 0, "value"), "390R") == FORMS.replace('"470R"', '"390R"')


def test_a_key_is_added_behind_the_last_of_its_table() -> None:
    """A new key goes to the end of its table, before the comment that belongs to the next one."""
    assert set_at(FORMS, ("item", "region"), "GB") == FORMS.replace("# its name\n", '# its name\nregion = "GB"\n')
    assert set_at(FORMS, ("part", 0, "rating", "voltage"), "350 V") == FORMS.replace(
        '"1 W" }', '"1 W", voltage = "350 V" }'
    )
    assert set_at(FORMS, ("part", 1, "nodes", "plus"), "p") == FORMS.replace("# blue\n", '# blue\nnodes.plus = "p"\n')
    assert set_at(FORMS, ("part", 1, "rating", "voltage"), "600 V") == FORMS.replace(
        'current = "1 A"\n', 'current = "1 A"\nvoltage = "600 V"\n'
    )


def test_a_new_table_goes_behind_the_last_of_its_kind() -> None:
    """A new part follows the last part with a blank line between; a new kind of table goes to the end."""
    part = {"ref": "C1", "value": "4u7"}
    assert set_at(FORMS, ("part", 2), part) == FORMS.replace(
        'current = "1 A"\n', 'current = "1 A"\n\n[[part]]\nref = "C1"\nvalue = "4u7"\n'
    )
    assert set_at(FORMS, ("plug", "fuse"), "3 A") == FORMS + '\n[plug]\nfuse = "3 A"\n'


def test_a_list_over_several_lines_keeps_its_comments() -> None:
    """Elements of such a list are changed, added and taken out one by one."""
    path = ("part", 0, "nodes")
    assert set_at(FORMS, path, ["live", "b"]) == FORMS.replace('"a",     #', '"b",     #')
    assert set_at(FORMS, path, ["live", "a", "c"]) == FORMS.replace("# pin 1\n", '# pin 1\n  "c",\n')
    assert "# brown" in set_at(FORMS, path, ["live"])


def test_a_comma_in_a_comment_is_no_comma() -> None:
    """What stands behind # between two elements is never taken for their separator."""
    text = "x = [\n  1, # one, at last\n  2 # two, or so\n]\n"
    assert set_at(text, ("x",), [1, 2, 3]) == "x = [\n  1, # one, at last\n  2, # two, or so\n  3,\n]\n"
    assert tomllib.loads(set_at(text, ("x",), [1]))["x"] == [1]
    assert "# one, at last" in remove_at(text, ("x", 0))


def test_a_part_is_removed_with_its_tables_and_nothing_else() -> None:
    """The part's own lines go, with its sub-tables; comments above and below stay."""
    changed = remove_at(FORMS, ("part", 1))
    assert tomllib.loads(changed)["part"] == tomllib.loads(FORMS)["part"][:1]
    assert "# the bridge\n" in changed
    assert "# the end\n[supply]\n" in changed
    assert "BR1" not in changed
    assert "1 A" not in changed


def test_line_ends_are_those_of_the_text() -> None:
    """A text with CRLF line ends gets new lines with CRLF."""
    crlf = FORMS.replace("\n", "\r\n")
    changed = set_at(set_at(crlf, ("item", "region"), "GB"), ("part", 2), {"ref": "C1"})
    assert changed.replace("\r\n", "").count("\n") == 0
    assert tomllib.loads(changed)["part"][2] == {"ref": "C1"}


def test_a_step_that_cannot_be_taken_is_refused() -> None:
    """A number beyond the end of a list, or a key below a value, is a KeyError and changes nothing."""
    for path in [("part", 5, "ref"), ("item", "title", "x"), ("part", "ref"), ("part", 0, "nodes", 7)]:
        with pytest.raises(KeyError):
            set_at(FORMS, path, 1)
        with pytest.raises(KeyError):
            remove_at(FORMS, path)


DEEPER = ("[[a.b]]", "  [[a.b]] # one", "[a.c.d]", "[a.c]\n# c", "[other]", "[[more]]")
OUTER = (
    "[a]\nk = 1",
    "a.k = 1",
    "a = { k = 1 }",
    "a = {}",
    "a.b = []",
    "a = { b = [{ x = 1 }] }",
    "[[a.b]]\nx = 1",
    "",
)


@settings(max_examples=80)
@given(st.lists(st.sampled_from(DEEPER), min_size=1, max_size=5), st.sampled_from(("\n", "\r\n")), KEYS, NEW, st.data())
def test_a_table_of_which_only_deeper_headers_speak_gets_a_key(
    headers: list[str], newline: str, key: str, new: Any, data: st.DataObject
) -> None:
    """Such as `[writeup]` where only `[[writeup.paragraph]]` stands (TOML 1.0.0, "Table": supertables may follow)."""
    text = "\n".join(f"{one}\nx{number} = {number}\n" for number, one in enumerate(headers)).replace("\n", newline)
    try:
        before = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        assume(False)  # a header drawn twice
    assume("a" in before and key not in before["a"])
    changed = set_at(text, ("a", key), new)
    assert tomllib.loads(changed)["a"] == {**before["a"], key: new}
    assert in_order(text.splitlines(), changed.splitlines())
    assert changed.count("\r\n") == (changed.count("\n") if newline == "\r\n" else 0)
    assert set_at(changed, ("a", key), new) == changed


@settings(max_examples=100)
@given(
    st.sampled_from(("", *OUTER)),
    st.lists(st.dictionaries(KEYS, NUMBERS, min_size=1, max_size=3), min_size=1, max_size=3),
)
def test_a_table_is_appended_to_a_list_within_another_table(outer: str, added: list[dict[str, Any]]) -> None:
    """However that other table is written: by a header, dotted, between braces, or not at all."""
    text = f"top = 1\n{outer}\n# a remark\n" if outer else "top = 1\n# a remark\n"
    before = tomllib.loads(text).get("a", {})
    held_before = before.get("b", [])
    changed = text
    for number, one in enumerate(added, len(held_before)):
        changed = set_at(changed, ("a", "b", number), one)
    assert tomllib.loads(changed)["a"] == {**before, "b": [*held_before, *added]}
    assert in_order(["top = 1", "# a remark"], changed.splitlines())


INNER = (
    "",
    "b = []",
    "b = [{ y = 1 }]",
    "b = [\n  { y = 1 }, # one\n]",
    "[[a.b]]\ny = 1",
    "[[a.b]]\ny = 1\n\n  [[a.b]] # two\ny = 2",
    "[[a.b]]\ny = 1\n[a.b.deep]\nz = 1\n[[a.b.c]]\nz = 2",
    "[a.b2]\ny = 1",
    "deep.er = 1",
    "[[a.deep.b]]\ny = 1",
)
WAYS = (("b",), ("deep", "b"), ("none", "b"))


@settings(max_examples=150)
@given(
    st.lists(st.sampled_from(INNER), min_size=1, max_size=4),
    st.sampled_from(("\n", "\r\n")),
    st.sampled_from(WAYS),
    st.lists(st.dictionaries(KEYS, NUMBERS, min_size=1, max_size=2), min_size=1, max_size=3),
    st.data(),
)
def test_a_table_is_appended_within_an_element_of_an_array_of_tables(
    inner: list[str], newline: str, way: tuple[str, ...], added: list[dict[str, Any]], data: st.DataObject
) -> None:
    """A header speaks of the last element above it (TOML 1.0.0, "Array of Tables"); no other element gets the table."""
    text = "".join(f"[[a]]\nx = {number}\n{one}\n# {number}\n" for number, one in enumerate(inner))
    text = f"{text}[end]\nk = 1\n".replace("\n", newline)
    which = data.draw(st.integers(0, len(inner) - 1))
    expected = tomllib.loads(text)
    holder = expected["a"][which]
    for step in way[:-1]:
        holder = holder.setdefault(step, {})
    into = holder.setdefault(way[-1], [])
    changed = text
    for one in added:
        changed = set_at(changed, ("a", which, *way, len(into)), one)
        into.append(one)
        assert tomllib.loads(changed) == expected
    assert in_order([line for line in text.splitlines() if line.startswith(("[", "#", "x"))], changed.splitlines())
    assert changed.count("\r\n") == (changed.count("\n") if newline == "\r\n" else 0)
    taken = remove_at(changed, ("a", which, *way, len(into) - 1))
    into.pop()
    if into:
        assert tomllib.loads(taken) == expected
