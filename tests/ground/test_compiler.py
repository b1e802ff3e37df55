"""Where compiled code is kept: found again, and never older than the laws it was compiled from."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from lidoff._compiler import announcement, forget_older, settle


@pytest.fixture
def package(tmp_path: Path) -> Path:
    folder = tmp_path / "package"
    (folder / "cycle").mkdir(parents=True)
    (folder / "cycle" / "kernel.py").write_text("kernel")
    (folder / "cycle" / "laws.py").write_text("laws")
    return folder


def cache(package: Path, **environ: str) -> Path:
    settle(package, environ)
    return Path(environ["NUMBA_CACHE_DIR"])


def test_it_lies_beside_the_source(package: Path) -> None:
    assert cache(package, HOME="/nowhere").parent == package / "cycle" / "__pycache__"


def test_a_change_to_any_source_file_starts_a_new_cache(package: Path) -> None:
    before = cache(package)
    (package / "cycle" / "laws.py").write_text("other laws")
    after = cache(package)
    assert before != after
    assert before.parent == after.parent
    (package / "cycle" / "laws.py").write_text("laws")
    assert cache(package) == before


def test_the_folder_the_user_set_is_used(package: Path, tmp_path: Path) -> None:
    chosen = tmp_path / "chosen"
    first = cache(package, NUMBA_CACHE_DIR=str(chosen))
    assert first.parent == chosen
    # A child process finds the variable already settled.
    assert cache(package, NUMBA_CACHE_DIR=str(first)) == first


@pytest.mark.parametrize(
    ("name", "ours", "theirs"), [("NUMBA_CPU_NAME", "generic", "znver5"), ("OPENBLAS_NUM_THREADS", "1", "4")]
)
def test_a_generic_processor_and_one_thread_unless_the_user_says_otherwise(
    package: Path, name: str, ours: str, theirs: str
) -> None:
    environ: dict[str, str] = {}
    settle(package, environ)
    assert environ[name] == ours
    environ = {name: theirs}
    settle(package, environ)
    assert environ[name] == theirs


def test_the_users_cache_folder_where_the_source_cannot_be_written(
    package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The administrator may write anywhere, so permissions alone do not show it: refuse that one folder.
    real = os.access
    monkeypatch.setattr(os, "access", lambda path, mode: not Path(path).is_relative_to(package) and real(path, mode))
    home = tmp_path / "home"
    home.mkdir()
    assert cache(package, XDG_CACHE_HOME=str(home / "cache")).parent == home / "cache" / "lidoff"


def test_a_folder_of_its_own_where_nothing_can_be_written(package: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    folder = cache(package, XDG_CACHE_HOME="/nowhere").parent
    assert folder.is_dir()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700, "what is loaded from it must be nobody else's"
    folder.rmdir()


def test_a_home_that_may_not_be_entered_is_passed_over(package: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.exists

    def exists(path: Path) -> bool:
        if path.is_relative_to("/locked"):
            raise PermissionError(13, "Permission denied", str(path))
        return real(path)

    monkeypatch.setattr(Path, "exists", exists)
    monkeypatch.setattr(os, "access", lambda path, mode: not Path(path).is_relative_to(package))
    folder = cache(package, XDG_CACHE_HOME="/locked/cache").parent
    assert folder.is_dir()
    assert not folder.is_relative_to("/locked")
    folder.rmdir()


def test_what_older_sources_left_is_removed(package: Path, tmp_path: Path) -> None:
    now = cache(package, NUMBA_CACHE_DIR=str(tmp_path / "c"))
    old = now.parent / "lidoff-0123456789abcdef"
    foreign = now.parent / "somebody-else"
    for folder in (now, old, foreign):
        folder.mkdir(parents=True)
    forget_older(now)
    assert now.is_dir()
    assert foreign.is_dir()
    assert not old.exists()


def test_numba_uses_what_was_settled() -> None:
    code = (
        "import os, lidoff\nfrom numba.core import config\n"
        "assert config.CACHE_DIR == os.environ['NUMBA_CACHE_DIR'], config.CACHE_DIR\n"
        "assert config.CPU_NAME == 'generic', config.CPU_NAME\n"
    )
    environ = {key: value for key, value in os.environ.items() if not key.startswith("NUMBA_")}
    subprocess.run([sys.executable, "-c", code], check=True, env=environ)


def test_a_wait_for_the_compiler_is_announced_once(package: Path, tmp_path: Path) -> None:
    environ = {"NUMBA_CACHE_DIR": str(tmp_path / "c")}
    settle(package, environ)
    assert "Compiling" in str(announcement(environ))
    Path(environ["NUMBA_CACHE_DIR"]).mkdir(parents=True)
    assert announcement(environ) is None
