"""A page as WeasyPrint prints it, without work that no page of ours needs.

Imports WeasyPrint, so it is imported where a page is printed and nowhere else. It leans on how
version 70 is built.
"""

import re
from collections.abc import Sequence
from functools import cache
from typing import Any
from xml.etree import ElementTree

from cssselect2 import ElementWrapper
from weasyprint import CSS, HTML
from weasyprint.html import UA

_APART = {"svg", "math"}
_USES_NOTES = re.compile(r"footnote|\bnote\(")
_OF_NOTES = re.compile(r"^::(?:foot)?note-\w+ \{.*\}$", re.MULTILINE)
_OF_MARKERS = re.compile(r"^::marker", re.MULTILINE)


class Page(HTML):  # type: ignore[misc]
    """A page, read fast where it is XML, and styled without footnotes where it has none.

    The library's own reader is written in Python; its own styles give every element six parts that
    only notes and lists have.
    """

    def __init__(self, html: str, styles: Sequence[str], url_fetcher: Any) -> None:
        self._has_notes = any(_USES_NOTES.search(text) for text in (html, *styles))
        tree = _as_xml(html)
        if tree is None:
            super().__init__(string=html, url_fetcher=url_fetcher, base_url=None)
            return
        self.base_url = None
        self.url_fetcher = url_fetcher
        self.media_type = "print"
        self.wrapper_element = ElementWrapper.from_html_root(tree, content_language=None)
        self.etree_element = self.wrapper_element.etree_element

    def _ua_stylesheets(self, forms: bool = False) -> list[Any]:
        if forms or self._has_notes:
            sheets: list[Any] = super()._ua_stylesheets(forms)
            return sheets
        return [_without_notes()]


def _as_xml(html: str) -> ElementTree.Element | None:
    """Read a page that is XML, or return None for what only HTML allows, as a template may have.

    Only HTML knows names in capitals and what a drawing is that does not say so itself.
    """
    try:
        tree = ElementTree.fromstring(html)
    except ElementTree.ParseError:
        return None
    return tree if all(_is_plain(element.tag) for element in tree.iter()) else None


def _is_plain(name: str) -> bool:
    return name.isalnum() and name.islower() and name not in _APART


@cache
def _without_notes() -> Any:
    """Return the library's own styles without those of notes; only items of lists have markers."""
    return CSS(string=_OF_MARKERS.sub("li::marker", _OF_NOTES.sub("", UA)))
