"""What is being done while an account is taken, on one line of the terminal that goes away again."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

_CLEAR = "\r\x1b[2K"


@contextmanager
def stages_told() -> Iterator[Callable[[str], None] | None]:
    """A function to be called with the name of each stage as it begins; None where nobody watches standard error."""
    if not sys.stderr.isatty():
        yield None
        return
    from lidoff.account import STAGES

    def tell(stage: str) -> None:
        print(f"{_CLEAR}Now: {STAGES[stage]} …", end="", file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        print(_CLEAR, end="", file=sys.stderr, flush=True)


@contextmanager
def told() -> Iterator[Callable[[str], None] | None]:
    """A function to be called with what is being worked on; None where nobody watches standard error."""
    if not sys.stderr.isatty():
        yield None
        return

    def tell(what: str) -> None:
        print(f"{_CLEAR}Now: {what} …", end="", file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        print(_CLEAR, end="", file=sys.stderr, flush=True)
