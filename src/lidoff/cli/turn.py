"""`lidoff turn`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.along import Picture, Points
from lidoff.cli.options import Changes, ItemPath, Json, State

if TYPE_CHECKING:
    from rich.console import Console


def turn(
    item: ItemPath,
    ref: Annotated[str, Parameter(help="A potentiometer of the record, such as VR1.")],
    /,
    *,
    points: Points = 41,
    state: State = None,
    set_: Changes = None,
    picture: Picture = None,
    json: Json = False,
) -> int:
    """Turn a knob up and then down and give the figures along the way.

    Every place starts from where the last one settled, as on the bench.
    """
    import lidoff
    from lidoff.circuit import build
    from lidoff.cli.along import check_picture, check_points, save_picture
    from lidoff.cli.changes import parse_changes
    from lidoff.cli.show import answer, before_solving
    from lidoff.studies import turn as study

    check_points(points)
    check_picture(picture)
    record = lidoff.open(item)
    changes = parse_changes(record, set_)
    part = record.part(ref)
    before_solving()
    circuit = build(record, state=state, changes=changes)
    document = study(circuit, part.name if part is not None else ref, points).as_json()

    def draw() -> str:
        from lidoff.drawing import turn_svg

        return turn_svg(document)

    save_picture(picture, draw)
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, record.title or str(item)),
        warnings=[str(problem) for problem in record.warnings],
    )


def _write(out: Console, document: Mapping[str, Any], title: str) -> None:
    from lidoff.cli.along import bar, figure_name, light_cells, most_of, say_travel, shown_figure
    from lidoff.cli.show import amount, table

    state, up, down = document["state"], document["up"], document["down"]
    out.print(f"{title}{f', {state}' if state else ''}: {document['ref']} turned up and down", style="bold")
    out.print()
    name = figure_name(up)
    heads = (("power", "light", "flicker") if name == "light" else ("power",)) * 2
    rows = table(document["ref"], *heads, f"{name} up", f"{name} down", numbers=range(1 + len(heads)))
    most = most_of((*up, *down))
    for going, coming in zip(up, reversed(down), strict=True):
        cells: list[str] = []
        for point in (going, coming):
            cells.append(amount((point["input"] or {}).get("power"), "W"))
            if name == "light":
                cells += light_cells(point)
        bars = [bar(shown_figure(point), most, 14) for point in (going, coming)]
        rows.add_row(f"{going['position']:.3f}", *cells, *bars)
    out.print(rows)
    out.print()
    say_travel(out, document, "the turn")
    on, off = document["snap_on"], document["snap_off"]
    if name == "power":
        on, off = document["power"]["snap_on"], document["power"]["snap_off"]
    if on is not None and off is not None:
        out.print(f"It comes on at {on:.2f} and goes out at {off:.2f} of the travel.")
    elif on is not None or off is not None:
        word, place = ("comes on", on) if on is not None else ("goes out", off)
        out.print(f"It {word} at {place:.2f} of the travel.")
    else:
        out.print("It neither comes on nor goes out along the travel.")
