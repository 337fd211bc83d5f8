"""The PDF as a screen reader hears it: tags, language, title, bookmarks, words for drawings."""

import io
import logging
import re
from functools import cache

import pytest
from parts import need, pango_missing
from pdf_structure import bookmarks, faults, tags
from pypdf import PdfReader

from fieldbook.render import unbroken
from fieldbook.report import field_page, page_pdf
from fieldbook.report.sections import field_view
from report import factory

pytestmark = pytest.mark.pdf

every_field = pytest.mark.parametrize("name", list(factory.ALL))


@pytest.fixture(autouse=True)
def _pango() -> None:
    need(pango_missing())


@cache
def printed(name: str) -> tuple[bytes, int]:
    """Print a page once, and count what was warned of meanwhile."""
    warned: list[logging.LogRecord] = []
    handler = logging.Handler(logging.WARNING)
    handler.emit = warned.append  # type: ignore[method-assign]
    logging.getLogger("weasyprint").addHandler(handler)
    context = factory.context()
    pdf = page_pdf(field_page(factory.ALL[name](), context))
    logging.getLogger("weasyprint").removeHandler(handler)
    return pdf, len(warned)


def reader_of(name: str) -> PdfReader:
    return PdfReader(io.BytesIO(printed(name)[0]))


@every_field
def test_every_report_can_be_read_aloud(name: str):
    """Tagged, titled, in a language; nothing painted without a tag, no tag without a piece."""
    assert faults(reader_of(name)) == []


@every_field
def test_nothing_is_warned_of(name: str):
    """No report makes the PDF maker complain."""
    assert printed(name)[1] == 0


@every_field
def test_bookmarks_are_the_headings_in_their_order(name: str):
    """The field stands on top, every heading beneath it."""
    html = field_page(factory.ALL[name](), factory.context())
    headings = re.findall(r"<h2>(.*?)</h2>", html)
    top, *beneath = bookmarks(reader_of(name).outline)
    assert top[0] == 0
    assert beneath == [(1, heading) for heading in headings]
    assert "What to do" in headings
    assert len(headings) > 1


@every_field
def test_every_drawing_is_heard_once_with_its_words(name: str):
    """A drawing stands in the page in two widths, and in the tree once."""
    view = field_view(factory.ALL[name](), factory.context())
    pictures = [one.picture for one in (*view.sections, *view.behind) if one.picture]
    wanted = [unbroken(f"{one.wide.title}. {one.wide.about}") for one in pictures]
    heard = [str(one["/Alt"]) for one in tags(reader_of(name)) if one["/S"] == "/Figure"]
    assert heard == wanted
    assert all(one.caption for one in pictures)


def test_an_untagged_pdf_is_found_out():
    """The checks see what a plain PDF lacks."""
    import weasyprint

    html = "<html><head><title>t</title></head><body><table><tr><td>x</td></tr></table></body>"
    found = faults(PdfReader(io.BytesIO(weasyprint.HTML(string=html).write_pdf())))
    assert {"no tree of tags", "not marked as tagged", "no language", "no bookmarks"} <= {*found}
    assert any("without a tag" in fault for fault in found)


def test_a_drawing_without_words_is_found_out():
    """A picture without a text alternative is a fault, as is a table without heads."""
    import weasyprint

    html = (
        "<html lang='en'><head><title>t</title></head><body><h1>a</h1><svg role='img' "
        "viewBox='0 0 9 9' width='9' height='9'><rect width='9' height='9'/></svg>"
        "<table><tr><td>x</td></tr></table></body></html>"
    )
    pdf = weasyprint.HTML(string=html).write_pdf(pdf_variant="pdf/ua-1")
    assert faults(PdfReader(io.BytesIO(pdf))) == [
        "a drawing without words",
        "a table without heads",
    ]
