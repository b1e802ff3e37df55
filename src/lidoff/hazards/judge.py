"""An item judged: every rule of the catalogue put to the facts."""

from __future__ import annotations

from typing import Final

from lidoff.hazards.catalogue import RULES, VERSION
from lidoff.hazards.facts import Facts
from lidoff.hazards.look import not_looked_at, notes, seen_words
from lidoff.hazards.model import Finding, Findings, Undecided
from lidoff.standards.risk import LEVELS

CAUTIONS: Final = (
    "Isolate first: plug pulled and in sight, or the circuit locked off and proved dead with a tester checked before "
    "and "
    "after.",
    "Discharge second: measure every capacitor on the bench card, discharge through a resistor, measure again.",
    "Powered tests only behind a residual-current device of 30 mA or less, through an isolating transformer where the "
    "circuit is joined to the mains, one hand away, nobody alone.",
    "Work on mains equipment for others is for those whose training and licence allow it; the local electrical code "
    "and "
    "the maker's instructions come before anything written here.",
    "Nothing here is a test certificate. What was not looked at is listed; an item without findings is an item on "
    "which "
    "no rule of this catalogue found anything.",
)


def judge(facts: Facts) -> Findings:
    """Every rule put to an item: findings worst first, open questions, what was not looked at, cautions."""
    findings: list[Finding] = []
    undecided: list[Undecided] = []
    silent: list[str] = []
    for rule in RULES:
        found, left_open = rule.judge(facts)
        findings += found
        undecided += left_open
        if not found and not left_open:
            silent.append(rule.id)
    return Findings(
        findings=tuple(sorted(findings, key=_worst_first)),
        undecided=tuple(undecided),
        looked_at=seen_words(facts.item, facts.circuit),
        not_looked_at=not_looked_at(facts.item, facts.circuit),
        cautions=CAUTIONS,
        notes=notes(facts.item),
        silent=tuple(silent),
        skipped=facts.skipped,
        catalogue=VERSION,
        verdict=facts.item.verdict,
    )


def _worst_first(one: Finding) -> tuple[int, int, float, str]:
    return (-LEVELS.index(one.risk.level), -one.risk.severity, -one.risk.probability, one.code)
