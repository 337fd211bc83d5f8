"""A field's report in a browser: phone and desk, a checker of access, and print as the PDF."""

import io
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from browser import Browser, Tab
from parts import need, pango_missing
from pypdf import PdfReader

from fieldbook.report import field_page, page_pdf
from report import factory

pytestmark = [pytest.mark.browser, pytest.mark.pdf]

DESK, PHONE = 1280, 360
widths = pytest.mark.parametrize("width", [DESK, PHONE])
every_field = pytest.mark.parametrize("name", list(factory.ALL))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write every kind of report once."""
    made = tmp_path_factory.mktemp("reports")
    for name, make in factory.ALL.items():
        (made / f"{name}.html").write_text(field_page(make(), factory.context()), "utf-8")
    return made


@pytest.fixture
def opened(browser: Browser, folder: Path) -> Iterator[Any]:
    """Open a report; the tabs are closed behind it."""
    tabs: list[Tab] = []

    def made(name: str, **more: Any) -> Tab:
        tabs.append(browser.open(folder / f"{name}.html", **more))
        return tabs[-1]

    yield made
    for tab in tabs:
        tab.close()


@widths
@every_field
def test_nothing_scrolls_sideways(opened: Any, name: str, width: int):
    """Any report fits a phone and a desk; a wide table may scroll in its own room."""
    tab = opened(name, width=width)
    assert tab.run("document.documentElement.scrollWidth") <= width


@widths
@pytest.mark.parametrize("name", ["full", "failed", "no visit", "longest names"])
def test_a_checker_of_access_finds_no_violation(opened: Any, name: str, width: int):
    """Rules on contrast, headings, tables and words for pictures are met, and were tried."""
    tab = opened(name, width=width)
    tab.run((files("axe_core_python") / "axe.min.js").read_text("utf-8"))
    violations, passes = tab.run(
        "axe.run().then(({violations, passes}) => [violations.map(({id, nodes}) => "
        "`${id}: ${nodes[0].html.slice(0, 80)}`), passes.map(({id}) => id)])"
    )
    assert violations == []
    assert {"color-contrast", "html-has-lang", "document-title"} <= set(passes)


@pytest.mark.parametrize("paper", ["letter", "a4"])
@every_field
def test_the_browser_prints_as_many_pages_as_the_pdf_has(
    browser: Browser, tmp_path: Path, name: str, paper: str
):
    """Whoever prints the page from a browser holds as many sheets as the PDF has, two at most."""
    need(pango_missing())
    context = factory.context(paper=paper)
    html = field_page(factory.ALL[name](), context)
    page = tmp_path / "page.html"
    page.write_text(html, "utf-8")
    tab = browser.open(page)
    printed = len(PdfReader(io.BytesIO(tab.pdf())).pages)
    tab.close()
    assert printed == len(PdfReader(io.BytesIO(page_pdf(html))).pages) <= 2


@widths
def test_what_to_do_is_read_right_after_the_first_lines(opened: Any, width: int):
    """On a phone and at a desk nothing stands between the first lines and the list."""
    tab = opened("full", width=width)
    lead, steps, facts, first = tab.run(
        "['.lead', '.steps', '.facts', '.reading section'].map("
        "one => document.querySelector(one).getBoundingClientRect().top)"
    )
    assert lead < steps < min(facts, first)


def test_a_page_asks_for_nothing(opened: Any):
    """Fonts and drawings are inside: nothing but the page itself is fetched."""
    asked = [url for url in opened("full").requests() if not url.startswith("data:")]
    assert len(asked) == 1
    assert asked[0].startswith("file:")
