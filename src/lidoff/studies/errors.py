"""What a study cannot do, in one sentence."""

from __future__ import annotations

from lidoff.errors import LidoffError


class StudyError(LidoffError):
    """A study was asked of a circuit that it does not fit; the text says what would."""
