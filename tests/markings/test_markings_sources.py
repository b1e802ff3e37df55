"""Every row of every table names its source, and the room stays light."""

from __future__ import annotations

import importlib
import pkgutil
import subprocess
import sys
from collections.abc import Iterator, Mapping
from pathlib import Path

import pytest

import lidoff.markings as room
from lidoff.markings import SCHEMES, UNIT_OF_KIND, Source
from lidoff.markings.printing import PRINTERS
from lidoff.markings.type_tables import TYPES
from lidoff.markings.zener_tables import SUFFIXES, ZENERS, family_of

_MODULES = [importlib.import_module(f"lidoff.markings.{module.name}") for module in pkgutil.iter_modules(room.__path__)]


def _rows() -> Iterator[tuple[str, object]]:
    """Every tuple-like record in a module-level table."""
    for module in _MODULES:
        for name, table in vars(module).items():
            if name.startswith("__"):
                continue
            items = table.values() if isinstance(table, Mapping) else table
            if isinstance(items, str) or not isinstance(items, tuple | type({}.values())):
                continue
            for row in items:
                if hasattr(row, "_fields") and "source" in row._fields:
                    yield f"{module.__name__}.{name}", row


def test_every_row_has_a_source_with_a_document() -> None:
    """Document, and seen or from memory, stand in each row."""
    rows = list(_rows())
    assert len(rows) > 500
    for place, row in rows:
        source = row.source  # type: ignore[attr-defined]
        assert isinstance(source, Source), place
        assert source.document, place
        assert isinstance(source.seen, bool)
        assert source.note or not source.seen, f"{place}: seen, but not said where"


def test_no_type_number_stands_twice() -> None:
    """Two tables must not disagree about one number."""
    module = importlib.import_module("lidoff.markings.type_tables")
    rows = [*module.DIODES, *module.BRIDGES, *module.DIACS, *module.SWITCHES, *module.TRANSISTORS, *module.OPTOCOUPLERS]
    assert len(rows) == len(TYPES)


def test_zener_families_run_from_first_to_last_number() -> None:
    """JEDEC: 1N4728-1N4764, 1N5221-1N5281, 1N746-1N759, 1N957-1N992, 1N5333-1N5388 (from memory); end voltages."""
    ends = {746: (759, 3.3, 12.0), 957: (992, 6.8, 200.0), 4728: (4764, 3.3, 100.0), 5221: (5281, 2.4, 200.0)}
    ends[5333] = (5388, 3.3, 200.0)
    assert set(ends) == set(SUFFIXES)
    for first, (last, low, high) in ends.items():
        numbers = [number for number in ZENERS if family_of(number) == first]
        assert (min(numbers), max(numbers), len(numbers)) == (first, last, last - first + 1)
        assert (ZENERS[first].voltage, ZENERS[last].voltage) == (low, high)
        voltages = [ZENERS[number].voltage for number in sorted(numbers)]
        assert voltages == sorted(voltages)


def test_schemes_and_printers_use_known_kinds() -> None:
    """Every kind a scheme gives has a unit."""
    kinds = {kind for scheme in SCHEMES for kind in scheme.kinds} | {printer.kind for printer in PRINTERS}
    assert kinds <= set(UNIT_OF_KIND)


@pytest.mark.parametrize("statement", ["import lidoff.markings", "import lidoff; lidoff.decode('104K')"])
def test_decoding_loads_no_heavy_library(statement: str) -> None:
    """So that the command answers at once: no numeric, graph, validation or web library is imported."""
    script = (
        f"{statement}\nimport sys\n"
        "heavy = {'numpy', 'scipy', 'numba', 'pydantic', 'networkx', 'tomlkit', 'starlette', 'PIL', 'jinja2'}\n"
        "print(sorted({name.partition('.')[0] for name in sys.modules} & heavy))"
    )
    source = str(Path(room.__file__).parents[2])
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, env={"PYTHONPATH": source}
    )
    assert done.stdout.strip() == "[]"
