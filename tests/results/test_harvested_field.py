"""A field's results around its harvest: as before until the day of the tickets, then as cut."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from harvested import CUT, Plot, count, cut, harvest_of, load, season_of, take

from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.season.season import Season

DAY = date(2026, *CUT)


def only(season: Season, day: date) -> FieldResult:
    (found,) = season_results(season, as_of=day).fields
    return found


def test_a_field_is_harvested_from_the_day_of_its_tickets(tmp_path: Path) -> None:
    """A report of the day before knows nothing of it, whenever the tickets were taken in."""
    plots = [Plot(field_id="A1", bu_ac=171.5, trial=None)]
    season = season_of(tmp_path / "s", plots)
    count(season, {"A1": 28})
    as_before = only(season, DAY - timedelta(1))
    cut(season, plots)
    assert only(season, DAY - timedelta(1)) == as_before
    assert (as_before.is_harvested, as_before.harvested_on, as_before.harvest) == (
        False,
        None,
        None,
    )
    found = only(season, DAY)
    assert (found.is_harvested, found.harvested_on) == (True, DAY)
    assert found.harvest is not None
    assert found.harvest.yield_bu_ac == pytest.approx(171.5)


def test_a_load_in_question_leaves_the_field_cut_and_its_yield_open(tmp_path: Path) -> None:
    """A sum without it would be too small."""
    season = season_of(tmp_path / "s", [Plot(field_id="A1", trial=None)])
    second = {**load("A1", 30, number=2), ("harvest", ("A1", 2), "moisture_pct"): 999}
    take(season, {"A1": {**harvest_of("A1", 150), **second}})
    found = only(season, DAY)
    assert found.is_harvested
    assert found.harvest is None
