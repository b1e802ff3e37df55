"""From a record to what the shelf remembers of it: by the whole account, or the quick way."""

from __future__ import annotations

from lidoff import __version__
from lidoff.account import Account, Skipped, StateAccount, fingerprint, take
from lidoff.account.hazards import facts_of
from lidoff.account.parts import account_parts
from lidoff.circuit import build
from lidoff.circuit.checking import missing
from lidoff.cycle import Solution, solve
from lidoff.errors import LidoffError
from lidoff.hazards import VERSION, judge
from lidoff.record import Item
from lidoff.record.fields import frozen
from lidoff.record.model import EMPTY
from lidoff.shelf.entry import Depth, Entry, entry_of
from lidoff.studies import stress

ENTRY_VERSION = 1
"""Grows whenever an entry holds more, or other, than before: entries made with another are made anew."""


def made_with() -> str:
    """What entries are made with: this program's version, its catalogue of rules, and what an entry holds."""
    return f"{__version__} catalogue {VERSION} entry {ENTRY_VERSION}"


def worked_out(item: Item, depth: Depth) -> Entry:
    """The entry of an item. Raises nothing for a record that is incomplete: it then holds what is known."""
    return entry_of(quick_account(item) if depth == "quick" else take(item), depth)


LEFT_OUT = (
    "On the quick way readings are not judged, values that nobody wrote down stand at the middle of their range, "
    "nothing is said of how far a figure may be off, knobs are not turned and parts are not failed one at a time."
)


def quick_account(item: Item) -> Account:
    """An account in a tenth of the time: the states solved once, groups, and the rules that need no faults.

    What it leaves out stands in `skipped`, `LEFT_OUT` first.
    """
    skipped = [Skipped(stage="readings", why=LEFT_OUT)]
    states: list[StateAccount] = []
    first: Solution | None = None
    names: list[str | None] = [state.name for state in item.states]
    for name in names or [None]:
        try:
            solution = solve(build(item, state=name))
        except LidoffError as error:
            skipped.append(Skipped(stage="cycle", why=str(error), state=name))
            continue
        first = first if first is not None or solution.direct else solution
        states.append(_state(name, solution))
    main = states[0] if states else None
    known = {"faults": None} | ({"stress": main.stress} if first is not None and main is not None else {})
    if first is not None and main is not None and first.circuit.state != main.name:
        known.pop("stress")
    facts = facts_of(item, solved=first, known=known)
    elements = {} if facts.circuit is None else {one.ref: one for one in facts.circuit.elements}
    return Account(
        item=item,
        version=__version__,
        fingerprint=fingerprint(item),
        parts=account_parts(item, elements, states, facts.groups, EMPTY),
        states=tuple(states),
        groups=facts.groups,
        switched_on=facts.switched_on,
        unplugged=facts.unplugged,
        findings=judge(facts),
        skipped=tuple(skipped),
        missing=tuple(missing(item)),
        warnings=tuple(str(problem) for problem in item.warnings),
    )


def _state(name: str | None, solution: Solution) -> StateAccount:
    figures = solution.figures()
    return StateAccount(
        name=name,
        supply=solution.circuit.supply,
        figures=frozen(figures),
        ranges=EMPTY,
        inputs=(),
        view=None,
        stress=stress(solution),
        warnings=tuple(figures["warnings"]),
    )
