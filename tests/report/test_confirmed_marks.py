"""A rare value that a scout confirmed is marked where it counts, and the mark is explained."""

from pathlib import Path

from seasons import NOW, good_visit, write_filled

from fieldbook.report.amounts import Amounts
from fieldbook.report.tables import Table, tables
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.units import System

RARE, SURE = ("ears", ("A1", 4, 1), "rows_around"), ("ears", ("A1", 4, 1), "answer")


def shown(season: Season, path: Path, *, sure: bool) -> tuple[Table, ...]:
    """Take in a book with a rare value and return the tables of its report."""
    entries = good_visit("A1") | {RARE: 24} | ({SURE: "true"} if sure else {})
    list(take_in(season, [write_filled(path, season, entries)], now=NOW))
    result = season_results(season, as_of=NOW.date()).fields[0]
    return tables(result, Amounts(units=System.US, language="en"))


def test_the_stop_and_the_visit_are_marked(season: Season, tmp_path: Path) -> None:
    """Stop 4 alone and its visit carry the mark, and it is explained."""
    stops, visits = shown(season, tmp_path / "book.xlsx", sure=True)
    assert [row[0] for row in stops.rows] == ["1", "2", "3", "4 *", "5"]
    assert visits.rows[0][0].endswith("*")
    for table in (stops, visits):
        assert "* rare, but confirmed by the scout" in table.remarks


def test_what_is_not_confirmed_has_no_mark(season: Season, tmp_path: Path) -> None:
    """Without an answer nothing is marked, and the only visit has nothing to add."""
    (stops,) = shown(season, tmp_path / "book.xlsx", sure=False)
    assert [row[0] for row in stops.rows] == ["1", "2", "3", "4", "5"]
    assert not stops.remarks


def test_a_column_in_which_nothing_is_known_is_left_out(season: Season, tmp_path: Path) -> None:
    """Plants were not counted at any stop; what one stop has stays for all."""
    (stops,) = shown(season, tmp_path / "book.xlsx", sure=False)
    assert stops.heads == ("Stop", "Ears per ac", "Kernels an ear", "Ears", "bu/ac")
    assert all(len(row) == len(stops.heads) == len(stops.numbers) for row in stops.rows)
