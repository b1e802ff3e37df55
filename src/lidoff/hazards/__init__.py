"""What could hurt somebody: the look list, the rules, the risk level, the bench card. Sees results only, no solver.

judge(Facts(item=item, circuit=circuit, …))      # -> Findings
look_list(item, circuit)                         # what to look at, in what order, with the answers so far
bench_card(facts)                                # what is live and what holds charge, before anything is touched
"""

from lidoff.hazards.card import BenchCard, Charged, bench_card
from lidoff.hazards.catalogue import RETIRED, RULES, VERSION, NoSuchRuleError, rule
from lidoff.hazards.facts import Facts, Pictured, Touched, Working
from lidoff.hazards.judge import CAUTIONS, judge
from lidoff.hazards.look import Look, look_list, not_looked_at
from lidoff.hazards.model import Basis, Finding, Findings, Risk, Step, Undecided, cited
from lidoff.hazards.questions import PHASES, QUESTIONS, Question
from lidoff.hazards.risk import rate
from lidoff.hazards.rule import Case, Rule

__all__ = [
    "CAUTIONS",
    "PHASES",
    "QUESTIONS",
    "RETIRED",
    "RULES",
    "VERSION",
    "Basis",
    "BenchCard",
    "Case",
    "Charged",
    "Facts",
    "Finding",
    "Findings",
    "Look",
    "NoSuchRuleError",
    "Pictured",
    "Question",
    "Risk",
    "Rule",
    "Step",
    "Touched",
    "Undecided",
    "Working",
    "bench_card",
    "cited",
    "judge",
    "look_list",
    "not_looked_at",
    "rate",
    "rule",
]
