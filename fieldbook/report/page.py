"""Results to one HTML file that needs nothing beside itself."""

import base64
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.render import environment, shipped
from fieldbook.report.context import ReportContext
from fieldbook.report.sections import field_view
from fieldbook.results.result import FieldResult

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

# Media stand on the style element: WeasyPrint knows no widths inside a sheet, and warns there.
FIELD_STYLES = (
    ("all", "report/page"),
    ("all", "report/photos"),
    ("screen", "report/screen"),
    ("screen and (min-width: 720px)", "report/columns"),
    ("screen and (max-width: 719px)", "report/stacked"),
    ("screen and (max-width: 520px)", "report/phone"),
    ("screen and (max-width: 520px)", "report/photos-phone"),
    ("print", "report/columns"),
    ("print", "report/print"),
)
_LOOK = (("all", "look/page"), ("screen", "look/screen"), ("print", "look/print"))
_FONTS = {"regular": "open-sans-regular.woff2", "bold": "open-sans-bold.woff2"}


def field_page(result: FieldResult, context: ReportContext, templates: Path | None = None) -> str:
    """Write the report of one field.

    Parameters
    ----------
    result
        What is known of the field.
    context
        Paper, language, units, who sends it, and the figures used.
    templates
        A folder of templates of the user's own, which win over the shipped ones.

    Returns
    -------
    str
        A whole HTML page for screen, browser print and `page_pdf`; style, fonts and drawings
        are inside, and nothing is fetched.

    Raises
    ------
    FileNotFoundError
        Where templates are missing.
    KeyError
        For a figure that `context` does not have.
    """
    page = field_view(result, context)
    return rendered("report/page", page, FIELD_STYLES, context, templates)


def field_part(result: FieldResult, context: ReportContext, templates: Path | None) -> "Markup":
    """Write what a field's report says without a page around it; see `field_page`."""
    from markupsafe import Markup

    part = _environment(templates).get_template("report/field.html.j2")
    return Markup(part.render(page=field_view(result, context), look=context.look))


def rendered(
    name: str,
    page: object,
    styles: Sequence[tuple[str, str]],
    context: ReportContext,
    templates: Path | None = None,
) -> str:
    """Write the page `name` with its style sheets, each with the media that it is for.

    Those of the season's look come last.
    """
    return "".join(in_pieces(name, page, styles, context, templates))


def in_pieces(
    name: str,
    page: object,
    styles: Sequence[tuple[str, str]],
    context: ReportContext,
    templates: Path | None = None,
) -> Iterator[str]:
    """Write a page as `rendered` does, piece by piece, for one that may be of any length."""
    rooms = _environment(templates)
    sheets = [(media, _style(rooms, style, context)) for media, style in (*styles, *_LOOK)]
    page_template = rooms.get_template(f"{name}.html.j2")
    yield from page_template.generate(page=page, styles=sheets, look=context.look)


def _style(rooms: "Environment", name: str, context: ReportContext) -> "Markup":
    """Write a style sheet; it is ours and stands unescaped: a user's text goes in by css_string."""
    from markupsafe import Markup

    sheet = rooms.get_template(f"{name}.css.j2")
    return Markup(sheet.render(paper=context.paper, look=context.look, fonts=font_addresses()))


def font_addresses() -> dict[str, str]:
    """Return the shipped fonts by their weight, as addresses that hold the fonts themselves."""
    return {weight: _font(file) for weight, file in _FONTS.items()}


@cache
def _environment(templates: Path | None) -> "Environment":
    return environment(templates)


@cache
def _font(name: str) -> str:
    """Return a shipped font as an address that holds the font itself."""
    data = (shipped("templates") / "fonts" / name).read_bytes()
    return f"data:font/woff2;base64,{base64.b64encode(data).decode('ascii')}"
