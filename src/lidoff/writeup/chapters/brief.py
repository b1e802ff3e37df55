"""Chapters as the short form has them: the essentials, and how much more the full form holds."""

from __future__ import annotations

from lidoff.account import Account
from lidoff.circuit.groups.words import counted
from lidoff.writeup.blocks import Block, Column, Heading, Paragraph, Picture, Row, Strong, Table, Tag
from lidoff.writeup.chapters.cycle import wave
from lidoff.writeup.chapters.findings import TONES, head
from lidoff.writeup.chapters.how import drawn
from lidoff.writeup.chapters.knob import knobs
from lidoff.writeup.chapters.readings import next_ones, table
from lidoff.writeup.words import capital, sentence


def short_how(account: Account) -> list[Block]:
    """The schematic."""
    picture = drawn(account)
    return [] if picture is None else [Heading(text="How it is made", id="how"), picture]


def short_cycle(account: Account) -> list[Block]:
    """The waves of the main state."""
    main = account.main
    if main is None or main.view is None:
        return []
    return [Heading(text="One mains cycle", id="cycle"), wave(main)]


def short_knobs(account: Account) -> list[Block]:
    """Every knob with its figures and why, without its picture."""
    return [block for block in knobs(account) if not isinstance(block, Picture)]


def short_readings(account: Account) -> list[Block]:
    """The readings that do not simply agree, and what to measure next."""
    judgement = account.judgement
    if judgement is None or not judgement.readings:
        return []
    blocks: list[Block] = [Heading(text="Readings, and which to believe", id="readings")]
    odd = tuple(one for one in judgement.readings if one.verdict != "agrees")
    agreeing = len(judgement.readings) - len(odd)
    if odd:
        blocks.append(table(account, odd))
    if agreeing:
        words = "All readings agree" if not odd else f"{capital(counted(agreeing))} more agree"
        if agreeing == 1 and odd:
            words = "One more agrees"
        blocks.append(Paragraph(text=(f"{words} with what was computed.",)))
    return [*blocks, *next_ones(account, 1)]


def short_findings(account: Account) -> list[Block]:
    """The findings with what to do; what they rest on is left to the full form."""
    found = account.findings
    if found is None:
        return []
    blocks = head(found)
    if found.findings:
        blocks.append(
            Table(
                columns=(
                    Column(title="Finding"),
                    Column(title="What to do", room="wide"),
                    Column(title="Risk", room="narrow"),
                ),
                rows=tuple(
                    Row(
                        cells=(
                            (Strong(text=one.title),),
                            (sentence(one.action), f" {sentence(one.caution)}" if one.caution else ""),
                            (Tag(text=one.risk.level, tone=TONES[one.risk.level]),),
                        ),
                        tone="bad" if one.risk.level == "serious" else "plain",
                    )
                    for one in found.findings
                ),
                caption=(
                    "Risk levels after the method of Delegated Regulation (EU) 2024/3173, most of them from assumed "
                    "probabilities.",
                ),
            )
        )
    if found.undecided:
        count = counted(len(found.undecided))
        words = "question is" if len(found.undecided) == 1 else "questions are"
        blocks.append(
            Paragraph(text=(f"{capital(count)} {words} still open; the full form names them.",), style="note")
        )
    return blocks
