"""What `import lidoff` promises."""

from __future__ import annotations

import importlib
import pkgutil
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import lidoff


def test_the_version_is_the_one_installed() -> None:
    from importlib.metadata import version

    assert version("lidoff") == lidoff.__version__


def test_functions_keep_their_names_when_rooms_are_imported() -> None:
    # In a new interpreter: the import system sets `lidoff.readings` to the module when it is first imported.
    code = (
        "import lidoff\n"
        "import lidoff.readings\n"
        "assert callable(lidoff.readings), lidoff.readings\n"
        "import sys\n"
        "assert sys.modules['lidoff.readings'].__path__\n"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_every_public_name_can_be_had() -> None:
    for name in lidoff.__all__:
        assert getattr(lidoff, name) is not None
        assert name in dir(lidoff)


def test_an_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="has no attribute 'nonsense'"):
        lidoff.nonsense  # noqa: B018 - asking for it is the test


def test_every_error_of_a_room_is_a_lidoff_error() -> None:
    """A caller who catches LidoffError catches everything that a wrong record or input raises."""
    found = set()
    for module in pkgutil.walk_packages(lidoff.__path__, "lidoff."):
        if not module.name.endswith("__main__"):
            loaded = importlib.import_module(module.name)
            found |= {
                value
                for value in vars(loaded).values()
                if isinstance(value, type) and issubclass(value, Exception) and value.__module__.startswith("lidoff")
            }
    assert len(found) > 2
    # Wrong usage of the command line has an exit status of its own; the other two are faults of the program, which
    # asked its tables for what they do not have.
    others = {error.__name__ for error in found if not issubclass(error, lidoff.LidoffError)}
    assert others <= {"UsageError", "UnknownDocumentError", "NoSuchRowError", "NoSuchRuleError"}


def test_requirements_cover_what_the_project_asks_for(root: Path) -> None:
    """`make lock` was run after the last change of dependencies."""
    import re

    project = tomllib.loads((root / "pyproject.toml").read_text())
    pinned = {
        name: set(re.findall(r"^([a-z0-9.\-_]+)==", (root / "requirements" / name).read_text(), re.MULTILINE))
        for name in ("all.txt", "run.txt")
    }

    def names(asked: list[str]) -> set[str]:
        return {re.split(r"[\s><=!~;\[]", line)[0].lower().replace("_", "-") for line in asked}

    run = names(project["project"]["dependencies"])
    assert run <= pinned["run.txt"]
    assert run | names(project["dependency-groups"]["dev"]) <= pinned["all.txt"]
