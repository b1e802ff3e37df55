"""`lidoff draw`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

from cyclopts import Parameter

from lidoff.cli.options import Changes, ItemPath, Json, State, UsageError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lidoff.circuit import Circuit
    from lidoff.drawing import Schematic
    from lidoff.record import Item

Picture = Literal["schematic", "waves", "dial", "instants"]


def draw(
    item: ItemPath,
    /,
    *,
    output: Annotated[
        Path | None, Parameter(name=["--output", "-o"], help="The .svg file to write; without it, standard output.")
    ] = None,
    picture: Annotated[
        Picture,
        Parameter(
            help="The schematic, the waves of one mains cycle, the cycle dial, or the schematic at six instants.",
            show_default=False,
        ),
    ] = "schematic",
    state: State = None,
    set_: Changes = None,
    figures: Annotated[
        bool, Parameter(negative=(), show_default=False, help="Solve the cycle and write each part's power beside it.")
    ] = False,
    nodes: Annotated[
        bool, Parameter(negative=(), show_default=False, help="Write the names of the nodes beside their wires.")
    ] = False,
    plain: Annotated[
        bool, Parameter(negative=(), show_default=False, help="Leave out the captions of recognised groups.")
    ] = False,
    json: Json = False,
) -> int:
    """Draw the schematic of an item as SVG, from its connections.

    Placement is computed; the record's [drawing] may nudge it. With --picture it draws the mains cycle instead.
    """
    import lidoff
    from lidoff.circuit import build
    from lidoff.cli.changes import parse_changes
    from lidoff.cli.show import answer

    if output is not None and output.suffix.lower() != ".svg":
        raise UsageError(f"{output} does not end in .svg; name the picture so that nothing else is written over")
    record = lidoff.open(item)
    circuit = build(record, state=state, changes=parse_changes(record, set_))
    drawing: Schematic | None = None
    if picture == "schematic":
        svg, drawing = _schematic(record, circuit, figures=figures, nodes=nodes, plain=plain)
    else:
        svg = _cycle(record, circuit, picture)
    warnings = [*(str(problem) for problem in record.warnings), *circuit.warnings]
    warnings += drawing.warnings if drawing is not None else ()
    document: dict[str, Any] = {"picture": picture, "state": circuit.state, "file": str(output) if output else None}
    if drawing is not None:
        document |= {"parts": len(circuit.elements), "bends": drawing.bends, "crossings": drawing.crossings}
    if output is None:
        document["svg"] = svg
    else:
        _write(output, svg)
    return answer(
        document,
        as_json=json,
        text=lambda out: out.print(f"Drew {output}.") if output is not None else print(svg),
        warnings=warnings,
    )


def _schematic(record: Item, circuit: Circuit, *, figures: bool, nodes: bool, plain: bool) -> tuple[str, Schematic]:
    from lidoff.circuit.groups import recognise
    from lidoff.drawing import overlay_for, rendered, schematic

    groups = () if plain else recognise(circuit).best
    beside = _powers(circuit) if figures else {}
    drawing = schematic(circuit, figures=beside, groups=groups, hints=record.drawing)
    return rendered(drawing, overlay_for(drawing, groups=groups, node_names=nodes), paper=True), drawing


def _powers(circuit: Circuit) -> Mapping[str, str]:
    """The mean power of each part, as far as it is worth writing."""
    from lidoff.cli.show import amount, before_solving
    from lidoff.cycle import solve

    before_solving()
    powers = solve(circuit).powers
    return {ref: amount(power, "W") for ref, power in powers.items() if power >= 1e-3}


def _cycle(record: Item, circuit: Circuit, picture: Picture) -> str:
    from lidoff.cli.show import before_solving
    from lidoff.cycle import solve
    from lidoff.drawing import cycle_dial_svg, six_instants_svg, waveform_svg

    before_solving()
    solution = solve(circuit)
    if picture == "waves":
        return waveform_svg(solution, paper=True)
    if picture == "dial":
        return cycle_dial_svg(solution, paper=True)
    return six_instants_svg(circuit, solution, hints=record.drawing, paper=True)


def _write(path: Path, svg: str) -> None:
    """Writes the picture in one go: a failure leaves what was there."""
    from lidoff.drawing import DrawingError

    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_text(svg + "\n", encoding="utf-8")
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise DrawingError(f"{path} cannot be written: {error.strerror or error}; name another place") from error
