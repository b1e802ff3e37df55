"""REF.KEY=VALUE as people type it, against the record it is about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from lidoff.cli.options import UsageError
from lidoff.errors import LidoffError

if TYPE_CHECKING:
    from lidoff.record import Item
    from lidoff.record.model import Part

SUPPLY_UNITS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "voltage": "V",
        "frequency": "Hz",
        "resistance": "ohm",
        "inductance": "H",
        "dc": "V",
        "limit": "A",
    }
)
_BLOCK_KEYS: Final = ("repeat", "parallel")
_TRUTH: Final[Mapping[str, bool]] = MappingProxyType(
    {"true": True, "yes": True, "on": True, "1": True, "false": False, "no": False, "off": False, "0": False}
)


class ChangeError(LidoffError):
    """A change that does not fit the record; the text says what would."""


def parse_changes(item: Item, changes: Iterable[str] | None) -> dict[str, float | bool | str]:
    """Each "R1.value=2k2" as name and SI value.

    Raises UsageError where one has not the form REF.KEY=VALUE, LidoffError where it does not fit the record.
    """
    found: dict[str, float | bool | str] = {}
    for change in changes or ():
        name, equals, text = change.partition("=")
        name = name.strip()
        if not equals or not name or not text.strip():
            raise UsageError(f'"{change}" has not the form REF.KEY=VALUE, such as R1.value=2k2')
        found[name] = parse_value(item, name, text.strip())
    return found


def parse_value(item: Item, name: str, text: str) -> float | bool | str:
    """The SI value of `text` for the key `name` ("R1.value", "supply.voltage", "section/R1.value", "section.repeat").

    Raises UsageError where the name has not that form, LidoffError where the record has no such part or key, or where
    the value is not one for that key.
    """
    unit, choices = _unit(item, name)
    if unit == "bool":
        if text.casefold() not in _TRUTH:
            raise ChangeError(f'{name}: "{text}" is neither true nor false')
        return _TRUTH[text.casefold()]
    if unit == "word":
        if text not in choices:
            raise ChangeError(f'{name}: "{text}" is not one of {", ".join(choices)}')
        return text
    from lidoff.quantity import QuantityError, parse

    try:
        return parse(text, unit)
    except QuantityError as error:
        raise ChangeError(f"{name}: {error}") from error


def _unit(item: Item, name: str) -> tuple[str, tuple[str, ...]]:
    """The unit of a key and the words it may be."""
    from lidoff.kinds import KINDS

    owner, dot, key = name.rpartition(".")
    if not dot or not owner or not key:
        raise UsageError(f'"{name}" has not the form REF.KEY, such as R1.value or supply.voltage')
    if owner == "supply":
        _known(key, SUPPLY_UNITS, f"{name}: the supply")
        return SUPPLY_UNITS[key], ()
    if any(block.name == owner for block in item.blocks):
        _known(key, _BLOCK_KEYS, f"{name}: a block")
        return "", ()
    parts = {f"{part.block}/{part.ref}" if part.block else part.ref: part for part in _parts(item)}
    if owner not in parts:
        raise ChangeError(f"{name}: there is no part {owner} in the record{_nearest(owner, parts)}")
    kind = KINDS[parts[owner].kind]
    _known(key, [known.name for known in kind.keys], f"{name}: a {kind.title}")
    found = kind.key(key)
    assert found is not None
    return found.unit, found.choices


def _parts(item: Item) -> Iterable[Part]:
    """The parts of the record and those that a state adds."""
    yield from item.parts
    for state in item.states:
        yield from state.add


def _known(key: str, keys: Iterable[str], whose: str) -> None:
    keys = list(keys)
    if key not in keys:
        raise ChangeError(f"{whose} has no {key}; it has {', '.join(keys)}{_nearest(key, keys)}")


def _nearest(word: str, words: Iterable[str]) -> str:
    from difflib import get_close_matches

    close = get_close_matches(word, list(words), n=1)
    return f"; is it {close[0]}?" if close else ""
