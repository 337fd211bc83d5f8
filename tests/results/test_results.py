"""From readings to a field's figures."""

from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from seasons import NOW, ROWS, good_visit, small_season, write_filled

from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.workbook.plan import EntryKey, EntryValue


def result_of(
    season: Season, tmp_path: Path, entries: dict[EntryKey, EntryValue], *, full: bool = False
) -> FieldResult:
    """Take one filled book in and return field A1's results."""
    path = write_filled(tmp_path / "book.xlsx", season, entries, full=full)
    assert all(taken.accepted for taken in take_in(season, [path], now=NOW))
    return season_results(season, as_of=NOW.date()).fields[0]


def test_yield_by_hand(season: Season, tmp_path: Path) -> None:
    """Five stops of 29 to 33 ears, 16 rows of 35 to 39 kernels, 87.5 thousand kernels a bushel.

    Worked by hand: 29 x 16 x 35 / 87.5 = 185.6, and so on; the mean is taken over stops.
    """
    found = result_of(season, tmp_path, good_visit("A1")).yield_
    assert found is not None
    by_hand = [(28 + s) * 16 * (34 + s) / 87.5 for s in range(1, 6)]
    assert found.likely_bu_ac == pytest.approx(sum(by_hand) / 5)
    assert found.low_bu_ac == pytest.approx(found.likely_bu_ac * 87.5 / 100)
    assert found.high_bu_ac == pytest.approx(found.likely_bu_ac * 87.5 / 77.5)
    assert (found.stops_used, found.stops_left_out) == (5, 0)
    low, high = found.range_bu_ac
    assert low < found.low_bu_ac < found.likely_bu_ac < found.high_bu_ac < high


def test_end_rows_stay_out_of_the_figure(season: Season, tmp_path: Path) -> None:
    """A stop on end rows is kept and shown, and changes nothing in the field's figure."""
    entries = good_visit("A1")
    entries["stops", ("A1", 5), "place"] = "end-rows"
    found = result_of(season, tmp_path, entries)
    assert found.yield_ is not None
    by_hand = [(28 + s) * 16 * (34 + s) / 87.5 for s in range(1, 5)]
    assert found.yield_.likely_bu_ac == pytest.approx(sum(by_hand) / 4)
    assert found.stops[4].left_out == "end-rows"
    assert found.stops[4].yield_bu_ac is not None


def test_fewer_stops_than_usual_are_told(season: Season, tmp_path: Path) -> None:
    """Five stops on 80 acres are under the usual advice; the note says how many are wanted."""
    found = result_of(season, tmp_path, good_visit("A1"))
    notes = {note.code: dict(note.params) for note in found.notes}
    assert notes["few-stops"]["stops"] == 5
    assert str(notes["few-stops"]["area"]) == "80 ac"
    assert int(notes["few-stops"]["wanted"]) > 5


def test_two_stops_give_no_interval(season: Season, tmp_path: Path) -> None:
    """Under three stops the mean stands, and no sampling interval is given."""
    found = result_of(season, tmp_path, good_visit("A1", stops=2)).yield_
    assert found is not None
    assert found.interval_95_bu_ac is None
    assert found.counting_half_width_bu_ac is None


def test_another_length_is_scaled(season: Season, tmp_path: Path) -> None:
    """30 ears on twice the length count as 15 on one thousandth of an acre."""
    entries = good_visit("A1", stops=1)
    entries["stops", ("A1", 1), "ears"] = 30
    entries["stops", ("A1", 1), "length_ft"] = 2 * 17.424
    found = result_of(season, tmp_path, entries)
    assert found.stops[0].ears_per_ac == pytest.approx(15_000)


def test_a_tick_makes_empty_gaps_zero_and_no_tick_leaves_them_unknown(
    season: Season, tmp_path: Path
) -> None:
    """Kernel set needs every part: with "No other gaps" the rest is none, without it unknown."""
    entries = good_visit("A1", stops=1)
    del entries["ears", ("A1", 1, 3), "no_other_gaps"]
    ears = result_of(season, tmp_path, entries).ears
    assert ears is not None
    assert (ears.ears, ears.complete_ears) == (3, 2)
    assert ears.kernel_set_pct == pytest.approx(100 * (34 / 37 + 35 / 38) / 2)
    assert (ears.loss.base_rings, ears.loss.base_ears) == (0, 2)
    assert (ears.loss.tip_unset_rings, ears.loss.tip_unset_ears) == (2, 3)


def test_a_bare_cob_counts_for_set_but_not_among_harvestable_ears(
    season: Season, tmp_path: Path
) -> None:
    """It is told as a bare cob, and the mean of kernels is taken over the other ears."""
    entries = good_visit("A1", stops=1)
    for name in ("rows_around", "kernels_set", "tip_unset", "tip_aborted", "no_other_gaps"):
        del entries["ears", ("A1", 1, 2), name]
    entries["ears", ("A1", 1, 2), "bare_cob"] = "yes"
    ears = result_of(season, tmp_path, entries, full=True).ears
    assert ears is not None
    assert ears.bare_cobs == 1
    assert ears.kernels_per_ear == pytest.approx(16 * 35)


def test_opposite_rows_are_averaged_and_lost_rows_taken_off(season: Season, tmp_path: Path) -> None:
    """(16 - 2) rows of (35 + 25) / 2 kernels."""
    entries = good_visit("A1", stops=1, pulled=1)
    entries["ears", ("A1", 1, 1), "lost_rows"] = 2
    entries["ears", ("A1", 1, 1), "opposite_set"] = 25
    ears = result_of(season, tmp_path, entries, full=True).ears
    assert ears is not None
    assert ears.kernels_per_ear == pytest.approx(14 * 30)


def test_readings_in_doubt_are_not_used(season: Season, tmp_path: Path) -> None:
    """An odd row count takes that ear out of the mean, and the question stands open."""
    entries = good_visit("A1", stops=1)
    entries["ears", ("A1", 1, 1), "rows_around"] = 15
    found = result_of(season, tmp_path, entries)
    assert [p.code for p in found.questions] == ["rows-odd"]
    assert found.stops[0].ears_used == 2


def test_later_visits_are_not_seen_before_their_day(season: Season, tmp_path: Path) -> None:
    """`as_of` is the day that the results speak of; later questions are not asked yet either."""
    entries = good_visit("A1")
    entries["ears", ("A1", 1, 1), "rows_around"] = 15
    assert result_of(season, tmp_path, entries).questions
    early = season_results(season, as_of=date(2026, 8, 1)).fields[0]
    assert early.visits == ()
    assert early.yield_ is None
    assert early.questions == ()


def write_weather(season: Season, *, years: range, through: date, warmer: int = 0) -> None:
    """Write steady weather: 80/60 degF every day, 20 heat units."""
    lines = ["date,tmax_f,tmin_f,rain_in"]
    for year in years:
        day = date(year, 1, 1)
        last = min(date(year, 12, 31), through)
        while day <= last:
            lines.append(f"{day},{80 + warmer},{60},0")
            day += timedelta(days=1)
    (season.folder.weather / "home.csv").write_text("\n".join(lines))


def test_stages_from_steady_heat(season: Season, tmp_path: Path) -> None:
    """At 20 units a day a hybrid of 1330 units silks on the 67th day after planting.

    1330 / 20 = 66.5, so the need is met on day 67: 28 April + 67 days = 4 July.
    """
    write_weather(season, years=range(2019, 2027), through=date(2026, 7, 20))
    found = season_results(season, as_of=date(2026, 7, 20)).fields[0]
    assert found.heat is not None
    assert found.heat.gdd_since_planting_f == pytest.approx(20 * 83)
    silk, *_, ripe = found.stages
    assert (silk.stage, silk.date, silk.passed) == ("R1", date(2026, 7, 4), True)
    assert ripe.date == date(2026, 4, 28) + timedelta(days=130)
    assert (ripe.earliest, ripe.latest) == (ripe.date, ripe.date)
    assert ripe.years == 7


def test_only_grain_is_told_when_it_is_dry(season: Season) -> None:
    """The same field with the same weather: for silage there is no day of dry grain."""
    write_weather(season, years=range(2019, 2027), through=date(2026, 8, 20))
    own = season.roster.fields
    silage = {**own, "A1": replace(own["A1"], use="silage")}
    other = replace(season, roster=replace(season.roster, fields=silage))
    grain, cut = (season_results(one, as_of=date(2026, 8, 20)).fields[0] for one in (season, other))
    assert grain.outlook.dry is not None
    assert cut.outlook.dry is None
    assert cut.stages == grain.stages


def test_no_weather_gives_no_dates_by_heat(season: Season) -> None:
    """Without a weather file nothing is made up."""
    found = season_results(season, as_of=date(2026, 7, 20)).fields[0]
    assert found.heat is None
    assert found.stages == ()


def test_two_hybrids_on_one_field_are_told(tmp_path: Path) -> None:
    """Acres add up; the dates are those of the larger planting, and the report says so."""
    second = replace(ROWS[0], acres=30, hybrid="Tamsin 104", planted=date(2026, 5, 10))
    season = small_season(tmp_path / "season", rows=(ROWS[0], second, ROWS[1]))
    found = season_results(season, as_of=date(2026, 7, 20)).fields[0]
    assert found.acres == 110
    assert found.forecast_planting.hybrid == "Larkspur 108"
    assert "dates-of-one-planting" in [note.code for note in found.notes]
