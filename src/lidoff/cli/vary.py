"""`lidoff vary`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.along import Picture, Points
from lidoff.cli.options import Changes, ItemPath, Json, State, UsageError

if TYPE_CHECKING:
    from rich.console import Console

Name = Annotated[str, Parameter(help="What to vary, as REF.KEY: R1.value, supply.voltage, section.repeat.")]
From = Annotated[str, Parameter(name="FROM", help="Where to begin, as written in a record: 1k, 230 V, 0.")]
To = Annotated[str, Parameter(help="Where to end; may lie below the beginning.")]


def vary(
    item: ItemPath,
    key: Name,
    from_: From,
    to: To,
    /,
    *,
    points: Points = 41,
    state: State = None,
    set_: Changes = None,
    picture: Picture = None,
    json: Json = False,
) -> int:
    """Figures of an item along any one value, each place from rest.

    Dead travel is the share of the places at which the light hardly leaves its least; the floor is the least light
    over the most.
    """
    import lidoff
    from lidoff.circuit import build
    from lidoff.cli.along import check_picture, check_points, save_picture
    from lidoff.cli.changes import full_name, parse_changes, parse_value
    from lidoff.cli.show import answer, before_solving
    from lidoff.studies import vary as study

    check_points(points)
    check_picture(picture)
    record = lidoff.open(item)
    name = full_name(record, key)
    ends = [parse_value(record, name, text) for text in (from_, to)]
    if any(isinstance(end, bool | str) for end in ends):
        raise UsageError(f"{name} is not a number; give it with --set {name}=VALUE to: lidoff figures")
    changes = parse_changes(record, set_)
    before_solving()
    circuit = build(record, state=state, changes=changes)
    document = study(circuit, name, float(ends[0]), float(ends[1]), points).as_json()

    def draw() -> str:
        from lidoff.drawing import vary_svg

        return vary_svg(document, unit=document["unit"])

    save_picture(picture, draw)
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, record.title or str(item)),
        warnings=[str(problem) for problem in record.warnings],
    )


def _write(out: Console, document: Mapping[str, Any], title: str) -> None:
    from lidoff.cli.along import bar, figure_name, light_cells, most_of, say_travel, shown_figure
    from lidoff.cli.show import amount, number, table

    state, key, unit, points = document["state"], document["key"], document["unit"], document["points"]
    out.print(f"{title}{f', {state}' if state else ''}: along {key}, each place from rest", style="bold")
    out.print()
    name = figure_name(points)
    heads = ("power", "current", "power factor", *(("light", "flicker") if name == "light" else ()))
    rows = table(key, *heads, name if name == "power" else "", numbers=range(1 + len(heads)))
    most = most_of(points)
    for point in points:
        given = point["input"] or {}
        cells = [amount(given.get("power"), "W"), amount(given.get("current_rms"), "A")]
        cells.append(number(given.get("power_factor")))
        if name == "light":
            cells += light_cells(point)
        value = amount(point["value"], unit) if unit else f"{point['value']:.4g}"
        rows.add_row(value, *cells, bar(shown_figure(point), most))
    out.print(rows)
    out.print()
    say_travel(out, document, f"the way along {key}")
