"""The one error of this room."""

from lidoff.errors import LidoffError


class QuantityError(LidoffError, ValueError):
    """A value that cannot be read; the message is one sentence that says what was expected."""
