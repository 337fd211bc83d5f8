"""Checks that need the ledger and the weather, through the intake as it runs."""

from datetime import date, timedelta
from pathlib import Path

import pytest
from openpyxl import load_workbook
from seasons import NOW, VISIT_DAY, good_visit, write_filled

from fieldbook.check.verdict import State
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, Round
from fieldbook.ledger.events import read_events
from fieldbook.ledger.ledger import Ledger
from fieldbook.season.ask import write_corrections
from fieldbook.season.checking import check_file
from fieldbook.season.intake import take_in
from fieldbook.season.past import PastVisits
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.workbook.plan import EntryKey, EntryValue

Entries = dict[EntryKey, EntryValue]
FAR = ("ears", ("A1", 2, 2), "kernels_set")
HEAD_ROW, FIRST_ROW = 3, 5


def at(stage: str, day: date) -> Entries:
    """Fill the head of a visit to A1."""
    return {("fields", ("A1",), "visit_date"): day, ("fields", ("A1",), "stage"): stage}


def take(
    season: Season, path: Path, entries: Entries, round_: Round = KERNEL_COUNT, scout: str = "ana"
) -> Taken:
    """Fill a book and take it in."""
    book = write_filled(path, season, entries, round_=round_, scout=scout)
    (taken,) = take_in(season, [book], now=NOW)
    assert taken.accepted, taken.problems
    return taken


def codes(taken: Taken) -> list[str]:
    """Return the codes of what is to be looked at."""
    return [found.code for found in taken.open_problems]


def confirmed(asked: Path, to: Path) -> Path:
    """Answer the questioned ear of a correction book: it is true."""
    book = load_workbook(asked)
    ears = book["Ears"]
    column = {cell.value: cell.column for cell in ears[HEAD_ROW]}["Sure?"]
    for row in range(FIRST_ROW, ears.max_row + 1):
        if (ears.cell(row, 2).value, ears.cell(row, 3).value) == (2, 2):
            ears.cell(row, column).value = "Yes, it is true"
    book.save(to)
    return to


def test_books_out_of_order_still_show_a_stage_that_goes_backwards(
    season: Season, tmp_path: Path
) -> None:
    """Dent comes in first, with the later day; dough before it is fine, black layer is not."""
    assert codes(take(season, tmp_path / "late.xlsx", at("R5", VISIT_DAY), RIPENING)) == []
    before = VISIT_DAY - timedelta(4)
    assert codes(take(season, tmp_path / "fine.xlsx", at("R4", before))) == []
    told = codes(take(season, tmp_path / "off.xlsx", at("R6", before)))
    assert told == ["stage-ahead-of-later"]


def test_what_its_round_asked_confirms_no_stage_against_other_visits(
    season: Season, tmp_path: Path
) -> None:
    """Milk in a ripening book was confirmed before dough came in: another question."""
    late = at("R3", VISIT_DAY) | {("fields", ("A1",), "answer"): "true"}
    taken = take(season, tmp_path / "late.xlsx", late, RIPENING)
    assert taken.verdict is not None
    asked = [(one.problem.code, one.state) for one in taken.verdict.questions]
    assert asked == [("stage-outside-round", State.CONFIRMED)]
    told = codes(take(season, tmp_path / "off.xlsx", at("R4", VISIT_DAY - timedelta(8))))
    assert told == ["stage-ahead-of-later"]


def test_a_check_alone_knows_the_other_visits_as_well(season: Season, tmp_path: Path) -> None:
    """`check` judges as the intake would, and changes nothing."""
    take(season, tmp_path / "late.xlsx", at("R5", VISIT_DAY), RIPENING)
    book = write_filled(tmp_path / "off.xlsx", season, at("R6", VISIT_DAY - timedelta(4)))
    assert codes(check_file(season, book, now=NOW)) == ["stage-ahead-of-later"]


def test_the_weather_of_the_season_is_what_a_stage_is_held_against(
    season: Season, tmp_path: Path
) -> None:
    """In a cold season dough is too early where days alone allow it; the event names the file."""
    days = (date(2026, 4, 1) + timedelta(n) for n in range(150))
    rows = "".join(f"{day},66,54,0\n" for day in days)
    path = season.folder.weather / "home.csv"
    path.parent.mkdir(exist_ok=True)
    path.write_text(f"date,tmax_f,tmin_f,rain_in\n{rows}")
    told = take(season, tmp_path / "cold.xlsx", at("R4", VISIT_DAY))
    assert codes(told) == ["stage-before-heat"]
    (event,) = read_events(season.folder)
    assert set(event.judged_against) == {"season.toml", "roster.xlsx", "weather/home.csv"}


def test_a_confirmed_ear_is_asked_about_once(season: Season, tmp_path: Path) -> None:
    """Asked, confirmed in the correction book, and still so when later rounds come in."""
    entries = good_visit("A1") | {FAR: 18}
    assert codes(take(season, tmp_path / "first.xlsx", entries)) == ["ear-far-off"]
    (asked,) = write_corrections(season)
    answer = confirmed(asked.path, tmp_path / "answer.xlsx")
    (taken,) = take_in(season, [answer], now=NOW + timedelta(days=1))
    assert "ear-far-off" not in codes(taken)
    take(season, tmp_path / "later.xlsx", at("R5", VISIT_DAY + timedelta(5)), RIPENING)
    with Ledger(season.folder) as ledger:
        assert ledger.questions() == []
        assert [one.problem.code for one in ledger.questions(State.CONFIRMED)] == ["ear-far-off"]
        (counted, _) = PastVisits(ledger, ["A1"], season.roster)["A1"]
    assert 18 + 3 in [ear.places for ear in counted.ears]
    assert list(write_corrections(season)) == []


def test_past_visits_hold_what_can_be_used(season: Season, tmp_path: Path) -> None:
    """In order of days, without the ear in question, and only of fields that have any."""
    take(season, tmp_path / "count.xlsx", good_visit("A1") | {FAR: 18})
    take(season, tmp_path / "silks.xlsx", at("R2", date(2026, 7, 16)), POLLINATION)
    with Ledger(season.folder) as ledger:
        past = PastVisits(ledger, ["A1", "A2"], season.roster)
        silks, count = past["A1"]
        assert (silks.stage, count.stage) == ("R2", "R4")
        assert [one.scout for one in (silks, count)] == ["ana", "ana"]
        assert len(count.stops) == 5
        assert count.stops[0].ears_per_ac == pytest.approx(29_000)
        assert sum(ear.kernels is not None for ear in count.ears) == 14
        assert past.get("A2") is None
        assert [*past] == ["A1"]
        assert len(past) == 1
