"""What can go wrong when a rework is asked for."""

from __future__ import annotations

from lidoff.errors import LidoffError


class ReworkError(LidoffError):
    """The goal, or the item it is set for, cannot be worked on as given; the text says what to change."""
