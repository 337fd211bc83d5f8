"""One silking day in a field's results: where silks were counted, R1 is dated by them."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from report import factory
from seasons import write_filled

from fieldbook.agronomy.ranges import DayRange
from fieldbook.export.as_json import field_record
from fieldbook.forms.rounds import POLLINATION
from fieldbook.report.amounts import Amounts
from fieldbook.report.stagewords import forecast_basis, stage_today
from fieldbook.results.looks_result import PollinationResult
from fieldbook.results.pollination import with_counted_silking
from fieldbook.results.result import FieldResult, StageResult
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.units import System
from results.test_results import NOW, write_weather

TODAY = date(2026, 7, 20)


def day(number: int) -> date:
    """Return a day of July."""
    return date(2026, 7, number)


def stage(name: str, first: int, likely: int, last: int, basis: str = "heat units") -> StageResult:
    """Date a stage in July, whether or not it has passed."""
    made = factory.stage(name, day(likely), (day(first), day(last)), basis=basis)
    return replace(made, passed=day(likely) <= TODAY)


def silked(within: DayRange, likely: date | None = None) -> PollinationResult:
    """Make counts of silks that leave these days."""
    found = factory.pollination()
    assert found.silking is not None
    return replace(found, silking=replace(found.silking, day=likely, within=within))


def looked(season: Season, folder: Path) -> FieldResult:
    """Count silks on two days, in a season whose heat dates R1 five days earlier."""
    write_weather(season, years=range(2019, 2027), through=TODAY, warmer=-3)
    for on, plants in ((day(12), 5), (day(16), 15)):
        entries = {("fields", ("A1",), "visit_date"): on}
        entries |= {("stops", ("A1", stop), "silked"): plants for stop in range(1, 5)}
        book = write_filled(folder / f"{on}.xlsx", season, entries, round_=POLLINATION)
        assert all(one.accepted for one in take_in(season, [book], now=NOW))
    return season_results(season, as_of=TODAY).fields[0]


def test_silking_has_one_day_in_all_results(season: Season, tmp_path: Path) -> None:
    """Stage and pollination tell the same day and range, and the stage says what it rests on."""
    found = looked(season, tmp_path)
    assert found.pollination is not None
    silking = found.pollination.silking
    assert silking is not None
    first = found.stages[0]
    assert (first.stage, first.date, first.basis) == ("R1", day(14), "silks counted")
    assert (first.earliest, first.latest) == (silking.within.earliest, silking.within.latest)
    assert first.passed
    record = field_record(found, "en")["stages"][0]
    assert (record["date"], record["basis"]) == ("2026-07-14", "silks counted")
    days = [one.date for one in found.stages if one.date]
    assert days == sorted(days)


def test_the_report_says_that_silks_were_counted(season: Season, tmp_path: Path) -> None:
    """The stage of today by its counts; the dates ahead by heat, as before."""
    found, figures = looked(season, tmp_path), season_figures(season.settings)
    found = replace(found, visits=())
    english, spanish = (Amounts(units=System.US, language=one) for one in ("en", "es"))
    assert stage_today(found, english).startswith(
        "By counts of silks the field reached R1 silk about Tue 14 July"
    )
    assert stage_today(found, spanish).startswith("Según el conteo de estigmas el campo llegó a R1")
    ahead = replace(found, stages=tuple(replace(one, passed=False) for one in found.stages))
    assert "worked out by heat" in forecast_basis(ahead, english, figures)[0]


@pytest.mark.parametrize(
    ("within", "days", "basis"),
    [
        (DayRange(earliest=day(9), latest=day(14)), (9, 11, 14), "silks counted"),
        (DayRange(latest=day(14)), (7, 7, 7), "heat units"),
        (DayRange(latest=day(5)), (5, 5, 5), "heat units"),
        (DayRange(earliest=day(10)), (10, 10, 10), "heat units"),
    ],
)
def test_counts_that_leave_an_end_open_only_bound_the_day(
    within: DayRange, days: tuple[int, int, int], basis: str
) -> None:
    """A range with both ends is taken; else the heat's own day is moved no further than needed."""
    (found,) = with_counted_silking([stage("R1", 7, 7, 7)], silked(within), TODAY)
    assert (found.earliest, found.date, found.latest) == tuple(map(day, days))
    assert found.basis == basis


def test_later_stages_come_no_earlier_unless_they_were_seen() -> None:
    """A forecast gives way to what was counted before it; a sighting does not."""
    stages = [stage("R1", 7, 7, 7), stage("R2", 12, 12, 17), stage("R3", 12, 13, 14, "seen")]
    counts = silked(DayRange(earliest=day(13), latest=day(16)), day(15))
    _, blister, milk = with_counted_silking(stages, counts, TODAY)
    assert (blister.earliest, blister.date, blister.latest) == (day(13), day(15), day(17))
    assert milk == stages[2]
    late = with_counted_silking(stages, counts, day(14))
    assert [one.passed for one in late] == [False, False, True]


def test_without_counts_or_without_a_stage_nothing_changes() -> None:
    """Heat alone dates R1; counts alone date no stage, since none ahead is known."""
    stages = (stage("R1", 7, 7, 7),)
    assert with_counted_silking(stages, None, TODAY) == stages
    counts = silked(DayRange(earliest=TODAY - timedelta(3), latest=TODAY))
    assert with_counted_silking((), counts, TODAY) == ()
