"""HTML put together from parts: whatever is not markup already is escaped."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence

# Control characters have no place in HTML, and direction overrides could make a number
# read backwards (Unicode TR36, section 2.9).
_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]")


class Markup(str):
    """Text that is HTML already. Made by the functions of this file only."""

    __slots__ = ()


def plain(text: str) -> Markup:
    """Any text, escaped, with unseen characters made visible."""
    if isinstance(text, Markup):
        return text
    return Markup(html.escape(_UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text), quote=True))


def joined(*parts: str) -> Markup:
    """Parts one after another; those that are not markup are escaped."""
    return Markup("".join(plain(part) for part in parts))


def element(tag: str, *content: str, **attributes: str) -> Markup:
    """`<tag a="b">content</tag>`; a trailing underscore of an attribute's name is dropped and
    other underscores become hyphens."""
    named = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{plain(value)}"'
        for name, value in attributes.items()
    )
    return Markup(f"<{tag}{named}>{joined(*content)}</{tag}>")


def listed(items: Sequence[str]) -> Markup:
    """An unordered list."""
    return element("ul", *(element("li", item) for item in items))


def table(caption: str, headings: tuple[str, ...], rows: Sequence[tuple[str, ...]]) -> Markup:
    """A table whose first column heads its rows; it scrolls on a narrow screen."""
    head = element("tr", *(element("th", text, scope="col") for text in headings))
    body = [
        element(
            "tr",
            element("th", row[0], scope="row"),
            *(element("td", cell) for cell in row[1:]),
        )
        for row in rows
    ]
    inside = element(
        "table", element("caption", caption), element("thead", head), element("tbody", *body)
    )
    # A region that scrolls must be reachable from the keyboard (WCAG 2.2, 2.1.1).
    return element("div", inside, class_="wide", role="region", tabindex="0", aria_label=caption)
