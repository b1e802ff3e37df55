"""`lidoff shelf add`, `rebuild` and `forget`."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import Json, UsageError
from lidoff.cli.shelf_options import ShelfPlace, place_of

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.shelf import Report, Step

_CLEAR = "\r\x1b[2K"
Quick = Annotated[
    bool,
    Parameter(
        name="--quick",
        negative=(),
        show_default=False,
        help="Work out a tenth: no readings judged, no ranges, no knobs, no faults.",
    ),
]


def add(*folders: Annotated[Path, Parameter(help="Record folders, folders that hold some, or lone .toml files.")],
        quick: Quick = False, shelf: ShelfPlace = None, json: Json = False) -> int:  # fmt: skip
    """Put records on the shelf: each is worked out once and remembered until it changes.

    The folders stay where they are and are not changed. Ctrl-C stops after the record that is being worked out; what
    was done until then stands.
    """
    from lidoff.cli.show import before_solving
    from lidoff.shelf import add as put

    if not folders:
        raise UsageError("name a folder to put on the shelf; see: lidoff shelf add --help")
    before_solving()
    index = place_of(shelf)
    with _watched() as watch:
        report = put(index, folders, depth="quick" if quick else "full", watch=watch)
    return _told(report, index, json=json)


def rebuild(*, quick: Quick = False, shelf: ShelfPlace = None, json: Json = False) -> int:
    """Look into every folder of the shelf again; make its index anew where there is none.

    Records that have not changed are left alone. Those that are gone stay, with what is known of them, and are named.
    """
    from lidoff.cli.show import before_solving
    from lidoff.shelf import rebuild as anew

    before_solving()
    index = place_of(shelf)
    with _watched() as watch:
        report = anew(index, depth="quick" if quick else None, watch=watch)
    return _told(report, index, json=json)


def forget(folder: Annotated[Path, Parameter(help="A record or folder that is on the shelf.")], /, *,
           shelf: ShelfPlace = None, json: Json = False) -> int:  # fmt: skip
    """Take a folder and its records off the shelf. The folder itself is not touched."""
    from lidoff.cli.show import answer
    from lidoff.shelf import forget as drop

    dropped = drop(place_of(shelf), folder)
    return answer(
        {"forgotten": [str(one) for one in dropped]},
        as_json=json,
        text=lambda out: out.print(f"Taken off the shelf: {len(dropped)}. The folders are as they were."),
    )


def _told(report: Report, index: Path, *, json: bool) -> int:
    from lidoff.cli.show import answer

    def text(out: Console) -> None:
        out.print(report.sentence)
        for new, old in report.moved.items():
            out.print(f"  moved: {old} is now {new}", soft_wrap=True)
        for heading, them in (("gone", dict.fromkeys(report.gone, "what is known of it is kept")),
                              ("cannot be read", report.unreadable), ("not worked out", report.unsolved)):  # fmt: skip
            for path, why in them.items():
                out.print(f"  {heading}: {path}: {why}", soft_wrap=True)
        out.print(f"Index: {index}", style="dim", soft_wrap=True)

    return answer({"index": str(index), **report.as_json()}, as_json=json, text=text, warnings=report.problems)


@contextmanager
def _watched() -> Iterator[Callable[[Step], bool]]:
    """What is to be called before each record: shows how far it has come, and stops at the first Ctrl-C."""
    stopped = threading.Event()
    seen = sys.stderr.isatty()

    def watch(step: Step) -> bool:
        if seen and not stopped.is_set():
            share = step.done / max(step.total, 1)
            print(f"{_CLEAR}{step.done} of {step.total} ({share:.0%}): {step.path.parent.name} …", end="",
                  file=sys.stderr, flush=True)  # fmt: skip
        return not stopped.is_set()

    def stop(*_: object) -> None:
        stopped.set()
        signal.signal(signal.SIGINT, before)  # the second one is not waited for
        print(f"{_CLEAR if seen else ''}Stopping after this record …", file=sys.stderr, flush=True)

    if threading.current_thread() is not threading.main_thread():
        yield watch
        return
    before = signal.signal(signal.SIGINT, stop)
    try:
        yield watch
    finally:
        signal.signal(signal.SIGINT, before)
        if seen:
            print(_CLEAR, end="", file=sys.stderr, flush=True)
