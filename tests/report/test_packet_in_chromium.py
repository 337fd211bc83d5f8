"""A grower's packet and letter in a browser: phone and desk, and a checker of access."""

import io
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from browser import Browser, Tab
from parts import need, pango_missing
from pypdf import PdfReader

from fieldbook.results.result import FieldResult
from report import factory
from report.test_packet import fields, written

pytestmark = pytest.mark.browser

DESK, PHONE = 1280, 360
widths = pytest.mark.parametrize("width", [DESK, PHONE])
pages = pytest.mark.parametrize("name", ["packet", "letter"])
SEASONS: dict[str, tuple[FieldResult, ...]] = {
    "a usual season": fields(3),
    "longest names": (factory.longest_names(),),
    "one stop": (factory.one_stop(),),
    "thirty stops": (factory.thirty_stops(),),
    "an empty field": (factory.no_visit(),),
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a packet and a letter of three fields, one of the longest names, one not seen."""
    made = tmp_path_factory.mktemp("packet")
    written(made, *fields(1), factory.longest_names(), factory.no_visit(), pdf=False)
    return made


@pytest.fixture
def opened(browser: Browser, folder: Path) -> Iterator[Any]:
    """Open a page; the tabs are closed behind it."""
    tabs: list[Tab] = []

    def made(name: str, **more: Any) -> Tab:
        tabs.append(browser.open(folder / f"{name}.html", **more))
        return tabs[-1]

    yield made
    for tab in tabs:
        tab.close()


@widths
@pages
def test_nothing_scrolls_sideways(opened: Any, name: str, width: int):
    """A phone and a desk hold them."""
    assert opened(name, width=width).run("document.documentElement.scrollWidth") <= width


@widths
@pages
def test_a_checker_of_access_finds_no_violation(opened: Any, name: str, width: int):
    """Several reports on one page included: ids, headings, landmarks, contrast."""
    tab = opened(name, width=width)
    tab.run((files("axe_core_python") / "axe.min.js").read_text("utf-8"))
    violations, passes = tab.run(
        "axe.run().then(({violations, passes}) => [violations.map(({id, nodes}) => "
        "`${id}: ${nodes[0].html.slice(0, 80)}`), passes.map(({id}) => id)])"
    )
    assert violations == []
    assert {"color-contrast", "html-has-lang", "document-title"} <= set(passes)


@pages
def test_a_page_asks_for_nothing(opened: Any, name: str):
    """Fonts and drawings are inside."""
    asked = [url for url in opened(name).requests() if not url.startswith("data:")]
    assert len(asked) == 1


@pytest.mark.pdf
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("season", list(SEASONS))
def test_the_browser_prints_as_many_pages_as_the_pdf_has(
    browser: Browser, tmp_path: Path, season: str, paper: str, language: str
):
    """Whoever prints a packet or a letter from a browser holds as many sheets as the PDF has."""
    need(pango_missing())
    context = factory.context(paper=paper, language=language)
    made = written(tmp_path, *SEASONS[season], context=context)
    for name in ("packet", "letter"):
        page, sheet = made[name]
        tab = browser.open(page)
        printed = len(PdfReader(io.BytesIO(tab.pdf())).pages)
        tab.close()
        assert printed == len(PdfReader(sheet).pages), name
