"""A page taken apart by a parser: its elements, tables and figures, as a browser would meet them."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "br", "img", "input", "link", "hr"}


@dataclass
class Element:
    """An element, what is in it, and what it stands in."""

    tag: str
    attrs: dict[str, str | None]
    parents: tuple[Element, ...] = field(repr=False)
    children: list[Element] = field(default_factory=list, repr=False)
    parts: list[str] = field(default_factory=list, repr=False)

    @property
    def text(self) -> str:
        return " ".join("".join(self.parts).split())

    def all(self, tag: str) -> list[Element]:
        found = [child for child in self.children if child.tag == tag]
        return found + [one for child in self.children for one in child.all(tag) if one not in found]


class Page(HTMLParser):
    """Parses at once; anything left open, or closed without having been opened, is an error."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[Element] = []
        self._open: list[Element] = []
        self.comments: list[str] = []
        self.feed(html)
        self.close()
        assert not self._open, self._open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        assert len(dict(attrs)) == len(attrs), (tag, attrs)
        one = Element(tag, dict(attrs), tuple(self._open))
        if self._open:
            self._open[-1].children.append(one)
        self.elements.append(one)
        if tag not in VOID:
            self._open.append(one)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        self._open.pop()

    def handle_endtag(self, tag: str) -> None:
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1].tag == tag, f"</{tag}> closes {self._open[-1].tag}"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        for one in self._open:
            one.parts.append(data)

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)

    def all(self, tag: str) -> list[Element]:
        return [one for one in self.elements if one.tag == tag]

    def one(self, tag: str) -> Element:
        (found,) = self.all(tag)
        return found

    def table(self, caption: str) -> dict[str, list[str]]:
        """Cells of the table whose caption begins so, by the heading of their row."""
        (found,) = (one for one in self.all("table") if one.all("caption")[0].text.startswith(caption))
        rows = [row for row in found.all("tr") if row.all("td")]
        return {row.all("th")[0].text: [cell.text for cell in row.all("td")] for row in rows}
