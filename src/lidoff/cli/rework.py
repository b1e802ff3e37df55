"""`lidoff rework`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from lidoff.cli.options import ItemPath, Json, State, UsageError

if TYPE_CHECKING:
    from rich.console import Console

    from lidoff.record import Item
    from lidoff.rework import Attempt, Design, Rework

Goals = Annotated[
    list[str] | None,
    Parameter(
        name="--goal",
        negative=(),
        consume_multiple=False,
        help="What to reach, as name=value: light=8–13 %, ieee_1789=no-effect, dead_travel=15 %; may be given several "
        "times. A wrong name lists those there are.",
    ),
]
Tries = Annotated[
    list[str] | None,
    Parameter(
        name="--try",
        negative=(),
        consume_multiple=False,
        help="Instead of a goal, a change to look at: R2=100R, VR1.taper=log; may be given several times.",
    ),
]
Hours = Annotated[float, Parameter(name="--hours", help="Hours a year that energy is stated for.")]
Folder = Annotated[
    Path | None,
    Parameter(name=["--folder", "-o"], help="Writes each design's record and pictures into this folder."),
]


def rework(
    item: ItemPath,
    /,
    *,
    goal: Goals = None,
    try_: Tries = None,
    state: State = None,
    hours: Hours = 1000.0,
    folder: Folder = None,
    json: Json = False,
) -> int:
    """Work out what it would take to reach a goal: designs with parts one can buy, proved at the worst case.

    Every design is itself a record: solved, switched on, unplugged, broken in every single way and judged. What is
    offered is for its maker's own bench.
    """
    if bool(goal) == bool(try_):
        raise UsageError("give --goal name=value, or --try REF=VALUE, and not both; such as --goal ieee_1789=low-risk")
    if not hours > 0.0:
        raise UsageError(f"--hours {hours:g}: a number of hours above 0 is expected")
    import lidoff
    from lidoff.cli.show import before_solving

    record = lidoff.open(item)
    before_solving()
    if try_:
        return _tried(record, try_, state, hours, folder, json=json)
    return _designed(record, goal or [], state, hours, folder, json=json)


def _designed(
    record: Item, goals: list[str], state: str | None, hours: float, folder: Path | None, *, json: bool
) -> int:
    from lidoff.account.rework import rework as work
    from lidoff.cli.show import answer
    from lidoff.cli.waiting import told

    with told() as tell:
        found = work(record, goals, state=state, hours=hours, progress=tell)
    written = _save(found, folder) if folder is not None else []
    document = found.as_json() | ({"files": [str(path) for path in written]} if folder is not None else {})
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, found, written),
        warnings=[*(str(problem) for problem in record.warnings), *found.warnings],
    )


def _tried(
    record: Item, changes: list[str], state: str | None, hours: float, folder: Path | None, *, json: bool
) -> int:
    from lidoff.account.rework import try_out
    from lidoff.cli.show import answer

    found = try_out(record, changes, state=state, hours=hours)
    files: list[Path] = []
    if folder is not None:
        from lidoff.rework import comparison_svg

        picture = comparison_svg(*found.solutions, names=("before", "after"), title=record.title, paper=True)
        files = _put(folder, {"tried.toml": found.record, "before-and-after.svg": picture})
    document = found.as_json() | ({"files": [str(path) for path in files]} if folder is not None else {})
    return answer(
        document,
        as_json=json,
        text=lambda out: _write_attempt(out, found, files),
        warnings=[*(str(problem) for problem in record.warnings), *found.warnings],
    )


def _save(found: Rework, folder: Path) -> list[Path]:
    from lidoff.rework.saving import files_of

    return _put(folder, files_of(found))


def _put(folder: Path, files: dict[str, str]) -> list[Path]:
    """Writes texts into a folder. What stands there already and is another text is never written over."""
    from lidoff.errors import LidoffError

    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        path = folder / name
        if path.exists() and path.read_text(encoding="utf-8") != text:
            raise LidoffError(f"{path}: there is another text of that name; give an empty folder")
    written = []
    for name, text in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        written.append(path)
    return written


def _write(out: Console, found: Rework, files: list[Path]) -> None:
    from lidoff.cli.show import table

    out.print(f"{found.title}{f', {found.state}' if found.state else ''}: rework", style="bold")
    for goal in found.goals:
        now = f"; as found {goal.shown(found.as_found[goal.key])}" if goal.key in found.as_found else ""
        out.print(f"  goal: {goal.words}{' (goes without saying)' if goal.implied else ''}{now}")
    out.print()
    out.print(found.verdict, style="bold cyan")
    if found.offered:
        out.print()
        goals = [extent.goal for extent in found.offered[0].extents if not extent.goal.implied]
        rows = table("design", *(goal.name for goal in goals), "power", "faults 4/3/2", "cost", numbers=())
        for design in found.offered:
            ranges = [e.goal.span(e.low, e.high) for e in design.extents if not e.goal.implied]
            grave, serious, lesser = design.proof.severities
            power = f"{design.loss:.2g} W"
            rows.add_row(
                f"{design.title}, {design.variant}", *ranges, power, f"{grave}/{serious}/{lesser}", design.cost_words
            )
        out.print(rows)
        out.print("Ranges are the worst of mains and tolerances; faults are single ones by severity.", style="dim")
    for number, design in enumerate(found.offered, 1):
        out.print()
        _write_design(out, number, design)
    if found.rejected:
        out.print()
        out.print("Not offered", style="bold")
        for one in found.rejected:
            out.print(f"  {one.title}{f', {one.variant}' if one.variant else ''}: {one.why}")
    if found.notes:
        out.print()
        for sentence in found.notes:
            out.print(sentence, style="dim")
    if found.offered:
        out.print()
        out.print("Cautions", style="bold")
        for sentence in found.cautions:
            out.print(f"  - {sentence}")
        out.print("On the bench, in this order", style="bold")
        for number, step in enumerate(found.offered[0].steps, 1):
            out.print(f"  {number}. {step}")
    for path in files:
        out.print(str(path), soft_wrap=True)


def _write_design(out: Console, number: int, design: Design) -> None:
    from lidoff.cli.show import table

    out.print(f"{number}. {design.title}, {design.variant}", style="bold")
    out.print(f"  {design.why}")
    for equation in design.equations:
        out.print(f"  {equation}", style="dim")
    if design.removed:
        out.print(f"  Taken out: {', '.join(design.removed)}")
    rows = table("part", "what", "value", "has to meet")
    for part in design.parts:
        was = f" (was {part.was})" if part.was else ""
        tolerance = f" ±{100 * part.tolerance:g} %" if part.tolerance else ""
        rows.add_row(part.ref, part.role, f"{part.text}{tolerance}{was}", "; ".join(part.must) or part.why)
    out.print(rows)
    for part in design.parts:
        if part.life is not None:
            out.print(f"  {part.ref}: {part.life.words}")
    for held in design.proof.held:
        out.print(f"  {_held(held)}")
    if (surge := design.proof.switched_on) is not None:
        out.print(f"  Switched on at the worst instant: {surge.peak:.2g} A at the peak.")
    for word, found in (("Appears", design.proof.appeared), ("Vanishes", design.proof.vanished)):
        for one in found:
            out.print(f"  {word}: {one.title} ({one.risk.level} risk)")
    for sentence in design.energy.words:
        out.print(f"  {sentence}")
    for name, value in design.extras.items():
        out.print(f"  {name}: {100 * value:.2g} % of the most light is the least that the knob gives")
    out.print(f"  Board: {design.space}. Power: {design.loss:.2g} W.")


def _held(held: object) -> str:
    from lidoff.rework import Held

    assert isinstance(held, Held)

    def time(value: float | None) -> str:
        return "over five minutes" if value is None else f"{value:.2g} s"

    text = f"Unplugged, {held.part} holds {held.volts:.0f} V and is below 60 V after {time(held.to_60)}"
    if held.open_volts is not None:
        text += f"; with the string open {held.open_volts:.0f} V, below 60 V after {time(held.open_to_60)}"
    return f"{text}."


def _write_attempt(out: Console, found: Attempt, files: list[Path]) -> None:
    from lidoff.cli.show import amount, table
    from lidoff.rework.attempt import FIGURES

    changes = ", ".join(
        f"{name} = {value:g}" if isinstance(value, float) else f"{name} = {value}"
        for name, value in found.changes.items()
    )
    out.print(f"{found.title}{f', {found.state}' if found.state else ''}: {changes}", style="bold")
    out.print()
    rows = table("figure", "before", "after", numbers=(1, 2))
    for name, words, unit in FIGURES:
        values = [_read(side, name) for side in (found.before, found.after)]
        if any(value is not None for value in values):
            shown = [
                amount(v, unit) if unit and unit != "%" else "–" if v is None else f"{v:.3g}{' %' * (unit == '%')}"
                for v in values
            ]
            rows.add_row(words, *shown)
    out.print(rows)
    out.print()
    for word, findings in (("Appears", found.appeared), ("Vanishes", found.vanished)):
        for one in findings:
            out.print(f"{word}: {one.title} ({one.risk.level} risk). {one.because[0]}")
    if not found.appeared and not found.vanished:
        out.print("No finding appears, none vanishes.")
    before, after = (sum(count) for count in (found.faults_before, found.faults_after))
    out.print(
        f"Single faults of severity 4, 3, 2: {'/'.join(map(str, found.faults_before))} before, "
        f"{'/'.join(map(str, found.faults_after))} after ({before} and {after} in all)."
    )
    for row in found.stress_after:
        if row.verdict == "over":
            out.print(f"{row.part}: {row.times:.2g} times its rated {row.quantity}.")
    for sentence in found.energy.words:
        out.print(sentence)
    if not found.settled:
        out.print("With this change the cycle does not settle: the figures wander.")
    for path in files:
        out.print(str(path), soft_wrap=True)


def _read(side: object, name: str) -> float | None:
    value: object = side
    for key in name.split("."):
        value = value.get(key) if hasattr(value, "get") else None
    return float(value) if isinstance(value, int | float) else None
