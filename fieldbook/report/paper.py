"""What paper needs of a page of ours, so that no more than that is laid out.

A page serves screens of every width: it has sheets of style for them, and each drawing twice.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

_STYLE = re.compile(r'<style(?: media="([^"]*)")?>(.*?)</style>\s*', re.DOTALL)
_FOR_SCREENS = re.compile(r'<div class="\w+" data-paper="no">.*?</svg>\s*</div>\s*', re.DOTALL)
_DRAWING = re.compile(r'<svg [^>]*?aria-label="([^"]*)".*?</svg>', re.DOTALL)
_PAPER = {"all", "print"}


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A page without its styles, those that are for paper in their order, and its drawings.

    The page names each drawing by its address.
    """

    html: str
    styles: tuple[str, ...]
    drawings: Mapping[str, ElementTree.Element]


def on_paper(html: str) -> Paper:
    """Leave out of a page what is for screens alone, and take its styles and drawings out.

    Drawings become images, apart from the page: what lies in them is then no part of it, and no
    style is looked up for it.
    """
    styles = [(media, style) for media, style in _STYLE.findall(html) if _is_for_paper(media)]
    drawings: dict[str, ElementTree.Element] = {}

    def as_image(drawing: re.Match[str]) -> str:
        """Return a drawing as an image; one that is no XML, as a template may have it, stays."""
        try:
            tree = ElementTree.fromstring(drawing[0])
        except ElementTree.ParseError:
            return drawing[0]
        address = f"drawing:{len(drawings)}"
        drawings[address] = tree
        return f'<img class="drawing" alt="{drawing[1]}" src="{address}"/>'

    bare = _DRAWING.sub(as_image, _FOR_SCREENS.sub("", _STYLE.sub("", html)))
    return Paper(html=bare, styles=tuple(style for _, style in styles), drawings=drawings)


def _is_for_paper(media: str) -> bool:
    return not media or not _PAPER.isdisjoint(one.strip() for one in media.split(","))
