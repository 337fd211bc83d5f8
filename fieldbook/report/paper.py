"""What paper needs of a page of ours, so that no more than that is laid out.

A page serves screens of every width: it has sheets of style for them, and each drawing twice.
"""

import re
from base64 import b64encode
from dataclasses import dataclass
from xml.etree import ElementTree

_STYLE = re.compile(r'<style(?: media="([^"]*)")?>(.*?)</style>\s*', re.DOTALL)
_FOR_SCREENS = re.compile(r'<div class="\w+" data-paper="no">.*?</svg>\s*</div>\s*', re.DOTALL)
_DRAWING = re.compile(r'<svg [^>]*?aria-label="([^"]*)".*?</svg>', re.DOTALL)
_PAPER = {"all", "print"}


@dataclass(frozen=True, kw_only=True)
class Paper:
    """A page without its styles, and the styles that are for paper, in their order."""

    html: str
    styles: tuple[str, ...]


def on_paper(html: str) -> Paper:
    """Leave out of a page what is for screens alone, and take its styles out.

    Drawings become images that hold the same drawing: what lies in them is then no part of the
    page, and no style is looked up for it.
    """
    styles = [(media, style) for media, style in _STYLE.findall(html) if _is_for_paper(media)]
    bare = _DRAWING.sub(_as_image, _FOR_SCREENS.sub("", _STYLE.sub("", html)))
    return Paper(html=bare, styles=tuple(style for _, style in styles))


def _is_for_paper(media: str) -> bool:
    return not media or not _PAPER.isdisjoint(one.strip() for one in media.split(","))


def _as_image(drawing: re.Match[str]) -> str:
    """Return a drawing as an image; one that is no XML, as a template may have it, stays."""
    data = drawing[0].encode("utf-8")
    try:
        ElementTree.fromstring(data)
    except ElementTree.ParseError:
        return drawing[0]
    address = f"data:image/svg+xml;base64,{b64encode(data).decode('ascii')}"
    return f'<img class="drawing" alt="{drawing[1]}" src="{address}">'
