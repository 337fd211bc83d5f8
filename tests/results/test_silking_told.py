"""What the season hands on of silking: the days around it, the figures named, the short line."""

from dataclasses import replace
from datetime import date

import pytest
from report import factory

from fieldbook.agronomy.ranges import DayRange
from fieldbook.export.as_text import results_lines
from fieldbook.results.pollination import days_around
from fieldbook.results.used_figures import used_figures
from fieldbook.units import System


def keys(**more: object) -> tuple[str, ...]:
    """Return the figures of a field where only some parts are shown."""
    made = {
        "counted": None,
        "heat": False,
        "ahead": False,
        "by_maturity": False,
        "by_milk_line": False,
        "by_days": False,
        "pollination": None,
        "gaps": None,
        "outlook": factory.NO_OUTLOOK,
        **more,
    }
    return used_figures(**made)  # type: ignore[arg-type]


def test_the_days_around_silking_run_from_before_it_to_the_last_losses():
    """Ten days before, and past four weeks of losses after the last silks."""
    silked = DayRange(earliest=date(2026, 7, 12), latest=date(2026, 7, 17))
    days = days_around(silked, factory.weather(date(2026, 6, 1), 120))
    assert (days[0].day, days[-1].day) == (date(2026, 7, 2), date(2026, 8, 26))
    assert days_around(DayRange(latest=date(2026, 7, 17)), factory.weather()) == ()
    assert days_around(None, factory.weather()) == ()


def test_only_the_figures_of_shown_parts_are_named():
    """Nothing shown rests on nothing; each part brings its own."""
    assert keys() == ()
    told = keys(pollination=factory.pollination())
    assert "silk.plant_spread_days" in told
    assert "shake.main_days" in told
    assert "shake.least_ears" not in told
    few = factory.pollination(shaken=factory.shaken(stops=1, ears=2))
    assert "shake.least_ears" in keys(pollination=few)
    assert keys(gaps=factory.missing(factory.SILKED)) == ()
    dated = keys(gaps=factory.missing(factory.SILKED, base_blank=10, kernels_set=26))
    assert {"silk.receptive_days", "weather.hot_day_f"} <= set(dated)
    aborted = keys(gaps=factory.missing(factory.SILKED, tip_aborted=12, kernels_set=26))
    assert "silk.abortion_days" in aborted
    assert {"frost.killing_f", "gibberella.mean_f"} <= set(keys(outlook=factory.OUTLOOK))


def test_the_short_line_tells_of_silks_until_there_is_a_yield():
    """Before the count: when half silked, and how many silks had let go."""
    (line,) = results_lines([factory.only_pollinated()], System.US, "en")
    assert "not counted yet; half silked about Tue 14 July; 91 % of silks let go" in line
    (line,) = results_lines([factory.full()], System.US, "en")
    assert "silked" not in line


@pytest.mark.parametrize(
    ("count", "words"), [(0, None), (1, "; one open question"), (3, "; 3 open questions")]
)
def test_the_short_line_counts_what_is_asked(count: int, words: str | None):
    """One question is one."""
    asked = factory.full().questions * count
    (line,) = results_lines([factory.full(questions=asked)], System.US, "en")
    assert line.endswith(words) if words else "question" not in line


@pytest.mark.parametrize(
    ("within", "words"),
    [
        (
            DayRange(earliest=date(2026, 7, 12), latest=date(2026, 7, 19)),
            "half silked by Sun 19 July",
        ),
        (DayRange(earliest=None, latest=date(2026, 7, 19)), "half silked by Sun 19 July"),
        (DayRange(earliest=date(2026, 7, 12), latest=None), None),
    ],
)
def test_the_short_line_says_by_when_half_had_silked(within: DayRange, words: str | None):
    """Without a day its latest one is told; an open end is no date."""
    found = factory.pollination(shaken=None)
    assert found.silking is not None
    found = replace(found, silking=replace(found.silking, day=None, within=within))
    field = replace(factory.only_pollinated(), pollination=found)
    (line,) = results_lines([field], System.US, "en")
    assert words in line if words else "silked" not in line


def test_the_short_line_without_a_look_tells_no_silks():
    """Nobody looked, so only what lies ahead is told."""
    (line,) = results_lines([factory.no_visit()], System.US, "en")
    assert "not counted yet; R5" in line
