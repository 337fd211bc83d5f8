"""The page about templates: it is current, names every page, and promises nothing that isn't so."""

from pathlib import Path

import pytest
import templates_page
from click.testing import CliRunner
from seasons import NOW, good_visit, small_season, write_filled

from fieldbook.cli import main
from fieldbook.render import shipped
from fieldbook.season.intake import take_in


def test_the_page_is_current():
    """Run `python tests/templates_page.py` after a change to what a page holds."""
    assert templates_page.PAGE.read_text("utf-8") == templates_page.templates_page()


def test_every_page_is_told():
    """No page is without a word on what it gets."""
    folder = shipped("templates")
    found = (path for kind in ("html", "txt") for path in folder.rglob(f"*.{kind}.j2"))
    pages = {path.relative_to(folder).as_posix() for path in found}
    assert set(templates_page.PAGES) == pages


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give a season with one counted field."""
    path = tmp_path_factory.mktemp("templates") / "season"
    season = small_season(path)
    book = write_filled(path / "incoming" / "ana.xlsx", season, good_visit("A1"))
    assert all(taken.accepted for taken in take_in(season, [book], now=NOW))
    return path


@pytest.mark.parametrize(
    ("template", "command", "page"),
    [
        ("report/page.html.j2", ("report", "--field", "A1", "--no-pdf"), "A1-long-eighty.html"),
        ("board/page.html.j2", ("board",), "board.html"),
    ],
)
def test_an_own_template_gets_all_that_is_promised(
    folder: Path, tmp_path: Path, template: str, command: tuple[str, ...], page: str
):
    """A template that asks for every name of the page's record is written; one more name is not."""
    record, _ = templates_page.PAGES[template]
    own = tmp_path / template
    own.parent.mkdir()
    names = templates_page.attributes(record)
    own.write_text("".join(f"{{{{ page.{name} }}}}\n" for name in names) + "mine", "utf-8")
    name, *more = command
    words = (name, str(folder), *more, "--templates", str(tmp_path), "--as-of", "2026-08-20")
    ran = CliRunner().invoke(main, words)
    assert ran.exception is None or isinstance(ran.exception, SystemExit), ran.output
    assert (folder / "reports" / page).read_text("utf-8").endswith("mine")
