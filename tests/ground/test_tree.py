"""What may not stand in a committed file."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

# Put together from pieces, so that this file does not hold what it forbids.
FORBIDDEN = {
    "a folder of somebody's machine": re.compile(r"(?<![\w./-])/" + r"(?:work|root|home/\w+|Users/\w+)\b/?"),
    "material that is not part of the project": re.compile(r"(?<![\w-])shared" + r"/"),
    "a registry's address": re.compile(
        r"pypi\." + r"org|python" + r"hosted|npmjs\.(?:org|com)|deb\.debian|registry\.npm|" + r"proxy\.golang",
        re.IGNORECASE,
    ),
}
# The one file that looks beside the checkout, and the script that searches the usual places for an interpreter.
ALLOWED = {
    (".ci/run", "material that is not part of the project"),
    ("tools/find-python", "a folder of somebody's machine"),
}


def committed() -> list[Path]:
    """The files that git knows or would add; all of them where this is no git checkout."""
    listed = subprocess.run(
        ["git", "ls-files", "-z", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    return [path for name in listed.stdout.decode().split("\0") if name and (path := ROOT / name).is_file()]


def offences(name: str, text: str) -> list[str]:
    """Each forbidden thing in a text, with its line."""
    return [
        f"{name}:{text.count(chr(10), 0, match.start()) + 1}: {what}: {match.group()!r}"
        for what, pattern in FORBIDDEN.items()
        if (name, what) not in ALLOWED
        for match in pattern.finditer(text)
    ]


def test_no_committed_file_names_a_machine_or_a_registry() -> None:
    found = []
    for path in committed():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture
        found += offences(path.relative_to(ROOT).as_posix(), text)
    assert found == []


def test_the_search_notices_them() -> None:
    text = "see /ro" + "ot/x\nsha" + "red/photos\nhttps://py" + "pi.org/simple\na/work/b and workshop are fine\n"
    assert [line.split(": ")[0] for line in offences("x", text)] == ["x:1", "x:2", "x:3"]
    assert len(offences(".ci/run", text)) == 2


def test_no_lock_file_with_addresses() -> None:
    names = {path.name for path in committed()}
    assert not names & {"uv.lock", "pylock.toml", "poetry.lock", "Pipfile.lock", "package-lock.json"}


@pytest.mark.parametrize("name", ["all.txt", "run.txt", "boot.txt"])
def test_requirements_are_pinned_and_hashed(name: str) -> None:
    text = (ROOT / "requirements" / name).read_text()
    pins = [block for block in re.split(r"\n(?=\S)", text.strip()) if not block.startswith("#")]
    assert pins
    for pin in pins:
        assert re.match(r"[a-z0-9.\-_]+==[\w.]+", pin), pin.splitlines()[0]
        assert "--hash=sha256:" in pin, pin.splitlines()[0]


def test_the_run_set_is_part_of_the_whole() -> None:
    def pins(name: str) -> set[str]:
        return set(re.findall(r"^([a-z0-9.\-_]+==[\w.]+)", (ROOT / "requirements" / name).read_text(), re.MULTILINE))

    assert pins("run.txt") < pins("all.txt")
