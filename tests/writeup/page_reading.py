"""Reading a page as a browser would: its elements with their attributes, and its text as a person sees it."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = frozenset({"meta", "link", "img", "br", "hr", "input", "base", "embed", "source"})
UNSEEN = frozenset({"style", "title", "desc", "script", "head"})


@dataclass
class Seen:
    """What a page holds."""

    elements: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    text: str = ""
    open_at_end: list[str] = field(default_factory=list)

    def named(self, name: str) -> list[dict[str, str]]:
        return [attributes for element, attributes in self.elements if element == name]


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.seen = Seen()
        self.stack: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.elements.append((tag, {key: value or "" for key, value in attrs}))
        if tag not in VOID:
            self.stack.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.elements.append((tag, {key: value or "" for key, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        assert self.stack, f"</{tag}> closes nothing"
        assert self.stack[-1] == tag, f"</{tag}> closes <{self.stack[-1]}>"
        self.stack.pop()

    def handle_data(self, data: str) -> None:
        if not UNSEEN & set(self.stack):
            self.seen.text += data


def read_page(page: str) -> Seen:
    """Every element and the text of a page; asserts that elements are closed in order."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.stack == [], f"never closed: {reader.stack}"
    return reader.seen


def words_of(page: str) -> str:
    """The text of a page on one line, no-break spaces as blanks."""
    return " ".join(read_page(page).text.replace("\N{NO-BREAK SPACE}", " ").split())
