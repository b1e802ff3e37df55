"""What was measured, held against what was computed: which readings to believe, and what to measure next."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account
from lidoff.kinds import KINDS
from lidoff.quantity import engineering, with_interval
from lidoff.readings import Inferred, Judged, Proposal
from lidoff.readings.words import place_of
from lidoff.writeup.blocks import (
    Block,
    Column,
    Heading,
    Listing,
    Number,
    Paragraph,
    Row,
    Run,
    Said,
    Strip,
    Strong,
    Table,
    Tag,
    Text,
    Tone,
)
from lidoff.writeup.chapters.meter import power_factors
from lidoff.writeup.numbers import between, to_digits
from lidoff.writeup.words import as_read, capital, key_name, quantity_name, sentence, state_name, with_states

TONES: Final[dict[str, Tone]] = {
    "agrees": "good",
    "doubtful": "doubt",
    "contradicts": "bad",
    "cannot-tell": "quiet",
}
_FIGURES: Final = {"current": "current_rms", "voltage": "voltage_rms"}
WORDS: Final = {"cannot-tell": "cannot tell"}
ORDER: Final = ("contradicts", "doubtful", "cannot-tell", "agrees")


def readings(account: Account) -> list[Block]:
    """The readings with their verdicts, what contradicts what, what they tell, and what to measure next."""
    judgement = account.judgement
    if judgement is None or not (judgement.readings or judgement.inferred or judgement.next):
        return []
    blocks: list[Block] = [Heading(text="Readings, and which to believe", id="readings")]
    if judgement.contradictions:
        blocks.append(Paragraph(text=("Found without any circuit, from the readings alone:",)))
        blocks.append(
            Listing(items=tuple((with_states(sentence(one.what), account),) for one in judgement.contradictions))
        )
    if judgement.readings:
        blocks.append(
            Paragraph(
                text=(
                    "A reading agrees where it lies within two standard uncertainties of the computed value, is "
                    "doubtful up to three and contradicts beyond. Where the mains and the parts leave the computed "
                    "value open by more than a fifth, nobody can tell.",
                )
            )
        )
        blocks.append(table(account, judgement.readings))
        blocks += power_factors(account)
    if judgement.inferred or judgement.narrowed:
        blocks.append(Heading(text="What the readings tell about the parts", id="inferred", level=2))
        blocks.append(
            Listing(
                items=(
                    *(_inferred(one) for one in judgement.inferred),
                    *(_narrowed(account, one) for one in judgement.narrowed),
                )
            )
        )
    return [*blocks, *next_ones(account)]


def next_ones(account: Account, most: int | None = None) -> list[Block]:
    """What to measure next, `most` of it."""
    judgement = account.judgement
    if judgement is None or not judgement.next:
        return []
    items = tuple(_next(account, one) for one in judgement.next[:most])
    return [
        Heading(text="What to measure next", id="next", level=2),
        Listing(items=items, ordered=len(items) > 1),
    ]


def table(account: Account, judged: tuple[Judged, ...]) -> Table:
    """Readings with what was computed and the verdict, those to doubt first."""
    rows = sorted(judged, key=lambda one: ORDER.index(one.verdict))
    return Table(
        columns=(
            Column(title="Reading"),
            Column(title="Shown", numeric=True, room="narrow"),
            Column(title="Computed for this meter", numeric=True),
            Column(title="Side by side"),
            Column(title="Verdict", room="narrow"),
        ),
        rows=tuple(_row(account, one) for one in rows),
        caption=(
            "In the small picture the band is what the meter should show, to 95 %; the dot is what it showed, with "
            "twice its standard uncertainty either way.",
        ),
    )


def _row(account: Account, one: Judged) -> Row:
    reading = one.reading
    shown = as_read(reading)
    computed: Text = ("–",)
    picture: Text = ("–",)
    band = _band(account, one)
    if band is not None:
        low, value, high = band
        text = to_digits(value, 0.5 * (high - low), reading.unit)
        limits = between(low, high, reading.unit) if high > low else ""
        span = f" ({limits})" if limits else ""
        computed = (Number(text=text, origin="computed", spread=limits), span)
        words = f"shown {shown}, computed {text}{span}"
        picture = (Strip(low=low, value=value, high=high, point=reading.value, half=2.0 * one.sigma, words=words),)
    where: list[Run] = [Strong(text=capital(quantity_name(reading.quantity))), f" {place_of(reading.at)}"]
    if one.state is not None:
        where.append(f", {state_name(one.state)}")
    if reading.meter:
        where.append(f", {reading.meter}")
    note: list[Run] = [with_states(sentence(one.why), account)] if one.why else []
    if reading.note:
        note += [" ", Said(text=reading.note)]
    return Row(
        cells=(
            tuple(where),
            (Number(text=shown, origin="measured"),),
            computed,
            picture,
            (Tag(text=WORDS.get(one.verdict, one.verdict), tone=TONES[one.verdict]),),
        ),
        tone="bad" if one.verdict == "contradicts" else "plain",
        note=tuple(note),
    )


def _band(account: Account, one: Judged) -> tuple[float, float, float] | None:
    """Low end, middle and high end of the computed value; None where there is none.

    Where nobody can tell, the readings themselves must not narrow it: the span of the figure as computed stands then.
    """
    state = account.state(one.state)
    if one.verdict == "cannot-tell" and one.reading.at == "input" and state is not None:
        name = _FIGURES.get(one.reading.quantity, one.reading.quantity)
        figure = state.figure(f"input.{name}", one.reading.unit)
        if figure is not None and figure.range is not None:
            return figure.range.low, figure.value, figure.range.high
    if one.computed is None:
        return None
    low = one.computed if one.low95 is None else one.low95
    high = one.computed if one.high95 is None else one.high95
    return low, one.computed, high


def _narrowed(account: Account, one: Inferred) -> Text:
    """What the readings make of a value that is known within its tolerance only, in its own unit."""
    owner, _, word = one.key.rpartition(".")
    recorded: float | None = None
    unit = ""
    if owner == "supply":
        state = account.state(one.state)
        if state is not None and word == "voltage":
            recorded, unit = state.supply.voltage, "V"
    else:
        part = account.part(owner)
        key = None if part is None else KINDS[part.part.kind].key(word)
        if part is not None and part.element is not None and key is not None:
            recorded, unit = part.element.number(word), key.unit
    if recorded is None:
        recorded, unit = 1.0, ""
    where = f" in {state_name(one.state)}" if one.state else ""
    low, middle, high = (recorded * times for times in (one.low95, one.median, one.high95))
    told, taken = to_digits(middle, 0.5 * (high - low), unit), with_interval(recorded, 0.0, unit)
    if told == taken:  # to the digits that the readings bear, what was taken is right
        return (
            "If all of them are right, ",
            Strong(text=f"{key_name(one.key)}{where}"),
            " is ",
            Number(text=told, origin="inferred", spread=between(low, high, unit)),
            f" ({between(low, high, unit)}), as taken.",
        )
    return (
        "If all of them are right, ",
        Strong(text=f"{key_name(one.key)}{where}"),
        " is rather ",
        Number(text=told, origin="inferred", spread=between(low, high, unit)),
        f" ({between(low, high, unit)}) than the {taken} taken.",
    )


def _inferred(one: Inferred) -> Text:
    half = 0.5 * (one.high95 - one.low95)
    text = (
        with_interval(one.median, half, one.unit, show_interval=False)
        if half > 0.0
        else engineering(one.median, one.unit)
    )
    found: list[Run] = [
        Strong(text=capital(key_name(one.key))),
        " is ",
        Number(text=text, origin="inferred"),
    ]
    if half > 0.0:
        found.append(f", to 95 % from {between(one.low95, one.high95, one.unit)}")
    if one.open_low or one.open_high:
        found.append(
            "; the readings set no bound on " + ("either side" if one.open_low and one.open_high else "one side")
        )
    found.append(".")
    if one.note:
        found.append(f" {sentence(one.note)}")
    return tuple(found)


def _next(account: Account, one: Proposal) -> Text:
    state = f", {state_name(one.state)}" if one.state is not None else ""
    found: list[Run] = [
        Strong(text=f"{capital(quantity_name(one.quantity))} {place_of(one.at)}{state}."),
        f" {with_states(sentence(one.why), account)}",
    ]
    if one.how:
        found.append(f" {with_states(sentence(one.how), account)}")
    if one.caution:
        found.append(f" {sentence(one.caution)}")
    return tuple(found)
