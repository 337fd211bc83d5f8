"""Checks across readings, visits and fields: what triggers each, and what is near it and true."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from seasons import NOW, ROWS, VISIT_DAY, book_plan, good_visit, small_season

from fieldbook.agronomy.heat import DailyTemps
from fieldbook.check.book import check_book
from fieldbook.check.history import EarCount, PastVisit, StopCount
from fieldbook.check.roster import Field
from fieldbook.check.verdict import CheckedBook, State, Status
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, Round
from fieldbook.problems import Problem, sentence
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

Entries = dict[EntryKey, EntryValue]
Past = tuple[PastVisit, ...]
Weather = Callable[[Field], DailyTemps | None]
HEAD, EAR = ("A1",), ("A1", 2, 2)
TODAY = NOW.date()


def judge(
    season: Season,
    entries: Entries,
    *past: PastVisit,
    round_: Round = KERNEL_COUNT,
    full: bool = False,
    weather: Weather | None = None,
    others: Mapping[str, Past] | None = None,
) -> CheckedBook:
    """Fill a book, read it back and judge it against what is known."""
    by_field = {key[0]: entries for (_, key, _), _ in entries.items()}
    plan = book_plan(
        season, round_=round_, full=full, entries={str(k): v for k, v in by_field.items()}
    )
    read = read_book(write_book(plan), "ana.xlsx")
    assert read.book is not None
    known = {"A1": past, **(others or {})}
    context = season.context(known, today=TODAY, received=TODAY)
    return check_book(read.book, replace(context, temps=weather) if weather else context)


def codes(verdict: CheckedBook) -> list[str]:
    """Return the codes of what is open."""
    assert all(sentence(one) for one in verdict.open_problems)
    return [found.code for found in verdict.open_problems]


def only(verdict: CheckedBook) -> Problem:
    """Return the one open problem."""
    (found,) = verdict.open_problems
    return found


def at(stage: str, day: date, **cells: EntryValue) -> Entries:
    """Fill the head of a visit to A1."""
    head = {"visit_date": day, "stage": stage, **cells}
    return {("fields", HEAD, name): value for name, value in head.items()}


def steady(a_day_f: int, *, through: date = TODAY) -> Weather:
    """Give every field the same heat each day."""
    first = date(2026, 4, 1)
    days = (through - first).days + 1
    mean = np.full(days, 50.0 + a_day_f)
    temps = DailyTemps(first=first, tmax_f=mean, tmin_f=mean)
    return lambda _: temps


# ---- the stage and the heat so far -----------------------------------------------------------
# A1 was planted on 28 April and needs 1330 to silk and 2590 to black layer. R4 begins at 1960,
# so it may be seen from 0.8 of that: 1568, which 20 a day bring by 16 July.


@pytest.mark.parametrize(("day", "fits"), [(date(2026, 7, 15), False), (date(2026, 7, 16), True)])
def test_a_stage_needs_its_heat(season: Season, day: date, *, fits: bool) -> None:
    """Dough when only three quarters of its heat came is asked about, a little later it is not."""
    verdict = judge(season, at("R4", day), weather=steady(20))
    assert codes(verdict) == ([] if fits else ["stage-before-heat"])


def test_too_little_heat_is_told_with_its_amounts(season: Season) -> None:
    """The stage is in doubt and nothing else, and the words say what came and what it takes."""
    verdict = judge(season, at("R4", date(2026, 7, 15)), weather=steady(20))
    found = only(verdict)
    assert found.place.column == "stage"
    assert "has had 1,560 GDD (°F) since planting, and R4 takes at least 1,568" in sentence(found)
    asked = [reading.column for reading in verdict.readings if reading.status is Status.ASKED]
    assert asked == ["stage"]


def test_metric_readers_get_their_own_heat_units(tmp_path: Path) -> None:
    """Heat is counted in degrees Celsius there."""
    season = small_season(tmp_path / "metric", units=System.METRIC)
    found = only(judge(season, at("R4", date(2026, 7, 15)), weather=steady(20)))
    assert "has had 867 GDD (°C)" in sentence(found)


@pytest.mark.parametrize(("day", "fits"), [(date(2026, 7, 16), False), (date(2026, 7, 15), True)])
def test_a_stage_is_over_when_far_more_heat_came(season: Season, day: date, *, fits: bool) -> None:
    """Blister is over with milk, at 1750; asked about beyond 1.25 of that, which 28 a day bring."""
    verdict = judge(season, at("R2", day), round_=POLLINATION, weather=steady(28))
    assert codes(verdict) == ([] if fits else ["stage-behind-heat"])


def test_day_and_month_exchanged_are_recognised(season: Season) -> None:
    """Dough on 8 May cannot be, on 5 August it can: the date is in doubt, and not the stage."""
    verdict = judge(season, at("R4", date(2026, 5, 8)), weather=steady(21))
    found = only(verdict)
    assert (found.code, found.place.column) == ("date-exchanged", "visit_date")
    assert "2026-05-08, but on 2026-08-05 it can" in sentence(found)
    asked = [reading.column for reading in verdict.readings if reading.status is Status.ASKED]
    assert asked == ["visit_date"]


def test_a_date_that_fits_neither_way_leaves_the_stage_in_doubt(season: Season) -> None:
    """Dough on 6 May, or on 5 June: no date is suggested."""
    verdict = judge(season, at("R4", date(2026, 5, 6)), weather=steady(21))
    assert codes(verdict) == ["stage-before-heat"]


def test_a_day_of_its_month_s_number_is_no_other_date_exchanged(season: Season) -> None:
    """Dough on 7 July is too early, and 7/7 is the same date either way round."""
    verdict = judge(season, at("R4", date(2026, 7, 7)), weather=steady(20))
    assert codes(verdict) == ["stage-before-heat"]


def test_days_count_where_no_heat_is_known(season: Season) -> None:
    """The season has no weather: silks after 40 days and dough 24 later is the earliest."""
    for days, wanted in ((63, ["stage-before-heat"]), (64, [])):
        day = date(2026, 4, 28) + timedelta(days)
        assert codes(judge(season, at("R4", day))) == wanted
    told = sentence(only(judge(season, at("R4", date(2026, 6, 30)))))
    assert "has had 63 days since planting, and R4 takes at least 64 days" in told


def test_weather_that_ends_early_leaves_the_rest_open(season: Season) -> None:
    """With heat known through June alone, dough in August may well be."""
    known = steady(20, through=date(2026, 6, 30))
    assert codes(judge(season, at("R4", VISIT_DAY), weather=known)) == []


def test_a_field_of_two_plantings_may_be_at_the_stage_of_either(tmp_path: Path) -> None:
    """Blister in the replanted part while the first planting is at dent."""
    again = replace(ROWS[0], planted=date(2026, 6, 10), acres=20)
    season = small_season(tmp_path / "twice", rows=(*ROWS, again))
    late = at("R2", date(2026, 8, 14))
    assert codes(judge(season, late, round_=POLLINATION, weather=steady(24))) == []
    once = small_season(tmp_path / "once")
    told = codes(judge(once, late, round_=POLLINATION, weather=steady(24)))
    assert told == ["stage-behind-heat"]


def test_a_stage_in_doubt_is_told_once(season: Season) -> None:
    """A stage that neither the heat nor the round allows is one question: the harder one."""
    verdict = judge(season, at("R6", date(2026, 7, 16)), round_=POLLINATION, weather=steady(20))
    assert codes(verdict) == ["stage-before-heat"]


def test_a_date_in_doubt_says_nothing_of_the_stage(season: Season) -> None:
    """A date before planting is one mistake."""
    verdict = judge(season, at("R4", date(2026, 3, 2)), weather=steady(20))
    assert codes(verdict) == ["date-before-planting"]


def test_a_confirmed_stage_is_not_asked_again(season: Season) -> None:
    """The answer in its row settles the question."""
    entries = at("R4", date(2026, 7, 15), answer="true")
    verdict = judge(season, entries, weather=steady(20))
    assert codes(verdict) == []
    assert [question.state for question in verdict.questions] == [State.CONFIRMED]


# ---- the stage and other visits --------------------------------------------------------------


def seen(stage: str, day: date, **more: Any) -> PastVisit:
    """Make a visit that was taken in before."""
    return PastVisit(**{"visit_id": "A1.KC9", "day": day, "stage": stage, "scout": "ana", **more})


def test_a_later_visit_that_saw_an_earlier_stage_is_noticed(season: Season) -> None:
    """Books come in any order: dough on the 12th against milk on the 18th, known before."""
    later = seen("R3", VISIT_DAY + timedelta(6))
    found = only(judge(season, at("R4", VISIT_DAY), later))
    assert (found.code, found.place.column) == ("stage-ahead-of-later", "stage")
    assert codes(judge(season, at("R3", VISIT_DAY), later)) == []


def test_a_later_stage_that_was_confirmed_is_not_asked_about_again(season: Season) -> None:
    """The question was answered at the other end."""
    later = seen("R3", VISIT_DAY + timedelta(6), stage_confirmed=True)
    assert codes(judge(season, at("R4", VISIT_DAY), later)) == []


def test_two_stages_on_one_day_are_held_against_each_other_one_way(season: Season) -> None:
    """On one day the earlier stage of the book at hand is asked about, the later one is not."""
    assert codes(judge(season, at("R3", VISIT_DAY), seen("R4", VISIT_DAY))) == ["stage-backwards"]
    assert codes(judge(season, at("R4", VISIT_DAY), seen("R3", VISIT_DAY))) == []


@pytest.mark.parametrize(
    ("stage", "round_", "before"),
    [("R3", RIPENING, "R4"), ("R2", KERNEL_COUNT, "R4"), ("R4", RIPENING, "R5")],
)
def test_a_round_s_mild_question_hides_no_stage_that_goes_backwards(
    season: Season, stage: str, round_: Round, before: str
) -> None:
    """A stage that its round is not for, and that another visit contradicts, is asked once."""
    day = VISIT_DAY + timedelta(8)
    found = only(judge(season, at(stage, day), seen(before, VISIT_DAY), round_=round_))
    assert (found.code, found.place.column) == ("stage-backwards", "stage")
    assert before in sentence(found)
    assert codes(judge(season, at(stage, day), round_=round_)) == ["stage-outside-round"]


def test_kernels_before_milk_hide_no_stage_that_goes_backwards(season: Season) -> None:
    """Counted at R2 after R4 was seen: milk is long over, so the count is not what is in doubt."""
    counted = {**good_visit("A1"), ("fields", HEAD, "stage"): "R2"}
    told = codes(judge(season, counted, seen("R4", VISIT_DAY - timedelta(9))))
    assert told == ["stage-backwards"]


def test_a_stage_that_goes_backwards_is_graver_than_the_heat(season: Season) -> None:
    """Another scout saw it, while heat is worked out; the answer then is about what was seen."""
    told = judge(season, at("R2", VISIT_DAY), seen("R4", date(2026, 8, 4)), weather=steady(28))
    assert codes(told) == ["stage-backwards"]


# ---- counts of two visits --------------------------------------------------------------------


def ears_before(*rows: int, along: int = 36) -> tuple[EarCount, ...]:
    """Make ears of an earlier visit."""
    return tuple(
        EarCount(stop=1, rows_around=r, kernels=r * along, places=along + 3, complete=True)
        for r in rows
    )


def before(**counts: Any) -> PastVisit:
    """Make an earlier visit of the same scout."""
    return seen("R4", VISIT_DAY - timedelta(9), **counts)


_SIXTEENS = (16, 14, 16, 18, 16, 16, 14, 18, 16, 16)
_NINETEENS = (18, 20, 18, 18, 20, 20, 18, 18, 20, 18)


def test_rows_around_cannot_change_between_visits(season: Season) -> None:
    """Nineteen rows before and sixteen now is another field, sampling error is not."""
    found = only(judge(season, good_visit("A1"), before(ears=ears_before(*_NINETEENS))))
    assert found.code == "visits-differ"
    assert "A1 Long eighty: 16 rows around, against 18.8 on 2026-08-03" in sentence(found)
    assert codes(judge(season, good_visit("A1"), before(ears=ears_before(*_SIXTEENS)))) == []


def test_few_ears_say_nothing_of_two_visits(season: Season) -> None:
    """Seven ears before: whatever they have is chance."""
    assert codes(judge(season, good_visit("A1"), before(ears=ears_before(*_NINETEENS[:7])))) == []


def test_tip_kernels_may_be_lost_but_not_come(season: Season) -> None:
    """592 kernels an ear now: 500 before may be chance and loss, 300 may not."""
    assert (
        codes(judge(season, good_visit("A1"), before(ears=ears_before(*_SIXTEENS, along=31)))) == []
    )
    found = only(judge(season, good_visit("A1"), before(ears=ears_before(*_SIXTEENS, along=19))))
    assert "592 kernels an ear, against 304" in sentence(found)


def stand(*ears: float, **more: float) -> tuple[StopCount, ...]:
    """Make the stops of an earlier visit, ears in thousands an acre."""
    return tuple(
        StopCount(stop=at, ears_per_ac=1000 * count, plants_per_ac=None, **more)
        for at, count in enumerate(ears, start=1)
    )


def test_the_stand_is_compared_stop_by_stop(season: Season) -> None:
    """29 to 33 thousand ears now: 5 thousand fewer is a dropped ear here and there, 10 is not."""
    near, far = stand(33, 34, 33, 35, 36), stand(38, 42, 41, 43, 42)
    assert codes(judge(season, good_visit("A1"), before(stops=near))) == []
    found = only(judge(season, good_visit("A1"), before(stops=far)))
    assert "31,000 ears per ac, against 41,200" in sentence(found)
    assert codes(judge(season, good_visit("A1"), before(stops=far[:2]))) == []


def test_the_readings_stay_in_use_until_the_question_is_answered(season: Season) -> None:
    """One question a visit, at its row in the Fields sheet, where it can be confirmed."""
    past = before(ears=ears_before(*_NINETEENS), stops=stand(41, 41, 41, 41, 41))
    verdict = judge(season, good_visit("A1"), past)
    assert codes(verdict) == ["visits-differ"]
    assert {reading.status for reading in verdict.readings} == {Status.USED}
    sure = good_visit("A1") | {("fields", HEAD, "answer"): "true"}
    assert codes(judge(season, sure, past)) == []


def test_a_later_visit_is_not_held_against_an_earlier_book(season: Season) -> None:
    """The later one was judged against what was known, and its answer stands."""
    past = seen("R5", VISIT_DAY + timedelta(3), ears=ears_before(*_NINETEENS))
    assert codes(judge(season, good_visit("A1"), past)) == []


def test_the_visit_itself_is_no_other_visit(season: Season) -> None:
    """A book that is taken in again is not held against itself."""
    past = replace(before(ears=ears_before(*_NINETEENS)), visit_id="A1.KC1")
    assert codes(judge(season, good_visit("A1"), past)) == []


# ---- two scouts on one day -------------------------------------------------------------------


def test_two_scouts_in_one_field_on_one_day_are_told(season: Season) -> None:
    """A note for whoever looks after the season; both visits count."""
    other = seen("R4", VISIT_DAY, scout="joss")
    verdict = judge(season, good_visit("A1"), other)
    assert codes(verdict) == ["two-scouts-one-day"]
    assert "also walked on 2026-08-12 by joss" in sentence(only(verdict))
    assert {reading.status for reading in verdict.readings} == {Status.USED}


def test_one_scout_or_two_days_are_nothing_to_tell(season: Season) -> None:
    """The same scout twice, another day, or the name of the other scout in the row."""
    day_before = seen("R4", VISIT_DAY - timedelta(1), scout="joss")
    assert codes(judge(season, good_visit("A1"), seen("R4", VISIT_DAY), day_before)) == []
    named = good_visit("A1") | {("fields", HEAD, "scout"): "joss"}
    assert codes(judge(season, named, seen("R4", VISIT_DAY, scout="joss"))) == []


# ---- an ear far off --------------------------------------------------------------------------


def with_ear(**cells: EntryValue) -> Entries:
    """Fill a good visit with one other ear: the others have 36 to 43 places along a row."""
    return good_visit("A1") | {("ears", EAR, name): value for name, value in cells.items()}


@pytest.mark.parametrize(
    ("cells", "column"),
    [
        ({"kernels_set": 18}, "kernels_set"),
        ({"kernels_set": 50}, "kernels_set"),
        ({"kernels_set": 32}, None),
        ({"kernels_set": 18, "tip_unset": 20}, None),  # a bare tip is true variety
        ({"rows_around": 22}, "rows_around"),
        ({"rows_around": 20}, None),
        ({"rows_around": 22, "kernels_set": 18}, "kernels_set"),  # asked once, for the farther
    ],
    ids=str,
)
def test_an_ear_far_off_the_field_is_asked_about_at_its_cell(
    season: Season, cells: dict[str, EntryValue], column: str | None
) -> None:
    """Two digits exchanged or one lost, not the loss of kernels that was counted as such."""
    verdict = judge(season, with_ear(**cells))
    told = [(one.code, one.place.row, one.place.column) for one in verdict.open_problems]
    assert told == ([("ear-far-off", "2, 2", column)] if column else [])


def test_bare_butts_are_true_variety(season: Season) -> None:
    """The full form counts them, and the places add up."""
    short = {"kernels_set": 20, "base_blank": 16, "no_other_gaps": None}
    entries = {key: value for key, value in with_ear(**short).items() if value is not None}
    assert codes(judge(season, entries, full=True)) == []


def test_an_ear_with_gaps_nobody_counted_can_only_be_too_long(season: Season) -> None:
    """Without "No other gaps" a short row is no question: what is missing was not looked at."""
    for along, wanted in ((18, []), (50, ["ear-far-off"])):
        entries = with_ear(kernels_set=along)
        del entries["ears", EAR, "no_other_gaps"]
        assert codes(judge(season, entries)) == wanted


def test_an_ear_that_is_asked_about_already_is_asked_about_once(season: Season) -> None:
    """24 rows are rare by themselves."""
    assert codes(judge(season, with_ear(rows_around=24))) == ["unusual"]


def test_a_confirmed_ear_is_used(season: Season) -> None:
    """The scout says that it is true."""
    verdict = judge(season, with_ear(kernels_set=18, answer="true"))
    assert codes(verdict) == []
    of_ear = {r.column: r.status for r in verdict.readings if r.sheet == "ears" and r.row == (2, 2)}
    assert of_ear["kernels_set"] is Status.CONFIRMED


def test_few_ears_are_held_against_the_hybrid(tmp_path: Path) -> None:
    """Three ears say nothing of a spread; another field of the hybrid does, more widely."""
    rows = (ROWS[0], replace(ROWS[1], hybrid=ROWS[0].hybrid), ROWS[2])
    season = small_season(tmp_path / "same", rows=rows)
    other = {"A2": (seen("R4", VISIT_DAY, ears=ears_before(*_SIXTEENS)),)}
    entries = good_visit("A1", stops=1) | {("ears", ("A1", 1, 2), "kernels_set"): 13}
    found = only(judge(season, entries, others=other))
    assert "16 kernels set and missing along one row, while this hybrid's ears have 39" in sentence(
        found
    )
    assert codes(judge(season, good_visit("A1", stops=1), others=other)) == []
    strangers = small_season(tmp_path / "other")
    assert codes(judge(strangers, entries, others=other)) == []


@pytest.mark.parametrize(
    ("ears", "whose"), [(8, "this field's ears have 39 (middle of 8)"), (7, "this hybrid's ears")]
)
def test_eight_ears_are_enough_for_the_field_itself(tmp_path: Path, ears: int, whose: str) -> None:
    """With one fewer it is the hybrid's spread that an ear is held against."""
    rows = (ROWS[0], replace(ROWS[1], hybrid=ROWS[0].hybrid), ROWS[2])
    season = small_season(tmp_path / "same", rows=rows)
    other = {"A2": (seen("R4", VISIT_DAY, ears=ears_before(*_SIXTEENS)),)}
    whole = good_visit("A1", stops=3) | {("ears", ("A1", 1, 2), "kernels_set"): 13}
    left = [("A1", 3, number) for number in range(3, 3 - (9 - ears), -1)]
    entries = {key: value for key, value in whole.items() if key[1] not in left}
    assert whose in sentence(only(judge(season, entries, others=other)))


def test_few_ears_of_no_known_hybrid_are_held_against_nothing(tmp_path: Path) -> None:
    """Two fields whose hybrid nobody wrote down need not have the same one."""
    rows = (replace(ROWS[0], hybrid=None), replace(ROWS[1], hybrid=None), ROWS[2])
    season = small_season(tmp_path / "season", rows=rows)
    alike = before(ears=ears_before(*_SIXTEENS))
    entries = good_visit("A1", stops=1) | {("ears", ("A1", 1, 2), "kernels_set"): 13}
    named = tuple(replace(row, hybrid="Larkspur 108") for row in rows)
    known = small_season(tmp_path / "named", rows=named)
    others = {"A2": (replace(alike, visit_id="A2.KC1"),)}
    assert "ear-far-off" in codes(judge(known, entries, others=others))
    assert "ear-far-off" not in codes(judge(season, entries, others=others))


# ---- rows copied down, counts rounded --------------------------------------------------------


def varied() -> Entries:
    """Fill a good visit whose ears differ as ears do."""
    entries = good_visit("A1")
    for number in range(1, 16):
        key = _ear(number)
        entries["ears", key, "rows_around"] = (16, 14, 18, 16, 16)[number % 5]
        entries["ears", key, "tip_unset"] = (2, 4, 1, 3, 5, 2, 0)[number % 7]
        entries["ears", key, "tip_aborted"] = (1, 0, 2)[number % 3]
    return entries


def dragged(entries: Entries, source: int, targets: range) -> Entries:
    """Copy one ear of stop 1 over others, counted through."""
    cells = {
        name: v
        for (sheet, key, name), v in entries.items()
        if (sheet, key) == ("ears", _ear(source))
    }
    return entries | {("ears", _ear(at), name): v for at in targets for name, v in cells.items()}


def _ear(number: int) -> tuple[str, int, int]:
    return ("A1", 1 + (number - 1) // 3, 1 + (number - 1) % 3)


def test_a_row_dragged_down_is_asked_about_once_at_its_first_copy(season: Season) -> None:
    """Ear 1 over the six after it: asked at the first of the six."""
    verdict = judge(season, dragged(varied(), 1, range(2, 8)))
    found = only(verdict)
    assert (found.code, found.place.row) == ("rows-copied", "1, 2")
    assert "7 ears in a row have all 4 numbers alike" in sentence(found)


def test_two_runs_are_two_questions(season: Season) -> None:
    """Each is asked about by itself."""
    entries = dragged(dragged(varied(), 1, range(2, 7)), 9, range(10, 16))
    assert codes(judge(season, entries)) == ["rows-copied", "rows-copied"]


@pytest.mark.parametrize("last", [2, 3])
def test_two_or_three_ears_alike_happen(season: Season, last: int) -> None:
    """Of many ears some neighbours are alike."""
    assert codes(judge(season, dragged(varied(), 1, range(2, last + 1)))) == []


def test_copied_rows_can_be_true(season: Season) -> None:
    """The answer at the first copy settles the run."""
    entries = dragged(varied(), 1, range(2, 8))
    assert codes(judge(season, entries | {("ears", ("A1", 1, 2), "answer"): "true"})) == []


def rounded(*fields: str, fives: int) -> Entries:
    """Fill visits whose first ears have kernels in fives, the others not."""
    entries: Entries = {}
    for field_id in fields:
        entries |= good_visit(field_id)
    ears = [at for at in entries if at[0] == "ears" and at[2] == "kernels_set"]
    counts = (35, 40, 35, 30, 40, 35, 40)
    for number, place in enumerate(ears):
        entries[place] = counts[number % 7] if number < fives else (34, 36, 37, 38, 39)[number % 5]
    return entries


@pytest.mark.parametrize(("fives", "told"), [(22, True), (12, False)])
def test_counts_in_fives_are_a_note_to_the_scout(season: Season, fives: int, *, told: bool) -> None:
    """Thirty ears of two fields: 22 in 0 or 5 cannot be chance, 12 may still be."""
    verdict = judge(season, rounded("A1", "A2", fives=fives))
    notes = [sentence(one) for one in verdict.problems if one.code == "counts-rounded"]
    assert [note.split(" in ")[0] for note in notes] == ["73 % of ana's 30 kernel counts"] * told


def test_few_counts_say_nothing_of_a_scout(season: Season) -> None:
    """Fifteen ears, all in fives."""
    verdict = judge(season, rounded("A1", fives=15))
    assert "counts-rounded" not in codes(verdict)
