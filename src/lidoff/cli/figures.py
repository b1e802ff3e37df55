"""`lidoff figures`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from lidoff.cli.options import Changes, ItemPath, Json, State

if TYPE_CHECKING:
    from rich.console import Console


def figures(item: ItemPath, /, *, state: State = None, set_: Changes = None, json: Json = False) -> int:
    """Solve the mains cycle of an item and give its figures.

    The figures are those of the settled cycle, reached from rest, at the item's terminals.
    """
    import lidoff
    from lidoff.cli.changes import parse_changes
    from lidoff.cli.show import answer, before_solving

    record = lidoff.open(item)
    changes = parse_changes(record, set_)
    before_solving()
    document = lidoff.solve(record, state=state, changes=changes).figures()
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, record.title or str(item)),
        warnings=[str(problem) for problem in record.warnings],
    )


def _write(out: Console, document: Mapping[str, Any], title: str) -> None:
    from lidoff.cli.show import amount, headline

    state = document.get("state")
    supply = document["supply"]
    out.print(f"{title}{f', {state}' if state else ''}", style="bold")
    if supply["frequency"]:
        out.print(f"on {supply['voltage_rms']:.4g} V rms, {supply['frequency']:g} Hz", style="dim")
    else:
        out.print(f"on a bench supply of {supply['dc']:.4g} V", style="dim")
    out.print()
    given, light = document["input"], document.get("light")
    large = [
        (amount(given["power"], "W"), "power"),
        (amount(given["current_rms"], "A"), "current"),
        (_number(given["power_factor"]), "power factor"),
    ]
    if light:
        rate = f" at {light['frequency']:g} Hz" if light.get("frequency") else ""
        large.append((_percent(light["percent_flicker"]), f"flicker{rate}"))
    headline(out, large)
    out.print()
    out.print(
        f"{amount(given['apparent_power'], 'VA')} apparent; peak current {amount(given['current_peak'], 'A')}, "
        f"crest factor {_number(given['crest_factor'])}; harmonic distortion "
        f"{_percent(None if given['thd'] is None else 100.0 * given['thd'])}, "
        f"displacement factor {_number(given['displacement_factor'])}"
    )
    out.print()
    _write_parts(out, document["parts"])
    if not document["settled"]:
        out.print(f"\nThis circuit does not settle; the figures are taken over {document['cycles']} cycles.")


def _write_parts(out: Console, parts: Mapping[str, Mapping[str, float | None]]) -> None:
    from lidoff.cli.show import amount, table

    rows = table("part", "power", "volts rms", "volts peak", "amps rms", "amps peak", numbers=(1, 2, 3, 4, 5))
    for ref, part in sorted(parts.items(), key=lambda entry: -(entry[1]["power"] or 0.0)):
        rows.add_row(
            ref,
            amount(part["power"], "W"),
            amount(part["voltage_rms"], "V"),
            amount(part["voltage_peak"], "V"),
            amount(part["current_rms"], "A"),
            amount(part["current_peak"], "A"),
        )
    out.print(rows)


def _number(value: float | None) -> str:
    return "–" if value is None else f"{value:.3g}"


def _percent(value: float | None) -> str:
    return "–" if value is None else f"{value:.3g} %"
