"""How a command's answer reaches the terminal: one JSON document, or text for people."""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from lidoff.cli.run import DONE, WRONG_INPUT

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

# Where the output goes to a file or a pipe there is no width to follow.
_WIDTH_WITHOUT_TERMINAL = 100
_LEAST = 0.001
_MOST = 1e9  # from which a row of zeros tells nobody anything


def answer(
    document: Mapping[str, Any],
    *,
    as_json: bool,
    text: Callable[[Console], None],
    warnings: Iterable[str] = (),
    wrong: str | None = None,
) -> int:
    """Print a command's answer and return its exit status.

    `document` is what `--json` prints, with the warnings of the document and those given put together under
    "warnings"; `text` writes the same for people. Warnings go to standard error as well. `wrong` is the sentence for
    an answer that is complete and says that the input is wrong: exit status 1.
    """
    said = list(dict.fromkeys([*document.get("warnings", ()), *warnings]))
    for sentence in said:
        print(f"warning: {sentence}", file=sys.stderr)
    if as_json:
        print_json({**document, "warnings": said})
    else:
        text(console())
    if wrong is None:
        return DONE
    sys.stdout.flush()
    print(wrong, file=sys.stderr)
    return WRONG_INPUT


def before_solving() -> None:
    """To be called before the solver is first used: says so where the user has to wait for the compiler."""
    from lidoff._compiler import announcement

    if line := announcement(os.environ):
        print(line, file=sys.stderr, flush=True)


def print_json(document: Mapping[str, Any]) -> None:
    """One JSON document on standard output; a number that is not finite becomes null, which JSON has a word for."""
    import json

    print(json.dumps(plain(document), ensure_ascii=False, indent=1, allow_nan=False))


def plain(value: Any) -> Any:
    """The value in the types that JSON has: arrays as lists, not-finite numbers as None."""
    if value is None or isinstance(value, bool | str | int):
        return value
    if isinstance(value, float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, Sequence | set | frozenset):
        return [plain(inner) for inner in value]
    if hasattr(value, "tolist"):  # numpy's arrays and scalars, without importing numpy
        return plain(value.tolist())
    raise TypeError(f"{type(value).__name__} has no form in JSON")


def console() -> Console:
    """Standard output for people: colours only on a terminal."""
    from rich.console import Console

    width = None if sys.stdout.isatty() else _WIDTH_WITHOUT_TERMINAL
    return Console(highlight=False, markup=False, emoji=False, width=width)


def table(*columns: str, numbers: Iterable[int] = ()) -> Table:
    """An open table with a rule under its headings; the columns counted in `numbers` are set to the right."""
    from rich.box import SIMPLE_HEAD
    from rich.table import Table

    right = set(numbers)
    made = Table(box=SIMPLE_HEAD, pad_edge=False, show_edge=False, header_style="bold")
    for place, column in enumerate(columns):
        made.add_column(column, justify="right" if place in right else "left", overflow="fold")
    return made


def headline(out: Console, figures: Sequence[tuple[str, str]]) -> None:
    """The figures that matter, each large above what it is."""
    from rich.table import Table
    from rich.text import Text

    row = Table.grid(padding=(0, 5, 0, 0))
    row.add_row(*(Text(value, style="bold cyan") for value, _ in figures))
    row.add_row(*(Text(caption, style="dim") for _, caption in figures))
    out.print(row)


def amount(value: float | None, unit: str, digits: int = 3) -> str:
    """A figure [unit] with its prefix, to `digits` significant figures; "–" where there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    from lidoff.quantity import engineering

    return engineering(value, unit, digits)


def number(value: float | None) -> str:
    """A plain figure [1] to three significant figures; "–" where there is none."""
    return "–" if value is None or not math.isfinite(value) else _plain(value)


def percent(value: float | None) -> str:
    """A figure [percent] to three significant figures; "–" where there is none."""
    return "–" if value is None or not math.isfinite(value) else f"{_plain(value)} %"


def share_of(value: float) -> str:
    """A share [1] as a percentage to two significant figures; less than a thousandth of a percent is only said so."""
    return f"under {_LEAST:g} %" if 0.0 < 100.0 * value < _LEAST else f"{100.0 * value:.2g} %"


def _plain(value: float) -> str:
    """Three significant figures, the absurd with a power of ten; below a thousandth lies the solver's own noise."""
    if abs(value) >= _MOST:
        return amount(value, "")
    if abs(value) >= 1000.0:
        return f"{float(f'{value:.3g}'):.0f}"
    if 0.0 < abs(value) < _LEAST:
        return f"under {_LEAST:g}"
    return f"{value:.3g}"
