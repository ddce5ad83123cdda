"""What an HTML page holds, read by the standard library."""

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
"""Elements that have no end. Source: HTML living standard, void elements."""

FETCHING = {"src", "href", "srcset", "data", "poster", "action", "formaction"}
"""Attributes by which a page fetches or goes elsewhere."""


@dataclass(slots=True)
class Page:
    """text: all that is written on it; fetched: addresses outside the page; left_open: elements not closed."""

    text: str = ""
    fetched: list[str] = field(default_factory=list)
    left_open: int = 0


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.page, self.open = Page(), list[str]()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in FETCHING and value and not value.startswith(("#", "data:", "mailto:")):
                self.page.fetched.append(value)
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        if self.open and self.open[-1] == tag:
            self.open.pop()
        elif tag not in VOID:
            self.page.left_open += 1

    def handle_data(self, data: str) -> None:
        self.page.text += data


def read_page(text: str) -> Page:
    """Read a page from the first element to the last."""
    reader = _Reader()
    reader.feed(text)
    reader.close()
    reader.page.left_open += len(reader.open)
    return reader.page
