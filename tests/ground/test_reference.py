"""Every value from outside the project says where it comes from."""

from __future__ import annotations

from pathlib import Path

import pytest

REFERENCE = Path(__file__).resolve().parent.parent / "reference"
TOPICS = sorted(path for path in REFERENCE.iterdir() if path.is_dir() and any(path.iterdir()))


def entries(source: Path) -> dict[str, list[str]]:
    """The fields of each entry by file name."""
    lines = source.read_text(encoding="utf-8").splitlines()
    rows = [[field.strip() for field in line.split("|")] for line in lines if line.strip() and not line.startswith("#")]
    names = [row[0] for row in rows]
    assert len(names) == len(set(names)), f"{source}: a file is listed twice"
    return {row[0]: row[1:] for row in rows}


def complaints(topic: Path) -> list[str]:
    """What is wrong with one folder of reference files."""
    source = topic / "SOURCE"
    if not source.is_file():
        return [f"{topic.name}: no SOURCE file"]
    listed = entries(source)
    present = {
        path.relative_to(topic).as_posix()
        for path in topic.rglob("*")
        if path.is_file() and path != source and "__pycache__" not in path.parts
    }
    wrong = [f"{topic.name}/{name}: not in SOURCE" for name in sorted(present - set(listed))]
    wrong += [f"{topic.name}/SOURCE: {name} does not exist" for name in sorted(set(listed) - present)]
    wrong += [
        f"{topic.name}/SOURCE: {name} needs document | clause | how verified"
        for name, fields in listed.items()
        if len(fields) != 3 or not all(fields)
    ]
    return wrong


@pytest.mark.parametrize("topic", TOPICS, ids=lambda path: path.name)
def test_each_reference_file_has_a_source(topic: Path) -> None:
    assert complaints(topic) == []


def test_the_five_circuits_are_there() -> None:
    names = {path.stem for path in (REFERENCE / "cycle").glob("*.json")}
    assert names >= {"bulk_charger", "dimmer_lamp", "dropper", "regulator_lamp", "strip"}
    assert all((REFERENCE / "cycle" / f"{name}.toml").is_file() for name in names)


def test_a_missing_entry_is_noticed(tmp_path: Path) -> None:
    (tmp_path / "SOURCE").write_text("a.json | some table | 1 | read\ngone.json | x | 1 | read\nb.json | x\n")
    (tmp_path / "a.json").touch()
    (tmp_path / "b.json").touch()
    (tmp_path / "c.json").touch()
    found = "\n".join(complaints(tmp_path))
    assert "c.json: not in SOURCE" in found
    assert "gone.json does not exist" in found
    assert "b.json needs" in found
    assert "a.json" not in found
