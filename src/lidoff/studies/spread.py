"""Figures over the tolerances of parts and mains: median and 5-95 % range, and which value matters most.

All samples are drawn first, from one seed, so that the answer does not depend on who works them out. Which value
matters is judged by rank correlation (C. Spearman, Am. J. Psychol. 15 (1904) 72): the share of a value is its squared
correlation with the figure, less what chance alone would give, over the sum for all values.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from lidoff.circuit.model import Circuit, CircuitError
from lidoff.cycle import Solution, solve
from lidoff.record import Table
from lidoff.studies.errors import StudyError
from lidoff.studies.sampling import changed, columns, drawn_of
from lidoff.studies.traces import Floats
from lidoff.studies.workers import Workers, processors

Progress = Callable[[int, int], bool | None]
MOST_SAMPLES: Final = 1_000_000
_ALONE: Final = 150  # samples below which other processes cost more than they save
_CHUNK: Final = (10, 200)  # samples handed out at a time
_FINENESS: Final = 4.0  # of the steps: costs some 0.1 % of a figure, nothing beside the tolerances
_FEWEST: Final = 5  # good samples below which there is nothing to say
_SHOWN: Final = 1e-3  # [W] parts that take less at the recorded values are left out
_INPUT: Final = (
    "power",
    "current_rms",
    "current_peak",
    "current_mean",
    "apparent_power",
    "power_factor",
    "displacement_factor",
    "crest_factor",
    "thd",
)
_LIGHT: Final = ("mean_current", "percent_flicker", "flicker_index", "svm", "pst_lm")
HALF_RATE: Final = "light.at_mains_frequency"


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """A figure over the samples [its own unit]: 5th percentile, median, 95th percentile, and at the recorded values."""

    p5: float
    median: float
    p95: float
    nominal: float | None

    def as_json(self) -> dict[str, float | None]:
        """The mapping that `spread --json` prints for a figure."""
        return {"p5": self.p5, "median": self.median, "p95": self.p95, "nominal": self.nominal}


@dataclass(frozen=True, slots=True, kw_only=True)
class Matter:
    """How much one value matters to a figure: `share` [1] of all, `correlation` the signed rank correlation [-1..1]."""

    key: str
    share: float
    correlation: float

    def as_json(self) -> dict[str, Any]:
        """The mapping that `spread --json` prints for a value."""
        return {"key": self.key, "share": self.share, "correlation": self.correlation}


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A tolerance run.

    `samples` is how many were worked out; `failed` of them gave no cycle and `unsettled` no repeating one, and are left
    out or kept as they are. `figures` are by dotted name ("input.power", "light.percent_flicker", "parts.R1.power");
    "light.at_mains_frequency" is the light's component at the mains' own frequency, in percent of its mean, which only
    unequal half-cycles give. `matters` is about the figure `about`, `matters_for` about every figure. `drawn` says in
    sentences what was drawn. `stopped` is true where the run was stopped early.
    """

    state: str | None
    samples: int
    failed: int
    unsettled: int
    stopped: bool
    seed: int
    about: str
    figures: Mapping[str, Range]
    matters: tuple[Matter, ...]
    matters_for: Mapping[str, tuple[Matter, ...]]
    drawn: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """The mapping that `lidoff spread --json` prints."""
        return {
            "state": self.state,
            "samples": self.samples,
            "failed": self.failed,
            "unsettled": self.unsettled,
            "stopped": self.stopped,
            "seed": self.seed,
            "figures": {name: figure.as_json() for name, figure in self.figures.items()},
            "about": self.about,
            "matters": [matter.as_json() for matter in self.matters],
            "matters_for": {name: [m.as_json() for m in found[:5]] for name, found in self.matters_for.items()},
            "drawn": list(self.drawn),
            "warnings": list(self.warnings),
        }


def spread(
    circuit: Circuit,
    samples: int = 2000,
    seed: int = 1,
    *,
    about: str = "input.power",
    executor: Executor | None = None,
    progress: Progress | None = None,
) -> Spread:
    """The circuit's figures over `samples` draws of its tolerances and its mains, each from rest.

    `executor` works the samples out: any of `concurrent.futures`, or what behaves like one; by default as many
    processes as there are processors. `progress` is called with the samples done and the samples wanted; where it
    returns False the run stops, as it does on an interrupt from the keyboard, and what was done by then is given.
    Raises StudyError where there is nothing to draw, or too few samples were good.
    """
    if not 1 <= samples <= MOST_SAMPLES:
        raise StudyError(f"{samples} samples cannot be; give 1 to {MOST_SAMPLES}")
    drawn, warnings = drawn_of(circuit)
    if not drawn:
        raise StudyError("Nothing has a tolerance here and the mains no range; write tolerance = … beside the parts")
    nominal = solve(circuit)
    parts = tuple(ref for ref, power in nominal.powers.items() if power > _SHOWN)
    random = np.random.default_rng(seed)
    raw = np.column_stack([one.draw(random, samples) for one in drawn])
    names, values = columns([one.name for one in drawn], raw)
    table, done, stopped = _worked_out(circuit, names, values, parts, executor, progress)
    found = table[done]
    good = np.isfinite(found[:, 0])
    if good.sum() < min(_FEWEST, samples):
        raise StudyError(f"Only {int(good.sum())} of {int(done.sum())} samples gave a cycle; look at `lidoff figures`")
    titles = _names(parts)
    standard = dict(zip(titles, _row(nominal, parts), strict=True))
    kept = [k for k, title in enumerate(titles) if np.isfinite(found[good, k]).any()]
    figures = {titles[k]: _range(found[good, k], standard[titles[k]]) for k in kept}
    matters = {titles[k]: _matters(names, values[done][good], found[good, k]) for k in kept}
    if about not in figures:
        raise StudyError(f"There is no figure {about} here; there are {', '.join(figures)}")
    return Spread(
        state=circuit.state,
        samples=int(done.sum()),
        failed=int((~good).sum()),
        unsettled=int((found[good, -1] == 0.0).sum()),
        stopped=stopped,
        seed=seed,
        about=about,
        figures=Table(figures),
        matters=matters[about],
        matters_for=Table(matters),
        drawn=tuple(one.sentence for one in drawn),
        warnings=(*circuit.warnings, *warnings),
    )


def _names(parts: tuple[str, ...]) -> list[str]:
    """Names of the figures, in the order of `_row` without its last entry."""
    return [
        *(f"input.{name}" for name in _INPUT),
        *(f"light.{name}" for name in _LIGHT),
        HALF_RATE,
        *(f"parts.{ref}.power" for ref in parts),
    ]


def _row(solution: Solution, parts: tuple[str, ...]) -> list[float]:
    """The figures of one sample, not a number where there is none."""
    given, light = solution.input_figures(), solution.light_figures()
    row = [_number(given.get(name)) for name in _INPUT]
    row += [_number(None if light is None else light.get(name)) for name in _LIGHT]
    row.append(_at_mains_frequency(solution))
    row += [solution.powers[ref] for ref in parts]
    return row


def _number(value: float | None) -> float:
    return float("nan") if value is None else float(value)


def _at_mains_frequency(solution: Solution) -> float:
    """The light's component at the mains' own frequency, percent of the mean."""
    waves = solution.waves
    mean = float(waves.weight @ solution.light)
    if not solution.led_parts or mean <= 0.0 or solution.direct:
        return float("nan")
    turn = np.exp(-2j * np.pi * solution.circuit.supply.frequency * waves.time)
    return 200.0 * abs(complex((waves.weight * solution.light) @ turn)) / mean


def _chunk(circuit: Circuit, names: list[str], values: Floats, parts: tuple[str, ...]) -> Floats:
    """The figures of some samples, one row each, with 1 for settled as the last column. Runs in other processes."""
    rows = np.full((values.shape[0], len(_names(parts)) + 1), np.nan)
    for k, row in enumerate(values):
        try:
            drawn = dict(zip(names, (float(v) for v in row), strict=True))
            solution = solve(changed(circuit, drawn), fineness=_FINENESS)
        except CircuitError:
            continue
        rows[k, :-1] = _row(solution, parts)
        rows[k, -1] = float(solution.settled)
    return rows


def _worked_out(
    circuit: Circuit,
    names: list[str],
    values: Floats,
    parts: tuple[str, ...],
    executor: Executor | None,
    progress: Progress | None,
) -> tuple[Floats, np.ndarray[tuple[int], np.dtype[np.bool_]], bool]:
    """A row of figures for each sample, which samples were done, and whether the run was stopped."""
    samples = values.shape[0]
    table = np.full((samples, len(_names(parts)) + 1), np.nan)
    done = np.zeros(samples, dtype=bool)
    own: Workers | None = None
    workers = processors()
    if executor is None and samples >= _ALONE and workers > 1:
        executor = own = Workers()
    least, most = _CHUNK
    size = int(min(max(samples // (16 * workers), least), most))
    spans = [slice(first, min(first + size, samples)) for first in range(0, samples, size)]
    stopped = False
    try:
        if executor is None:
            for span in spans:
                table[span] = _chunk(circuit, names, values[span], parts)
                done[span] = True
                if progress is not None and progress(int(done.sum()), samples) is False:
                    stopped = True
                    break
        else:
            stopped = _handed_out(executor, circuit, names, values, parts, spans, table, done, progress)
    except KeyboardInterrupt:
        if done.sum() < _FEWEST:
            raise
        stopped = True
    finally:
        if own is not None:
            own.shutdown(cancel_futures=True)
    return table, done, stopped and not done.all()


def _handed_out(
    executor: Executor,
    circuit: Circuit,
    names: list[str],
    values: Floats,
    parts: tuple[str, ...],
    spans: list[slice],
    table: Floats,
    done: np.ndarray[tuple[int], np.dtype[np.bool_]],
    progress: Progress | None,
) -> bool:
    """Has an executor work the samples out, into `table` and `done`; true where the run was stopped."""
    pending: dict[Future[Floats], slice] = {}
    try:
        for span in spans:
            pending[executor.submit(_chunk, circuit, names, values[span], parts)] = span
        while pending:
            ready, _ = wait(pending, return_when=FIRST_COMPLETED)
            for future in ready:
                span = pending.pop(future)
                table[span] = future.result()
                done[span] = True
            if progress is not None and progress(int(done.sum()), values.shape[0]) is False:
                return True
    finally:
        for future in pending:
            future.cancel()
    return False


def _range(values: Floats, nominal: float) -> Range:
    finite = values[np.isfinite(values)]
    low, middle, high = (float(v) for v in np.quantile(finite, (0.05, 0.5, 0.95)))
    return Range(p5=low, median=middle, p95=high, nominal=nominal if np.isfinite(nominal) else None)


def _matters(names: list[str], values: Floats, figure: Floats) -> tuple[Matter, ...]:
    """Every drawn value by its share in a figure, largest first."""
    known = np.isfinite(figure)
    count = int(known.sum())
    if count < _FEWEST or float(np.ptp(figure[known])) == 0.0:
        return tuple(Matter(key=name, share=0.0, correlation=0.0) for name in names)
    from scipy.stats import rankdata  # half a second to load, and only a spread needs it

    ranks = rankdata(figure[known])
    ranks = ranks - ranks.mean()
    correlations = []
    for k in range(len(names)):
        own = rankdata(values[known, k])
        own = own - own.mean()
        scale = float(np.sqrt((own @ own) * (ranks @ ranks)))
        correlations.append(float(own @ ranks) / scale if scale > 0.0 else 0.0)
    # Two things that have nothing to do with one another still show a squared correlation of 1 / (n - 1) on average.
    squares = [max(c * c - 1.0 / (count - 1.0), 0.0) for c in correlations]
    total = sum(squares)
    found = [
        Matter(key=name, share=square / total if total > 0.0 else 0.0, correlation=correlation)
        for name, square, correlation in zip(names, squares, correlations, strict=True)
    ]
    return tuple(sorted(found, key=lambda m: (-m.share, -abs(m.correlation), m.key)))
