"""All tables in one place, so that a test, a page of sources and a look-up by id can walk every row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain
from types import MappingProxyType
from typing import Final

from lidoff.standards import (
    conductors,
    discharge,
    earth,
    emission,
    fuses,
    harmonic_limits,
    insulation,
    light_limits,
    measuring,
    plugs,
    product_distances,
    risk,
    temperatures,
    touch,
)
from lidoff.standards.rows import Row, Table

_MODULES: Final = (
    harmonic_limits,
    light_limits,
    insulation,
    product_distances,
    discharge,
    touch,
    earth,
    plugs,
    fuses,
    conductors,
    risk,
    emission,
    measuring,
    temperatures,
)


def _index() -> Mapping[str, Table]:
    tables: dict[str, Table] = {}
    for entry in chain.from_iterable(module.TABLES for module in _MODULES):
        if entry.id in tables:
            raise ValueError(f"two tables have the id {entry.id!r}")
        tables[entry.id] = entry
    return MappingProxyType(tables)


TABLES: Final = _index()
"""Every table by its id."""


def table(id: str) -> Table:
    """The table of that id. Raises KeyError, which names those there are."""
    found = TABLES.get(id)
    if found is None:
        raise KeyError(f"no table {id!r}; the tables are {', '.join(sorted(TABLES))}")
    return found


def all_rows() -> Iterator[Row]:
    """Every row of every table."""
    return chain.from_iterable(entry.rows for entry in TABLES.values())
