"""The correction book: everything as entered, the questioned cells marked, and mended by return."""

from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from openpyxl import load_workbook
from seasons import NOW, good_visit, write_filled

from fieldbook.cli import main
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import sentence
from fieldbook.season.ask import Asked, clear_answered, write_corrections
from fieldbook.season.ask_folder import Cleared, clear_ask_folder
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.workbook.read import read_book

ODD, WORDS = ("ears", ("A1", 2, 1), "rows_around"), ("ears", ("A1", 3, 2), "kernels_set")
RARE = ("ears", ("A1", 4, 1), "rows_around")
HEAD_ROW, FIRST_ROW = 3, 5


@pytest.fixture
def asked(season: Season, tmp_path: Path) -> Asked:
    """Take in a book with three questions, and write what asks back."""
    entries = good_visit("A1") | {ODD: 15, WORDS: "36 or so", RARE: 24}
    book = write_filled(tmp_path / "first.xlsx", season, entries)
    (taken,) = take_in(season, [book], now=NOW)
    assert len(taken.open_problems) == 3
    (written,) = write_corrections(season)
    return written


def cell_of(sheet: Any, head: str, stop: int, ear: int) -> Any:
    """Find a cell of the Ears sheet by its header and printed keys."""
    at = {cell.value: cell.column for cell in sheet[HEAD_ROW] if cell.value}
    for row in range(FIRST_ROW, sheet.max_row + 1):
        if (sheet.cell(row, 2).value, sheet.cell(row, 3).value) == (stop, ear):
            return sheet.cell(row, at[head])
    raise AssertionError((stop, ear))


def mended(asked: Asked, folder: Path, **cells: Any) -> Path:
    """Mend cells in the correction book as a scout would, and save it under another name."""
    book = load_workbook(asked.path)
    at = {"odd": ("Rows around", 2, 1), "words": ("Kernels in row", 3, 2), "sure": ("Sure?", 4, 1)}
    for name, value in cells.items():
        cell_of(book["Ears"], *at[name]).value = value
    path = folder / "mended.xlsx"
    book.save(path)
    return path


def test_everything_stands_as_entered(asked: Asked, season: Season) -> None:
    """Every reading is in the book again, right or wrong, as it was typed."""
    read = read_book(asked.path.read_bytes(), "ask.xlsx", identities=season.folder.identities)
    assert read.book is not None
    assert read.book.problems == ()
    ears = load_workbook(asked.path)["Ears"]
    assert cell_of(ears, "Rows around", 2, 1).value == 15
    assert cell_of(ears, "Kernels in row", 3, 2).value == "36 or so"
    assert cell_of(ears, "Rows around", 1, 1).value == 16
    assert cell_of(ears, "No other gaps", 1, 1).value == "Yes"


def test_questioned_cells_are_marked_noted_and_linked(asked: Asked) -> None:
    """A heavy border and a note on the cell, and a line with a link on the first sheet."""
    book = load_workbook(asked.path)
    ears, start = book["Ears"], book["Start"]
    cells = [
        cell_of(ears, "Rows around", 2, 1),
        cell_of(ears, "Kernels in row", 3, 2),
        cell_of(ears, "Rows around", 4, 1),
    ]
    for cell in cells:
        assert cell.border.left.style == "thick"
        assert cell.comment is not None
    assert "rows come in pairs" in cells[0].comment.text
    assert cell_of(ears, "Rows around", 1, 1).comment is None
    targets = {cell.hyperlink.location for row in start for cell in row if cell.hyperlink}
    assert {f"'Ears'!{cell.coordinate}" for cell in cells} <= targets


def test_links_are_not_cut_by_the_question_beside_them(asked: Asked) -> None:
    """The first column is as wide as its longest link."""
    start = load_workbook(asked.path)["Start"]
    links = [cell.value for row in start for cell in row if cell.hyperlink and cell.column == 1]
    assert len(links) == asked.questions
    assert start.column_dimensions["A"].width > max(map(len, links))


def test_the_reply_says_it_in_words(asked: Asked) -> None:
    """Each question with its field and printed keys, since cells of the new book lie elsewhere."""
    text = asked.reply.read_text("utf-8")
    assert text.startswith("Ana, thank you for the book.")
    assert "- A1 Ears, Stop 2, Ear 1, Rows around: 15 rows can't be" in text
    assert text.count("\n- ") == asked.questions == 3


def test_what_is_asked_alike_in_many_places_is_said_once(season: Season, tmp_path: Path) -> None:
    """A line names the first places and says how many more there are; the book marks them all."""
    odd = {("ears", ("A1", stop, 2), "rows_around"): 15 for stop in range(1, 6)}
    book = write_filled(
        tmp_path / "first.xlsx", season, good_visit("A1") | odd | {WORDS: "36 or so"}
    )
    list(take_in(season, [book], now=NOW))
    (written,) = write_corrections(season)
    told, other = sorted(written.lines, key=len, reverse=True)
    assert told.startswith(
        "- A1 Ears, Stop 1, Ear 2, Rows around; A1 Ears, Stop 2, Ear 2, Rows around; "
    )
    assert ": 15 rows can't be" in told
    assert told.count("Stop") == 3
    assert " and 2 more: " in told
    assert "Kernels in row" in other
    assert written.questions == 6


def take(season: Season, path: Path, *, days: int = 1) -> Taken:
    """Take a mended book in, a day later."""
    (taken,) = take_in(season, [path], now=NOW + timedelta(days=days))
    assert taken.accepted, taken.problems
    return taken


def test_a_mended_book_settles_its_questions(asked: Asked, season: Season, tmp_path: Path) -> None:
    """Corrected, corrected, true: nothing is asked any more, and all else is as it was."""
    path = mended(asked, tmp_path, odd=14, words=36, sure="Yes, it is true")
    taken = take(season, path)
    assert taken.open_problems == ()
    with Ledger(season.folder) as ledger:
        assert ledger.questions() == []
        (visit,) = ledger.visits()
    rows = {(ear.stop, ear.ear): ear.rows_around for ear in visit.records["ears"]}
    assert (rows[2, 1], rows[4, 1], rows[1, 1]) == (14, 24, 16)
    assert list(write_corrections(season)) == []


def test_only_a_change_that_nobody_asked_for_is_told(
    asked: Asked, season: Season, tmp_path: Path
) -> None:
    """A mended answer is what was wanted; a new number beside it may be a slip, so it is named."""
    book = load_workbook(mended(asked, tmp_path, odd=14, words=36, sure="Yes, it is true"))
    cell_of(book["Ears"], "Rows around", 1, 1).value = 18
    book.save(tmp_path / "more.xlsx")
    (told,) = take(season, tmp_path / "more.xlsx").open_problems
    assert told.code == "value-replaced"
    assert "Ears, Stop 1, Ear 1, Rows around: 16, now 18" in sentence(told)
    assert dict(told.params)["count"] == 1


def test_a_change_beside_what_was_asked_is_wanted(
    asked: Asked, season: Season, tmp_path: Path
) -> None:
    """Who counts an ear again mends its whole row; only a second save may be the older copy."""
    book = load_workbook(mended(asked, tmp_path, odd=14, words=36, sure="Yes, it is true"))
    cell_of(book["Ears"], "Kernels in row", 2, 1).value = 33
    cell_of(book["Ears"], "Kernels in row", 4, 1).value = 34
    book.save(tmp_path / "more.xlsx")
    assert take(season, tmp_path / "more.xlsx").open_problems == ()
    cell_of(book["Ears"], "Kernels in row", 2, 1).value = 32
    book.save(tmp_path / "again.xlsx")
    (told,) = take(season, tmp_path / "again.xlsx", days=2).open_problems
    assert told.code == "value-replaced"


def test_only_what_was_mended_is_settled(asked: Asked, season: Season, tmp_path: Path) -> None:
    """Two cells left as they were are asked again, and those two alone."""
    take(season, mended(asked, tmp_path, odd=14))
    asks = CliRunner().invoke(main, ["ask", str(season.folder.path)]).output
    assert "  2 questions for ana\n" in asks
    (again,) = write_corrections(season)
    assert again.questions == 2
    assert again.path != asked.path


def test_one_question_is_told_as_one(asked: Asked, season: Season, tmp_path: Path) -> None:
    """One question, not one questions."""
    take(season, mended(asked, tmp_path, odd=14, words=36))
    asks = CliRunner().invoke(main, ["ask", str(season.folder.path)]).output
    assert "  1 question for ana\n" in asks


def test_books_that_ask_nothing_any_more_leave(
    asked: Asked, season: Season, tmp_path: Path
) -> None:
    """Its book and reply go once newer ones ask; what still asks stays, run by run."""
    assert clear_answered(season) == Cleared(removed=(), kept=())
    take(season, mended(asked, tmp_path, odd=14))
    (again,) = write_corrections(season)
    assert clear_answered(season).removed == (asked.reply, asked.path)
    assert clear_answered(season).removed == ()
    assert {path for path in asked.path.parent.iterdir() if path.suffix != ".json"} == {
        again.path,
        again.reply,
    }


def test_a_book_that_somebody_filled_where_it_lies_stays(
    asked: Asked, season: Season, tmp_path: Path
) -> None:
    """What is not as it was written may be work, and is told; strange files are not looked at."""
    strange = asked.path.with_name("mine.xlsx")
    strange.write_bytes(b"mine")
    done = mended(asked, tmp_path, odd=14, words=36, sure="Yes, it is true")
    asked.path.write_bytes(done.read_bytes())
    take(season, done)
    said = CliRunner().invoke(main, ["ask", str(season.folder.path)])
    assert said.exit_code == 0, said.output
    assert f"{asked.reply}  removed, it asks nothing any more" in said.output
    assert f"{asked.path.name}: This file in blank/ask asks nothing any more" in said.output
    assert asked.path.read_bytes() == done.read_bytes()
    assert not asked.reply.exists()
    assert strange.exists()
    (kept,) = clear_answered(season).kept
    assert kept.code == "ask-changed"


@pytest.mark.parametrize("note", ["", "[]", "{", '{"../first.xlsx": "1"}'])
def test_without_its_note_nothing_is_removed(asked: Asked, season: Season, note: str) -> None:
    """A torn or strange note of what was written costs nobody a file."""
    (asked.path.parent / ".written.json").write_text(note)
    assert clear_ask_folder(season.folder, ()) == Cleared(removed=(), kept=())
    assert asked.path.exists()


def test_a_scout_s_own_books_alone(asked: Asked, season: Season) -> None:
    """Another scout is asked nothing."""
    assert list(write_corrections(season, scout="joss")) == []


def test_a_correction_book_says_which_book_it_revises(asked: Asked, season: Season) -> None:
    """The hidden identity names the first book; without it the kept copy tells the same."""
    read = read_book(asked.path.read_bytes(), "ask.xlsx")
    assert read.book is not None
    assert read.book.identity.revises
    assert read.book.identity.revises != read.book.identity.book_id
    kept = read_book(asked.path.read_bytes(), "ask.xlsx", identities=season.folder.identities)
    assert kept.book is not None
    assert kept.book.identity == read.book.identity
