"""Light, mains quality and radio: what the eye, the camera, the supply and a radio make of the computed cycle."""

from __future__ import annotations

from collections.abc import Sequence

from lidoff.account import Account
from lidoff.figures import Comparison
from lidoff.writeup.blocks import (
    Bar,
    Block,
    Caution,
    Column,
    Heading,
    Listing,
    Paragraph,
    Row,
    Strong,
    Table,
    Tag,
    Text,
    Tone,
)
from lidoff.writeup.words import capital, sentence, state_name


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
        f"All of this is about the computed wave of the state {state_name(main.name)}. Nothing here is a test, and "
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
        blocks += _tables(page.light_bounds, "what is published about light")
        if page.corner_of_the_eye:
            blocks.append(Paragraph(text=(page.corner_of_the_eye,), style="note"))
        blocks.append(Heading(text="What the mains sees", id="mains", level=2))
    blocks.append(Paragraph(text=(" ".join(words.text for words in page.input_words),)))
    if page.input_limits:
        blocks += _tables(page.input_limits, "what is published about mains currents")
    blocks.append(Paragraph(text=(page.elsewhere,)))
    if page.interference is not None:
        blocks.append(Heading(text="What a radio hears", id="radio", level=2))
        blocks.append(Paragraph(text=(page.interference.words, " ", page.interference.medium_wave)))
        if page.interference.step > 0.0:
            blocks.append(Paragraph(text=("What this estimate takes for granted:",), style="note"))
            blocks.append(Listing(items=tuple((sentence(one),) for one in page.interference.assumptions)))
    return blocks


def _tables(comparisons: Sequence[Comparison], what: str) -> list[Block]:
    """What is meant for this item in one table, what is shown for comparison only in another."""
    meant = [one for one in comparisons if one.applies]
    other = [one for one in comparisons if not one.applies]
    blocks: list[Block] = []
    if meant:
        blocks.append(_table(meant, "Held against"))
    if other:
        words = f"For comparison only: {what} that is not meant for this item or state"
        blocks.append(_table(other, words))
    return blocks


def _table(comparisons: Sequence[Comparison], title: str) -> Table:
    """Rows of comparisons; what is said of all of them stands once, below."""
    shared = [words for words in comparisons[0].scope if all(words in one.scope for one in comparisons)]
    return Table(
        columns=(
            Column(title=title, room="wide"),
            Column(title="Wave and limit"),
            Column(title="Share of the limit"),
            Column(title="The computed wave lies", room="narrow"),
        ),
        rows=tuple(_row(one, shared) for one in comparisons),
        caption=(" ".join(shared),) if shared else (),
    )


def _row(one: Comparison, shared: Sequence[str]) -> Row:
    basis = one.basis
    clause = f", {basis.clause}" if basis.clause else ""
    source = f"{basis.document}, {basis.edition}{clause}{'' if one.verified else ' (from memory)'}"
    lies: Text = ("no limit here",)
    size: Text = ("–",)
    if one.worst is not None and one.lies is not None:
        tone: Tone = "quiet" if not one.applies else "doubt" if one.beyond else "plain"
        lies = (Tag(text=f"{one.lies} the {'limit' if one.kind == 'ceiling' else 'floor'}", tone=tone),)
        size = (Bar(share=one.worst.share, words=_times(one.worst.share)), f" {_times(one.worst.share)}")
    own = [words for words in one.scope if words not in shared]
    return Row(
        cells=((Strong(text=one.title), f". {source}"), (_figures(one),), size, lies),
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
