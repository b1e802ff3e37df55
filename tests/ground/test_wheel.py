"""What people install is the wheel: built, put into an empty environment and run there without this checkout."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.xdist_group("wheel")


def uv(root: Path) -> str:
    found = shutil.which("uv") or str(root / ".boot" / "bin" / "uv")
    if not Path(found).is_file():
        pytest.skip("no uv; make setup puts one into .boot")
    return found


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=root,
        check=True,
        capture_output=True,
    )
    (built,) = folder.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(root: Path, wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An environment with the wheel and what it needs to run, and nothing else."""
    folder = tmp_path_factory.mktemp("empty") / "venv"
    environ = os.environ | {"UV_PYTHON_DOWNLOADS": "never", "UV_LINK_MODE": "symlink", "UV_SYSTEM_CERTS": "true"}
    python = str(folder / ("Scripts" if os.name == "nt" else "bin") / "python")
    for command in (
        ["venv", "-q", "--python", sys.executable, str(folder)],
        ["pip", "install", "-q", "--python", python, "--require-hashes", "-r", str(root / "requirements" / "run.txt")],
        ["pip", "install", "-q", "--python", python, "--offline", "--no-deps", str(wheel)],
    ):
        subprocess.run([uv(root), *command], check=True, env=environ)
    return Path(python).parent


def run(installed: Path, tmp_path: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """The installed command, elsewhere than in the checkout and with nothing of this environment.

    So it compiles the solver as a user's first run does, which takes half a minute.
    """
    environ = {"PATH": "/usr/bin:/bin", "HOME": str(tmp_path)}
    return subprocess.run(
        [str(installed / "lidoff"), *arguments], cwd=tmp_path, env=environ, capture_output=True, text=True, check=False
    )


def test_the_wheel_holds_the_package_and_its_data(root: Path, wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    source = root / "src"
    wanted = {
        path.relative_to(source).as_posix()
        for path in (source / "lidoff").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    assert wanted - names == set()
    assert not [name for name in names if name.startswith(("tests", "docs")) or "__pycache__" in name]
    assert any(name.endswith("licenses/LICENSE") for name in names)


def test_the_dev_tools_are_not_there(installed: Path, tmp_path: Path) -> None:
    probe = (
        "import importlib.util as u; print([n for n in ('pytest', 'hypothesis', 'mypy', 'sksundae') if u.find_spec(n)])"
    )
    done = subprocess.run(
        [str(installed / "python"), "-c", probe], capture_output=True, text=True, check=True, cwd=tmp_path
    )
    assert done.stdout.strip() == "[]"


def test_help(installed: Path, tmp_path: Path) -> None:
    done = run(installed, tmp_path, "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert "figures" in done.stdout


def test_decode(installed: Path, tmp_path: Path) -> None:
    done = run(installed, tmp_path, "decode", "104K", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    first = json.loads(done.stdout)["candidates"][0]
    assert (first["kind"], first["value"]) == ("capacitor", pytest.approx(100e-9))


def test_figures(installed: Path, tmp_path: Path, reference: Path) -> None:
    expected = json.loads((reference / "cycle" / "strip.json").read_text())["input"]
    done = run(installed, tmp_path, "figures", str(reference / "cycle" / "strip.toml"), "--json")
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)["input"]
    assert found["power"] == pytest.approx(expected["power"], rel=0.01)
    assert found["current_rms"] == pytest.approx(expected["current_rms"], rel=0.01)
