"""Whose a picture is: by the row that it lies beside, once a row, and told where there is none."""

from dataclasses import replace

import pytest
from seasons import NOW, book_plan, good_visit

from fieldbook.check.book import check_book
from fieldbook.check.verdict import CheckedBook
from fieldbook.entries import BookEntries, ReadyPhoto
from fieldbook.season.season import Season
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book


@pytest.fixture
def book(season: Season) -> BookEntries:
    """Return a filled book with rows for photos, as read."""
    plan = book_plan(season, full=True, entries={"A1": good_visit("A1")})
    read = read_book(write_book(plan), "ana.xlsx")
    assert read.book is not None
    return read.book


def picture(row: int, sha256: str) -> ReadyPhoto:
    """Make a picture beside a row of the sheet."""
    return ReadyPhoto(row=row, data=b"", sha256=sha256, width_px=640, height_px=480)


def judged(season: Season, book: BookEntries, *photos: ReadyPhoto) -> CheckedBook:
    """Judge the book with these pictures in it."""
    context = season.context({}, today=NOW.date(), received=NOW.date())
    return check_book(replace(book, photos=photos), context)


def test_pictures_of_one_row_are_numbered_and_each_is_shown_once(
    season: Season, book: BookEntries
) -> None:
    """The same picture twice beside one row is one; beside another row it is that row's as well."""
    first, second, *_ = (row.number for row in book.sheets["photos"].rows)
    laid = (picture(first, "a"), picture(first, "a"), picture(first, "b"), picture(second, "a"))
    found = judged(season, book, *laid).photos
    assert [(one.photo, one.at, one.sha256) for one in found] == [
        (1, 1, "a"),
        (1, 2, "b"),
        (2, 1, "a"),
    ]
    assert {one.visit_id for one in found} == {"A1.KC1"}


def test_a_picture_beside_no_row_is_told_at_its_place(season: Season, book: BookEntries) -> None:
    """It is of no field that is known, and keeps no other from its own."""
    row = book.sheets["photos"].rows[0].number
    verdict = judged(season, book, picture(900, "lost"), picture(row, "a"))
    (found,) = verdict.problems
    assert (found.code, found.place.sheet, found.place.cell) == (
        "photo-no-row",
        "Photos",
        "row 900",
    )
    assert [one.sha256 for one in verdict.photos] == ["a"]


def test_a_picture_in_a_book_that_lost_its_sheet_of_photos_is_told(
    season: Season, book: BookEntries
) -> None:
    """There is no row that it could lie beside, and no sheet to name."""
    torn = replace(book, sheets={n: one for n, one in book.sheets.items() if n != "photos"})
    verdict = judged(season, torn, picture(5, "a"))
    (found,) = verdict.problems
    assert (found.code, found.place.sheet) == ("photo-no-row", None)
    assert verdict.photos == ()
