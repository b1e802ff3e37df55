"""REF.KEY=VALUE as people type it, against the record it is about."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from lidoff.cli.options import UsageError
from lidoff.errors import LidoffError

if TYPE_CHECKING:
    from lidoff.kinds import Key
    from lidoff.record import Item
    from lidoff.record.model import Part

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
        if not equals or not name.strip() or not text.strip():
            raise UsageError(f'"{change}" has not the form REF.KEY=VALUE, such as R1.value=2k2')
        key = full_name(item, name.strip())
        found[key] = parse_value(item, key, text.strip())
    return found


def full_name(item: Item, name: str) -> str:
    """The name with the block of its part: "section/R1.value" for "R1.value" where only that block has an R1."""
    owner, _, key = name.rpartition(".")
    part = _part(item, owner)
    return f"{part.name}.{key}" if part else name


def parse_value(item: Item, name: str, text: str) -> float | bool | str:
    """The SI value of `text` for the key `name` ("R1.value", "supply.voltage", "section/R1.value", "section.repeat").

    Raises UsageError where the name has not that form, LidoffError where the record has no such part or key, or where
    the value is not one for that key.
    """
    key = _key(item, name)
    if key.unit == "bool":
        if text.casefold() not in _TRUTH:
            raise ChangeError(f'{name}: "{text}" is neither true nor false')
        return _TRUTH[text.casefold()]
    if key.unit == "word":
        if text not in key.choices:
            raise ChangeError(f'{name}: "{text}" is not one of {", ".join(key.choices)}')
        return text
    from lidoff.quantity import QuantityError, parse
    from lidoff.record.fields import out_of_bounds

    try:
        number = parse(text, key.unit)
    except QuantityError as error:
        raise ChangeError(f"{name}: {error}") from error
    outside = out_of_bounds(number, key)
    if outside:
        raise ChangeError(f"{name}: {outside}")
    return number


def _key(item: Item, name: str) -> Key:
    """What the record's format says of the key of that name."""
    from lidoff.kinds import KINDS, Key
    from lidoff.record.supply import INFERABLE

    owner, _, key = name.rpartition(".")
    if not owner or not key:
        raise UsageError(f'"{name}" has not the form REF.KEY, such as R1.value or supply.voltage')
    if owner == "supply":
        return _known(key, INFERABLE, f"{name}: the supply")
    if item.block(owner):
        repeats = [Key(name=word, unit="", least=1.0, least_open=False, whole=True) for word in ("repeat", "parallel")]
        return _known(key, repeats, f"{name}: a block")
    part = _part(item, owner)
    if part is None:
        names = [*(part.name for part in item.parts), *(block.name for block in item.blocks), "supply"]
        raise ChangeError(f"{name}: the record has no part {owner}{_nearest(owner, names)}")
    kind = KINDS[part.kind]
    return _known(key, kind.keys, f"{name}: a {kind.title}")


def _part(item: Item, ref: str) -> Part | None:
    """The part of the record, or that a state adds, of that name."""
    return item.part(ref) or next((part for state in item.states for part in state.add if part.name == ref), None)


def _known(key: str, keys: Iterable[Key], whose: str) -> Key:
    by_name = {known.name: known for known in keys}
    if key not in by_name:
        raise ChangeError(f'{whose} has no "{key}"; it has {", ".join(by_name)}{_nearest(key, by_name)}')
    return by_name[key]


def _nearest(word: str, words: Iterable[str]) -> str:
    from lidoff.record.problems import nearest

    near = nearest(word, list(words))
    return f'; nearest known: "{near}"' if near else ""
