"""One table of a record, taken apart key by key.

Every taker gives the value in SI units, or None where the key is left out or wrong; what is wrong is noted and the
reading goes on. `finish` warns about the keys that nobody asked for.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from lidoff.kinds import Key
from lidoff.quantity import QuantityError, engineering, parse, share
from lidoff.record.locate import Path
from lidoff.record.model import EMPTY, Table, Unknown
from lidoff.record.problems import Notes, listed, quoted

UNKNOWN: Final = "?"
_FEW: Final = 6
_BAD_PATH: Final = re.compile(r"^(?:[/\\]|[A-Za-z]:)|(?:^|[/\\])\.\.(?:[/\\]|$)|[\x00-\x1f]")


class Fields:
    """The keys of one table.

    `path` is where the table stands, `key` how messages name it ("R2", "supply"), `what` what it is ("a resistor");
    `infer` are the keys that may be "?", to be inferred.
    """

    def __init__(
        self, notes: Notes, data: Mapping[str, Any], path: Path, key: str, what: str, infer: Iterable[Key] = ()
    ) -> None:
        self.notes = notes
        self.data = data
        self.path = path
        self.key = key
        self.what = what
        self.asked: dict[str, None] = {}
        self.infer = tuple(infer)
        self.unknowns: list[str] = []
        self.find_unknowns()

    def find_unknowns(self) -> None:
        """Looks which of `infer` are "?"; to be called again where `infer` was set later."""
        self.unknowns = [spec.name for spec in self.infer if _is_unknown(self.data.get(spec.name))]

    def name(self, key: str) -> str:
        """The dotted name of a key of this table."""
        return f"{self.key}.{key}" if self.key else key

    @property
    def line(self) -> int:
        """The line of the table."""
        return self.notes.places.line(self.path)

    def error(self, key: str, sentence: str) -> None:
        """Notes an error at a key of this table."""
        self.notes.error((*self.path, key), self.name(key), sentence)

    def warn(self, key: str, sentence: str) -> None:
        """Notes a warning at a key of this table."""
        self.notes.warn((*self.path, key), self.name(key), sentence)

    def lacks(self, key: str, sentence: str) -> None:
        """Notes that a key which cannot be left out was."""
        self.notes.error(self.path, self.name(key), sentence)

    def take(self, key: str) -> Any:
        """The raw value of a key, or None."""
        self.asked[key] = None
        return self.data.get(key)

    def text(self, key: str, *, blank: bool = False) -> str | None:
        """A string; blanks around it are dropped and an empty one counts as left out unless `blank` is true."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, str):
            self.error(key, f"{quoted(value)} is not text; put it between quotes")
            return None
        return value if blank else (value.strip() or None)

    def word(self, key: str, choices: Iterable[str], other_names: dict[str, str] | None = None) -> str | None:
        """One of `choices`."""
        value = self.text(key)
        if value is None:
            return None
        known = list(choices)
        if value not in known:
            near = f"; known: {listed(known)}" if len(known) <= _FEW else self.notes.nearest(value, known, other_names)
            self.error(key, f"{quoted(value)} is not known here{near}")
            return None
        return value

    def flag(self, key: str) -> bool | None:
        """true or false."""
        value = self.take(key)
        if value is None or isinstance(value, bool):
            return value
        self.error(key, f"{quoted(value)} is neither true nor false; write true or false without quotes")
        return None

    def number(self, spec: Key) -> float | Unknown | None:
        """A number in the unit of `spec` and within its bounds; "?" is Unknown where it can be inferred, else None."""
        value = self.take(spec.name)
        if value is None:
            return None
        if _is_unknown(value):
            return Unknown(self._between(spec)) if spec.name in self.unknowns else None
        return self._parsed(spec.name, value, spec)

    def known(self, spec: Key) -> float | None:
        """A number that cannot be inferred: "?" counts as left out."""
        value = self.number(spec)
        return None if isinstance(value, Unknown) else value

    def whole(self, key: str) -> int | None:
        """A count from 1 up."""
        value = self.known(Key(name=key, unit="", least=1.0, least_open=False, whole=True))
        return None if value is None else int(value)

    def share(self, key: str, *, most: float = 1.0) -> float | None:
        """A share from 0 to `most`, as "5 %" or 0.05; "?" counts as left out."""
        value = self.take(key)
        if value is None or _is_unknown(value):
            return None
        return self.as_share(key, value, most)

    def as_share(self, key: str, value: Any, most: float = 1.0) -> float | None:
        """`value`, which stands at `key`, as a share."""
        try:
            result = share(value)
        except QuantityError as error:
            self.error(key, str(error))
            return None
        if result > most:
            self.error(key, f"must be at most {most:.0%}, but {quoted(value)} is written")
            return None
        return result

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of strings."""
        value = self.take(key)
        if value is None:
            return ()
        if isinstance(value, str):
            self.error(key, f'must be a list; write {key} = ["{value}"]')
            return ()
        if not isinstance(value, list) or not all(isinstance(one, str) and one.strip() for one in value):
            self.error(key, f"must be a list of words between quotes, but {quoted(value)} is written")
            return ()
        return tuple(one.strip() for one in value)

    def node_pair(self, key: str) -> tuple[str, str] | None:
        """A list of two different node names."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, list) or len(value) != 2:
            self.error(key, f'must be a list of two nodes, such as ["p", "m"], but {quoted(value)} is written')
            return None
        first = self.node(key, value[0])
        second = self.node(key, value[1]) if first is not None else None
        if first is None or second is None:
            return None
        if first == second:
            self.error(key, f'names the node "{first}" twice; two different nodes are needed')
            return None
        return first, second

    def node(self, key: str, value: Any) -> str | None:
        """`value`, which stands at `key`, as a node name."""
        if not isinstance(value, str):
            self.error(key, f'{quoted(value)} is not a node name; put it between quotes, "{value}"')
            return None
        if value.strip() == UNKNOWN:
            self.error(key, '"?" is not a node; leave nodes out until the connections are known')
            return None
        if not value or value != value.strip():
            self.error(key, f"{quoted(value)} is not a node name; it must not be empty or begin or end with a blank")
            return None
        return value

    def table(self, key: str, what: str, *, shown: str | None = None) -> Fields | None:
        """A table below this one."""
        value = self.take(key)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            self.error(key, f"must be a table, {key} = {{ … }}, but {quoted(value)} is written")
            return None
        return Fields(self.notes, value, (*self.path, key), shown or self.name(key), what)

    def file(self, key: str) -> str | None:
        """The path of a file inside the record folder."""
        value = self.text(key)
        if value is None:
            return None
        if _BAD_PATH.search(value):
            self.error(key, f"{quoted(value)} leads out of the record folder; copy the file into it and name that copy")
            return None
        return value

    def finish(self, more: Iterable[str] = (), other_names: dict[str, str] | None = None) -> None:
        """Warns about every key that was not asked for; `more` are known keys to suggest beside those asked for."""
        self._check_between()
        known = [*self.asked, *more]
        for key in self.data:
            if key not in self.asked:
                near = self.notes.nearest(key, known, other_names)
                self.warn(key, f"is not a key of {self.what}, and is kept but not used{near}")

    def _parsed(self, key: str, value: Any, spec: Key) -> float | None:
        try:
            # "value" says nothing; without a name the message says what the unit measures.
            number = parse(value, spec.unit, "" if spec.name == "value" else spec.name.replace("_", " "))
        except QuantityError as error:
            self.error(key, str(error))
            return None
        bounds = out_of_bounds(number, spec)
        if bounds:
            self.error(key, f"{bounds}, but {quoted(value)} is written")
            return None
        return number

    def _between(self, spec: Key) -> tuple[float, float] | None:
        """The bounds that `between` gives for the unknown of `spec`."""
        given = self.data.get("between")
        if isinstance(given, Mapping):
            given = given.get(spec.name)
        elif len(self.unknowns) > 1:
            return None
        if given is None:
            return None
        if not isinstance(given, list) or len(given) != 2:
            self.error("between", f"must be a list of two values, but {quoted(given)} is written")
            return None
        low, high = (self._parsed("between", one, spec) for one in given)
        if low is None or high is None:
            return None
        if low >= high:
            self.error("between", f"its first value must be below its second, but {quoted(given)} is written")
            return None
        return low, high

    def _check_between(self) -> None:
        """`between` must be about the unknowns of this table, and say which where there are several."""
        if "between" not in self.data or "between" in self.asked:
            return
        given = self.take("between")
        names = self.unknowns
        if not names:
            self.warn("between", 'is not used, for no value beside it is "?"')
        elif isinstance(given, Mapping):
            for name in given:
                if name not in names:
                    self.warn("between", f'gives bounds for {name}, which is not "?"{self.notes.nearest(name, names)}')
        elif len(names) > 1:
            form = ", ".join(f"{name} = […]" for name in names)
            self.error(
                "between", f"must say which value it is about, for {listed(names)} are unknown; use {{ {form} }}"
            )


def _is_unknown(value: Any) -> bool:
    return isinstance(value, str) and value.strip() == UNKNOWN


def out_of_bounds(number: float, spec: Key) -> str | None:
    """What a value has to be, where it is not; None where it fits."""
    if spec.least is not None and (number < spec.least or (spec.least_open and number == spec.least)):
        return f"must be {'above' if spec.least_open else 'at least'} {shown(spec.least, spec.unit)}"
    if spec.most is not None and number > spec.most:
        return f"must be at most {shown(spec.most, spec.unit)}"
    if spec.whole and not (math.isfinite(number) and number == int(number)):
        return "must be a whole number"
    return None


def shown(number: float, unit: str) -> str:
    """A bound as messages show it."""
    return f"{number:g}" if not unit else engineering(number, unit, 3)


def frozen(value: Any) -> Any:
    """Parsed TOML as values that cannot be changed."""
    if isinstance(value, Mapping):
        return Table({key: frozen(held) for key, held in value.items()})
    if isinstance(value, list | tuple):
        return tuple(frozen(one) for one in value)
    return value


def tabled(pairs: Mapping[Any, Any]) -> Mapping[Any, Any]:
    """The pairs as a frozen mapping, without those that are None."""
    kept = {key: value for key, value in pairs.items() if value is not None}
    return Table(kept) if kept else EMPTY


def positive(name: str, unit: str) -> Key:
    """The key of a value above 0."""
    return Key(name=name, unit=unit)


def from_zero(name: str, unit: str) -> Key:
    """The key of a value from 0 up."""
    return Key(name=name, unit=unit, least_open=False)


def tables(
    notes: Notes, data: Mapping[str, Any], key: str, base: Path = ()
) -> Sequence[tuple[Path, Mapping[str, Any]]]:
    """The tables of the array of tables `key` in the table at `base`, with their paths."""
    value = data.get(key)
    if value is None:
        return []
    # Below a table of the top there is room for headers of its own; in a table of a list there is not.
    inline = len(base) > 1
    name = key if inline else ".".join([*map(str, base), key])
    if isinstance(value, Mapping):
        form = f"a list of tables, {key} = [{{ … }}]" if inline else f"written [[{name}]] with two brackets"
        notes.error((*base, key), name, f"must be {form}, for there may be several")
        return []
    if not isinstance(value, list):
        notes.error((*base, key), name, f"must be a table headed [[{name}]], but {quoted(value)} is written")
        return []
    found: list[tuple[Path, Mapping[str, Any]]] = []
    for index, one in enumerate(value):
        if isinstance(one, Mapping):
            found.append(((*base, key, index), one))
        else:
            notes.error((*base, key, index), name, f"must hold tables, but {quoted(one)} is written")
    return found
