"""The example books are what the demo makes today; those saved elsewhere are read alike."""

import io
import shutil
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from examples import COPIED, FOLDER, PICTURES, PRINTED, SAVED_ELSEWHERE
from parts import need, pango_missing
from pictures import WIDTH
from PIL import Image
from pypdf import PdfReader

from fieldbook.cli import main
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.ledger import Ledger
from fieldbook.workbook.read import read_book

README = FOLDER.parent / "README.md"
REPORTED = {
    Path(place).name.partition("-")[0]
    for name, place in (*COPIED.items(), *PRINTED.items())
    if name.startswith("report-")
}
AS_OF = "2026-09-18"
MOST_BYTES, MOST_PICTURE_BYTES = 4_000_000, 200_000


def content(path: Path) -> dict[str, bytes]:
    """Return a file's parts, so that another compression counts as the same book."""
    if path.suffix != ".xlsx":
        return {path.suffix: path.read_bytes()}
    with zipfile.ZipFile(path) as book:
        return {name: book.read(name) for name in book.namelist()}


@pytest.fixture(scope="module")
def printed(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Print those reports of the demo season that are among the examples.

    A page with a PDF beside it has what fits on its two pages.
    """
    need(pango_missing())
    season = Path(shutil.copytree(demo, tmp_path_factory.mktemp("printed") / "demo"))
    fields = {
        name[len("report-") :].partition(".")[0]
        for name in {**COPIED, **PRINTED}
        if "report-" in name
    }
    for field_id in fields:
        words = ["report", str(season), "--field", field_id, "--as-of", AS_OF]
        CliRunner().invoke(main, words)
    return season


@pytest.mark.pdf
def test_examples_are_current(printed: Path) -> None:
    """Each holds what the demo season gives today; renew with tests/examples.py."""
    stale = [
        name for name, place in COPIED.items() if content(FOLDER / name) != content(printed / place)
    ]
    assert stale == []


@pytest.mark.pdf
@pytest.mark.parametrize(("name", "place"), PRINTED.items())
def test_printed_examples_say_the_same(printed: Path, name: str, place: str) -> None:
    """Two versions of a PDF library draw other bytes, but the same text on the same pages."""
    shown, made = (
        [page.extract_text().split() for page in PdfReader(path).pages]
        for path in (FOLDER / name, printed / place)
    )
    assert shown == made


def typed_cells(path: Path) -> dict[tuple[str, int, str], Any]:
    """Return what was typed into a book, by sheet, row and column; formulas are left out."""
    read = read_book(path.read_bytes(), path.name)
    assert read.book is not None, read.problems
    return {
        (name, row.number, column): cell.value
        for name, sheet in read.book.sheets.items()
        for row in sheet.rows
        for column, cell in row.cells.items()
        if not cell.is_empty and not cell.is_formula
    }


@pytest.mark.parametrize(("name", "place"), SAVED_ELSEWHERE.items())
def test_books_saved_elsewhere_hold_the_same_cells(demo: Path, name: str, place: str) -> None:
    """Every typed cell of the book that LibreOffice saved is one of the demo's book today."""
    typed = typed_cells(demo / place)
    assert len(typed) > 100
    assert typed_cells(FOLDER / name) == typed


@pytest.mark.parametrize(("name", "place"), SAVED_ELSEWHERE.items())
def test_books_saved_elsewhere_are_taken_in_alike(
    demo: Path, tmp_path: Path, name: str, place: str
) -> None:
    """`silkbook intake` gets the same readings and asks the same questions as of our own book."""
    ours = taken_in(demo, demo / place, tmp_path / "ours")
    elsewhere = taken_in(demo, FOLDER / name, tmp_path / "elsewhere")
    assert ours["visits"]
    assert elsewhere == ours


def taken_in(demo: Path, book: Path, folder: Path) -> dict[str, Any]:
    """Take a book into the demo season as it was before any came back; return what is known."""
    shutil.copytree(demo, folder, ignore=shutil.ignore_patterns("reports", "incoming", "season.db"))
    for kept in ("originals", "events"):
        shutil.rmtree(folder / "kept" / kept)
    command = ["intake", "--season", str(folder), "--as-of", AS_OF, str(book)]
    said = CliRunner().invoke(main, command).output
    assert f"{book.name}: taken in: " in said
    return dict(known(SeasonFolder(folder)))


def known(folder: SeasonFolder) -> Iterator[tuple[str, Any]]:
    """Give all that a ledger knows but the names of files."""
    with Ledger(folder) as ledger:
        visits = ledger.visits()
        yield "visits", visits
        yield "typed", ledger.typed_now([visit.visit_id for visit in visits])
        yield (
            "questions",
            [(asked.visit_id, asked.problem.in_file("")) for asked in ledger.questions()],
        )


def test_the_folder_holds_the_examples_and_no_more() -> None:
    """Nothing is left over from an older set, each is named in its README, and it stays small."""
    files = [path for path in FOLDER.rglob("*") if path.is_file()]
    named = {"README.md", *COPIED, *SAVED_ELSEWHERE, *PRINTED, *PICTURES}
    assert {path.relative_to(FOLDER).as_posix() for path in files} == named
    told = (FOLDER / "README.md").read_text("utf-8")
    assert [name for name in named - {"README.md", *PICTURES} if f"`{name}`" not in told] == []
    assert sum(path.stat().st_size for path in files) <= MOST_BYTES


@pytest.mark.parametrize("name", PICTURES)
def test_pictures_are_small_and_shown(name: str) -> None:
    """Each is a PNG of the width of a page, and the README shows it with words for it."""
    data = (FOLDER / name).read_bytes()
    assert len(data) <= MOST_PICTURE_BYTES
    with Image.open(io.BytesIO(data)) as picture:
        picture.verify()
        assert (picture.format, picture.width) == ("PNG", WIDTH)
    before, shown, _ = README.read_text("utf-8").partition(f"](example_books/{name})")
    assert shown
    assert len(before.rpartition("![")[2].split()) >= 5
