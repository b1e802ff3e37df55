"""What could hurt: the findings of the rules, worst first, and the questions that are open."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account
from lidoff.hazards import Finding, Findings, Undecided, cited
from lidoff.hazards.model import CONFIDENCE
from lidoff.writeup.blocks import (
    Block,
    Column,
    Heading,
    Listing,
    Paragraph,
    Row,
    Run,
    Strong,
    Table,
    Tag,
    Text,
    Tone,
)
from lidoff.writeup.words import sentence

TONES: Final[dict[str, Tone]] = {"serious": "bad", "high": "doubt", "medium": "plain", "low": "quiet"}


def head(found: Findings) -> list[Block]:
    """The chapter's heading and what the findings come to."""
    return [Heading(text="What could hurt", id="hazards"), Paragraph(text=(found.sentence,))]


def findings(account: Account) -> list[Block]:
    """The findings with what they rest on and what to do, then what could not be decided."""
    found = account.findings
    if found is None:
        return []
    blocks = head(found)
    if found.findings:
        blocks.append(
            Table(
                columns=(
                    Column(title="Finding"),
                    Column(title="What was found"),
                    Column(title="What to do"),
                    Column(title="Risk", room="narrow"),
                ),
                rows=tuple(_row(one) for one in found.findings),
                caption=(
                    "Risk levels after the method of Delegated Regulation (EU) 2024/3173: a short scenario, its steps "
                    "with a probability each, and how bad the injury would be. Most of the probabilities are assumed; "
                    "the scenarios stand in report.json beside this page.",
                ),
            )
        )
    if found.undecided:
        blocks.append(Heading(text="Open questions", id="undecided", level=2))
        blocks.append(Listing(items=tuple(_open(one) for one in found.undecided)))
    return blocks


def _row(one: Finding) -> Row:
    risk = one.risk
    note: list[Run] = [sentence(one.why), f" {CONFIDENCE[one.confidence]}", f" {risk.words}"]
    note.append(f" Basis: {cited(one.basis)}.")
    return Row(
        cells=(
            (Strong(text=one.title),),
            (" ".join(sentence(each) for each in one.because),),
            (sentence(one.action), f" {sentence(one.caution)}" if one.caution else ""),
            (Tag(text=risk.level, tone=TONES[risk.level]),),
        ),
        tone="bad" if risk.level == "serious" else "plain",
        note=tuple(note),
    )


def _open(one: Undecided) -> Text:
    return (Strong(text=sentence(one.title)), f" {' '.join(sentence(each) for each in one.needs)}")
