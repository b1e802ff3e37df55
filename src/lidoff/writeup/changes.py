"""What a second run gives otherwise than the first: every figure by its name, old and new, beyond the digits shown.

Both sides are the data that stand beside a write-up (`report.json`), so that a run of another version, on another
machine, can be held against a new one.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from lidoff.account import Account
from lidoff.account.export import as_json, unit_of
from lidoff.quantity import QuantityError
from lidoff.writeup.files import DATA, WriteupError
from lidoff.writeup.numbers import SOLVER, to_digits

_NOISE: Final = 1e-4
"""Share of what is largest of its sort below which a difference is noise: in the mean of a balanced current, say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Named:
    """A figure or a judgement by its name: a number [unit] with half of the interval that it is shown by, or words.

    `noise` is what it may differ by from run to run without meaning anything [unit].
    """

    value: float | str
    unit: str = ""
    half: float = 0.0
    noise: float = 0.0

    @property
    def shown(self) -> str:
        """As it is written, to the digits that its interval bears."""
        if isinstance(self.value, str):
            return self.value
        try:
            return to_digits(self.value, self.half, self.unit)
        except QuantityError:
            return f"{self.value:.3g} {self.unit}".strip()

    @property
    def last_digit(self) -> float:
        """What one step of the last digit shown is worth [unit]; 0 for words."""
        if isinstance(self.value, str):
            return 0.0
        least = 10.0 ** (math.floor(math.log10(abs(self.value))) - 1) if self.value else 0.0
        half = max(self.half, least)
        return 10.0 ** (math.floor(math.log10(float(f"{half:.2g}"))) - 1) if half > 0.0 else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A figure or judgement that is not what it was; one of the two is None where it has come or gone."""

    name: str
    old: Named | None
    new: Named | None

    @property
    def sentence(self) -> str:
        """The change in a line."""
        if self.old is None or self.new is None:
            old, new = ("none" if one is None else one.shown for one in (self.old, self.new))
            return f"{self.name}: {old} → {new}"
        # Both to the digits that the old one was shown to; where rounding hides the step, six digits tell.
        old, new = self.old.shown, replace(self.new, half=self.old.half).shown
        if old == new:
            old, new = f"{self.old.value:.6g}", f"{self.new.value:.6g}"
        return f"{self.name}: {old} → {new}"

    def as_json(self) -> dict[str, Any]:
        """One entry of `changed`."""
        sides = {"old": self.old, "new": self.new}
        one = self.new or self.old
        values = {side: None if named is None else named.value for side, named in sides.items()}
        return {"name": self.name, **values, "unit": "" if one is None else one.unit, "text": self.sentence}


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """A write-up held against a new run: what it was made with, what it would be made with now, and what changed."""

    folder: Path
    old_version: str
    new_version: str
    old_fingerprint: str
    new_fingerprint: str
    compared: int
    changes: tuple[Change, ...]

    @property
    def same_version(self) -> bool:
        """Whether the program is of the same version."""
        return self.old_version == self.new_version

    @property
    def same_record(self) -> bool:
        """Whether the record, and the recordings with it, are as they were."""
        return self.old_fingerprint == self.new_fingerprint

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff report --verify --json` prints."""
        return {
            "folder": str(self.folder),
            "version": {"old": self.old_version, "new": self.new_version, "same": self.same_version},
            "fingerprint": {"old": self.old_fingerprint, "new": self.new_fingerprint, "same": self.same_record},
            "compared": self.compared,
            "changed": [one.as_json() for one in self.changes],
        }


def verify(account: Account, folder: Path) -> Verified:
    """The write-up in `folder` held against a new account.

    Raises WriteupError where there is no write-up of that record to be read.
    """
    old = _read(folder / DATA, account.item.path.name)
    new = as_json(account)
    first, second = named(old), named(new)
    return Verified(
        folder=folder,
        old_version=str(old["lidoff"]),
        new_version=account.version,
        old_fingerprint=str(old["fingerprint"]),
        new_fingerprint=account.fingerprint,
        compared=len(first.keys() | second.keys()),
        changes=differences(first, second),
    )


def _read(path: Path, record: str) -> Mapping[str, Any]:
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise WriteupError(
            f"{path}: there is no write-up to hold against: {(error.strerror or str(error)).lower()}; "
            "write one first, or name its folder with -o"
        ) from error
    except (ValueError, RecursionError) as error:
        raise WriteupError(f"{path} is not the data of a write-up; write it anew with lidoff report") from error
    if not isinstance(document, Mapping) or not {"lidoff", "fingerprint", "states"} <= document.keys():
        raise WriteupError(f"{path} is not the data of a write-up; write it anew with lidoff report")
    if document.get("record", record) != record:
        raise WriteupError(f"{path} is of the write-up of another record, {document['record']}; name another with -o")
    return document


def differences(old: Mapping[str, Named], new: Mapping[str, Named]) -> tuple[Change, ...]:
    """What is not the same, in the order of the new: numbers by half a step of the last digit that the old shows."""
    names = [*new, *(name for name in old if name not in new)]
    return tuple(
        Change(name=name, old=old.get(name), new=new.get(name))
        for name in names
        if not _alike(old.get(name), new.get(name))
    )


def _alike(old: Named | None, new: Named | None) -> bool:
    if old is None or new is None:
        return False
    if isinstance(old.value, str) or isinstance(new.value, str):
        return old.value == new.value
    return abs(new.value - old.value) <= max(0.5 * old.last_digit * (1.0 + 1e-9), old.noise)


# Names --------------------------------------------------------------------------------------------------------------


def named(document: Mapping[str, Any]) -> dict[str, Named]:
    """Every figure and judgement in the data of a write-up, by a name that says where it stands."""
    found: dict[str, Named] = {}
    for state in document["states"]:
        where = f"{state.get('state') or 'as recorded'}: "
        found |= {f"{where}{name}": one for name, one in _figures(state)}
    for part in (_knobs, _inferred, _verdicts, _switching, _faults, _findings):
        found |= dict(part(document))
    return found


def _figures(state: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    """The computed figures of a state that have a range; stresses follow from them."""
    for name, span in state.get("ranges", {}).items():
        value = None if name.startswith("stress.") else _at(state, name)
        if isinstance(value, int | float):
            half = max(0.5 * (span["high"] - span["low"]), SOLVER * abs(value))
            yield name, Named(value=float(value), unit=unit_of(name), half=half, noise=_noise(state, name))


def _at(table: Mapping[str, Any], name: str) -> Any:
    value: Any = table
    for key in name.split("."):
        value = value.get(key) if isinstance(value, Mapping) else None
    return value


def _noise(state: Mapping[str, Any], name: str) -> float:
    """What that figure may differ by between two runs [its unit]: a share of the largest of its sort in that part."""
    owner, _, last = name.rpartition(".")
    peaks = {"voltage": f"{owner}.voltage_peak", "current": f"{owner}.current_peak", "power": "input.power"}
    largest = next((peak for word, peak in peaks.items() if last.startswith(word) and last != "power_factor"), None)
    value = 1.0 if largest is None else _at(state, largest)
    return _NOISE * abs(value) if isinstance(value, int | float) else 0.0


def _knobs(document: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    for knob in document.get("knobs", ()):
        step = 1.0 / max(len(knob.get("up", ())) - 1, 1)
        for key in ("dead_travel", "floor", "snap_on", "snap_off", "plain_dead_travel"):
            if isinstance(knob.get(key), int | float):
                half = 0.5 * step if key != "floor" else SOLVER * knob[key]
                yield f"knob {knob['ref']}: {key}", Named(value=float(knob[key]), half=half)


def _inferred(document: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    for key, one in document.get("used", {}).items():
        half = 0.5 * (one["high95"] - one["low95"])
        yield f"inferred: {key}", Named(value=float(one["median"]), unit=one["unit"], half=half)


def _verdicts(document: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    for number, one in enumerate((document.get("readings") or {}).get("readings", ()), start=1):
        at = one["at"] if isinstance(one["at"], str) else "–".join(one["at"])
        where = f", {one['state']}" if one.get("state") else ""
        yield f"reading {number}, {one['quantity']} at {at}{where}", Named(value=one["verdict"])


def _switching(document: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    on, off = document.get("switch_on"), document.get("unplug")
    if on:
        yield "switched on: current_peak", _own(on["current_peak"], "A")
    if off:
        for one in (off["pins"], *off.get("capacitors", ())):
            yield f"unplugged: {one['what']} at first", _own(one["start"], "V")
            for key in ("to_60", "to_34"):
                # What is over before a hand could come is not told apart.
                if isinstance(one.get(key), int | float) and one[key] > 1e-3:
                    yield f"unplugged: {one['what']} {key.replace('_', ' ')} V", _own(one[key], "s")


def _own(value: float, unit: str) -> Named:
    """A figure without a range: the solver's own error, shown to two figures."""
    return Named(value=float(value), unit=unit, half=0.02 * abs(value))


def _faults(document: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    for one in (document.get("faults") or {}).get("faults", ()):
        yield f"fault {one['part']} {one['mode']}", Named(value=f"severity {one['severity']}")


def _findings(document: Mapping[str, Any]) -> Iterator[tuple[str, Named]]:
    hazards = document.get("hazards") or {}
    for one in hazards.get("findings", ()):
        name = f"finding {one['id']}" + (f" ({one['about']})" if one.get("about") else "")
        yield name, Named(value=f"{one['risk']} risk")
    for one in hazards.get("undecided", ()):
        yield f"question {one['id']}", Named(value="open")
