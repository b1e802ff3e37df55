"""The page of goals and families is the one that the registries give."""

from __future__ import annotations

from pathlib import Path

from lidoff.rework.pages import page

DOCS = Path(__file__).resolve().parents[2] / "docs"


def test_the_page_is_up_to_date():
    assert (DOCS / "rework-families.md").read_text(encoding="utf-8") == page()
