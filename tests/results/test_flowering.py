"""What visits saw of silks, tassels, shaken ears and gaps becomes results, visit by visit."""

import json
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from seasons import book_plan, good_visit, write_filled

from fieldbook.export.as_json import results_json
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, ROADSIDE, Round
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.workbook.plan import EntryKey, EntryValue

AS_OF = date(2026, 9, 1)
Entries = dict[EntryKey, EntryValue]


def visit(day: date, stage: str, **at_each_stop: EntryValue) -> Entries:
    """Fill a pollination visit of field A1 whose stops all read alike."""
    entries: Entries = {
        ("fields", ("A1",), "visit_date"): day,
        ("fields", ("A1",), "stage"): stage,
    }
    for stop in range(1, 5):
        for name, value in at_each_stop.items():
            entries["stops", ("A1", stop), name] = value
    return entries


def shaken(base: float, middle: float, tip: float) -> Entries:
    """Shake the five ears of every stop, all alike."""
    thirds = {"fallen_base_pct": base, "fallen_middle_pct": middle, "fallen_tip_pct": tip}
    return {
        ("ears", ("A1", stop, ear), name): value
        for stop in range(1, 5)
        for ear in range(1, 6)
        for name, value in thirds.items()
    }


def take(
    season: Season, folder: Path, entries: Entries, round_: Round, *, full: bool = False
) -> None:
    """Write, fill and take in one book."""
    book = write_filled(
        folder / f"{round_.name}-{len(list(folder.iterdir()))}.xlsx",
        season,
        entries,
        round_=round_,
        full=full,
    )
    (taken,) = take_in(season, [book], now=datetime(2026, 9, 1, 18, tzinfo=UTC))
    assert taken.accepted, taken.problems


def found(season: Season) -> FieldResult:
    """Work out field A1."""
    return season_results(season, as_of=AS_OF).fields[0]


def test_one_look_gives_a_range_and_two_a_day(season: Season, tmp_path: Path) -> None:
    """A second look can only narrow the days on which half of the plants silked."""
    take(season, tmp_path, visit(date(2026, 7, 12), "VT", silked=5), POLLINATION)
    flowered = found(season).pollination
    assert flowered is not None
    one = flowered.silking
    assert one is not None
    assert one.day is None
    take(season, tmp_path, visit(date(2026, 7, 16), "R1", silked=15), POLLINATION)
    flowered = found(season).pollination
    assert flowered is not None
    two = flowered.silking
    assert two is not None
    assert two.day == date(2026, 7, 14)
    assert one.within.earliest <= two.within.earliest <= two.within.latest <= one.within.latest  # type: ignore[operator]
    assert [count.of for count in flowered.silk_counts] == [80, 80]


def test_a_falling_share_is_told_and_not_averaged(season: Season, tmp_path: Path) -> None:
    """Fewer silks at the later look cannot be: both are shown, and there is no day."""
    take(season, tmp_path, visit(date(2026, 7, 12), "R1", silked=16), POLLINATION)
    take(season, tmp_path, visit(date(2026, 7, 16), "R1", silked=9), POLLINATION)
    flowered = found(season).pollination
    assert flowered is not None
    assert flowered.silking is not None
    assert flowered.silking.day is None
    assert [conflict.kind for conflict in flowered.silking.conflicts] == ["falling"]


def test_a_look_from_the_road_counts_too(season: Season, tmp_path: Path) -> None:
    """Twenty plants seen from the edge bound the silking date like any other count."""
    entries = visit(date(2026, 7, 14), "R1")
    entries["fields", ("A1",), "silked"] = 10
    take(season, tmp_path, entries, ROADSIDE)
    flowered = found(season).pollination
    assert flowered is not None
    assert flowered.silking is not None
    assert flowered.silking.within.holds(date(2026, 7, 14))


def test_shaken_ears_are_weighed_by_thirds(season: Season, tmp_path: Path) -> None:
    """Thirds without counted rings weigh alike; the reading is timed by the silking date."""
    entries = visit(date(2026, 7, 21), "R1", silked=20) | shaken(100, 80, 30)
    take(season, tmp_path, visit(date(2026, 7, 12), "R1", silked=10), POLLINATION)
    take(season, tmp_path, entries, POLLINATION)
    flowered = found(season).pollination
    assert flowered is not None
    assert flowered.shaken is not None
    assert flowered.shaken.ears.mean.mean == pytest.approx(70.0)
    assert (flowered.shaken.ears.ears, flowered.shaken.ears.stops) == (20, 4)
    assert flowered.shaken.time is not None
    assert flowered.shaken.time.kind == "main"


def test_beetles_are_held_against_the_published_line(season: Season, tmp_path: Path) -> None:
    """Short silks, half pollinated, four Japanese beetles an ear: every condition holds."""
    clipped = visit(
        date(2026, 7, 18),
        "R1",
        silked=20,
        silk_length_in=0.3,
        beetles=4,
        beetles_on="japanese-ear",
    )
    take(season, tmp_path, clipped | shaken(40, 20, 0), POLLINATION)
    flowered = found(season).pollination
    assert flowered is not None
    lines = {line.name: line for line in flowered.clipping}
    assert lines["purdue-japanese"].reached is True


def base_gaps(stops: int = 5) -> Entries:
    """Count ears whose lowest nine places are bare."""
    entries = good_visit("A1", stops=stops, pulled=5)
    for stop in range(1, stops + 1):
        for ear in range(1, 6):
            key = ("A1", stop, ear)
            entries.pop(("ears", key, "no_other_gaps"))
            entries["ears", key, "base_blank"] = 9
            entries["ears", key, "inside_blank"] = 0
    return entries


def test_a_gap_is_dated_from_the_silks_that_were_seen(season: Season, tmp_path: Path) -> None:
    """Bare butts stand out, cost bushels at the most, and point to days after first silk."""
    take(season, tmp_path, visit(date(2026, 7, 14), "R1", silked=10), POLLINATION)
    take(season, tmp_path, base_gaps(), KERNEL_COUNT, full=True)
    result = found(season)
    assert result.gaps is not None
    assert result.gaps.standing_out == ("base",)
    assert result.gaps.found.field["base"].rings == pytest.approx(9)
    assert result.gaps.found.bu_ac is not None
    assert result.gaps.found.bu_ac > 20
    assert {gap.reading.reading for gap in result.gaps.dated} == {"pollen-late", "early-silks-lost"}
    assert all(gap.weather is None for gap in result.gaps.dated)  # no weather is on file


def test_without_a_silking_date_nothing_is_dated(season: Season, tmp_path: Path) -> None:
    """No silks seen and no weather: the gap is shown, its days are not guessed."""
    entries = base_gaps()
    del entries["fields", ("A1",), "stage"]
    take(season, tmp_path, entries, KERNEL_COUNT, full=True)
    gaps = found(season).gaps
    assert gaps is not None
    assert gaps.standing_out == ("base",)
    assert gaps.dated == ()


def test_a_second_visit_comes_back_to_the_same_places(season: Season, tmp_path: Path) -> None:
    """Stops of a round lie where they lay at the first visit, so their readings can be held."""
    first = book_plan(season, round_=POLLINATION).visits[0]
    take(season, tmp_path, visit(date(2026, 7, 12), "R1", silked=10), POLLINATION)
    second = book_plan(season, round_=POLLINATION).visits[0]
    assert first.slip.visit_id != second.slip.visit_id
    assert [stop.go_to for stop in first.stops] == [stop.go_to for stop in second.stops]


def test_json_carries_every_part_and_no_endless_number(season: Season, tmp_path: Path) -> None:
    """An open end of a range is null, never a word that JSON does not know."""
    take(
        season, tmp_path, visit(date(2026, 7, 12), "R1", silked=20, tassel="finished"), POLLINATION
    )
    text = results_json([found(season)], as_of=AS_OF, language="en")
    (field,) = json.loads(text, parse_constant=pytest.fail)["fields"]
    assert field["pollination"]["shed"]["half"]["earliest"] is None
    assert field["outlook"]["dry_to_pct"] == 20
    assert field["gaps"] is None


def test_what_visits_saw_stands_beside_the_gaps(season: Season, tmp_path: Path) -> None:
    """Tassels shut after silking turn a tip never set from pollen that ended to a later loss."""
    unset = {
        ("ears", ("A1", stop, ear), name): value
        for stop in range(1, 6)
        for ear in range(1, 6)
        for name, value in {
            "base_blank": 0, "kernels_set": 14 + 4 * ear, "inside_blank": 0,
            "tip_unset": 26 - 4 * ear, "tip_aborted": 0,
        }.items()
    }  # fmt: skip
    take(season, tmp_path, visit(date(2026, 7, 12), "VT", silked=5), POLLINATION)
    take(season, tmp_path, visit(date(2026, 7, 15), "R1", silked=14), POLLINATION)
    take(season, tmp_path, good_visit("A1", pulled=5) | unset, KERNEL_COUNT, full=True)
    before = found(season).gaps
    assert before is not None
    assert before.causes == {"tip-unset": "pollen-ended"}
    assert before.signs == ()
    take(season, tmp_path, visit(date(2026, 7, 19), "R1", tassel="not-yet"), POLLINATION)
    after = found(season).gaps
    assert after is not None
    assert after.causes == {"tip-unset": "lost-after-set"}
    assert [(one.seen, one.day, one.fits) for one in after.signs] == [
        ("not-yet-shedding", date(2026, 7, 19), False)
    ]
    raw = json.loads(results_json([found(season)], as_of=AS_OF, language="en"))["fields"][0]["gaps"]
    assert raw["saw"]["not_yet"] == "2026-07-19"
    assert raw["signs"][0]["seen"] == "not-yet-shedding"
