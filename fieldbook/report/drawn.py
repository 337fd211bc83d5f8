"""A drawing as WeasyPrint draws it, but a label at once, where the library draws letter by letter.

Imports WeasyPrint, so it is imported where a page is printed and nowhere else. It leans on how
version 70 is built.
"""

from collections.abc import Mapping
from contextlib import suppress
from typing import Any
from xml.etree import ElementTree

from weasyprint.css.properties import INITIAL_VALUES
from weasyprint.draw.text import draw_emojis, draw_first_line
from weasyprint.images import SVGImage
from weasyprint.matrix import Matrix
from weasyprint.svg import SVG
from weasyprint.svg.text import Style, TextBox
from weasyprint.svg.utils import color
from weasyprint.text.line_break import create_layout, line_size

_PLACE = ("x", "y", "font-size")
_LOOK = ("fill", "font-family", "font-weight", "text-anchor")
_OF_A_LABEL = frozenset((*_PLACE, *_LOOK, "aria-label", "role"))  # the last two of the drawing
_WEIGHTS = {"normal": 400, "bold": 700}
_SHARE_BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}


class Picture(SVGImage):  # type: ignore[misc]
    """A drawing for the library's cache of images."""

    def __init__(self, tree: ElementTree.Element, fonts: Any, url_fetcher: Any) -> None:
        self._svg = _Drawing(tree, None, fonts, url_fetcher)
        self._base_url = None
        self._url_fetcher = url_fetcher
        self._context = None


class _Drawing(SVG):  # type: ignore[misc]
    def draw_node(
        self, node: Any, font_size: float, fill_stroke: bool = True, context: Any = None
    ) -> None:
        if node.tag == "text" and fill_stroke and _is_label(node):
            _draw_label(self.stream, self.font_config, node.attrib, node.text)
        else:
            super().draw_node(node, font_size, fill_stroke, context)


def _is_label(node: Any) -> bool:
    """Say whether a text is one line, plain, and its place and size are numbers."""
    with suppress(KeyError, ValueError):
        [float(node.attrib[name]) for name in _PLACE]
        weight, anchor = node.get("font-weight", "normal"), node.get("text-anchor", "start")
        known = weight in _WEIGHTS and anchor in _SHARE_BEFORE and "font-family" in node.attrib
        return known and bool(node.text) and node.attrib.keys() <= _OF_A_LABEL and not list(node)
    return False


def _draw_label(stream: Any, fonts: Any, label: Mapping[str, str], text: str) -> None:
    style = _style(fonts, label)
    layout = create_layout(text, style, None, None, 0)
    width, _ = line_size(layout.get_first_line()[0], style)
    x = float(label["x"]) - _SHARE_BEFORE[label.get("text-anchor", "start")] * width
    y = float(label["y"])
    stream.set_color(color(label.get("fill", "black")))
    stream.begin_text()
    box = TextBox(layout, style)
    emojis = draw_first_line(stream, box, "none", "none", Matrix(d=-1, e=x, f=y))
    stream.end_text()
    draw_emojis(stream, style, x, y, emojis)


def _style(fonts: Any, label: Mapping[str, str]) -> Any:
    """Return the style of a label; its letters keep the places that they have one by one."""
    style = Style(INITIAL_VALUES)
    style.font_config = fonts
    style["font_family"] = [name.strip("\"' ") for name in label["font-family"].split(",")]
    style["font_size"] = float(label["font-size"])
    style["font_weight"] = _WEIGHTS[label.get("font-weight", "normal")]
    style["font_variant_ligatures"] = "none"
    return style
