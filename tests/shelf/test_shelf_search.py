"""Search held against a plain reading of what was put in: whatever is asked, the index gives the same items."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.shelf.filling import GROUPS, WORDS, drawn, filled

from lidoff.hazards import QUESTIONS, RULES
from lidoff.shelf import MEASURES, Query, ShelfError, find, main_figures, meant, understand
from lidoff.shelf.asking import where
from lidoff.shelf.entry import Entry, FigureRow
from lidoff.shelf.indexing import write_entry
from lidoff.shelf.query import Condition, HasFinding, HasGroup, HasPart, Saw, Within, Words
from lidoff.shelf.search import CLOSE, OPEN, find_in, numbers_in
from lidoff.shelf.store import change, reading, writing
from lidoff.standards.risk import LEVELS

COUNT = 150
ENTRIES = {number + 1: drawn(number) for number in range(COUNT)}
BY_NAME = {one.name: one for one in MEASURES}


def in_plain(entry: Entry, condition: Condition) -> bool:
    """Whether an entry meets a condition on the item as a whole, worked out from the entry itself."""
    if isinstance(condition, Words):
        text = " ".join(entry.words.values()).casefold()
        return any(re.search(rf"\b{re.escape(word)}\b", text) for word in condition.any_of) != condition.without
    if isinstance(condition, HasGroup):
        return any(one.name == condition.name for one in entry.formed) != condition.without
    if isinstance(condition, HasPart):
        low = -math.inf if condition.low is None else condition.low
        high = math.inf if condition.high is None else condition.high
        return condition.without != any(
            one.kind == condition.kind and one.value is not None and low <= one.value <= high for one in entry.parts
        )
    if isinstance(condition, HasFinding):
        rows = [one for one in entry.judged if condition.rule in (None, one.rule)]
        if condition.without:
            return not rows
        return any(
            one.outcome == "found"
            and (condition.severity is None or (one.severity or 0) >= condition.severity)
            and (condition.risk is None or LEVELS.index(one.risk) >= LEVELS.index(condition.risk))  # type: ignore[arg-type]
            for one in rows
        )
    assert isinstance(condition, Saw)
    if condition.question not in entry.looks:
        return False
    answer = entry.looks[condition.question]
    if condition.without:
        return answer is not None and answer != condition.answer
    return answer == condition.answer


def meets(entry: Entry, query: Query) -> bool:
    if not all(in_plain(entry, one) for one in query.conditions if not isinstance(one, Within)):
        return False
    if not query.of_states:
        return True
    figures = {(one.state, one.name): one.value for one in entry.figures}
    return any(
        all((state, one.measure.name) in figures and one.holds(figures[state, one.measure.name])
            for one in query.of_states)
        for state in range(len(entry.states))
    )  # fmt: skip


_FIGURES = [one for one in MEASURES if one.name in {row.name for row in ENTRIES[1].figures}]
_WITHIN = st.builds(
    lambda of, low, width, with_low, with_high: Within(
        measure=of, low=low, high=max(low, 0.0) + width, with_low=with_low, with_high=with_high
    ),
    st.sampled_from(_FIGURES),
    st.one_of(st.just(-math.inf), st.floats(0.0, 30.0)),
    st.one_of(st.just(math.inf), st.floats(0.0, 60.0)),
    st.booleans(),
    st.booleans(),
).filter(lambda one: not math.isnan(one.high))
_CONDITIONS = st.one_of(
    _WITHIN,
    st.builds(Words, any_of=st.lists(st.sampled_from(WORDS), min_size=1, max_size=2).map(tuple), without=st.booleans()),
    st.builds(HasGroup, name=st.sampled_from(GROUPS), without=st.booleans()),
    st.builds(HasPart, kind=st.sampled_from(["resistor", "triac", "led"]), low=st.floats(1e-9, 1e3),
              high=st.floats(1e3, 1e6), without=st.booleans()),
    st.builds(HasFinding, rule=st.sampled_from([one.id for one in RULES]), without=st.booleans()),
    st.builds(HasFinding, severity=st.integers(1, 4), risk=st.sampled_from(LEVELS)),
    st.sampled_from(QUESTIONS[:26]).flatmap(
        lambda one: st.builds(Saw, question=st.just(one.id), answer=st.sampled_from([None, *one.answers]))
    ),
    st.sampled_from(QUESTIONS[:26]).flatmap(
        lambda one: st.builds(Saw, question=st.just(one.id), answer=st.sampled_from(one.answers), without=st.just(True))
    ),
)  # fmt: skip


@given(conditions=st.lists(_CONDITIONS, max_size=4))
def test_the_index_answers_as_a_plain_reading_does(drawn_index: Path, conditions: list[Condition]) -> None:
    query = Query(conditions=tuple(conditions))
    found = find(drawn_index, query, limit=None)
    assert {hit.number for hit in found.hits} == {number for number, entry in ENTRIES.items() if meets(entry, query)}
    assert (found.total, found.of) == (len(found.hits), COUNT)


@given(conditions=st.lists(_CONDITIONS, max_size=3), limit=st.integers(0, 20))
def test_the_first_of_them_are_the_first_of_all(drawn_index: Path, conditions: list[Condition], limit: int) -> None:
    query = Query(conditions=tuple(conditions))
    everything, some = find(drawn_index, query, limit=None), find(drawn_index, query, limit=limit)
    assert some.hits == everything.hits[:limit]
    assert some.total == everything.total


def test_figures_have_to_be_met_in_one_and_the_same_state(index: Path) -> None:
    """Bright without flicker, and dim with it, is not bright with flicker."""

    def entry(title: str, *states: tuple[float, float]) -> Entry:
        figures = [
            FigureRow(state=place, name=name, value=value)
            for place, both in enumerate(states)
            for name, value in zip(("input.power", "light.percent_flicker"), both, strict=True)
        ]
        return Entry(
            status="solved", depth="quick", title=title, states=tuple("abc"[: len(states)]), figures=tuple(figures),
            words={"title": title},
        )  # fmt: skip

    with writing(index) as connection, change(connection):
        for title, states in (("apart", ((9.0, 10.0), (2.0, 100.0))), ("together", ((2.0, 5.0), (9.0, 90.0)))):
            write_entry(connection, Path(f"/x/{title}/item.toml"), entry(title, *states), "", None)
    found = find(index, understand("over 8 W with flicker over 80 %"))
    assert [(hit.title, [one.state for one in hit.states]) for hit in found.hits] == [("together", ["b"])]
    assert found.hits[0].states[0].figures == {"input.power": 9.0, "light.percent_flicker": 90.0}
    assert [hit.title for hit in find(index, understand("over 8 W")).hits] == ["apart", "together"]


@pytest.mark.parametrize(("asked", "falling"), [("power>2 W", True), ("power<9 W", False), ("power=2 W..9 W", True)])
def test_figures_stand_in_their_order(drawn_index: Path, asked: str, falling: bool) -> None:
    condition = where(asked)
    found = find(drawn_index, Query(conditions=(condition,)), limit=None)
    values = [[one.figures["input.power"] for one in hit.states] for hit in found.hits]
    assert len(values) > 50
    assert all(condition.holds(value) for states in values for value in states)
    best = [max(states) if falling else min(states) for states in values]
    assert best == sorted(best, reverse=falling)


def test_words_are_found_in_their_other_forms_and_shown(drawn_index: Path) -> None:
    one, many = find(drawn_index, understand("strip")), find(drawn_index, understand("strips"))
    assert one.total == many.total == sum("LED strip" in entry.title for entry in ENTRIES.values())
    assert f"{OPEN}strip{CLOSE}" in one.hits[0].excerpt
    assert OPEN not in one.as_json()["items"][0]["excerpt"]
    assert find(drawn_index, understand("charg*")).total == find(drawn_index, understand("charger")).total > 0


def test_a_word_in_the_title_comes_before_one_elsewhere(drawn_index: Path) -> None:
    hits = find(drawn_index, understand("glue"), limit=None).hits
    titled = ["glue" in hit.title for hit in hits]
    assert sum(titled[: sum(titled)]) > 0.9 * sum(titled)


@given(st.text(min_size=1, max_size=30))
def test_any_word_can_be_looked_for(drawn_index: Path, text: str) -> None:
    """No sign in it is taken for a command of the word search, and none makes the index look damaged."""
    try:
        found = find(drawn_index, Query(conditions=(Words(any_of=(text,)),)))
    except ShelfError as error:
        assert "holds no letter or digit" in str(error)  # noqa: PT017 - the only thing that may be said
    else:
        assert 0 <= found.total <= COUNT


def test_what_is_not_known_is_counted_apart(index: Path) -> None:
    with writing(index) as connection, change(connection):
        for title, figures in (("lit", (FigureRow(state=0, name="input.power", value=9.0),)), ("dark", ())):
            write_entry(
                connection, Path(f"/x/{title}/item.toml"),
                Entry(status="solved", depth="quick", title=title, states=("on",), figures=figures,
                      words={"title": title}), "", None,
            )  # fmt: skip
    for asked, total in (("power>8 W", 1), ("power<8 W", 0)):
        found = find(index, Query(conditions=(where(asked),)))
        assert (found.total, found.unknown) == (total, 1)
    assert "not known" in found.sentence


def test_an_item_is_meant_by_number_path_title_or_words(invented_index: tuple[Path, Path]) -> None:
    index, folder = invented_index
    hit = meant(index, "3")
    assert hit.number == 3
    assert meant(index, str(hit.path)) == meant(index, str(hit.path.parent)) == meant(index, hit.title) == hit
    assert meant(index, hit.title.upper()) == hit
    with pytest.raises(ShelfError, match=r"fits \d+ items .* name one by its number"):
        meant(index, "strip")
    for nothing in ("zeppelin", "999", "::", str(folder)):
        with pytest.raises(ShelfError, match="names nothing on this shelf"):
            meant(index, nothing)


def test_figures_of_the_first_state(drawn_index: Path) -> None:
    figures = main_figures(drawn_index, [1, 2], ["input.power", "light.svm"])
    for number in (1, 2):
        told = {one.name: one.value for one in ENTRIES[number].figures if one.state == 0}
        assert figures[number] == {name: told[name] for name in ("input.power", "light.svm")}
    with pytest.raises(ShelfError, match="no figure that the shelf keeps"):
        main_figures(drawn_index, [1], ["input.colour"])


def test_search_grows_no_faster_than_the_shelf(tmp_path: Path) -> None:
    """Counted in steps of the library's machine, which do not depend on how busy this one is.

    Four times as many items may cost at most five times the steps, and a question about few items hardly any more.
    """
    steps: dict[int, dict[str, int]] = {}
    asked = ("strip over 8 W with flicker over 80 %", "over 8 W", "knot", "high risk", "with a triac", "no filler")
    for size in (100, 400):
        index = filled(tmp_path / f"{size}.sqlite", size)
        with reading(index) as connection:
            for sentence in asked:
                counted = [0]

                def count(counted: list[int] = counted) -> int:
                    counted[0] += 1
                    return 0

                connection.set_progress_handler(count, 10)
                numbers_in(connection, understand(sentence), 50)
                connection.set_progress_handler(None, 0)
                steps.setdefault(size, {})[sentence] = counted[0]
    for sentence in asked:
        assert steps[400][sentence] < 5 * steps[100][sentence] + 200, sentence
        assert steps[400][sentence] < 4000, sentence  # forty thousand steps are a few milliseconds


def test_a_reading_connection_is_one_in_time(drawn_index: Path) -> None:
    with reading(drawn_index) as connection:
        assert find_in(connection, Query()).total == COUNT
        with pytest.raises(Exception, match=r"readonly|query_only|attempt to write"):
            connection.execute("DELETE FROM item")
