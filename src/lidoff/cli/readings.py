"""`lidoff readings`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from lidoff.cli.options import ItemPath, Json

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.record import Item


def readings(item: ItemPath, /, *, json: Json = False) -> int:
    """Hold each reading against the computed value, and say what the readings tell.

    Which reading to believe and why; what the readings make of values that nobody wrote down; what to measure next,
    with the caution that goes with it; what the recordings look like.
    """
    import lidoff
    from lidoff.cli.show import answer, before_solving

    record = lidoff.open(item)
    before_solving()
    document = lidoff.readings(record)
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, record, record.title or str(item)),
        warnings=[str(problem) for problem in record.warnings],
    )


def _write(out: Console, document: Mapping[str, Any], record: Item, title: str) -> None:
    out.print(title, style="bold")
    if not document["readings"] and not document["recordings"]:
        out.print("No readings were written down yet.")
    _write_readings(out, document)
    _write_contradictions(out, document)
    _write_inferred(out, document, record)
    _write_recordings(out, document)
    _write_next(out, document)


def _write_readings(out: Console, document: Mapping[str, Any]) -> None:
    from lidoff.cli.show import amount, table
    from lidoff.readings.words import shown

    if not document["readings"]:
        return
    rows = table("reading", "state", "shown", "would show", "true", "verdict", numbers=(2, 3, 4))
    for one in document["readings"]:
        unit = one["unit"]
        rows.add_row(
            f"{_quantity(one['quantity'])} {_place(one['at'])}",
            one["state"] or "",
            shown(one["quantity"], one["measured"], unit),
            amount(one["computed"], unit),
            amount(one["true"], unit),
            one["verdict"],
        )
    out.print(rows)
    for number, one in enumerate(document["readings"], start=1):
        out.print(f"{number}. {_quantity(one['quantity'])} {_place(one['at'])}: {one['verdict']}", style="bold")
        out.print(f"   {one['why']}")


def _write_contradictions(out: Console, document: Mapping[str, Any]) -> None:
    if document["contradictions"]:
        out.print("\nReadings that do not go together, whatever the circuit", style="bold")
        for one in document["contradictions"]:
            out.print(f"- {one['what']}")


def _write_inferred(out: Console, document: Mapping[str, Any], record: Item) -> None:
    from lidoff.cli.show import amount

    if document["inferred"]:
        out.print("\nWhat the readings say of what nobody wrote down", style="bold")
    for one in document["inferred"]:
        unit, where = one["unit"], f" in '{one['state']}'" if one["state"] else ""
        out.print(
            f"- {one['key']}{where}: {amount(one['median'], unit)}, with 95 % between {amount(one['low95'], unit)} and "
            f"{amount(one['high95'], unit)}. {one['note']}".rstrip()
        )
    for one in document["narrowed"]:
        where = f" in '{one['state']}'" if one["state"] else ""
        out.print(f"- {one['key']}{where} is narrowed: {_narrowed(record, one)}.")


def _narrowed(record: Item, one: Mapping[str, Any]) -> str:
    """What the readings leave of a value that is written with a range: in its own unit where a number is written."""
    from lidoff.quantity import engineering, with_interval

    found = _written(record, one["key"], one["state"])
    if found is None:
        return f"{one['low95']:.3f} to {one['high95']:.3f} times what is recorded"
    value, unit = found
    low, high = one["low95"] * value, one["high95"] * value
    half = 0.5 * (high - low)
    ends = [
        with_interval(end, half, unit, show_interval=False) if half > 0.0 else engineering(end, unit)
        for end in (low, high)
    ]
    return f"{ends[0]} to {ends[1]}, where {with_interval(value, 0.0, unit)} is written"


def _written(record: Item, key: str, state: str | None) -> tuple[float, str] | None:
    """The number that the record gives for a dotted key in a state, and its unit; None where there is none."""
    from lidoff.kinds import KINDS
    from lidoff.record import effective_supply

    owner, _, word = key.rpartition(".")
    chosen = record.state(state) if state else None
    if owner == "supply":
        value: Any = getattr(effective_supply(record, chosen), word, None)
        unit = {"voltage": "V", "dc": "V"}.get(word, "")
    else:
        part = record.part(owner)
        spec = KINDS[part.kind].key(word) if part is not None else None
        value = part.values.get(word) if part is not None else None
        unit = spec.unit if spec is not None else ""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return (float(value), unit) if number and unit else None


def _write_recordings(out: Console, document: Mapping[str, Any]) -> None:
    from lidoff.cli.show import amount

    for one in document["recordings"]:
        out.print(f"\n{one['file']}", style="bold")
        figures = one["figures"]
        if figures:
            given = figures["input"]
            out.print(
                f"   {one['cycles']} cycles at {one['frequency']:.4g} Hz: {amount(given['voltage_rms'], 'V')}, "
                f"{amount(given['current_rms'], 'A')}, {amount(given['power'], 'W')}, power factor "
                f"{amount(given['power_factor'], '')}"
            )
        for kind in one["looks_like"][:2]:
            out.print(f"   looks like: {kind['kind']} (certainty {kind['certainty']:.0%})".replace("%", " %"))
        if one["corrected"]:
            for sentence in one["corrected"]["what"]:
                out.print(f"   {sentence}")
            fixed = one["corrected"]["figures"]["input"]
            out.print(
                f"   with that undone: {amount(fixed['current_rms'], 'A')}, {amount(fixed['power'], 'W')}, "
                f"power factor {amount(fixed['power_factor'], '')}"
            )
        if one["overlay"]:
            out.print(f"   {one['overlay']['why']}")
        for problem in one["problems"]:
            out.print(f"   ! {problem}")


def _write_next(out: Console, document: Mapping[str, Any]) -> None:
    if document["next"]:
        out.print("\nWhat to measure next", style="bold")
    for number, one in enumerate(document["next"], start=1):
        out.print(f"{number}. {one['how'] or _quantity(one['quantity'])} {one['why']}")
        out.print(f"   Caution: {one['caution']}")


def _quantity(name: str) -> str:
    return name.replace("_", " ")


def _place(at: str | list[str]) -> str:
    if isinstance(at, str):
        return "at the input" if at == "input" else f"at {at}"
    return f"between {at[0]} and {at[1]}"
