"""What was found inside: every part with its marking, what it belongs to and how hard it works; what the parts form."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account, Figure, PartAccount
from lidoff.account.ranges import stress_name
from lidoff.kinds import KINDS
from lidoff.quantity import with_interval
from lidoff.studies import Stress
from lidoff.writeup.blocks import (
    Bar,
    Block,
    Column,
    Heading,
    Listing,
    Number,
    Paragraph,
    Row,
    Run,
    Said,
    Strong,
    Table,
    Tag,
    Text,
    Tone,
    plain,
)
from lidoff.writeup.numbers import number, share
from lidoff.writeup.words import capital, listed, part_value, sentence, state_name

_STORES: Final = ("capacitor", "inductor", "choke")  # without a loss they make no heat, whatever the rounding says
_LOSSES: Final = ("esr", "resistance")
_TONES: dict[str, Tone] = {"over": "bad", "close": "doubt", "within": "good", "no rating": "quiet"}


def parts(account: Account) -> list[Block]:
    """The table of parts, worst off first, and the groups in the order in which energy flows."""
    if not account.parts:
        return []
    blocks: list[Block] = [Heading(text="What is inside", id="parts")]
    if account.groups is not None and account.groups.best:
        blocks.append(
            Listing(items=tuple(_group(group.title, group.why) for group in account.groups.best), ordered=True)
        )
        if account.groups.sentence:
            blocks.append(Paragraph(text=(account.groups.sentence,)))
    blocks.append(Heading(text="Every part, hardest worked first", id="stress", level=2))
    blocks.append(
        Paragraph(
            text=(
                "How hard a part works is its computed power, voltage or current against what it is rated for, "
                "whichever is nearest to its rating. Where nobody wrote a rating, the part's marking tells it; where "
                "that does not either, what such a part is commonly good for stands in, and it says so.",
            )
        )
    )
    blocks.append(
        Table(
            columns=(
                Column(title="Part", room="narrow"),
                Column(title="Value"),
                Column(title="Marked"),
                Column(title="Belongs to"),
                Column(title="Works at", room="wide"),
            ),
            rows=_rows(account),
        )
    )
    blocks += _alternatives(account)
    return blocks


def _group(title: str, why: str) -> Text:
    return (Strong(text=f"{capital(title)}."), f" {why}")


def _rows(account: Account) -> tuple[Row, ...]:
    """A row for each part; parts of which everything is the same share one."""
    alike: dict[tuple[object, ...], tuple[list[str], PartAccount]] = {}
    for one in account.parts:
        row = _row(account, one, one.part.name)
        key = (one.part.kind, *(plain(cell) for cell in row.cells[1:]), plain(row.note))
        alike.setdefault(key, ([], one))[0].append(one.part.name)
    return tuple(_row(account, one, listed(sorted(names))) for names, one in alike.values())


def _row(account: Account, one: PartAccount, names: str) -> Row:
    part = one.part
    marked: Text = ("–",)
    if part.marking:
        read = one.taken.text if one.taken is not None else "could not be read"
        marked = (Said(text=part.marking), f": {read}")
    belongs = [group.title for group in one.groups if group.rank == 1]
    note: Text = (Said(text=part.note),) if part.note else ()
    return Row(
        cells=(
            (Strong(text=names), f" {KINDS[part.kind].title}"),
            part_value(one),
            marked,
            (", ".join(belongs) if belongs else "–",),
            _works_at(account, one),
        ),
        tone="bad" if one.worst is not None and one.worst.verdict == "over" else "plain",
        note=note,
    )


def _works_at(account: Account, one: PartAccount) -> Text:
    """The nearest it comes to a rating, as a bar and in words."""
    worst = one.worst
    if worst is None or worst.times is None or worst.rating is None:
        if one.part.kind in _STORES and not any(one.part.values.get(key) for key in _LOSSES):
            return ("no loss written, so no heat computed; no rating to hold against it",)
        power = _power(account, one)
        # What a converter takes goes on to what it feeds; its loss alone, which nobody knows, stays as heat.
        what = "taken, not all of it as heat" if one.part.kind == "converter" else "of heat"
        return (power, f" {what}; no rating to hold against it") if power is not None else ("no rating",)
    state = account.state(one.worst_state)
    found = None if state is None else state.ranges.get(stress_name(worst.part, worst.quantity, worst.measure))
    value = number(Figure(value=worst.value, unit=worst.unit, origin="computed", range=found))
    rating = Number(
        text=with_interval(float(f"{worst.rating:.3g}"), 0.0, worst.unit),
        origin="assumed" if worst.assumed else "marked" if worst.marked else "recorded",
    )
    words = share(worst.times)
    runs: list[Run] = [
        Bar(share=worst.times, words=words),
        " ",
        Tag(text=words, tone=_TONES[worst.verdict]),
        " ",
        value,
        f" {_measure(worst)} of ",
        rating,
    ]
    if worst.assumed:
        runs.append(", assumed")
    if len(account.states) > 1:
        runs.append(f", {state_name(one.worst_state)}")
    return tuple(runs)


def _measure(row: Stress) -> str:
    """What was measured, in few words."""
    if row.quantity == "power":
        return "of heat" if row.measure == "mean power" else "if the whole track carried its current,"
    return row.measure


def _power(account: Account, one: PartAccount) -> Number | None:
    for state in account.states:
        figure = state.figure(f"parts.{one.part.name}.power", "W")
        if figure is not None:
            return number(figure)
    return None


def _alternatives(account: Account) -> list[Block]:
    """Markings that are not settled, groups that may be read otherwise, values unlike their role."""
    items: list[Text] = []
    for one in account.parts:
        if one.decoded is not None and not one.decoded.settled and one.decoded.would_settle and one.decoded.candidates:
            items.append(
                (
                    Strong(text=f"{one.part.name}."),
                    f" Its marking is not settled. {sentence(one.decoded.would_settle[0])}",
                )
            )
        elif one.part.marking and one.taken is None:
            items.append((Strong(text=f"{one.part.name}."), " Its marking is not one that is known here."))
    if account.groups is not None:
        told = {knob.ref for knob in account.knobs}  # the chapter on a knob has what there is to say of its group
        items += [
            (Strong(text=f"{capital(group.title)}."), f" {remark}")
            for group in account.groups.best
            for remark in group.remarks
            if not told & set(group.refs)
        ]
    if not items:
        return []
    return [Heading(text="Worth a second look", id="second-look", level=2), Listing(items=tuple(items))]
