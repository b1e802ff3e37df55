"""`lidoff spread`."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import Changes, ItemPath, Json, State

if TYPE_CHECKING:
    from rich.console import Console

_UNITS = {
    "power": "W",
    "current_rms": "A",
    "current_peak": "A",
    "current_mean": "A",
    "apparent_power": "VA",
    "mean_current": "A",
}
_PERCENT = ("percent_flicker", "at_mains_frequency")


def spread(
    item: ItemPath,
    /,
    *,
    samples: Annotated[int, Parameter(name="--samples", help="How many draws of the tolerances to work out.")] = 2000,
    seed: Annotated[int, Parameter(name="--seed", help="The draws of one seed are always the same.")] = 1,
    about: Annotated[
        str,
        Parameter(name="--about", help="Of which figure to say what matters to it."),
    ] = "input.power",
    state: State = None,
    set_: Changes = None,
    json: Json = False,
) -> int:
    """Draw parts and mains within their tolerances and give the range of every figure.

    An interrupt (Ctrl-C) stops the run and shows what was done by then.
    """
    import lidoff
    from lidoff.circuit import build
    from lidoff.cli.changes import parse_changes
    from lidoff.cli.options import UsageError
    from lidoff.cli.show import answer, before_solving
    from lidoff.studies import spread as study
    from lidoff.studies.spread import MOST_SAMPLES

    if not 1 <= samples <= MOST_SAMPLES:
        raise UsageError(f"--samples {samples} cannot be; give 1 to {MOST_SAMPLES}")
    if seed < 0:
        raise UsageError(f"--seed {seed} cannot be; give 0 or more")
    record = lidoff.open(item)
    changes = parse_changes(record, set_)
    before_solving()
    circuit = build(record, state=state, changes=changes)
    shown = sys.stderr.isatty()

    def progress(done: int, wanted: int) -> None:
        if shown:
            print(f"\r{done} of {wanted} samples", end="" if done < wanted else "\n", file=sys.stderr, flush=True)

    document = study(circuit, samples, seed, about=about, progress=progress).as_json()
    return answer(
        document,
        as_json=json,
        text=lambda out: _write(out, document, record.title or str(item)),
        warnings=[str(problem) for problem in record.warnings],
    )


def _write(out: Console, document: Mapping[str, Any], title: str) -> None:
    from lidoff.cli.show import table

    state = document["state"]
    out.print(f"{title}{f', {state}' if state else ''}: {document['samples']} samples", style="bold")
    out.print()
    rows = table("figure", "5 %", "median", "95 %", "as recorded", "matters most", numbers=(1, 2, 3, 4))
    for name, figure in document["figures"].items():
        first = document["matters_for"][name][:1]
        most = "".join(f"{m['key']} {m['share']:.0%}" for m in first if m["share"] >= 0.05)
        rows.add_row(name, *(_shown(name, figure[key]) for key in ("p5", "median", "p95", "nominal")), most or "–")
    out.print(rows)
    out.print()
    matters = [m for m in document["matters"] if m["share"] >= 0.005]
    if matters:
        words = ", ".join(f"{m['key']} {m['share']:.0%}" for m in matters)
        out.print(f"What matters to {document['about']}: {words}.")
    if document["stopped"]:
        out.print("The run was stopped early; the ranges are those of the samples done by then.")
    if document["failed"] or document["unsettled"]:
        out.print(
            f"{document['failed']} samples gave no cycle and are left out; {document['unsettled']} did not settle."
        )
    out.print(f"Drawn: {'; '.join(document['drawn'])}.", style="dim")


def _shown(name: str, value: float | None) -> str:
    from lidoff.cli.show import amount

    last = name.rpartition(".")[2]
    if value is None:
        return "–"
    if last in _PERCENT:
        return f"{value:.3g} %"
    return amount(value, _UNITS[last]) if last in _UNITS else f"{value:.3f}"
