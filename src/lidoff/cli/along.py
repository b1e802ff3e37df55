"""What `vary` and `turn` share: the picture file, bars in the terminal, and the words about dead travel."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from cyclopts import Parameter

from lidoff.cli.options import UsageError

if TYPE_CHECKING:
    from rich.console import Console

Points = Annotated[int, Parameter(name="--points", help="How many places to take, both ends included.")]
Picture = Annotated[
    Path | None,
    Parameter(name=["--picture", "-o"], help="Write the curve as a picture to this .svg file; one there is replaced."),
]
MOST_POINTS = 5000


def check_points(points: int) -> None:
    """Raises UsageError unless the number of points makes sense."""
    if not 2 <= points <= MOST_POINTS:
        raise UsageError(f"--points {points} cannot be; give 2 to {MOST_POINTS}")


def check_picture(picture: Path | None) -> None:
    """Raises UsageError where the picture's name is not that of an .svg file."""
    if picture is not None and picture.suffix.lower() != ".svg":
        raise UsageError(f"{picture}: a picture is written as .svg; give a name that ends so")


def save_picture(picture: Path | None, draw: Callable[[], str]) -> None:
    """Writes the picture, if one is wanted, whole or not at all."""
    if picture is None:
        return
    drawn = draw()
    with tempfile.NamedTemporaryFile("w", dir=picture.parent, suffix=".svg", delete=False, encoding="utf-8") as file:
        file.write(drawn)
    os.chmod(file.name, 0o644)  # noqa: PTH101 - the temporary file is readable by its owner alone
    os.replace(file.name, picture)  # noqa: PTH105


def bar(value: float | None, most: float, width: int = 28) -> str:
    """A bar of eighth blocks, `most` being its full length of `width` characters."""
    if value is None or most <= 0.0:
        return ""
    eighths = round(8 * width * max(value, 0.0) / most)
    whole, rest = divmod(eighths, 8)
    return "█" * whole + ("" if rest == 0 else "▏▎▍▌▋▊▉"[rest - 1])


def shown_figure(point: Mapping[str, Any]) -> float | None:
    """What the bars show: the light where there is one, else the power."""
    if point.get("light") is not None:
        return float(point["light"]["mean_current"])
    return None if point.get("input") is None else float(point["input"]["power"])


def figure_name(points: Sequence[Mapping[str, Any]]) -> str:
    """What `shown_figure` is called."""
    return "light" if any(point.get("light") is not None for point in points) else "power"


def most_of(points: Sequence[Mapping[str, Any]]) -> float:
    """The largest figure, for the length of the bars."""
    return max((value for point in points if (value := shown_figure(point)) is not None), default=0.0)


def light_cells(point: Mapping[str, Any]) -> tuple[str, str]:
    """Mean LED current and percent flicker, as shown."""
    from lidoff.cli.show import amount

    light = point.get("light")
    if light is None:
        return "–", "–"
    flicker = light["percent_flicker"]
    return amount(light["mean_current"], "A"), "–" if flicker is None else f"{flicker:.0f} %"


def say_travel(out: Console, document: Mapping[str, Any], what: str) -> None:
    """Dead travel and floor in words; nothing where there is no light."""
    if document["dead_travel"] is None:
        out.print(
            f"There is no LED in this state: dead travel and floor of {what} are those of a light, and not given."
        )
        return
    if (document["floor"] or 0.0) > 0.95:
        out.print(f"The light hardly changes over {what}.")
        return
    out.print(
        f"Over {100.0 * document['dead_travel']:.0f} % of {what} the light stays at its lowest, within 5 % of its "
        f"range; its lowest is {document['floor'] or 0.0:.2g} of its highest."
    )
