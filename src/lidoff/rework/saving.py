"""The files of a rework: each design's record, and its pictures."""

from __future__ import annotations

from typing import Any

from lidoff.rework.model import Design, Rework
from lidoff.rework.picture import comparison_svg


def folder_name(place: int, design: Design) -> str:
    """The folder that a design's record stands in: its place and family."""
    return f"{place}-{design.family}"


def files_of(found: Rework) -> dict[str, str]:
    """Texts by their path in the folder: `1-resistor-ballast/item.toml` and the two forms of its picture."""
    files: dict[str, str] = {}
    for place, design in enumerate(found.offered, 1):
        base = folder_name(place, design)
        files[f"{base}/item.toml"] = design.record
        for name, words in (
            ("before-and-after.svg", {"paper": True}),
            ("before-and-after-narrow.svg", {"narrow": True, "paper": True}),
        ):
            files[f"{base}/{name}"] = picture_of(found, design, **words)
    return files


def picture_of(found: Rework, design: Design, **words: Any) -> str:
    """The picture of a design beside the item as found; `words` as in `comparison_svg`."""
    return comparison_svg(
        found.before_solution,
        design.proof.solution,
        full=found.full,
        title=f"{found.title}: {design.title.lower()}",
        **words,
    )
