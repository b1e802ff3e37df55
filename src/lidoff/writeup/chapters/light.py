"""Light, mains quality and radio: what the eye, the camera, the supply and a radio make of the computed cycle."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final

from lidoff.account import Account, LightAndMains, StateAccount
from lidoff.drawing import DrawingError, harmonics_svg, light_svg, spectrum_svg
from lidoff.figures import Comparison
from lidoff.figures.modulation import most_modulation
from lidoff.writeup.blocks import (
    Bar,
    Block,
    Caution,
    Column,
    Heading,
    Listing,
    Paragraph,
    Picture,
    Row,
    Strong,
    Table,
    Tag,
    Text,
    Tone,
)
from lidoff.writeup.words import capital, in_state, sentence

_MARKS: Final = "¹²³⁴⁵⁶⁷⁸⁹"
_NOT_MEANT: Final = "that is not meant for this item or this state:"


def light(account: Account) -> list[Block]:
    """The page on light and mains of the main state."""
    main = account.main
    if main is None or main.page is None:
        return []
    page = main.page
    lit = bool(page.light_words)
    title = "Light and mains" if lit else "What the mains sees"
    blocks: list[Block] = [Heading(text=title, id="light-and-mains")]
    where = (
        f"All of this is about the computed wave {in_state(main.name)}. Nothing here is a test, and "
        "nothing passes or fails."
    )
    blocks.append(Paragraph(text=(where,), style="note"))
    if lit:
        if page.warning:
            blocks.append(
                Caution(title="For those who look into it", items=((capital(page.warning.removeprefix("Warning: ")),),))
            )
        blocks.append(Paragraph(text=(" ".join(words.text for words in page.light_words),)))
        if page.camera is not None:
            blocks.append(Paragraph(text=(page.camera.line,)))
        if page.lit:
            blocks += _light_picture(main)
        blocks += _tables(page.light_bounds, "what is published about light")
        if page.corner_of_the_eye:
            blocks.append(Paragraph(text=(page.corner_of_the_eye,), style="note"))
        blocks.append(Heading(text="What the mains sees", id="mains", level=2))
    blocks.append(Paragraph(text=(" ".join(words.text for words in page.input_words),)))
    blocks += _harmonics_picture(page)
    if page.input_limits:
        blocks += _tables(page.input_limits, "what is published about mains currents")
    blocks.append(Paragraph(text=(page.elsewhere,)))
    return [*blocks, *_radio(page)]


def _light_picture(state: StateAccount) -> list[Block]:
    """The light over a cycle with the bands of the practice, where there is light."""
    assert state.view is not None
    light = state.figures["light"]
    try:
        wide, narrow = (light_svg(state.view, light, narrow=form) for form in (False, True))
    except DrawingError:
        return []
    frequency, percent = float(light["frequency"]), float(light["percent_flicker"])
    low = most_modulation("low risk", frequency)
    side = "" if low is None else "inside" if percent < low else "far outside" if percent > 3.0 * low else "outside"
    said = f" This light swings {side} the wider one." if side else ""
    return [
        Picture(
            wide=wide,
            narrow=narrow,
            caption=(
                "The light over one cycle of the mains. A light whose swing stays within a green band lies under that "
                f"line of IEEE Std 1789-2015.{said} The dot shows the same among all frequencies: the faster a light "
                "beats, the more it may swing; slower than 90 times a second, strong flicker can set off a fit.",
            ),
        )
    ]


def _harmonics_picture(page: LightAndMains) -> list[Block]:
    """Harmonic currents under each limit, where there are any."""
    try:
        wide, narrow = (harmonics_svg(page.input_limits, narrow=form) for form in (False, True))
    except DrawingError:
        return []
    routes = sum(one.id.startswith("harmonics-class-c-route") for one in page.input_limits)
    beyond = any(one.applies for one in page.input_limits if one.id.startswith("harmonics"))
    of = " For lighting from 5 W to 25 W any one of the three routes is enough for the document." if routes else ""
    meant = "" if beyond else " None of these limits is meant for this item or this state."
    return [
        Picture(
            wide=wide,
            narrow=narrow,
            caption=(
                "How much of the current flows at three, five, seven … times the frequency of the mains, where it "
                f"heats wires without doing work. A dark mark over a bar is its limit in IEC 61000-3-2.{of}{meant}",
            ),
        )
    ]


def _radio(page: LightAndMains) -> list[Block]:
    """What a radio hears, with its picture, what a filter would change, and what it takes for granted."""
    heard = page.interference
    if heard is None:
        return []
    blocks: list[Block] = [
        Heading(text="What a radio hears", id="radio", level=2),
        Paragraph(text=(" ".join(words for words in (heard.words, heard.medium_wave, page.loudest) if words),)),
    ]
    if not heard.levels:
        return blocks
    wide, narrow = (spectrum_svg(heard, narrow=form) for form in (False, True))
    blocks.append(
        Picture(
            wide=wide,
            narrow=narrow,
            caption=(
                "The noise that the steps of the current send back along the lead, against the published limit. Where "
                "the blue band stands above the line, a radio on the same wiring is likely to hear it. Both step at "
                "150 kHz, where the receiver that the limit is written for listens with a wider ear.",
            ),
        )
    )
    if heard.filter_words:
        blocks.append(Paragraph(text=(Strong(text="What a filter would change."), f" {heard.filter_words}")))
        blocks.append(Paragraph(text=(heard.filter_caution,), style="note"))
    blocks.append(Paragraph(text=("What this estimate takes for granted:",), style="note"))
    blocks.append(Listing(items=tuple((sentence(one),) for one in heard.assumptions)))
    return blocks


def _tables(comparisons: Sequence[Comparison], what: str) -> list[Block]:
    """What is meant for this item in one table, what is shown for comparison only in another."""
    meant = [one for one in comparisons if one.applies]
    other = [one for one in comparisons if not one.applies]
    blocks: list[Block] = []
    if meant:
        blocks.append(_table(meant))
    if other:
        blocks.append(Paragraph(text=(Strong(text="For comparison only."), f" {capital(what)} {_NOT_MEANT}")))
        blocks.append(_table(other))
    return blocks


def _table(comparisons: Sequence[Comparison]) -> Table:
    """Rows of comparisons; what is said of several of them stands once, below, with a mark at each."""
    said = Counter(words for one in comparisons for words in one.scope)
    of_all = [words for words, count in said.items() if count == len(comparisons)]
    of_some = [words for words, count in said.items() if 1 < count < len(comparisons)]
    marks = dict(zip(of_some, _MARKS, strict=False))
    below = [*of_all, *(f"{mark} {words}" for words, mark in marks.items())]
    return Table(
        columns=(
            Column(title="Held against", room="wide"),
            Column(title="Wave and limit"),
            Column(title="Share of the limit"),
            Column(title="The computed wave lies", room="narrow"),
        ),
        rows=tuple(_row(one, of_all, marks) for one in comparisons),
        caption=(" ".join(below),) if below else (),
    )


def _row(one: Comparison, of_all: Sequence[str], marks: Mapping[str, str]) -> Row:
    basis = one.basis
    clause = f", {basis.clause}" if basis.clause else ""
    source = f"{basis.document}, {basis.edition}{clause}{'' if one.verified else ' (from memory)'}"
    lies: Text = ("too small to count",) if one.items else ("no limit here",)
    size: Text = ("–",)
    if one.worst is not None and one.lies is not None:
        tone: Tone = "quiet" if not one.applies else "doubt" if one.beyond else "plain"
        lies = (Tag(text=f"{one.lies} the {'limit' if one.kind == 'ceiling' else 'floor'}", tone=tone),)
        words = _times(one.worst.share)
        # On a floor, more is better: a bar that runs over its mark would say the opposite.
        size = (words,) if one.kind == "floor" else (Bar(share=one.worst.share, words=words), f" {words}")
    own = [words for words in one.scope if words not in marks and words not in of_all]
    signs = "".join(f" {marks[words]}" for words in one.scope if words in marks)
    return Row(
        cells=((Strong(text=one.title), f". {source}{signs}"), (_figures(one),), size, lies),
        note=(" ".join(own),) if own else (),
    )


def _times(share: float) -> str:
    """A share of a limit in few figures: "76 %", "12 times"."""
    if share >= 2.0:
        return f"{share:.2g} times"
    return "under 1 %" if share < 0.01 else f"{100.0 * share:.0f} %"


def _figures(one: Comparison) -> str:
    """What was compared, without the side it lies on: that stands beside it."""
    return one.wording if one.worst is None else f"{capital(str(one.worst))}."
