"""Lidoff turns the pieces of an opened mains-powered product into an account that stands up.

    import lidoff
    item = lidoff.open("examples/strip")
    solution = lidoff.solve(item, state="full", changes={"R1.value": 2200.0})
    solution.figures()

Importing the package loads no numeric library: each function here imports its room when it is first called.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING, Any

from lidoff._compiler import settle
from lidoff.errors import LidoffError

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from lidoff.cycle import Solution
    from lidoff.record import Item

__version__ = "0.1.0"

__all__ = ["Item", "LidoffError", "Solution", "decode", "faults", "hazards", "open", "readings", "rework", "solve"]


# Before anything can import numba.
settle(Path(__file__).parent, os.environ)


def open(path: str | os.PathLike[str]) -> Item:
    """The record at `path`, a record folder or a `.toml` file, read and checked.

    Raises LidoffError with one sentence per problem where the record is wrong.
    """
    from lidoff.record import open as open_record

    return open_record(path)


def solve(item: Item, state: str | None = None, changes: Mapping[str, Any] | None = None) -> Solution:
    """The settled mains cycle of an item in one of its states, reached from rest.

    `changes` maps names such as "R1.value" or "supply.voltage" to values [SI units]. Without `state`, the state named
    first in the record, else the record as it stands. Raises LidoffError where the circuit cannot be solved.
    """
    from lidoff.cycle import solve_item

    return solve_item(item, state=state, changes=changes)


def decode(marking: str, kind: str | None = None, measured: str | None = None) -> dict[str, Any]:
    """Every reading of a marking, best first, as `lidoff decode --json` prints it.

    `kind` narrows the search to one part kind; `measured` ("0.1 R") is a bench measurement that re-ranks the readings.
    """
    from lidoff.markings import decode as decode_marking

    return {**decode_marking(marking, kind=kind, measured=measured).as_json(), "warnings": []}


def readings(item: Item) -> dict[str, Any]:
    """Each reading of the item against the computed value, as `lidoff readings --json` prints it."""
    from lidoff.readings import judge

    return judge(item).as_json()


def faults(item: Item, state: str | None = None) -> dict[str, Any]:
    """The parts of the item failed one at a time in one of its states, as `lidoff faults --json` prints it."""
    from lidoff.circuit import build
    from lidoff.studies import faults as fail

    return fail(build(item, state=state), item).as_json()


def hazards(item: Item) -> dict[str, Any]:
    """What could hurt somebody, judged by every rule of the catalogue, as `lidoff hazards --json` prints it."""
    from lidoff.account.hazards import facts_of
    from lidoff.hazards import bench_card, judge

    facts = facts_of(item)
    return {**judge(facts).as_json(), "card": bench_card(facts).as_json()}


def rework(item: Item, goals: Sequence[str], state: str | None = None) -> dict[str, Any]:
    """Designs that reach the goals ("light=8–13 %"), each proved, as `lidoff rework --json` prints them.

    Raises LidoffError where a goal cannot be set for this item, or the item cannot be solved.
    """
    from lidoff.account.rework import rework as work

    return work(item, goals, state=state).as_json()


# Types that are public here, each with the room it comes from (PEP 562: looked up when first asked for).
_TYPES = {"Item": "lidoff.record", "Solution": "lidoff.cycle"}


def __getattr__(name: str) -> Any:
    if name not in _TYPES:
        raise AttributeError(f"module 'lidoff' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_TYPES[name]), name)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


class _Package(ModuleType):
    """Keeps the functions above from being replaced by rooms of the same name.

    Importing `lidoff.readings` makes the import system set the attribute `readings` of this package to that module;
    the function of that name is what the package promises, and `from lidoff.readings import …` works without it.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if isinstance(value, ModuleType) and name in __all__:
            return
        super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Package
