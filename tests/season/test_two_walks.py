"""One visit printed, two walks brought back: each counts by itself, and nothing is mixed."""

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from mending import mend
from seasons import NOW, VISIT_DAY, good_stop, good_visit, small_season, write_filled

from fieldbook.ledger.ledger import Ledger
from fieldbook.season.ask import write_corrections
from fieldbook.season.checking import check_file
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.recheck import recheck
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.season.walked import as_walked
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.read import read_book

WEEK = timedelta(days=7)


@pytest.fixture
def season(tmp_path: Path) -> Season:
    """Make a small season."""
    return small_season(tmp_path / "season")


def walked_again() -> dict[EntryKey, EntryValue]:
    """Fill the field as somebody did a week before, with other counts everywhere."""
    entries = {**good_visit("A1"), ("fields", ("A1",), "visit_date"): VISIT_DAY - WEEK}
    for stop in range(1, 6):
        entries |= good_stop("A1", stop, ears=26 + stop, along=31 + stop, pulled=3)
    return entries


def take(season: Season, *paths: Path) -> list[Taken]:
    """Take files in, one after the other."""
    return [*take_in(season, paths, now=NOW)]


def told(taken: Taken) -> list[str]:
    """Name what was said of a file."""
    return [one.code for one in taken.open_problems]


def visits(season: Season) -> dict[str, tuple[object, int]]:
    """Return the day of each visit and what its first ear had."""
    with Ledger(season.folder) as ledger:
        return {
            one.visit_id: (one.records["fields"][0].visit_date, one.records["ears"][0].kernels_set)
            for one in ledger.visits()
        }


def test_two_books_of_one_visit_and_two_days_are_two_visits(season: Season, tmp_path: Path) -> None:
    """A quick book, and a full one that was printed before the quick one came back."""
    quick = write_filled(tmp_path / "quick.xlsx", season, good_visit("A1"))
    full = write_filled(tmp_path / "full.xlsx", season, walked_again(), full=True)
    take(season, quick)
    assert told(check_file(season, full, now=NOW)) == ["visit-of-another-day"]
    (second,) = take(season, full)
    assert (told(second), second.visits) == (["visit-of-another-day"], ("A1.KC2",))
    assert visits(season) == {"A1.KC1": (VISIT_DAY, 34), "A1.KC2": (VISIT_DAY - WEEK, 31)}


def test_one_book_filled_twice_is_two_visits(season: Season, tmp_path: Path) -> None:
    """The same blank copied for the second walk; and again with a mended count."""
    first = write_filled(tmp_path / "first.xlsx", season, good_visit("A1"))
    again = write_filled(tmp_path / "again.xlsx", season, walked_again())
    mended = mend(again, tmp_path / "mended.xlsx", {("ears", ("A1", 1, 1), "kernels_set"): 33})
    taken = take(season, first, again, mended)
    assert [told(one) for one in taken] == [
        [],
        ["visit-of-another-day"],
        ["visit-of-another-day", "value-replaced"],
    ]
    assert visits(season) == {"A1.KC1": (VISIT_DAY, 34), "A1.KC2": (VISIT_DAY - WEEK, 33)}


def test_a_book_with_its_day_mended_is_the_same_visit(season: Season, tmp_path: Path) -> None:
    """All its counts are as before."""
    first = write_filled(tmp_path / "first.xlsx", season, good_visit("A1"))
    day = {**good_visit("A1"), ("fields", ("A1",), "visit_date"): VISIT_DAY - WEEK}
    mended = write_filled(tmp_path / "mended.xlsx", season, day)
    _, second = take(season, first, mended)
    assert told(second) == ["value-replaced"]
    assert visits(season) == {"A1.KC1": (VISIT_DAY - WEEK, 34)}


def test_each_walk_has_a_correction_book_of_its_own(season: Season, tmp_path: Path) -> None:
    """Also where both came in one book; what is mended stands in its own visit."""
    odd = {("ears", ("A1", 1, 1), "rows_around"): 15}
    first = write_filled(tmp_path / "first.xlsx", season, {**good_visit("A1"), **odd})
    again = write_filled(tmp_path / "again.xlsx", season, {**walked_again(), **odd})
    take(season, first, again)
    asked = [*write_corrections(season)]
    assert [one.questions for one in asked] == [1, 1]
    for number, one in enumerate(asked):
        path = mend(
            one.path, tmp_path / f"back-{number}.xlsx", {("ears", ("A1", 1, 1), "rows_around"): 16}
        )
        (back,) = take(season, path)
        assert told(back) == []
    with Ledger(season.folder) as ledger:
        assert ledger.questions() == []
        rows = [one.records["ears"][0].rows_around for one in ledger.visits()]
    assert rows == [16, 16]
    assert visits(season) == {"A1.KC1": (VISIT_DAY, 34), "A1.KC2": (VISIT_DAY - WEEK, 31)}


def test_a_book_that_names_a_field_twice_is_looked_at_all_the_same(
    season: Season, tmp_path: Path
) -> None:
    """No book of ours does, but whoever writes one must not end a check."""
    path = write_filled(tmp_path / "first.xlsx", season, good_visit("A1"))
    take(season, path)
    book = read_book(path.read_bytes(), path.name).book
    assert book
    slips = book.identity.visits
    twice = replace(book.identity, visits=(*slips, replace(slips[0], visit_id="A1.KC7")))
    with Ledger(season.folder) as ledger:
        found = as_walked(ledger, replace(book, identity=twice))
    assert found.identity == twice


def test_a_replay_and_another_look_know_both_walks(season: Season, tmp_path: Path) -> None:
    """The event keeps the visit that a walk became."""
    first = write_filled(tmp_path / "first.xlsx", season, good_visit("A1"))
    again = write_filled(tmp_path / "again.xlsx", season, walked_again())
    take(season, first, again)
    before = visits(season)
    assert recheck(season).changes == ()
    rebuild(season.folder)
    assert visits(season) == before
