"""The scripts around the project do what their first lines say."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(shutil.which("make") is None or os.name == "nt", reason="needs make and a POSIX shell")


def run(*command: str | Path, cwd: Path, **environ: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [str(word) for word in command],
        cwd=cwd,
        env={"PATH": "/usr/bin:/bin", "HOME": "/nowhere", **environ},
        capture_output=True,
        text=True,
        check=False,
    )


def test_an_interpreter_is_found_with_a_bare_path(root: Path) -> None:
    found = run(root / "tools" / "find-python", cwd=root)
    if found.returncode:
        pytest.skip("no Python outside the usual PATH on this machine")
    version = run(found.stdout.strip(), "-c", "import sys; print(sys.version_info >= (3, 11))", cwd=root)
    assert version.stdout.strip() == "True"


def test_the_interpreter_can_be_named_and_is_checked(root: Path, tmp_path: Path) -> None:
    old = tmp_path / "python-old"
    old.write_text("#!/bin/sh\nexit 1\n")
    old.chmod(0o755)
    found = run(root / "tools" / "find-python", cwd=root, PYTHON=str(old))
    assert (found.returncode, found.stdout) == (1, "")
    assert "3.11" in found.stderr
    assert "apt-get install" in found.stderr


@pytest.fixture
def checkout(root: Path, tmp_path: Path) -> Path:
    """A checkout whose `make test` tells what it was given, as pytest's closing line, and ends with a status."""
    folder = tmp_path / "checkout"
    (folder / ".ci").mkdir(parents=True)
    shutil.copy(root / ".ci" / "run", folder / ".ci" / "run")
    (folder / "Makefile").write_text('test:\n\t@echo "1 passed, data in <$$LIDOFF_OPEN_DATA>" && exit $${WANTED:-0}\n')
    return folder


def test_ci_lets_the_closing_line_and_the_status_through(checkout: Path, tmp_path: Path) -> None:
    done = run("bash", ".ci/run", cwd=checkout)
    assert (done.returncode, done.stdout) == (0, "1 passed, data in <>\n")
    done = run("bash", checkout / ".ci" / "run", cwd=tmp_path, WANTED="3")
    assert done.returncode != 0
    assert done.stdout.splitlines() == ["1 passed, data in <>"]


def test_ci_names_the_open_data_that_lies_beside_the_checkout(checkout: Path, tmp_path: Path) -> None:
    beside = tmp_path / "shared"
    (beside / "open-data").mkdir(parents=True)
    assert run("bash", ".ci/run", cwd=checkout).stdout == "1 passed, data in <>\n"
    (beside / "photos").mkdir()
    assert run("bash", ".ci/run", cwd=checkout).stdout == f"1 passed, data in <{beside.resolve()}>\n"
    assert run("bash", ".ci/run", cwd=checkout, LIDOFF_OPEN_DATA="/else").stdout == "1 passed, data in </else>\n"


def test_make_alone_lists_what_there_is(root: Path) -> None:
    done = run("make", "-s", cwd=root)
    assert done.returncode == 0
    listed = {line.split()[0] for line in done.stdout.splitlines()}
    assert listed >= {"setup", "demo", "test", "lint", "types", "layers", "lock", "clean"}
