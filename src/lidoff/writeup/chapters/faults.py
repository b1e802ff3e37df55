"""If one part fails: what then happens, worst first."""

from __future__ import annotations

from typing import Final

from lidoff.account import Account
from lidoff.studies import Fault
from lidoff.writeup.blocks import Block, Column, Heading, Paragraph, Row, Strong, Table, Tag, Tone
from lidoff.writeup.words import capital, in_state, listed, sentence

_SHOWN: Final = 10
_TONES: Final[dict[int, Tone]] = {4: "bad", 3: "doubt", 2: "plain", 1: "quiet"}


def faults(account: Account) -> list[Block]:
    """The worst single faults, each in a sentence."""
    found = account.faults
    if found is None or not found.faults:
        return []
    shown = found.faults[:_SHOWN]
    left = len(found.faults) - len(shown)
    counts = [(level, sum(fault.severity == level for fault in found.faults)) for level in (4, 3, 2, 1)]
    words = listed(f"{count} of severity {level}" for level, count in counts if count)
    blocks: list[Block] = [
        Heading(text="If one part fails", id="faults"),
        Paragraph(
            text=(
                f"Every part of the circuit was failed by itself {in_state(found.state)}, in each of "
                f"the ways in which such a part fails, and the circuit solved again: {len(found.faults)} faults, "
                f"{words}, where 4 is worst. How likely each of them is, nobody worked out here.",
            )
        ),
        Table(
            columns=(
                Column(title="Fault", room="narrow"),
                Column(title="What then happens", room="most"),
                Column(title="Severity", room="narrow"),
            ),
            rows=tuple(_row(fault) for fault in shown),
            caption=(f"{left} more, no worse than these, stand in report.json beside this page.",) if left else (),
        ),
    ]
    return blocks


def _row(fault: Fault) -> Row:
    return Row(
        cells=(
            (Strong(text=capital(fault.part)), f" {fault.mode}"),
            (sentence(fault.outcome),),
            (Tag(text=f"{fault.severity} of 4", tone=_TONES.get(fault.severity, "plain")),),
        ),
    )
