"""Dates of stages: heat so far, past years, stages seen, and what happens without them."""

import datetime
from datetime import date, timedelta
from itertools import pairwise
from math import ceil

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from fieldbook.agronomy.forecast import StageDate, forecast
from fieldbook.agronomy.heat import DailyTemps
from fieldbook.agronomy.stages import R_STAGES, Needs, fill_fraction, milk_line_fractions
from fieldbook.figures import shipped_figures

PLANTED = date(2025, 5, 1)
# At 20 units a day: silking on day 70 and black layer on day 130 after planting.
NEEDS = Needs(silk_f=1400, black_layer_f=2600)


def steady(year: int, heat: float = 20.0, until: date | None = None) -> DailyTemps:
    """Return the same heat every day from 1 January on."""
    days = ((until or date(year, 12, 31)) - date(year, 1, 1)).days + 1
    return DailyTemps(
        first=date(year, 1, 1), tmax_f=np.full(days, 50 + heat), tmin_f=np.full(days, 50 + heat)
    )


def mild(year: int, warmer: float = 0) -> DailyTemps:
    """Return a year with a winter, whole degrees warmer or cooler than usual."""
    days = date(year, 12, 31).timetuple().tm_yday
    mean = 51 - 24 * np.cos(2 * np.pi * (np.arange(days) - 20) / 365) + warmer
    return DailyTemps(first=date(year, 1, 1), tmax_f=mean + 11, tmin_f=mean - 11)


def until(temps: DailyTemps, last: date) -> DailyTemps:
    """Cut weather after a day."""
    days = (last - temps.first).days + 1
    return DailyTemps(first=temps.first, tmax_f=temps.tmax_f[:days], tmin_f=temps.tmin_f[:days])


def after(days: int) -> date:
    """Return a day so many days after planting."""
    return PLANTED + timedelta(days=days)


def by_stage(stages: tuple[StageDate, ...]) -> dict[str, StageDate]:
    """Key dated stages by their names."""
    return {one.stage: one for one in stages}


PAST = {
    year: mild(year, warmer) for year, warmer in zip(range(2013, 2025), range(-6, 6), strict=True)
}


def test_steady_heat_dates_every_stage() -> None:
    """With the same heat every day, each stage falls where arithmetic puts it."""
    found = forecast(
        planted=PLANTED,
        needs=NEEDS,
        as_of=after(40),
        own=steady(2025, until=after(40)),
        years={year: steady(year) for year in range(2015, 2025)},
    )
    # Fill is 1200 units, 60 days: fifths and thirds of it.
    assert [one.date for one in found] == [after(day) for day in (70, 82, 90, 100, 118, 130)]
    assert all(one.earliest == one.date == one.latest for one in found)
    assert all(one.basis.kind == "heat units" and one.years == 10 for one in found)


def test_a_stage_seen_after_the_last_weather_dates_what_was_passed_and_what_comes() -> None:
    """Weather ended on day 60 and dough was seen on day 100: how warm that day was is not known."""
    seen = by_stage(
        forecast(
            planted=PLANTED,
            needs=NEEDS,
            as_of=after(105),
            own=steady(2025, until=after(60)),
            seen=[(after(100), "R4")],
        )
    )
    assert {one.basis.kind for stage, one in seen.items() if stage <= "R4"} == {"seen"}
    assert {seen[stage].basis.kind for stage in ("R5", "R6")} == {"days after silking"}
    assert all(one.latest == after(100) for stage, one in seen.items() if stage <= "R4")
    assert after(100) < seen["R5"].earliest < seen["R6"].earliest


def test_counting_starts_the_day_after_planting() -> None:
    """The heat of the planting day itself moves nothing."""
    weather = steady(2025, until=after(75))
    hot = weather.tmax_f.copy()
    hot[(PLANTED - weather.first).days] = 140
    weather = DailyTemps(first=weather.first, tmax_f=hot, tmin_f=weather.tmin_f)
    found = forecast(planted=PLANTED, needs=NEEDS, as_of=after(75), own=weather)
    assert found[0].date == after(70)


def test_late_planting_hastens() -> None:
    """Planted May 31, silking takes 48 units less and grain fill 156 less."""
    planted = date(2025, 5, 31)
    own = steady(2025, until=date(2025, 12, 1))
    found = by_stage(forecast(planted=planted, needs=NEEDS, as_of=date(2025, 12, 1), own=own))
    assert found["R1"].date == planted + timedelta(days=68)  # 1352 / 20 = 67.6
    assert found["R6"].date == planted + timedelta(days=120)  # 2396 / 20 = 119.8


def test_passed_stages_are_the_same_in_every_run() -> None:
    """What the season's own weather has settled has one date and no past year behind it."""
    own = until(mild(2025), date(2025, 8, 20))
    found = by_stage(
        forecast(planted=PLANTED, needs=NEEDS, as_of=date(2025, 8, 20), own=own, years=PAST)
    )
    silk, ripe = found["R1"], found["R6"]
    assert silk.earliest == silk.date == silk.latest
    assert silk.years == 0
    assert ripe.earliest is not None
    assert ripe.latest is not None
    assert ripe.earliest < ripe.latest
    assert ripe.years == 12


def test_spread_is_that_of_the_runs() -> None:
    """Median, 10th and 90th percentile are numpy's over runs worked out one by one."""
    own = until(mild(2025), date(2025, 7, 1))
    as_of = date(2025, 7, 1)
    found = by_stage(forecast(planted=PLANTED, needs=NEEDS, as_of=as_of, own=own, years=PAST))
    singles = [
        by_stage(forecast(planted=PLANTED, needs=NEEDS, as_of=as_of, own=own, years={y: t}))
        for y, t in PAST.items()
    ]
    for stage in ("R1", "R5"):
        days = [one[stage].date.toordinal() for one in singles if one[stage].date]
        expected = [date.fromordinal(int(d + 0.5)) for d in np.percentile(days, [10, 50, 90])]
        one = found[stage]
        assert [one.earliest, one.date, one.latest] == expected


def test_few_years_give_their_whole_range() -> None:
    """Under five past years the first and last run are given, and how many there were."""
    own = until(mild(2025), date(2025, 7, 1))
    years = {2020: mild(2020, -6), 2021: mild(2021), 2022: mild(2022, 6)}

    def run(some: dict[int, DailyTemps]) -> StageDate:
        return forecast(planted=PLANTED, needs=NEEDS, as_of=date(2025, 7, 1), own=own, years=some)[
            4
        ]

    cool, usual, warm = (run({year: temps}).date for year, temps in years.items())
    found = run(years)
    assert (found.earliest, found.date, found.latest) == (warm, usual, cool)
    assert found.years == 3


def test_own_year_is_no_past_year() -> None:
    """The season's own year among the past ones is left out."""
    own = until(mild(2025), date(2025, 7, 1))
    found = forecast(
        planted=PLANTED,
        needs=NEEDS,
        as_of=date(2025, 7, 1),
        own=own,
        years={**PAST, 2025: steady(2025, 36)},
    )
    assert found == forecast(
        planted=PLANTED, needs=NEEDS, as_of=date(2025, 7, 1), own=own, years=PAST
    )


def test_weather_after_the_day_of_the_forecast_is_not_looked_at() -> None:
    """A forecast for a past day is the one that would have been made then."""
    day = date(2025, 7, 1)
    seen = [(date(2025, 7, 20), "R1")]
    then = forecast(planted=PLANTED, needs=NEEDS, as_of=day, own=until(mild(2025), day), years=PAST)
    now = forecast(planted=PLANTED, needs=NEEDS, as_of=day, own=mild(2025), years=PAST, seen=seen)
    assert now == then


def test_past_years_take_over_after_the_last_day() -> None:
    """Weather that ends before the forecast day is carried on by past years from there."""
    own = until(mild(2025), date(2025, 6, 20))
    as_of = date(2025, 7, 10)
    found = forecast(planted=PLANTED, needs=NEEDS, as_of=as_of, own=own, years=PAST)
    same = forecast(planted=PLANTED, needs=NEEDS, as_of=date(2025, 6, 20), own=own, years=PAST)
    assert found == same


@pytest.mark.parametrize(("season", "past"), [(2024, 2023), (2025, 2024), (2024, 2020)])
def test_leap_days_keep_the_calendar(season: int, past: int) -> None:
    """Days are matched by month and day, with or without 29 February on either side."""
    planted = date(season, 1, 10)
    days = date(past, 12, 31).timetuple().tm_yday
    highs = np.full(days, 50.0)
    highs[date(past, 3, 1).timetuple().tm_yday - 1] = 90  # all the heat comes on 1 March
    temps = DailyTemps(first=date(past, 1, 1), tmax_f=highs, tmin_f=np.full(days, 50.0))
    found = forecast(
        planted=planted,
        needs=Needs(silk_f=10, black_layer_f=15),
        as_of=planted,
        years={past: temps},
    )
    assert {one.date for one in found} == {date(season, 3, 1)}


def test_leap_day_of_the_season_is_taken_from_the_28th() -> None:
    """A past year without 29 February gives its 28th for it."""
    days = 365
    highs = np.full(days, 50.0)
    highs[58] = 70  # 10 units on 28 February
    temps = DailyTemps(first=date(2023, 1, 1), tmax_f=highs, tmin_f=np.full(days, 50.0))
    found = forecast(
        planted=date(2024, 1, 10),
        needs=Needs(silk_f=10, black_layer_f=20),
        as_of=date(2024, 1, 10),
        years={2023: temps},
    )
    assert found[0].date == date(2024, 2, 28)
    assert found[-1].date == date(2024, 2, 29)


def test_past_years_must_be_whole() -> None:
    """A past year that ends early is refused rather than read as a cold autumn."""
    with pytest.raises(ValueError, match="2020 is not whole"):
        forecast(
            planted=PLANTED,
            needs=NEEDS,
            as_of=PLANTED,
            years={2020: steady(2020, until=date(2020, 10, 1))},
        )


def test_own_weather_must_reach_back_to_planting() -> None:
    """Weather that starts after planting is refused."""
    own = DailyTemps(first=after(3), tmax_f=np.full(9, 80.0), tmin_f=np.full(9, 60.0))
    with pytest.raises(ValueError, match="after planting"):
        forecast(planted=PLANTED, needs=NEEDS, as_of=after(11), own=own)


def test_a_year_that_never_ripens_is_later_than_any_date() -> None:
    """Where the 90th percentile falls on runs that never get there, there is no latest date."""
    own = until(mild(2025), date(2025, 8, 1))
    years = {**PAST, 2011: mild(2011, -20), 2012: mild(2012, -22)}
    found = forecast(planted=PLANTED, needs=NEEDS, as_of=date(2025, 8, 1), own=own, years=years)[-1]
    assert found.years_short == 2
    assert found.latest is None
    assert found.earliest is not None
    assert found.date is not None
    assert found.years == 14


def test_most_years_never_ripen() -> None:
    """Where half the runs never get there, not even a middle date is given."""
    own = until(mild(2025), date(2025, 8, 1))
    years = {2010: mild(2010), **{year: mild(year, -22) for year in range(2011, 2016)}}
    found = forecast(planted=PLANTED, needs=NEEDS, as_of=date(2025, 8, 1), own=own, years=years)[-1]
    assert (found.date, found.latest, found.years_short) == (None, None, 5)


def test_without_past_years_only_what_has_passed() -> None:
    """The season's own heat dates what it has reached and nothing ahead."""
    found = forecast(
        planted=PLANTED, needs=NEEDS, as_of=after(85), own=steady(2025, until=after(85))
    )
    assert {one.stage: one.date for one in found} == {"R1": after(70), "R2": after(82)}


def test_nothing_known_dates_nothing() -> None:
    """Without weather and without a stage of grain fill seen there are no dates."""
    assert forecast(planted=PLANTED, needs=NEEDS, as_of=after(60)) == ()
    early = [(after(50), "V"), (after(60), "VT")]
    assert forecast(planted=PLANTED, needs=NEEDS, as_of=after(60), seen=early) == ()


def steady_with(seen: list[tuple[datetime.date, str]], as_of: int = 80) -> dict[str, StageDate]:
    """Forecast at 20 units a day, with stages seen."""
    return by_stage(
        forecast(
            planted=PLANTED,
            needs=NEEDS,
            as_of=after(as_of),
            own=steady(2025, until=after(as_of)),
            years={year: steady(year) for year in range(2015, 2025)},
            seen=seen,
        )
    )


def test_a_stage_seen_that_fits_changes_nothing() -> None:
    """Where the heat already says so, a visit moves no date and is named as the anchor."""
    plain, anchored = steady_with([]), steady_with([(after(75), "R1")])
    assert {s: one.date for s, one in anchored.items()} == {s: one.date for s, one in plain.items()}
    assert anchored["R1"].basis == plain["R1"].basis
    assert (anchored["R3"].basis.anchor_stage, anchored["R3"].basis.anchor_date) == (
        "R1",
        after(75),
    )


def test_a_field_ahead_of_the_heat() -> None:
    """A stage seen before the heat gets there brings everything after it forward."""
    found = steady_with([(after(75), "R3")])
    # On day 75 a third of fill is behind, so the rest takes 800 units.
    assert found["R6"].date == after(75 + 40)
    assert found["R5"].date == after(75 + 28)
    assert found["R6"].basis.anchor_stage == "R3"


def test_a_field_behind_the_heat() -> None:
    """A field seen short of where the heat has it gets to the next stage on the next day."""
    found = steady_with([(after(95), "R1")], as_of=95)
    # Just short of R2 on day 95: four fifths of fill, 960 units, are left.
    assert found["R2"].date == after(96)
    assert found["R6"].date == after(95 + 48)
    assert (found["R2"].basis.kind, found["R2"].basis.anchor_stage) == ("heat units", "R1")


def test_stages_before_the_one_seen_were_reached_by_then() -> None:
    """Where the heat is slow, earlier stages are dated by what visits leave open."""
    found = steady_with([(after(60), "VT"), (after(68), "R2")])
    for stage in ("R1", "R2"):
        one = found[stage]
        assert (one.earliest, one.date, one.latest) == (after(60), after(68), after(68))
        assert one.basis.kind == "seen"
        assert one.years == 0


def test_an_earlier_visit_holds_a_passed_stage_back() -> None:
    """A stage cannot have been reached while a visit still saw the one before."""
    found = steady_with([(after(74), "VT"), (after(79), "R1")])
    silk = found["R1"]
    assert (silk.earliest, silk.date, silk.latest) == (after(74), after(74), after(79))
    assert silk.basis.kind == "seen"


def test_the_latest_of_several_early_visits_holds_back() -> None:
    """Of several visits before a stage, the last one says from when it can have been."""
    found = steady_with([(after(60), "VT"), (after(72), "VT"), (after(79), "R1")])
    assert found["R1"].date == after(72)


def test_anchor_on_the_first_day_of_heat() -> None:
    """A stage seen on the first day that counts has that day's heat behind it."""
    assert steady_with([(after(1), "R1")], as_of=2)["R6"].date == after(61)


def test_five_years_are_enough_for_percentiles() -> None:
    """From five past years on the ends of the range are percentiles, not the outermost runs."""
    own = until(mild(2025), date(2025, 7, 1))
    years = {2015 + shift: mild(2015 + shift, 2 * shift - 4) for shift in range(5)}

    def dent(some: dict[int, DailyTemps]) -> StageDate:
        found = forecast(planted=PLANTED, needs=NEEDS, as_of=date(2025, 7, 1), own=own, years=some)
        return by_stage(found)["R5"]

    outermost = [dent({year: temps}).date for year, temps in years.items()]
    found = dent(years)
    assert found.earliest is not None
    assert found.latest is not None
    assert outermost[-1] is not None
    assert outermost[0] is not None
    assert outermost[-1] < found.earliest < found.latest < outermost[0]


def test_the_last_visit_anchors() -> None:
    """An earlier sighting of a later stage was a mistake and is dropped."""
    assert steady_with([(after(71), "R4"), (after(78), "R1")]) == steady_with([(after(78), "R1")])


def test_order_of_sightings_does_not_matter() -> None:
    """Sightings are taken by their days, in whatever order they come."""
    seen = [(after(60), "VT"), (after(72), "R1"), (after(78), "R2")]
    assert steady_with(seen) == steady_with(seen[::-1])


def test_tassel_only_holds_silking_back() -> None:
    """VT ahead of the heat's silking moves nothing; behind it, silking is not before that day."""
    assert steady_with([(after(60), "VT")]) == steady_with([])
    found = steady_with([(after(80), "VT")])
    assert found["R1"].date == after(80)
    # Grain fill, all 1200 units of it, can only start then.
    assert found["R6"].date == after(140)
    assert found["R6"].basis.anchor_stage == "VT"


def test_anchored_fill_is_not_reduced_again() -> None:
    """Once a stage is seen, what remains is the hybrid's own fill and not the late one."""
    planted = date(2025, 5, 31)
    seen_on = planted + timedelta(days=68)
    own = steady(2025, until=seen_on)
    found = by_stage(
        forecast(
            planted=planted,
            needs=NEEDS,
            as_of=seen_on,
            own=own,
            years={2020: steady(2020)},
            seen=[(seen_on, "R2")],
        )
    )
    assert found["R6"].date == seen_on + timedelta(days=48)  # 0.8 x 1200 / 20


def test_unknown_stage_is_refused() -> None:
    """A stage that nobody defined is not guessed at."""
    with pytest.raises(ValueError, match="R7"):
        steady_with([(after(75), "R7")])


def test_days_after_silking_without_weather() -> None:
    """With silking seen and no weather, stages get the usual days after it.

    R1 on day 75, not yet on day 70: silking fell on days 70 to 75.
    """
    found = by_stage(
        forecast(
            planted=PLANTED,
            needs=NEEDS,
            as_of=after(80),
            seen=[(after(70), "VT"), (after(75), "R1")],
        )
    )
    assert (found["R1"].earliest, found["R1"].date, found["R1"].latest) == (
        after(70),
        after(75),
        after(75),
    )
    ranges = {s: (one.earliest, one.latest) for s, one in found.items() if s != "R1"}
    assert ranges == {
        "R2": (after(80), after(89)),
        "R3": (after(88), after(97)),
        "R4": (after(94), after(103)),
        "R5": (after(105), after(117)),
        "R6": (after(125), after(140)),
    }
    assert {one.basis.kind for s, one in found.items() if s != "R1"} == {"days after silking"}
    assert all(one.date is None for s, one in found.items() if s != "R1")
    anchors = {(one.basis.anchor_stage, one.basis.anchor_date) for one in found.values()}
    assert anchors == {("R1", after(75))}


def test_days_after_silking_from_a_later_stage() -> None:
    """R3 alone, on day 90, puts silking 18 to 27 days before and R6 from there."""
    found = by_stage(
        forecast(planted=PLANTED, needs=NEEDS, as_of=after(90), seen=[(after(90), "R3")])
    )
    assert (found["R1"].earliest, found["R1"].latest) == (after(63), after(72))
    assert (found["R6"].earliest, found["R6"].latest) == (after(118), after(137))


def test_black_layer_seen_without_weather() -> None:
    """R6 seen ends the season: nothing lies ahead of that day."""
    found = forecast(planted=PLANTED, needs=NEEDS, as_of=after(140), seen=[(after(138), "R6")])
    assert [one.stage for one in found] == list(R_STAGES)
    assert all(one.latest and one.latest <= after(138) for one in found)


def test_own_heat_and_days_together() -> None:
    """Without past years, heat dates what has passed and days what lies ahead of a stage seen."""
    found = by_stage(
        forecast(
            planted=PLANTED,
            needs=NEEDS,
            as_of=after(84),
            own=steady(2025, until=after(84)),
            seen=[(after(72), "R1")],
        )
    )
    assert found["R2"].basis.kind == "heat units"
    assert found["R2"].date == after(82)
    assert found["R3"].basis.kind == "days after silking"
    assert found["R3"].earliest is not None
    assert found["R3"].earliest >= after(82)


seen_stages = st.lists(
    st.tuples(st.integers(20, 150).map(after), st.sampled_from(["V", "VT", *R_STAGES])), max_size=4
)


def test_overruled_dates_keep_to_their_neighbours() -> None:
    """A range that visits leave open does not reach past the stage before or after it.

    Heat has silking on day 70 and R2 on day 82; R2 was seen on day 78, with V on day 40.
    """
    found = steady_with([(after(40), "V"), (after(78), "R2")])
    assert (found["R1"].earliest, found["R1"].latest) == (after(70), after(70))
    blister = found["R2"]
    assert (blister.earliest, blister.date, blister.latest) == (after(70), after(78), after(78))


def test_visits_that_do_not_fit_the_usual_days() -> None:
    """R1 on day 75 and R3 two days later fit no usual days: the last visit decides."""
    both = forecast(
        planted=PLANTED,
        needs=NEEDS,
        as_of=after(80),
        seen=[(after(75), "R1"), (after(77), "R3")],
    )
    ripe = by_stage(both)["R6"]
    assert (ripe.earliest, ripe.latest) == (after(105), after(124))


@given(
    seen=seen_stages,
    today=st.integers(-5, 160),
    weather=st.integers(-5, 160),
    years=st.sets(st.sampled_from(sorted(PAST)), max_size=6),
    with_own=st.booleans(),
    late=st.integers(0, 50),
)
@example(
    seen=[(after(20), "V"), (after(101), "R2")],
    today=101,
    weather=0,
    years={2013},
    with_own=False,
    late=0,
)
def test_dates_are_always_in_order(
    seen: list[tuple[datetime.date, str]],
    today: int,
    weather: int,
    years: set[int],
    with_own: bool,
    late: int,
) -> None:
    """Whatever is known, stages come in order and each range holds its date."""
    found = forecast(
        planted=after(late),
        needs=NEEDS,
        as_of=after(today),
        own=until(mild(2025), after(weather)) if with_own else None,
        years={year: PAST[year] for year in years},
        seen=seen,
    )
    for one in found:
        known = [day for day in (one.earliest, one.date, one.latest) if day]
        assert known == sorted(known)
    for earlier, later in pairwise(found):
        for name in ("earliest", "date", "latest"):
            a, b = getattr(earlier, name), getattr(later, name)
            assert a is None or b is None or a <= b


def test_season_sets_the_percentiles() -> None:
    """A season may ask for a wider spread of the past years."""
    own = until(mild(2025), date(2025, 7, 1))

    def ripe(settings: dict[str, tuple[float, ...]]) -> StageDate:
        return forecast(
            planted=PLANTED,
            needs=NEEDS,
            as_of=date(2025, 7, 1),
            own=own,
            years=PAST,
            figures=shipped_figures().changed(settings),
        )[4]

    usual, whole = ripe({}), ripe({"forecast.percentiles": (0, 100)})
    assert usual.earliest is not None
    assert whole.earliest is not None
    assert usual.latest is not None
    assert whole.latest is not None
    assert whole.earliest < usual.earliest
    assert usual.latest < whole.latest


# ---- the milk line ------------------------------------------------------------------------------


def ripe_after(line: float | None, *, on: int = 118, late: int = 0) -> date | None:
    """Date black layer under steady heat, with dent seen on a day and its milk line read or not."""
    found = forecast(
        planted=PLANTED,
        needs=NEEDS,
        as_of=after(on + late),
        own=steady(2025, until=after(on + late)),
        years={year: steady(year) for year in range(2015, 2025)},
        seen=[(after(on), "R5")],
        milk_lines={} if line is None else {after(on): line},
    )
    return by_stage(found)["R6"].date


def test_milk_line_says_how_much_of_dent_is_over() -> None:
    """On the first day of dent by heat, a line further down brings black layer nearer.

    From dent to black layer are 12 days here. Half a quarter short of three quarters is 14 of the
    29.5 days that the published steps add up to, so 6.3 days are left; without a line all 12 are.
    """
    assert ripe_after(None) == ripe_after(0.0) == after(130)
    assert [ripe_after(line) for line in (0.25, 0.5, 0.75, 1.0)] == [
        after(118 + ceil(12 * (1 - passed / 29.5))) for passed in (1.5, 6, 14, 24.25)
    ]


def test_a_line_that_lags_behind_the_heat_moves_black_layer_back() -> None:
    """Nearly all of dent is over by heat, yet the line has not left the crown."""
    assert ripe_after(None, on=128) == after(130)
    later = ripe_after(0.0, on=128)
    assert later is not None
    assert later == after(128 + ceil(12 * (1 - 1.5 / 29.5)))


def test_a_milk_line_of_another_day_or_stage_changes_nothing() -> None:
    """Only the line read with the last sighting, and only at dent, is looked at."""
    usual = {
        "planted": PLANTED,
        "needs": NEEDS,
        "as_of": after(125),
        "own": steady(2025, until=after(125)),
        "years": {year: steady(year) for year in range(2015, 2025)},
    }
    dent = [(after(118), "R5")]
    assert forecast(**usual, seen=dent, milk_lines={after(120): 0.75}) == forecast(
        **usual, seen=dent
    )
    dough = [(after(110), "R4")]
    assert forecast(**usual, seen=dough, milk_lines={after(110): 0.75}) == forecast(
        **usual, seen=dough
    )


@given(st.floats(0, 1), st.floats(0, 1))
def test_milk_line_shares_rise_within_dent(one: float, other: float) -> None:
    """Every line lies between dent and black layer, and a lower line is never further on."""
    for line in (one, other):
        first, last = milk_line_fractions(line)
        assert fill_fraction("R5") - 1e-9 <= first < last <= 1 + 1e-9
    low, high = sorted((one, other))
    assert milk_line_fractions(low)[0] <= milk_line_fractions(high)[0] + 1e-9


def test_milk_line_beyond_the_kernel_is_refused() -> None:
    """It lies from the crown to the tip."""
    for line in (-0.1, 1.1, float("nan")):
        with pytest.raises(ValueError, match="milk line"):
            milk_line_fractions(line)
