"""What can go wrong with a shelf."""

from lidoff.errors import LidoffError


class ShelfError(LidoffError):
    """The shelf cannot do what was asked; the text is one sentence that names the file and what to do."""


class QueryError(ShelfError):
    """What was asked of the shelf is not understood; the text says which word, and gives an example."""


class PackError(ShelfError):
    """A packed item is refused, or an item cannot be packed; nothing was written."""
