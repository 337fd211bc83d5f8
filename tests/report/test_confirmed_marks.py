"""A rare value that a scout confirmed is marked where it counts, and the mark is explained."""

from pathlib import Path

import pytest
from seasons import NOW, good_visit, write_filled

from fieldbook.report.amounts import Amounts
from fieldbook.report.tables import tables
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.units import System

RARE, SURE = ("ears", ("A1", 4, 1), "rows_around"), ("ears", ("A1", 4, 1), "answer")


@pytest.mark.parametrize("sure", [True, False])
def test_the_stop_and_the_visit_are_marked(season: Season, tmp_path: Path, sure: bool) -> None:
    """Stop 4 alone and its visit carry the mark; without an answer nothing does."""
    entries = good_visit("A1") | {RARE: 24} | ({SURE: "true"} if sure else {})
    list(take_in(season, [write_filled(tmp_path / "book.xlsx", season, entries)], now=NOW))
    result = season_results(season, as_of=NOW.date()).fields[0]
    stops, visits = tables(result, Amounts(units=System.US, language="en"))
    mark = " *" if sure else ""
    assert [row[0] for row in stops.rows] == ["1", "2", "3", f"4{mark}", "5"]
    assert visits.rows[0][0].endswith("*") is sure
    for table in (stops, visits):
        assert ("* rare, but confirmed by the scout" in table.remarks) is sure
