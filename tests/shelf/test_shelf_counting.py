"""Counts, comparisons and pictures: nobody's not looking is a no, differences are marked, text stays text."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.shelf.filling import drawn

from lidoff.hazards import QUESTIONS
from lidoff.shelf import (
    MEASURES,
    NARROW,
    WIDE,
    Bar,
    Count,
    Dot,
    Query,
    QueryError,
    ShelfError,
    bars_svg,
    compare,
    count,
    dots_svg,
    find,
    picture,
    understand,
)
from lidoff.shelf.asking import where
from lidoff.shelf.entry import Entry, FigureRow, PartRow
from lidoff.shelf.indexing import write_entry
from lidoff.shelf.store import change, writing

SVG = "{http://www.w3.org/2000/svg}"
ENTRIES = {number + 1: drawn(number) for number in range(150)}
BY_NAME = {one.name: one for one in MEASURES}


@pytest.mark.parametrize("question", QUESTIONS[:24], ids=lambda one: one.id)
def test_answers_are_counted_among_those_looked_at(drawn_index: Path, question: object) -> None:
    told = count(drawn_index, question.id)  # type: ignore[attr-defined]
    answers = [entry.looks[question.id] for entry in ENTRIES.values()]  # type: ignore[attr-defined]
    for bar in told.bars:
        wanted = None if bar.tone == "open" else bar.label
        assert bar.count == len(bar.items) == sum(answer == wanted for answer in answers)
        assert all(ENTRIES[item].looks[question.id] == wanted for item in bar.items)  # type: ignore[attr-defined]
    assert told.among == sum(answer is not None for answer in answers)
    assert sum(bar.count for bar in told.bars if bar.tone != "open") == told.among


def shelf_of(index: Path, *answers: str | None) -> Path:
    """Items of which each has an answer to the question of the filler, None where nobody looked, "-" where it is not
    asked."""
    with writing(index) as connection, change(connection):
        for number, answer in enumerate(answers):
            looks = {} if answer == "-" else {"plug-fuse-filler": answer}
            write_entry(
                connection, Path(f"/x/{number}/item.toml"),
                Entry(status="unsolved", depth="quick", title=f"Lamp {number}", looks=looks, region="GB",
                      words={"title": f"Lamp {number}"}), "", None,
            )  # fmt: skip
    return index


def test_seven_of_twelve_plug_fuses(index: Path) -> None:
    """The sentence of the answer, word by word; those not looked at are in no share."""
    shelf_of(index, *["no filler"] * 7, *["filler"] * 5, *[None] * 3, "-", "-")
    told = count(index, "how many plug fuses had no filler")
    assert told.sentence == (
        "The filler of the plug fuse: “no filler” in 7 of 12 looked at. 3 more were not looked at. The question does "
        "not arise for 2."
    )
    assert (told.among, told.of) == (12, 17)
    assert [(bar.label, bar.count, bar.tone) for bar in told.bars] == [
        ("filler", 5, "plain"),
        ("no filler", 7, "asked"),
        ("not looked at", 3, "open"),
    ]
    assert count(index, "plug fuses without filler") == told


def test_where_nobody_looked_nothing_is_counted(index: Path) -> None:
    shelf_of(index, None, None)
    told = count(index, "plug-fuse-filler")
    assert told.sentence == "The filler of the plug fuse: nobody looked at any. 2 more were not looked at."
    assert told.among == 0


@pytest.mark.parametrize(
    ("asked", "title"),
    [
        ("plug fuse filler", "The filler of the plug fuse"),
        ("fillers of the plug fuses", "The filler of the plug fuse"),
        ("cord grip", "The cord's grip in the case"),
        ("fuse-without-filler", "Plug fuse without sand"),
        ("class", "Protection class"),
        ("findings", "Findings"),
        ("groups", "What the parts form"),
        ("parts", "Part kinds"),
        ("risk", "Highest risk found"),
    ],
)
def test_what_is_counted_is_found_by_its_words(drawn_index: Path, asked: str, title: str) -> None:
    assert count(drawn_index, asked).title == title


def test_a_count_can_be_narrowed(drawn_index: Path) -> None:
    strips = {number for number, entry in ENTRIES.items() if "LED strip" in entry.title}
    told = count(drawn_index, "cord-grip of strips")
    assert told.of == len(strips)
    assert {item for bar in told.bars for item in bar.items} == strips
    assert count(drawn_index, "cord-grip", understand("of strips")) == told


def test_any_sentence_counts_what_it_describes(drawn_index: Path) -> None:
    asked = understand("strips over 8 W")
    told = count(drawn_index, "strips over 8 W")
    assert told.bars[0].count == find(drawn_index, asked).total
    assert told.bars[0].count + told.bars[1].count == 150
    with pytest.raises(QueryError, match="names nothing to be counted"):
        count(drawn_index, "the of and")


def test_a_rule_that_was_not_decided_is_no_no(drawn_index: Path) -> None:
    told = count(drawn_index, "fuse-without-filler")
    found = [number for number, entry in ENTRIES.items()
             if any(one.rule == "fuse-without-filler" and one.outcome == "found" for one in entry.judged)]  # fmt: skip
    assert told.bars[0].items == tuple(found)
    assert all(bar.tone == "open" for bar in told.bars[1:])
    assert "silent: it does not arise, or found nothing" in told.sentence


@pytest.mark.parametrize("subject", ["groups", "findings", "parts"])
def test_what_items_have_is_counted_once_each(drawn_index: Path, subject: str) -> None:
    told = count(drawn_index, subject)
    assert told.among == 150
    assert [bar.count for bar in told.bars] == sorted((bar.count for bar in told.bars), reverse=True)
    for bar in told.bars:
        assert len(set(bar.items)) == bar.count <= 150


def test_the_highest_risk_of_each(drawn_index: Path) -> None:
    order = ("", "low", "medium", "high", "serious")
    told = {bar.label: bar.count for bar in count(drawn_index, "risk").bars}
    worst = [max((one.risk for one in entry.judged if one.outcome == "found"), key=order.index)
             for entry in ENTRIES.values()]  # fmt: skip
    for level in order[1:]:
        assert told[f"{level} risk"] == worst.count(level)


# Side by side ---------------------------------------------------------------------------------------------------------


def two(index: Path, *entries: Entry) -> Path:
    with writing(index) as connection, change(connection):
        for number, entry in enumerate(entries):
            write_entry(connection, Path(f"/x/{number}/item.toml"), entry, "", None)
    return index


def lamp(value: float, low: float | None, high: float | None, title: str = "lamp") -> Entry:
    figure = FigureRow(state=0, name="input.power", value=value, low=low, high=high)
    return Entry(status="solved", depth="full", title=title, states=("on",), figures=(figure,), words={"title": title})


@pytest.mark.parametrize(
    ("first", "second", "differs"),
    [
        ((8.0, 7.5, 8.5), (9.0, 8.4, 9.6), False),  # the ranges meet
        ((8.0, 7.5, 8.5), (9.0, 8.6, 9.6), True),
        ((8.0, None, None), (8.3, None, None), False),  # 3.6 % of the larger apart
        ((8.0, None, None), (8.5, None, None), True),  # 5.9 %
        ((8.0, 7.5, 8.5), (9.0, None, None), True),
        ((0.0, None, None), (0.0, None, None), False),
    ],
)
def test_figures_differ_where_their_ranges_do_not_meet(
    index: Path, first: tuple[float, ...], second: tuple[float, ...], differs: bool
) -> None:
    told = compare(two(index, lamp(*first, "a"), lamp(*second, "b")), ["1", "2"])
    (row,) = [row for row in told.rows if row.section == "figures"]
    assert (row.name, row.differs) == ("power", differs)


def test_what_is_not_known_differs_from_nothing(index: Path) -> None:
    unread = Entry(status="unreadable", depth="none", title="b", words={"title": "b"})
    told = compare(two(index, lamp(8.0, None, None, "a"), unread), ["1", "2"])
    assert told.differences == ()
    assert [row.shown for row in told.rows if row.name == "power"] == [("8.00 W", "–")]


def test_parts_are_counted_kind_by_kind(index: Path) -> None:
    first = Entry(status="solved", depth="full", title="a", words={"title": "a"}, parts=(
        PartRow(ref="R1", kind="resistor", shown="1 kΩ"), PartRow(ref="R2", kind="resistor", shown="1 kΩ"),
        PartRow(ref="D1", kind="diode", marking="1N4007")))  # fmt: skip
    second = Entry(status="solved", depth="full", title="b", words={"title": "b"}, parts=(
        PartRow(ref="R1", kind="resistor", shown="1 kΩ"),))  # fmt: skip
    rows = {row.name: row for row in compare(two(index, first, second), ["1", "2"]).rows if row.section == "parts"}
    assert rows["resistor"].shown == ("2 × 1 kΩ", "1 kΩ")
    assert rows["diode"].shown == ("1N4007", "none")
    assert rows["resistor"].differs
    assert rows["diode"].differs


def test_an_item_beside_itself_is_refused(drawn_index: Path) -> None:
    for wrong in (["1"], ["1", "1"], [str(number) for number in range(1, 9)]):
        with pytest.raises(ShelfError, match="two to 6 different items"):
            compare(drawn_index, wrong)


def test_comparing_is_the_same_either_way_round(drawn_index: Path) -> None:
    there, back = compare(drawn_index, ["1", "2"]), compare(drawn_index, ["2", "1"])
    assert {(row.section, row.name, row.shown, row.differs) for row in there.rows} == {
        (row.section, row.name, tuple(reversed(row.shown)), row.differs) for row in back.rows
    }
    assert len(there.differences) > 5


# Pictures -------------------------------------------------------------------------------------------------------------


def texts(svg: str) -> list[str]:
    return ["".join(one.itertext()) for one in ET.fromstring(svg).iter(f"{SVG}text")]


def rects(svg: str) -> list[tuple[float, float]]:
    """Widths and lengths of bars: x and width of each rectangle but the paper."""
    found = [one for one in ET.fromstring(svg).iter(f"{SVG}rect") if one.get("height") == "16"]
    return [(float(one.get("x", "nan")), float(one.get("width", "nan"))) for one in found]


@pytest.mark.parametrize("width", [WIDE, NARROW])
def test_bars_are_as_long_as_their_numbers(index: Path, width: float) -> None:
    shelf_of(index, *["no filler"] * 7, *["filler"] * 5, *[None] * 3)
    told = count(index, "how many plug fuses had no filler")
    svg = bars_svg(told, width=width)
    (_, five), (_, seven), (_, three) = rects(svg)
    assert five / seven == pytest.approx(5 / 7, rel=1e-3)
    assert three / seven == pytest.approx(3 / 7, rel=1e-3)
    for words in ("filler", "5 of 12", "no filler", "7 of 12", "not looked at", "3"):
        assert words in texts(svg)
    assert svg.count("stroke-dasharray") == 1  # what nobody looked at is no bar like the others
    assert "7 of 12 looked at" in ET.fromstring(svg).findtext(f"{SVG}desc", "")


_LABELS = st.text(st.characters(exclude_categories=["Cc", "Cs"]), min_size=1, max_size=60)


@given(
    bars=st.lists(
        st.builds(Bar, label=_LABELS, count=st.integers(0, 10_000), tone=st.sampled_from(["plain", "asked", "open"])),
        max_size=40,
    ),
    title=_LABELS,
    width=st.sampled_from([WIDE, NARROW]),
)
def test_bars_of_anything_stay_inside_the_picture(bars: list[Bar], title: str, width: float) -> None:
    svg = bars_svg(
        Count(title=title, bars=tuple(bars), among=10_000, of=10_000, query=Query(), sentence=title), width=width
    )
    root = ET.fromstring(svg)
    box = [float(one) for one in root.get("viewBox", "").split()]
    for x, length in rects(svg):
        assert 0.0 <= x <= x + length <= box[2]
    for one in root.iter(f"{SVG}text"):
        assert 0.0 <= float(one.get("y", "nan")) <= box[3]


def test_dots_stand_where_their_figures_are() -> None:
    """Distances between dots are as the figures', on both axes, and each dot says whose it is."""
    figures = [(2.0, 20.0), (4.0, 40.0), (12.0, 90.0)]
    dots = [
        Dot(number=place, title=f"<lamp> & {place}", figures={"input.power": x, "light.percent_flicker": y}, met=x > 8)
        for place, (x, y) in enumerate(figures, 1)
    ]
    asked = (where("power>8 W"), where("flicker>80 %"))
    svg = dots_svg(dots, BY_NAME["input.power"], BY_NAME["light.percent_flicker"], asked=asked)
    root = ET.fromstring(svg)
    places = {}
    for group in root.iter(f"{SVG}g"):
        circle = group.find(f"{SVG}circle")
        if circle is not None:
            places[int(group.get("data-item", "0"))] = (float(circle.get("cx", "0")), float(circle.get("cy", "0")))
            assert group.findtext(f"{SVG}title", "").startswith(group.get("data-item", "?"))
    scale = (places[3][0] - places[1][0]) / (places[2][0] - places[1][0])
    assert scale == pytest.approx((12 - 2) / (4 - 2), rel=1e-2)
    assert (places[3][1] - places[1][1]) / (places[2][1] - places[1][1]) == pytest.approx(70 / 20, rel=1e-2)
    dashed = [one for one in root.iter(f"{SVG}line") if one.get("stroke-dasharray")]
    assert len(dashed) == 2
    (upright,) = [one for one in dashed if one.get("x1") == one.get("x2")]
    assert places[2][0] < float(upright.get("x1", "0")) < places[3][0]
    assert "3" in texts(svg)  # the number of the one that meets it stands beside it
    assert "1" not in texts(svg)


@given(
    values=st.lists(st.floats(0.0, 1e5), min_size=1, max_size=60),
    width=st.sampled_from([WIDE, NARROW]),
    low=st.floats(0.0, 1e5),
)
def test_dots_of_any_figures_stay_inside(values: list[float], width: float, low: float) -> None:
    dots = [Dot(number=n, title="x", figures={"input.power": v}, met=v > low) for n, v in enumerate(values)]
    svg = dots_svg(dots, BY_NAME["input.power"], asked=(where(f"power>{low!r}"),), width=width)
    root = ET.fromstring(svg)
    box = [float(one) for one in root.get("viewBox", "").split()]
    circles = list(root.iter(f"{SVG}circle"))
    assert len(circles) == len(values)
    for one in circles:
        assert -0.01 <= float(one.get("cx", "nan")) <= box[2]
        assert 0.0 <= float(one.get("cy", "nan")) <= box[3]
    for text in texts(svg):
        assert not re.search(r"e[+-]\d|nan|inf\b", text)


def test_the_picture_of_a_question(drawn_index: Path) -> None:
    asked = understand("strips over 8 W with flicker over 80 %")
    svg = picture(drawn_index, asked)
    found = find(drawn_index, asked, limit=None)
    strips = find(drawn_index, understand("strips"), limit=None)
    root = ET.fromstring(svg)
    filled = {
        int(group.get("data-item", "0"))
        for group in root.iter(f"{SVG}g")
        for circle in group.iter(f"{SVG}circle")
        if circle.get("fill") != "none"
    }
    assert filled == {hit.number for hit in found.hits}
    assert len(list(root.iter(f"{SVG}circle"))) == strips.total
    assert f"{found.total} of {strips.total} items" in ET.fromstring(svg).findtext(f"{SVG}desc", "")
    assert "power" in texts(svg)
    assert "percent flicker" in texts(svg)


def test_a_picture_needs_a_figure(drawn_index: Path, index: Path) -> None:
    with pytest.raises(QueryError, match="name a figure"):
        picture(drawn_index, understand("strips"))
    with pytest.raises(QueryError, match="no item on the shelf has"):
        picture(two(index, lamp(1.0, None, None)), understand("svm over 1"))


def test_a_value_is_never_written_with_an_exponent() -> None:
    for one in MEASURES:
        for power in range(-6, 7):
            for text in (one.shown(1.234 * 10.0**power), one.written(1.234 * 10.0**power)):
                assert "e" not in re.sub(r"[^\d.e+-]", "", text), (one.name, text)
                assert math.isfinite(float(re.search(r"-?[\d.]+", text)[0]))  # type: ignore[index]
