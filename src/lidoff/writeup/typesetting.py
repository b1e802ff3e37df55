"""Typesetting with the bundled fonts of the typst wheel and nothing else, so that every machine gives the same pages.

Templates get data, never markup: what a user wrote arrives in them as strings.
"""

from __future__ import annotations

import html
import json
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any, Final

import typst

from lidoff.drawing.svg import FONT
from lidoff.errors import LidoffError

FAMILY: Final = "Libertinus Serif"
"""The face of text and pictures alike; it comes with typst."""

_TITLE: Final = re.compile(r"<title>(.*?)</title>", re.DOTALL)
_WORDS: Final = re.compile(r"<desc>(.*?)</desc>", re.DOTALL)
_STYLE: Final = re.compile(r"<style>.*?</style>", re.DOTALL)
_BOX: Final = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)"')


class TypesettingError(LidoffError):
    """Pages that cannot be set; the text says why."""


def pdf(template: str, data: Mapping[str, Any]) -> bytes:
    """A tagged PDF of the template filled with the data, the same bytes for the same data.

    It keeps to PDF/UA-1 (ISO 14289-1) where every character has a face. One that no bundled font has is looked for in
    the fonts of the machine; where it is not there either, it is drawn as a box in a PDF that is tagged all the same.
    Raises TypesettingError where nothing can be set.
    """
    for fonts in (_fonts(), _fonts(machine=True)):
        try:
            return _compiled(template, data, fonts, format="pdf", pdf_standards="ua-1")[0]
        except TypesettingError:
            continue
    return _compiled(template, data, _fonts(), format="pdf")[0]


def png(template: str, data: Mapping[str, Any]) -> list[bytes]:
    """Every page of the template filled with the data as a PNG, a pixel for each point. Raises TypesettingError."""
    return _compiled(template, data, _fonts(), format="png", ppi=72.0)


def _compiled(template: str, data: Mapping[str, Any], fonts: typst.Fonts, **options: Any) -> list[bytes]:
    try:
        found = typst.compile(
            _template(template),
            font_paths=fonts,
            sys_inputs={"data": json.dumps(data, ensure_ascii=False, allow_nan=False)},
            **options,
        )
    except typst.TypstError as error:
        raise TypesettingError(f"The pages could not be set: {error}") from error
    pages = [found] if isinstance(found, bytes) else list(found or [])
    if not pages:
        raise TypesettingError("The pages could not be set: nothing came of it")
    return pages


@cache
def _template(name: str) -> bytes:
    return (files(__package__) / name).read_bytes()


@cache
def _fonts(*, machine: bool = False) -> typst.Fonts:
    """The fonts of the wheel, with those of the machine behind them; read once, they hold nothing of any write-up."""
    return typst.Fonts(include_system_fonts=machine)


def picture(svg: str) -> dict[str, Any]:
    """One of our own drawings for a template: its SVG in the bundled face, its size, and what it says in words."""
    title, words, box = _TITLE.search(svg), _WORDS.search(svg), _BOX.search(svg)
    said = [html.unescape(found[1]).rstrip(".") for found in (title, words) if found is not None and found[1].strip()]
    width, height = (float(box[1]), float(box[2])) if box else (0.0, 0.0)
    plain = _STYLE.sub("", svg).replace(FONT, FAMILY)
    return {"svg": plain, "width": width, "height": height, "alt": ". ".join(said)}
