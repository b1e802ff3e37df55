"""`lidoff figures`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from lidoff.cli.options import Changes, ItemPath, Json, State

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.cycle import Solution
    from lidoff.figures import Interference
    from lidoff.studies import Stress


def figures(item: ItemPath, /, *, state: State = None, set_: Changes = None, json: Json = False) -> int:
    """Solve the mains cycle of an item and give its figures.

    The figures are those of the settled cycle, reached from rest, at the item's terminals. The parts nearest to their
    ratings, or furthest over them, come first. Where a triac or thyristor makes steps in the current, what a radio
    hears of them stands under `interference`.
    """
    import lidoff
    from lidoff.cli.changes import parse_changes
    from lidoff.cli.show import answer, before_solving

    record = lidoff.open(item)
    changes = parse_changes(record, set_)
    before_solving()
    solution = lidoff.solve(record, state=state, changes=changes)
    from lidoff.studies import disturbance
    from lidoff.studies.glow import is_lit

    heard = disturbance(solution)
    if heard is not None and not heard.step:
        heard = None  # without steps there is nothing to estimate
    document = {**solution.figures(), **({} if heard is None else {"interference": heard.as_dict()})}
    if document["light"] and not is_lit(solution.circuit, document["light"]):
        document["light"]["bounds"] = []  # a glow at most: its flicker is held against nothing, as in the write-up

    def text(out: Console) -> None:
        from lidoff.studies import stress

        _write(out, document, record.title or str(item), stress(solution))
        _write_words(out, document, heard, solution)

    return answer(document, as_json=json, text=text, warnings=[str(problem) for problem in record.warnings])


def _write(out: Console, document: Mapping[str, Any], title: str, stresses: Sequence[Stress]) -> None:
    from lidoff.cli.show import amount, headline, number, percent

    state = document["state"]
    supply = document["supply"]
    out.print(f"{title}{f', {state}' if state else ''}", style="bold")
    if supply["frequency"]:
        out.print(f"on {supply['voltage_rms']:.4g} V rms, {supply['frequency']:g} Hz", style="dim")
    else:
        out.print(f"on a bench supply of {supply['dc']:.4g} V", style="dim")
    out.print()
    given, light = document["input"], document["light"]
    large = [
        (amount(given["power"], "W"), "power"),
        (amount(given["current_rms"], "A"), "current"),
        (number(given["power_factor"]), "power factor"),
    ]
    if light:
        rate = f" at {light['frequency']:g} Hz" if light["frequency"] else ""
        large.append((percent(light["percent_flicker"]), f"flicker{rate}"))
    headline(out, large)
    out.print()
    distortion = None if given["thd"] is None else 100.0 * given["thd"]
    out.print(
        f"{amount(given['apparent_power'], 'VA')} apparent; peak current {amount(given['current_peak'], 'A')}, "
        f"crest factor {number(given['crest_factor'])};\nharmonic distortion {percent(distortion)}, "
        f"displacement factor {number(given['displacement_factor'])}"
    )
    out.print()
    _write_parts(out, document["parts"], stresses)
    if not document["settled"]:
        out.print("\nThis cycle does not repeat: take its figures with care.")
    elif document["cycles"] > 1:
        out.print(f"\nThe item runs in a rhythm; the figures are taken over {document['cycles']} cycles of the mains.")


def _write_words(out: Console, document: Mapping[str, Any], heard: Interference | None, solution: Solution) -> None:
    """What a viewer is to be warned of, and what a radio hears, where there is anything to say."""
    from lidoff.figures import warning
    from lidoff.studies.glow import is_lit

    light = document["light"]
    warned = warning(light) if is_lit(solution.circuit, light) else None
    if warned is not None:
        out.print(f"\n{warned}")
    if heard is not None:
        out.print(f"\n{heard.words}")


def _write_parts(out: Console, parts: Mapping[str, Mapping[str, float | None]], stresses: Sequence[Stress]) -> None:
    from lidoff.cli.show import amount, table

    worst: dict[str, Stress] = {}
    for row in stresses:
        if row.times is not None:
            worst.setdefault(row.part, row)

    def order(ref: str) -> tuple[float, float]:
        times = worst[ref].times if ref in worst else None
        return -(times or 0.0), -(parts[ref]["power"] or 0.0)

    rows = table("part", "power", "volts rms", "peak", "amps rms", "peak", "of its rating", numbers=(1, 2, 3, 4, 5))
    for ref in sorted(parts, key=order):
        part = parts[ref]
        rows.add_row(
            ref,
            amount(part["power"], "W"),
            amount(part["voltage_rms"], "V"),
            amount(part["voltage_peak"], "V"),
            amount(part["current_rms"], "A"),
            amount(part["current_peak"], "A"),
            _of_rating(worst.get(ref)),
        )
    out.print(rows)
    if any(row.assumed for row in worst.values()):
        out.print("(r) by a rule of thumb, for the record gives no rating", style="dim")
    if any(row.marked for row in worst.values()):
        out.print("(m) by the part's marking, for the record gives no rating", style="dim")


def _of_rating(row: Stress | None) -> str:
    from lidoff.cli.show import share_of

    if row is None or row.times is None:
        return ""
    share = f"{row.times:.2g} times" if row.times >= 1.0 else share_of(row.times)
    over = " OVER" if row.verdict == "over" else ""
    source = " (r)" if row.assumed else " (m)" if row.marked else ""
    return f"{share} {row.quantity}{source}{over}"
