"""How it works: the schematic, a paragraph for each group, and what flows at six instants."""

from __future__ import annotations

import re
from typing import Final

from lidoff.account import Account, StateAccount
from lidoff.studies.explain import Cited, Sentence
from lidoff.writeup.blocks import Block, Heading, Number, Paragraph, Picture, Run, Strong, Text
from lidoff.writeup.numbers import number
from lidoff.writeup.words import capital, joined, sentence, state_name

_FIGURES: Final = "figures: "
_RECORD: Final = "record: "


def how(account: Account) -> list[Block]:
    """The schematic, then how it works in the order in which energy flows."""
    drawings, told = account.drawings, account.explanation
    blocks: list[Block] = []
    picture = drawn(account)
    if picture is not None:
        blocks.append(picture)
    main = account.main or (account.states[0] if account.states else None)
    if told is not None and main is not None:
        for one in told.paragraphs:
            text = joined([_sentence(account, main, each) for each in one.sentences])
            blocks.append(Paragraph(text=(Strong(text=sentence(one.title)), " ", *text)))
    if drawings is not None and drawings.instants is not None and main is not None:
        wide, narrow = drawings.instants
        blocks.append(
            Picture(
                wide=wide,
                narrow=narrow,
                caption=(f"{capital(state_name(main.name))} at six instants of the first half-cycle, computed.",),
            )
        )
    return [Heading(text="How it works", id="how"), *blocks] if blocks else []


def drawn(account: Account) -> Picture | None:
    """The schematic, None where there is none."""
    if account.drawings is None:
        return None
    return Picture(
        wide=account.drawings.schematic,
        caption=(
            "Drawn from the connections in the record, the mains at the left. The watts beside a part are what it "
            "turns into heat or light, computed.",
        ),
    )


def _sentence(account: Account, main: StateAccount, one: Sentence) -> Text:
    """A sentence with its numbers marked by origin, each to the digits that its span bears."""
    by_text: dict[str, list[Cited]] = {}
    for cited in one.figures.values():
        by_text.setdefault(cited.shown, []).append(cited)
    shown = sorted((re.escape(text) for text in by_text), key=len, reverse=True)
    found: list[Run] = []
    end = 0
    for match in re.finditer(rf"(?<![\w.])(?:{'|'.join(shown)})(?!\w)", one.text):
        cited = by_text[match[0]][0]
        found += [one.text[end : match.start()], _number(account, main, cited)]
        end = match.end()
    return (*found, one.text[end:])


def _number(account: Account, main: StateAccount, cited: Cited) -> Number:
    if cited.source.startswith(_RECORD):
        return Number(text=cited.shown, origin=_origin(account, main, cited.source.removeprefix(_RECORD)))
    if cited.source.startswith(_FIGURES) and cited.style == "computed":
        figure = main.figure(cited.source.removeprefix(_FIGURES), cited.unit)
        if figure is not None:
            return number(figure)
    return Number(text=cited.shown, origin="computed")


def _origin(account: Account, main: StateAccount, key: str) -> str:
    """Where a value of the record comes from."""
    owner, _, word = key.rpartition(".")
    if key in account.used:
        return "inferred"
    if owner == "supply":
        return "measured" if main.supply.measured else "assumed" if main.supply.assumed else "recorded"
    part = account.part(owner)
    return "recorded" if part is None else part.origins.get(word, "recorded")
