"""From a file of samples to arrays in SI units: any separator, any column order, headings or none, gaps."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from lidoff.errors import LidoffError
from lidoff.figures.wave import Floats
from lidoff.quantity import QuantityError, parse
from lidoff.record import Recording, Table

LARGEST: Final = 100_000_000  # bytes
_FEWEST: Final = 16
_UNITS: Final[Mapping[str, str]] = Table({"time": "s", "voltage": "V", "current": "A", "power": "W", "light": ""})
_GUESSES: Final[Mapping[str, tuple[str, ...]]] = Table(
    {
        "time": ("time", "t", "seconds", "s", "x"),
        "voltage": ("voltage", "volt", "volts", "v", "u"),
        "current": ("current", "amps", "ampere", "amperes", "i", "a"),
        "light": ("light", "photodiode", "lux"),
        "power": ("power", "watt", "watts", "w", "p"),
    }
)
_NUMBER: Final = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_SCALE: Final = re.compile(r"([+-]?\s*(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(\S*(?:\s*/\s*\S+)?)")
_INVERSE: Final[Mapping[str, float]] = Table({"v/a": 1.0, "mv/a": 1e-3, "v/ma": 1e3, "mv/ma": 1.0, "v/kv": 1e-3})


class SamplesError(LidoffError):
    """A file that gives no samples; the text is one sentence."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Samples:
    """Evenly spaced samples: `step` [s] between them, the columns in SI units by quantity; `problems` are sentences."""

    step: float
    columns: Mapping[str, Floats]
    problems: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Number of samples."""
        return next(iter(self.columns.values())).size

    @property
    def duration(self) -> float:
        """Length with the last sample's own step [s]."""
        return self.count * self.step


def read_samples(folder: Path, recording: Recording) -> Samples:
    """The samples of a recording's file. Raises SamplesError with one sentence where there are none to be had."""
    name = recording.file
    rows, heading = _rows(_text(folder / name, name), name)
    table, holes = _numbers(rows)
    places = _places(recording, heading, table.shape[1], name)
    problems: list[str] = []
    if holes:
        problems.append(f"{name}: {holes} of {table.size} values are missing or no numbers; they are bridged over.")
    columns = {quantity: table[:, place] * _factor(recording, quantity, name) for quantity, place in places.items()}
    time = columns.pop("time", None)
    if not columns:
        raise SamplesError(f"{name}: there is no column of volts, amperes, watts or light; name one under columns.")
    if table.shape[0] < _FEWEST:
        raise SamplesError(
            f"{name}: {table.shape[0]} samples are too few to hold a cycle; record at least one whole mains cycle."
        )
    if time is None:
        if recording.sample_rate is None:
            raise SamplesError(f"{name}: there is no time column; write sample_rate = … in samples a second.")
        return Samples(step=1.0 / recording.sample_rate, columns=columns, problems=tuple(problems))
    step, columns = _even(time, columns, name, problems)
    return Samples(step=step, columns=columns, problems=tuple(problems))


def _text(path: Path, name: str) -> str:
    if path.is_dir():
        raise SamplesError(f"{name}: this is a folder; name the file of samples in it.")
    if not path.is_file():
        raise SamplesError(f"{name}: there is no such file in the record folder.")
    if path.stat().st_size > LARGEST:
        raise SamplesError(f"{name}: is larger than {LARGEST // 1_000_000} MB; cut it to some dozens of cycles.")
    raw = path.read_bytes()
    if b"\x00" in raw[:4096] and not raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        raise SamplesError(f"{name}: is not a text file; export the recording as CSV.")
    for code in ("utf-8-sig", "utf-16" if raw.startswith((b"\xff\xfe", b"\xfe\xff")) else "latin-1"):
        try:
            return raw.decode(code)
        except UnicodeDecodeError:
            continue
    raise SamplesError(f"{name}: cannot be read as text; export the recording as CSV.")


def _rows(text: str, name: str) -> tuple[list[list[str]], list[str]]:
    """The rows of numbers, and the headings above them."""
    lines = [line for line in text.splitlines() if line.strip()]
    if not lines:
        raise SamplesError(f"{name}: is empty.")
    separator = _separator(lines)
    rows = [_split(line, separator) for line in lines]
    start = next((k for k, row in enumerate(rows) if _is_data(row) and _is_data(rows[min(k + 1, len(rows) - 1)])), None)
    if start is None:
        raise SamplesError(f"{name}: holds no rows of numbers; export the recording as CSV.")
    width = len(rows[start])
    heading = next((row for row in reversed(rows[:start]) if len(row) == width), [])
    return [row for row in rows[start:] if len(row) == width or _is_data(row)], heading


def _separator(lines: Sequence[str]) -> str | None:
    """What stands between columns most evenly in the lower lines; None for blanks."""
    sample = lines[len(lines) // 2 :][:50]
    for separator in ("\t", ";", ","):
        counts = {line.count(separator) for line in sample}
        if len(counts) == 1 and counts != {0}:
            return separator
    counts = {line.count(",") for line in sample}
    return "," if min(counts) > 0 else None


def _split(line: str, separator: str | None) -> list[str]:
    if separator is None:
        return line.split()
    return [field.strip() for field in next(csv.reader(io.StringIO(line), delimiter=separator))]


def _is_data(row: Sequence[str]) -> bool:
    numbers = sum(1 for field in row if _NUMBER.fullmatch(field))
    return numbers > 0 and numbers >= len(row) - max(1, len(row) // 3)


def _value(field: str) -> float:
    if not _NUMBER.fullmatch(field):
        return float("nan")
    return float(field.replace(",", "."))


def _numbers(rows: Sequence[Sequence[str]]) -> tuple[Floats, int]:
    """A table of numbers with its holes bridged by straight lines, and how many holes there were."""
    width = max(len(row) for row in rows)
    table = np.array([[_value(field) for field in row] + [float("nan")] * (width - len(row)) for row in rows])
    numeric = np.isfinite(table).mean(axis=0) > 0.5
    holes = 0
    for k in np.flatnonzero(numeric):
        missing = ~np.isfinite(table[:, k])
        holes += int(missing.sum())
        if missing.any():
            known = np.flatnonzero(~missing)
            table[missing, k] = np.interp(np.flatnonzero(missing), known, table[known, k])
    return table, holes


def _places(recording: Recording, heading: Sequence[str], width: int, name: str) -> dict[str, int]:
    """The column of each quantity, counted from 0."""
    plain = [field.strip().strip('"').casefold() for field in heading]
    if not recording.columns:
        return _guessed(plain, width, name)
    places = {}
    for quantity, written in recording.columns.items():
        if isinstance(written, int):
            if written > width:
                raise SamplesError(f"{name}: there is no column {written} for {quantity}; the file has {width}.")
            places[quantity] = written - 1
            continue
        wanted = written.strip().casefold()
        found = [k for k, field in enumerate(plain) if field == wanted]
        found = found or [k for k, field in enumerate(plain) if re.split(r"[\s(\[]", field)[0] == wanted]
        if not found:
            known = ", ".join(f'"{field}"' for field in heading if field) or "none"
            raise SamplesError(f'{name}: no column is headed "{written}"; the headings are {known}.')
        places[quantity] = found[0]
    return places


def _guessed(plain: Sequence[str], width: int, name: str) -> dict[str, int]:
    places: dict[str, int] = {}
    for quantity, words in _GUESSES.items():
        for k, field in enumerate(plain):
            if re.split(r"[\s(\[/_]", field)[0] in words and k not in places.values():
                places[quantity] = k
                break
    if not places or (set(places) == {"time"}):
        raise SamplesError(
            f"{name}: which of its {width} columns holds what is not written; add "
            f"columns = {{ time = 1, current = 2 }}."
        )
    return places


def _factor(recording: Recording, quantity: str, name: str) -> float:
    """What the file's numbers are multiplied by."""
    factor = 1.0
    unit = recording.units.get(quantity)
    if unit is not None and quantity in _UNITS:
        factor = parse(f"1 {unit}", _UNITS[quantity], quantity)
    scale = recording.scale.get(quantity)
    return factor * _scale(scale, name) if scale is not None else factor


def _scale(text: str, name: str) -> float:
    match = _SCALE.fullmatch(text.strip())
    if match is None:
        raise SamplesError(f'{name}: the scale "{text}" is not a factor such as "10 A/V".')
    number, tail = float(match[1].replace(" ", "")), match[2].replace(" ", "").casefold()
    if not tail:
        return number
    if tail in _INVERSE:
        return 1.0 / (number * _INVERSE[tail])
    for unit in ("A/V", "V/V"):
        try:
            return parse(text, unit, "scale")
        except QuantityError:
            continue
    raise SamplesError(f'{name}: the scale "{text}" is not a factor such as "10 A/V".')


def _even(time: Floats, columns: dict[str, Floats], name: str, problems: list[str]) -> tuple[float, dict[str, Floats]]:
    """Evenly spaced samples; where the times are uneven or hold gaps they are drawn anew by straight lines."""
    order = np.argsort(time, kind="stable")
    if not bool((np.diff(time) > 0.0).all()):
        time = time[order]
        columns = {quantity: wave[order] for quantity, wave in columns.items()}
        keep = np.concatenate([[True], np.diff(time) > 0.0])
        time = time[keep]
        columns = {quantity: wave[keep] for quantity, wave in columns.items()}
        problems.append(f"{name}: times repeat or run backwards; the samples were put in order.")
    if time.size < _FEWEST:
        raise SamplesError(f"{name}: {time.size} instants are too few to hold a cycle; look at the time column.")
    steps = np.diff(time)
    usual = float(np.median(steps))
    mean = float(time[-1] - time[0]) / (time.size - 1)
    if bool((np.abs(time - (time[0] + mean * np.arange(time.size))) < 0.5 * mean).all()):
        return mean, columns
    gaps = steps > 1.5 * usual
    if gaps.any():
        lost = float(steps[gaps].sum() - usual * gaps.sum())
        problems.append(
            f"{name}: {int(gaps.sum())} gaps, {1e3 * lost:.3g} ms in all; they are bridged by straight lines."
        )
    even = np.arange(time[0], time[-1] + 0.5 * usual, usual)
    return usual, {quantity: np.interp(even, time, wave) for quantity, wave in columns.items()}
