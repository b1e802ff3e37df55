"""Rework: what it would take to make an item better, worked out to a goal, with parts one can buy, and proved.

    from lidoff.rework import design
    found = design(item, ["light=8–13 %", "ieee_1789=no-effect"], judge)
    found.offered                      # designs that hold at the worst case, best first
    found.rejected                     # families that do not, with the reason and the nearest they come

Each design family is one module of `families`; each design is itself the text of a record, opened again and solved.
"""

from lidoff.rework.attempt import Attempt, attempt
from lidoff.rework.case import Case, Judge
from lidoff.rework.choosing import Bought
from lidoff.rework.designing import design
from lidoff.rework.energy import Energy
from lidoff.rework.errors import ReworkError
from lidoff.rework.family import Family, Plan
from lidoff.rework.goals import GOALS, Goal, parse_goal, parse_goals
from lidoff.rework.model import RANKING, Design, Rejected, Rework
from lidoff.rework.picture import comparison_svg
from lidoff.rework.proof import Held, Proof
from lidoff.rework.worst import Extent, Worst

__all__ = [
    "GOALS",
    "RANKING",
    "Attempt",
    "Bought",
    "Case",
    "Design",
    "Energy",
    "Extent",
    "Family",
    "Goal",
    "Held",
    "Judge",
    "Plan",
    "Proof",
    "Rejected",
    "Rework",
    "ReworkError",
    "Worst",
    "attempt",
    "comparison_svg",
    "design",
    "parse_goal",
    "parse_goals",
]
