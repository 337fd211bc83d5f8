"""What of a page goes on paper: nothing that is for screens, and the same pages as before."""

import pytest

from fieldbook.report import field_page
from fieldbook.report.paper import on_paper
from report import factory

every_field = pytest.mark.parametrize("name", list(factory.ALL))


@every_field
def test_a_drawing_goes_on_paper_once_with_its_words(name: str) -> None:
    """Of the two widths one is printed, as an image that says what the drawing says."""
    html = field_page(factory.ALL[name](), factory.context())
    bare = on_paper(html).html
    images = bare.count('<img class="drawing" alt="')
    assert html.count("<svg") == 2 * images
    assert bare.count('<div class="wide">') + bare.count('<div class="narrow">') == images
    assert "<svg" not in bare


def test_styles_for_screens_are_left_out() -> None:
    """Only styles for all media and for print are read, in their order."""
    styles = (
        '<style media="all">a {}</style><style media="screen">b {}</style>'
        '<style media="screen, print">c {}</style><style>d {}</style>'
        '<style media="screen and (max-width: 9px)">e {}</style>'
    )
    paper = on_paper(f"<head>{styles}</head><p>words</p>")
    assert paper.styles == ("a {}", "c {}", "d {}")
    assert paper.html == "<head></head><p>words</p>"


def test_a_drawing_that_is_no_xml_stays_as_it_is() -> None:
    """A template of one's own may have marks that only HTML knows."""
    html = '<p><svg aria-label="a"><text>&nbsp;</text></svg></p>'
    assert on_paper(html).html == html
    html = html.replace("&nbsp;", "\x0b")
    assert on_paper(html).html == html
