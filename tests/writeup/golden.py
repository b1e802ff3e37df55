"""The key figures of the invented items as they were last agreed on, and how a change of them is put on record.

    python -m tests.writeup.golden "why the numbers changed"

takes the accounts anew, writes the figures to `golden.json` and adds a note with the day, the reason and what changed.
The last note carries a digest of the figures: numbers changed by hand, without a note, do not pass.
"""

from __future__ import annotations

import datetime
import hashlib
import json
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import lidoff
from lidoff.account import Account, take
from lidoff.account.export import as_json
from lidoff.demo import write_items
from lidoff.writeup.changes import Change, Named, differences, named

FILE: Final = Path(__file__).with_name("golden.json")
HOW: Final = 'if that is meant, say why: python -m tests.writeup.golden "why the numbers changed"'
_KEYS: Final = (": input.", ": light.", "knob ", "inferred: ", "switched on: ", "unplugged: ")


def key_figures(account: Account) -> dict[str, Named]:
    """The figures that a write-up stands on, by name: numbers only."""
    found = named(as_json(account))
    return {name: one for name, one in found.items() if any(key in name for key in _KEYS) and _is_number(one)}


def _is_number(one: Named) -> bool:
    return not isinstance(one.value, str)


def kept() -> dict[str, Any]:
    """What the file holds."""
    document: dict[str, Any] = json.loads(FILE.read_text(encoding="utf-8"))
    return document


def figures_of(document: Mapping[str, Any], item: str) -> dict[str, Named]:
    """The figures of one item in the file."""
    return {
        name: Named(value=one["value"], unit=one["unit"], half=one["half"], noise=one["noise"])
        for name, one in document["items"].get(item, {}).items()
    }


def digest(document: Mapping[str, Any]) -> str:
    """Of the figures, whatever the layout of the file."""
    return hashlib.sha256(json.dumps(document["items"], sort_keys=True).encode()).hexdigest()[:16]


def changes_of(document: Mapping[str, Any], accounts: Mapping[str, Account]) -> dict[str, tuple[Change, ...]]:
    """What is not as the file says, by item."""
    found = {item: differences(figures_of(document, item), key_figures(one)) for item, one in accounts.items()}
    return {item: changes for item, changes in found.items() if changes}


def _short(value: float | str) -> float:
    return float(f"{float(value):.6g}")


def record(note: str) -> None:
    """Takes the accounts and writes them down with the note."""
    with tempfile.TemporaryDirectory() as folder:
        accounts = {one.folder.name: take(lidoff.open(one.folder)) for one in write_items(Path(folder))}
    document = kept() if FILE.exists() else {"items": {}, "notes": []}
    changed = [f"{item}: {one.sentence}" for item, all_ in changes_of(document, accounts).items() for one in all_]
    document["items"] = {
        item: {
            name: {"value": _short(one.value), "unit": one.unit, "half": _short(one.half), "noise": _short(one.noise)}
            for name, one in key_figures(account).items()
        }
        for item, account in accounts.items()
    }
    day = datetime.datetime.now(datetime.UTC).date().isoformat()
    entry = {"day": day, "note": note, "version": lidoff.__version__, "digest": digest(document)}
    document["notes"].append({**entry, "changed": changed if document["notes"] else []})
    FILE.write_text(json.dumps(document, ensure_ascii=False, indent=1) + "\n", encoding="utf-8")
    sys.stdout.write(f"{len(changed)} figures changed; the note stands in {FILE.name}\n")


if __name__ == "__main__":
    if len(sys.argv) != 2 or not sys.argv[1].strip():
        sys.exit(f"Give the reason in one argument; {HOW}")
    record(sys.argv[1].strip())
