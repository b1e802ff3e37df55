"""If one part fails: what then happens, worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from lidoff.account import Account
from lidoff.drawing import faults_svg
from lidoff.studies import Fault, Faults
from lidoff.writeup.blocks import Block, Column, Heading, Paragraph, Picture, Row, Strong, Table, Tag, Tone
from lidoff.writeup.words import capital, in_state, listed, sentence

_SHOWN: Final = 10
_OF_ONE: Final = 2  # rows for one part, so that a bridge does not fill the table with its six ways to short
_TONES: Final[dict[int, Tone]] = {4: "bad", 3: "doubt", 2: "plain", 1: "quiet"}


def faults(account: Account) -> list[Block]:
    """The worst single faults, each in a sentence."""
    found = account.faults
    if found is None or not found.faults:
        return []
    shown = _of_each_part(found.faults)
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
        _picture(found),
        Table(
            columns=(
                Column(title="Fault", room="narrow"),
                Column(title="What then happens", room="most"),
                Column(title="Severity", room="narrow"),
            ),
            rows=tuple(_row(fault) for fault in shown),
            caption=(
                (
                    f"{left} more stand in report.json beside this page: of these parts none worse than shown, of "
                    "others none worse than the last one here.",
                )
                if left
                else ()
            ),
        ),
    ]
    return blocks


def _of_each_part(faults: Sequence[Fault]) -> list[Fault]:
    """The worst faults, worst first, no more than two of any part."""
    count: Counter[str] = Counter()
    shown = []
    for fault in faults:
        count[fault.part] += 1
        if count[fault.part] <= _OF_ONE:
            shown.append(fault)
    return shown[:_SHOWN]


def _picture(found: Faults) -> Picture:
    told = [fault.as_json() for fault in found.faults]
    return Picture(
        wide=faults_svg(told),
        narrow=faults_svg(told, narrow=True),
        caption=(
            "A row is a part, the worst one first. A mark says what comes of it when that part fails in one way or "
            "another, and how bad that is; a number beside it, in how many ways.",
        ),
    )


def _row(fault: Fault) -> Row:
    return Row(
        cells=(
            (Strong(text=capital(fault.part)), f" {fault.mode}"),
            (sentence(fault.outcome),),
            (Tag(text=f"{fault.severity} of 4", tone=_TONES.get(fault.severity, "plain")),),
        ),
    )
