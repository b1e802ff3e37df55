"""`import lidoff`, the help pages and `lidoff decode` load no heavy library: they answer at once."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

HEAVY = (
    "numpy",
    "scipy",
    "numba",
    "networkx",
    "matplotlib",
    "jinja2",
    "starlette",
    "uvicorn",
    "PIL",
    "typst",
    "sqlite3",
)


def loaded_after(code: str) -> set[str]:
    """Top-level modules that a new interpreter has loaded after running the code."""
    ending = "\nimport json as j, sys as s\nprint('\\n' + j.dumps(sorted({n.partition('.')[0] for n in s.modules})))"
    done = subprocess.run([sys.executable, "-c", code + ending], capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout.splitlines()[-1]))


@pytest.mark.parametrize(
    "code",
    [
        "import lidoff",
        "import lidoff.quantity",
        "import lidoff.kinds",
        "import lidoff.markings",
        "import lidoff.standards",
        "from lidoff.cli import main; assert main(['--help']) == 0",
        "from lidoff.cli import main; assert main(['figures', '--help']) == 0",
        "from lidoff.cli import main; assert main(['--version']) == 0",
        "from lidoff.cli import main; assert main(['decode', '104K', '--json']) == 0",
        "from lidoff.cli import main; assert main(['decode', 'brown', 'green', 'red', 'gold']) == 0",
    ],
)
def test_nothing_heavy_is_loaded(code: str) -> None:
    assert loaded_after(code) & set(HEAVY) == set()


def test_reading_a_record_loads_no_solver() -> None:
    assert loaded_after("import lidoff.record") & {"numpy", "scipy", "numba", "matplotlib"} == set()


def test_the_search_notices_a_heavy_import() -> None:
    assert "numpy" in loaded_after("import numpy")
