"""What is printed in less time stands where the library alone prints it."""

import gc
import re
import subprocess
from pathlib import Path

import pytest
from parts import need, pango_missing, poppler_missing

from fieldbook.report import field_page, page_pdf
from report import factory

pytestmark = pytest.mark.pdf

_WORD = re.compile(r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)</word>')


@pytest.fixture(autouse=True)
def _parts() -> None:
    need(pango_missing())
    need(poppler_missing())


def alone(html: str) -> bytes:
    """Print a page with nothing but the library."""
    import weasyprint

    made: bytes = weasyprint.HTML(string=html).write_pdf(pdf_variant="pdf/ua-1")
    return made


def words(pdf: bytes, folder: Path) -> list[tuple[str, int, tuple[float, ...]]]:
    """Return each word with its sheet and its box [pt], by place: labels may be drawn later."""
    file = folder / "page.pdf"
    file.write_bytes(pdf)
    command = ["pdftotext", "-bbox", str(file), "-"]
    told = subprocess.run(command, capture_output=True, check=True, text=True).stdout
    found = [
        (text, number, tuple(map(float, box)))
        for number, sheet in enumerate(told.split("<page ")[1:])
        for *box, text in _WORD.findall(sheet)
    ]
    return sorted(found, key=lambda word: (word[1], word[2], word[0]))


def assert_same_places(html: str, folder: Path) -> None:
    ours, theirs = words(page_pdf(html), folder), words(alone(html), folder)
    assert len(ours) == len(theirs) > 0
    apart = [
        (mine, other)
        for mine, other in zip(sorted(ours), sorted(theirs), strict=True)
        if mine[:2] != other[:2]
        or any(abs(a - b) > 0.3 for a, b in zip(mine[2], other[2], strict=True))
    ]
    assert apart == []


@pytest.mark.parametrize("name", list(factory.ALL))
def test_every_word_of_a_report_stands_where_the_library_puts_it(name: str, tmp_path: Path):
    """In columns, tables and drawings, on both sheets."""
    assert_same_places(field_page(factory.ALL[name](), factory.context()), tmp_path)


TEXT = "Ears bare at the tip are looked at once more. " * 30
TWO = "main { columns: 2; column-gap: 5mm; column-fill: %s; }"
LABEL = '<svg aria-label="a" font-family="sans-serif" viewBox="0 0 200 90" width="200"%s>%s</svg>'


def page(body: str, style: str = "") -> str:
    """Write a page as a template of one's own may have it."""
    return (
        f"<html lang='en'><head><title>Ears</title><style>@page {{ size: 120mm 90mm; }} {style}"
        f"</style></head><body><main>{body}</main></body></html>"
    )


PAGES = {
    "names in capitals": page("<P>Large <B>letters</B></P>"),
    "what only HTML allows": page("<p>one<br>two<p>three<ul><li>four<li>five</ul>"),
    "XHTML": page("<p>one</p>").replace("<html", '<html xmlns="http://www.w3.org/1999/xhtml"'),
    "a drawing without a name": page('<svg viewBox="0 0 99 9"><text y="8">ear</text></svg>'),
    "an entity": page("<p>one&nbsp;two</p>"),
    "a list with marks": page("<ol><li>one</li><li>two</li></ol>"),
    "a footnote": page("<p>Ears<i>bare</i></p>", "i { float: footnote; }"),
    "columns filled in turn": page(f"<p>{TEXT}</p>" * 3, TWO % "auto"),
    "labels": page(
        LABEL
        % (
            "",
            '<text x="9" y="20" font-size="11">first</text>'
            '<text x="90" y="20" font-size="11" text-anchor="middle" font-weight="bold">mid</text>'
            '<text x="190" y="20" font-size="11" text-anchor="end" fill="#555555">end</text>',
        )
    ),
    "a turned label": page(
        LABEL % ("", '<text x="90" y="40" font-size="11" transform="rotate(90 90 40)">ear</text>')
    ),
    "a label in parts": page(
        LABEL % ("", '<text x="9" y="40" font-size="11">one <tspan y="60">two</tspan></text>')
    ),
    "a label in another unit": page(
        LABEL % ("", '<text x="2em" y="40" font-size="2em">ear</text>')
    ),
    "a label at no number": page(LABEL % ("", '<text x="nine" y="40" font-size="9">ear</text>')),
    "a label of a heavier weight": page(
        LABEL % ("", '<text x="9" y="40" font-size="11" font-weight="600">ear</text>')
    ),
    "labels set wide": page(
        LABEL % (' letter-spacing="3"', '<text x="9" y="40" font-size="11">ear</text>')
    ),
}


@pytest.mark.parametrize("name", list(PAGES))
def test_a_page_of_ones_own_stands_where_the_library_puts_it(name: str, tmp_path: Path):
    """Whatever we do not print in less time is left to the library."""
    assert_same_places(PAGES[name], tmp_path)


def test_pages_of_ours_need_no_reader_of_html(monkeypatch: pytest.MonkeyPatch):
    """The templates write XML; a page that is none is read as HTML."""
    import tinyhtml5

    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("read as HTML")

    monkeypatch.setattr(tinyhtml5, "parse", refuse)
    for make in factory.ALL.values():
        assert page_pdf(field_page(make(), factory.context()))
    with pytest.raises(AssertionError, match="read as HTML"):
        page_pdf(PAGES["what only HTML allows"])


def boxes() -> int:
    """Count the boxes of all pages that are still there."""
    from weasyprint.formatting_structure.boxes import Box

    return sum(isinstance(one, Box) for one in gc.get_objects())


def test_what_a_page_leaves_is_gone_at_once():
    """Looking for garbage waits for the end of a page, and only so long."""
    kept = gc.get_threshold()
    gc.collect()
    gc.set_threshold(10**9)  # nobody looks but who is told to
    try:
        before = boxes()
        page_pdf(PAGES["labels"])
        assert boxes() == before
    finally:
        gc.set_threshold(*kept)
    assert gc.isenabled()


@pytest.mark.parametrize("on", [True, False])
def test_looking_for_garbage_is_as_it_was_after_a_fault(on: bool, monkeypatch: pytest.MonkeyPatch):
    """A page that fails leaves it on, and whoever had turned it off keeps it off."""
    monkeypatch.setattr("fieldbook.report.pdf.on_paper", lambda _: 1 / 0)
    if not on:
        gc.disable()
    try:
        with pytest.raises(ZeroDivisionError):
            page_pdf("")
        assert gc.isenabled() is on
    finally:
        gc.enable()
