"""Readings: what a meter shows, whether to believe it, what it says of what was not measured, what to measure next."""

from lidoff.readings.judging import judge
from lidoff.readings.model import (
    Contradiction,
    Corrected,
    Inferred,
    Joint,
    Judged,
    Judgement,
    Look,
    Overlay,
    Proposal,
    Recorded,
    Verdict,
)
from lidoff.readings.picture import joint_svg

__all__ = [
    "Contradiction",
    "Corrected",
    "Inferred",
    "Joint",
    "Judged",
    "Judgement",
    "Look",
    "Overlay",
    "Proposal",
    "Recorded",
    "Verdict",
    "joint_svg",
    "judge",
]
