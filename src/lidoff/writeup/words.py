"""Words that several chapters need: lists, states, parts and what they are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

from lidoff.account import Account, PartAccount, StateAccount
from lidoff.kinds import KINDS
from lidoff.quantity import UNITS, engineering, percent, with_interval
from lidoff.readings.words import NAMES, shown
from lidoff.record import Reading
from lidoff.writeup.blocks import Number, Run, Text

CLASSES: Final = {
    "I": "protection class I: it relies on its earth connection",
    "II": "protection class II: it has no earth and relies on its insulation",
    "III": "protection class III: it is fed with a low voltage from elsewhere",
}
PRODUCTS: Final = {
    "luminaire": "a light",
    "appliance": "an appliance",
    "adapter": "an adapter",
    "dimmer": "a dimmer",
}
REGIONS: Final = {"GB": "Great Britain", "EU": "the European Union", "US": "the United States"}


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words as a list in a sentence."""
    rows = list(words)
    return "".join(rows) if len(rows) < 2 else f"{', '.join(rows[:-1])} {last} {rows[-1]}"


def capital(text: str) -> str:
    """The sentence with a capital first letter."""
    return text[:1].upper() + text[1:]


def sentence(text: str) -> str:
    """The text as a sentence: capital first, full stop last."""
    return capital(text) if text.rstrip().endswith((".", "!", "?", ":")) else f"{capital(text.rstrip())}."


def quantity_name(quantity: str) -> str:
    """A reading's quantity in words."""
    return NAMES.get(quantity, quantity.replace("_", " "))


def as_read(reading: Reading) -> str:
    """A reading's figure as it was written down, with its unit where only the number was."""
    bare = reading.text.replace(".", "", 1).isdecimal()
    if not reading.text or (bare and reading.quantity == "temperature"):
        return shown(reading.quantity, reading.value, reading.unit)
    unit = UNITS[reading.unit].shown
    return f"{reading.text} {unit}" if unit and bare else reading.text


def state_name(name: str | None) -> str:
    """A state as a sentence names it."""
    return "the record as it stands" if name is None else f"“{name}”"


def in_state(name: str | None) -> str:
    """Where a figure was computed: in a state, or with the record as it stands."""
    return "with the record as it stands" if name is None else f"in the state {state_name(name)}"


def supply_words(state: StateAccount) -> Text:
    """What feeds a state, and whether anybody measured it."""
    supply = state.supply
    if supply.dc is not None:
        limit = "" if supply.limit is None else f", limited to {engineering(supply.limit, 'A')}"
        return ("on a bench supply of ", Number(text=with_interval(supply.dc, 0.0, "V"), origin="recorded"), limit)
    origin = "measured" if supply.measured else "assumed" if supply.assumed else "recorded"
    said = {"measured": "as measured", "assumed": "which nobody measured", "recorded": "as written down"}[origin]
    volts = with_interval(supply.voltage, 0.0, "V")
    return (
        "on ",
        Number(text=f"{volts}, {supply.frequency:g} Hz", origin=origin),
        f", {said}, give or take {percent(supply.range)}",
    )


def part_value(one: PartAccount) -> tuple[Run, ...]:
    """What a part is, in its own unit: "1 kΩ", "28 in a row, 4 rows, 2.88 V each"."""
    element, part = one.element, one.part
    if element is None:
        return ("not solved",) if not part.values else (KINDS[part.kind].title,)
    if part.kind == "led":
        rows = element.number("parallel")
        many = f"{element.number('series'):g} in a row" + (f", {rows:g} rows" if rows > 1 else "")
        each = Number(
            text=engineering(element.number("forward_voltage"), "V"), origin=origin_of(one, "forward_voltage")
        )
        return (f"{many}, ", each, " each")
    key = KINDS[part.kind].keys[0]
    value = element.values.get(key.name)
    if key.unit in ("bool", "word") or not isinstance(value, float | int) or one.origins.get(key.name) == "assumed":
        return ("–",) if one.taken is not None else (KINDS[part.kind].title,)
    origin = origin_of(one, key.name)
    exact = origin != "inferred"
    text = with_interval(float(value), 0.0, key.unit) if exact else engineering(float(value), key.unit)
    run = Number(text=text, origin=origin)
    tolerance = "" if not isinstance(part.tolerance, float) else f" ±{percent(part.tolerance)}"
    return (run, tolerance)


def origin_of(one: PartAccount, key: str) -> str:
    """Where the value of a part's key comes from, as a word."""
    return one.origins.get(key, "")


def with_states(text: str, account: Account) -> str:
    """A sentence made elsewhere, with the names of states quoted as this write-up quotes them."""
    for state in account.item.states:
        text = text.replace(f"'{state.name}'", state_name(state.name))
    return text


def key_name(key: str) -> str:
    """A dotted key in words: "the forward voltage of LED1"."""
    owner, _, word = key.rpartition(".")
    name = word.replace("_", " ")
    return f"the {name} of the mains" if owner == "supply" else f"the {name} of {owner}"


def inferred_words(account: Account) -> list[Text]:
    """Each value that nobody wrote down and the readings told, as taken in the figures."""
    found: list[Text] = []
    for key, one in account.used.items():
        half = 0.5 * (one.high95 - one.low95)
        text = with_interval(one.median, half, one.unit) if half > 0.0 else engineering(one.median, one.unit)
        found.append(
            (
                f"{capital(key_name(key))} is taken as ",
                Number(text=text, origin="inferred"),
                ", which the readings tell.",
            )
        )
    return found


def joined(texts: Sequence[Text], between: str = " ") -> Text:
    """Texts one after another."""
    found: list[Run] = []
    for text in texts:
        if found and text:
            found.append(between)
        found.extend(text)
    return tuple(found)
