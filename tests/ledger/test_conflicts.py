"""Corrections that differ: none counts until a person decides, and each stays in the history."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from mending import cell_of, mend
from openpyxl import load_workbook
from seasons import NOW, good_visit, small_season, write_filled

from fieldbook.check.verdict import State, Status
from fieldbook.cli import main
from fieldbook.ledger.events import DecisionEvent, event_from_json, event_json
from fieldbook.ledger.events import read_events as all_events
from fieldbook.ledger.kept import kept_problems
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import Problem, sentence
from fieldbook.report.doubts import questions
from fieldbook.results.results import season_results
from fieldbook.season import loading
from fieldbook.season.ask import write_corrections
from fieldbook.season.checking import check_file
from fieldbook.season.decide import Choice, Settled, decide, field_conflicts, field_decisions
from fieldbook.season.history import field_history, history_lines
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season
from fieldbook.season.taken import Origin, Taken
from fieldbook.units import System
from fieldbook.worker import Outcome

ODD, RARE = ("ears", ("A1", 2, 1), "rows_around"), ("ears", ("A1", 4, 1), "rows_around")
SURE, ODD_SURE = ("ears", ("A1", 4, 1), "answer"), ("ears", ("A1", 2, 1), "answer")
GOOD, NOTE = ("ears", ("A1", 1, 1), "rows_around"), ("ears", ("A1", 1, 1), "remark")
SPOILED = good_visit("A1") | {ODD: 15, RARE: 24}
WHERE, YES, LOST = ("ears", "2, 1", "rows_around"), "Yes, it is true", "Cannot recount"


@pytest.fixture(autouse=True)
def _read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read books in this process: that a worker reads them is tested elsewhere, and is slow."""

    def here(work: Callable[[Any], Any], wanted: Iterable[Any]) -> Iterator[Outcome[Any]]:
        return (Outcome(value=work(one)) for one in wanted)

    monkeypatch.setattr(loading, "isolated", here)


def take(season: Season, path: Path, *, days: int = 1) -> Taken:
    """Take one file in, some days after the first book."""
    (taken,) = take_in(season, [path], now=NOW + timedelta(days=days))
    assert taken.accepted, taken.problems
    return taken


def codes(taken: Taken) -> list[str]:
    """Return the codes of what is to be looked at."""
    return [found.code for found in taken.open_problems]


@pytest.fixture
def asked(season: Season, tmp_path: Path) -> Path:
    """Take in a book with an impossible and a rare number, and write what asks back."""
    take(season, write_filled(tmp_path / "first.xlsx", season, SPOILED), days=0)
    (written,) = write_corrections(season)
    return written.path


@pytest.fixture
def other(asked: Path, season: Season) -> Path:
    """Write a second correction book of the same parent: her books are in Spanish meanwhile."""
    scouts = tuple(replace(scout, language="es") for scout in season.settings.scouts)
    spanish = replace(season, settings=replace(season.settings, scouts=scouts))
    (written,) = write_corrections(spanish)
    assert written.path != asked
    return written.path


def rows_around(season: Season) -> dict[tuple[int, int], int | None]:
    """Return what counts as rows around, by stop and ear."""
    with Ledger(season.folder) as ledger:
        (visit,) = ledger.visits()
    return {(ear.stop, ear.ear): ear.rows_around for ear in visit.records["ears"]}


def open_codes(season: Season) -> list[str]:
    """Return the codes of all open questions that matter."""
    with Ledger(season.folder) as ledger:
        return [q.problem.code for q in ledger.questions() if q.problem.weight != "note"]


def dump(season: Season) -> list[str]:
    """Return the whole ledger as lines."""
    with Ledger(season.folder) as ledger:
        return list(ledger.dump())


@pytest.fixture
def differing(asked: Path, other: Path, season: Season, tmp_path: Path) -> list[Taken]:
    """Take in two correction books of one parent: the odd number becomes 14, and 16."""
    first = mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES})
    second = mend(other, tmp_path / "again.xlsx", {ODD: 16, SURE: YES})
    return [take(season, first), take(season, second, days=2)]


def test_of_two_corrections_that_differ_none_counts(differing: list[Taken], season: Season) -> None:
    """The first was taken for right until the second came; then both are in question."""
    assert codes(differing[0]) == []
    assert codes(differing[1]) == ["corrections-differ"]
    assert rows_around(season)[2, 1] is None
    assert rows_around(season)[4, 1] == 24
    assert open_codes(season) == ["corrections-differ"]


def test_a_refused_value_is_no_rival_of_the_one_that_mends_it(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """A slip in a correction, typed again in the same book: the good value counts."""
    take(season, mend(asked, tmp_path / "slip.xlsx", {ODD: 99, SURE: None}))
    assert rows_around(season)[2, 1] is None
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}), days=2)
    assert rows_around(season)[2, 1] == 14
    assert open_codes(season) == []


def test_a_scout_corrects_his_own_correction(asked: Path, season: Season, tmp_path: Path) -> None:
    """Of one correction book saved more than once the save that came last counts, and it is told.

    What he left alone in a later save undoes nothing, and a replay gives the same.
    """
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    for at, rows in enumerate((16, 14, 18), start=2):
        took = take(season, mend(asked, tmp_path / f"save{at}.xlsx", {ODD: rows}), days=at)
        assert codes(took) == ["value-replaced"]
        assert rows_around(season)[2, 1] == rows
    take(season, mend(asked, tmp_path / "older.xlsx", {SURE: YES, NOTE: "dry"}), days=5)
    assert (rows_around(season)[2, 1], rows_around(season)[4, 1]) == (18, 24)
    assert open_codes(season) == []
    before = dump(season)
    assert rebuild(season.folder) == (6, [])
    assert dump(season) == before


def together(season: Season, *paths: Path, days: int = 1) -> list[Taken]:
    """Take files in that came at one moment."""
    return list(take_in(season, paths, now=NOW + timedelta(days=days)))


@pytest.mark.parametrize("names", [("a.xlsx", "b.xlsx"), ("b.xlsx", "a.xlsx")])
def test_two_saves_that_come_together_are_a_conflict(
    asked: Path, season: Season, tmp_path: Path, names: tuple[str, str]
) -> None:
    """Nobody knows which save is the later, least of all by their names; a third one ends it."""
    saves = zip(names, (14, 16), strict=True)
    paths = [mend(asked, tmp_path / name, {ODD: rows, SURE: YES}) for name, rows in saves]
    took = together(season, *sorted(paths))
    assert [codes(one) for one in took] == [[], ["corrections-differ"]]
    assert (rows_around(season)[2, 1], rows_around(season)[4, 1]) == (None, 24)
    before = dump(season)
    assert rebuild(season.folder) == (3, [])
    assert dump(season) == before
    take(season, mend(asked, tmp_path / "c.xlsx", {ODD: 18, SURE: YES}), days=2)
    assert rows_around(season)[2, 1] == 18
    assert open_codes(season) == []


def test_two_saves_that_come_together_and_agree_are_no_conflict(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """The same value in both, and a note in one: nothing is in question."""
    first = mend(asked, tmp_path / "a.xlsx", {ODD: 14, SURE: YES})
    second = mend(asked, tmp_path / "b.xlsx", {ODD: 14, SURE: YES, NOTE: "dry"})
    assert [codes(one) for one in together(season, first, second)] == [[], []]
    assert rows_around(season)[2, 1] == 14


def test_a_scout_s_book_that_another_one_sends_is_a_conflict(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """A colleague who saves and mails her correction book corrects her, not himself."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    again = mend(asked, tmp_path / "again.xlsx", {ODD: 16, SURE: YES})
    mailed = Origin(source="mail", sender="joss@example.org", scout="joss")
    (took,) = take_in(season, [again], now=NOW + timedelta(days=2), origin=mailed)
    assert "corrections-differ" in codes(took)
    assert rows_around(season)[2, 1] is None


def test_both_stand_side_by_side_with_their_sources(differing: list[Taken], season: Season) -> None:
    """Value, scout, day, file and cell of each, in the question, and in the list of conflicts."""
    (conflict,) = field_conflicts(season, "A1")
    assert [(one.typed, one.file, one.scout) for one in conflict.sides] == [
        ("14", "mended.xlsx", "ana"),
        ("16", "again.xlsx", "ana"),
    ]
    said = sentence(differing[1].open_problems[0])
    cell = conflict.sides[0].cell
    assert f"14 (ana, 2026-08-21, mended.xlsx, {cell})" in said
    assert f"16 (ana, 2026-08-22, again.xlsx, {cell})" in said
    assert "silkbook decide A1" in said


def test_the_report_and_the_results_speak_of_it(differing: list[Taken], season: Season) -> None:
    """A grower's page names the reading and both values among what is still asked."""
    result = season_results(season, as_of=NOW.date()).fields[0]
    assert [found.code for found in result.questions] == ["corrections-differ"]
    open_, told = questions(result, "en")
    assert open_.startswith("One question is open")
    assert told == "Ears: Two corrections that differ (Rows around 14 / 16)"


def test_check_tells_the_conflict_before_it_is_one(
    asked: Path, other: Path, season: Season, tmp_path: Path
) -> None:
    """Checking the second correction says what taking it in would do, and changes nothing."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    before = dump(season)
    second = mend(other, tmp_path / "again.xlsx", {ODD: 16, SURE: YES})
    assert codes(check_file(season, second, now=NOW)) == ["corrections-differ"]
    assert dump(season) == before


def test_the_same_correction_twice_is_no_conflict(
    asked: Path, other: Path, season: Season, tmp_path: Path
) -> None:
    """Two people who count the same agree, and the second file changes nothing."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    again = take(season, mend(other, tmp_path / "again.xlsx", {ODD: 14, SURE: YES, NOTE: "windy"}))
    assert codes(again) == []
    assert rows_around(season)[2, 1] == 14


def test_each_may_mend_another_cell(
    asked: Path, other: Path, season: Season, tmp_path: Path
) -> None:
    """What the second book shows as it was written does not undo what the first one mended."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14}))
    second = take(season, mend(other, tmp_path / "again.xlsx", {RARE: 18}), days=2)
    assert codes(second) == ["value-older"]
    assert (rows_around(season)[2, 1], rows_around(season)[4, 1]) == (14, 18)
    assert open_codes(season) == []


def test_true_and_cannot_recount_differ(
    asked: Path, other: Path, season: Season, tmp_path: Path
) -> None:
    """Two answers to one question are a conflict, though the number is the same."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    take(season, mend(other, tmp_path / "again.xlsx", {ODD: 14, SURE: LOST}), days=2)
    (conflict,) = field_conflicts(season, "A1")
    assert [str(side.said) for side in conflict.sides] == ["24", LOST]
    assert rows_around(season)[4, 1] is None


def test_a_child_replaces_its_parent(asked: Path, season: Season, tmp_path: Path) -> None:
    """A correction of a correction knows what came before, so it is no conflict."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 17, SURE: YES}))
    (again,) = write_corrections(season)
    assert again.path != asked
    took = take(season, mend(again.path, tmp_path / "again.xlsx", {ODD: 18}), days=2)
    assert codes(took) == []
    assert rows_around(season)[2, 1] == 18


def test_a_third_one_joins(
    differing: list[Taken], asked: Path, season: Season, tmp_path: Path
) -> None:
    """A third value stands beside the two in one question; one of the two again changes nothing."""
    third = take(season, mend(asked, tmp_path / "third.xlsx", {ODD: 18, SURE: YES}), days=3)
    assert codes(third) == ["corrections-differ"]
    (conflict,) = field_conflicts(season, "A1")
    assert [side.typed for side in conflict.sides] == ["14", "16", "18"]
    fourth = mend(asked, tmp_path / "fourth.xlsx", {ODD: 16, SURE: YES, NOTE: "windy"})
    before = field_conflicts(season, "A1")
    assert codes(take(season, fourth, days=4)) == []
    assert field_conflicts(season, "A1") == before
    assert open_codes(season) == ["corrections-differ"]


# ---- the scout's first book comes again ---------------------------------------------------


def copy_of(path: Path, **cells: Any) -> Path:
    """Save the scout's own book again, with some cells changed."""
    named = {"odd": ODD, "rare": RARE, "good": GOOD, "sure": SURE}
    changed = {named[name]: value for name, value in cells.items()}
    return mend(path.with_name("first.xlsx"), path, changed)


def test_an_older_copy_undoes_no_correction(asked: Path, season: Season, tmp_path: Path) -> None:
    """What was corrected and what was confirmed stays; the copy's news is taken."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    took = take(season, copy_of(tmp_path / "copy.xlsx", good=18), days=2)
    assert codes(took) == ["value-older", "value-replaced"]
    assert open_codes(season) == []
    found = rows_around(season)
    assert (found[2, 1], found[4, 1], found[1, 1]) == (14, 24, 18)
    with Ledger(season.folder) as ledger:
        confirmed = [q.problem.code for q in ledger.questions(State.CONFIRMED)]
        readings = ledger.readings_now("A1.KC1")
    assert confirmed == ["unusual"]
    assert readings["ears", "4, 1", "rows_around"]["status"] == Status.CONFIRMED


def test_the_first_book_with_a_third_value_is_a_conflict(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """Nobody can tell from the file whether it was typed before the correction or after."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    took = take(season, copy_of(tmp_path / "copy.xlsx", odd=16), days=2)
    assert codes(took) == ["corrections-differ"]
    assert rows_around(season)[2, 1] is None


def test_the_first_book_with_the_corrected_value_agrees(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """He mended his own book in the same way."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    assert codes(take(season, copy_of(tmp_path / "copy.xlsx", odd=14), days=2)) == []
    assert rows_around(season)[2, 1] == 14


def test_a_correction_after_the_first_book_was_mended_differently(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """Both mended the same reading, not knowing of each other."""
    take(season, copy_of(tmp_path / "copy.xlsx", odd=16))
    took = take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}), days=2)
    assert codes(took) == ["corrections-differ"]


def test_copies_of_the_first_book_replace_each_other(season: Season, tmp_path: Path) -> None:
    """Without a correction a later copy counts, reading by reading, as before."""
    write_filled(tmp_path / "first.xlsx", season, SPOILED)
    for at, rows in enumerate((14, 16, 14), start=1):
        take(season, copy_of(tmp_path / f"copy{at}.xlsx", odd=rows, good=12 + 2 * at))
        assert rows_around(season)[2, 1] == rows
    assert field_conflicts(season, "A1") == ()


def test_what_a_first_book_confirmed_stays_confirmed(season: Season, tmp_path: Path) -> None:
    """A copy from before the answer does not ask again."""
    write_filled(tmp_path / "first.xlsx", season, SPOILED)
    take(season, copy_of(tmp_path / "sure.xlsx", odd=14, sure=YES))
    took = take(season, copy_of(tmp_path / "older.xlsx", odd=14))
    assert "unusual" not in codes(took)
    assert open_codes(season) == []
    assert rows_around(season)[4, 1] == 24


# ---- cleared ------------------------------------------------------------------------------


def test_a_cell_that_a_scout_clears_counts_no_more(
    asked: Path, season: Season, tmp_path: Path
) -> None:
    """It came filled and went back empty: not looked at, told once, kept in the history."""
    took = take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES, GOOD: None}))
    assert codes(took) == ["value-cleared", "part-missing"]
    assert rows_around(season)[1, 1] is None
    with Ledger(season.folder) as ledger:
        moved = field_history(ledger, "A1").readings
        assert rebuild(season.folder) == (2, [])
    here = [one for one in moved if one.what == "Ears, Stop 1, Ear 1, Rows around"]
    assert [(one.typed, one.status) for one in here] == [("16", "used"), ("", "cleared")]
    take(season, copy_of(tmp_path / "copy.xlsx"), days=3)
    assert rows_around(season)[1, 1] is None


def test_a_lost_row_clears_nothing(asked: Path, season: Season, tmp_path: Path) -> None:
    """A row that was deleted from a correction book was not emptied by anyone."""
    whole = load_workbook(mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    whole["Ears"].delete_rows(cell_of(whole["Ears"], ("A1", 1, 1), "rows_around").row)
    whole.save(tmp_path / "torn.xlsx")
    take(season, tmp_path / "torn.xlsx")
    assert rows_around(season)[1, 1] == 16


def test_what_was_typed_in_meters_is_no_change(tmp_path: Path) -> None:
    """A length that is stored in feet comes back from a metric book as it was."""
    season = small_season(tmp_path / "season", units=System.METRIC)
    length = ("stops", ("A1", 1), "length_ft")
    first = write_filled(tmp_path / "first.xlsx", season, SPOILED | {length: 17.3})
    take(season, first, days=0)
    (written,) = write_corrections(season)
    took = take(season, mend(written.path, tmp_path / "mended.xlsx", {ODD: 14}))
    assert "value-replaced" not in codes(took)
    with Ledger(season.folder) as ledger:
        found = ledger.readings_now("A1.KC1")
    moved = {cell for cell, reading in found.items() if reading["sequence"] == 2}
    assert moved == {("ears", "2, 1", "rows_around")}


# ---- deciding -----------------------------------------------------------------------------


def settle(season: Season, number: int | None = None, **choice: Any) -> Settled | Problem:
    """Decide as the season's agronomist."""
    wanted = Choice(who="Mara", reason="Ana was there again", **choice)
    return decide(season, "A1", wanted, number=number, now=datetime(2026, 8, 25, 9, tzinfo=UTC))


@pytest.mark.parametrize(
    ("choice", "rows"),
    [
        ({"keep": "first"}, 14),
        ({"keep": "2"}, 16),
        ({"keep": "again.xlsx"}, 16),
        ({"value": "18"}, 18),
        ({}, None),
    ],
)
def test_a_decision_counts(
    differing: list[Taken], season: Season, choice: Mapping[str, str], rows: int | None
) -> None:
    """By place, by file, a value of its own, or none: then nothing is asked any more."""
    assert isinstance(settle(season, **choice), Settled)
    assert rows_around(season)[2, 1] == rows
    assert open_codes(season) == []
    assert field_conflicts(season, "A1") == ()
    assert list(write_corrections(season)) == []


def test_a_decision_can_be_made_again(differing: list[Taken], season: Season) -> None:
    """By its number, among the same readings; both decisions stay in the history."""
    settle(season, keep="first")
    (made,) = field_decisions(season, "A1")
    assert (made.number, [side.typed for side in made.sides]) == (1, ["14", "16"])
    assert made.decided is not None
    assert str(made.decided.words) == "14 (Mara, 2026-08-25, E8)"
    assert isinstance(settle(season, 1, keep="second"), Settled)
    assert rows_around(season)[2, 1] == 16
    assert isinstance(settle(season, 1), Settled)
    assert rows_around(season)[2, 1] is None
    with Ledger(season.folder) as ledger:
        assert len(field_history(ledger, "A1").decisions) == 3
    before = dump(season)
    assert rebuild(season.folder) == (6, [])
    assert dump(season) == before


def test_without_its_number_nothing_is_decided_again(
    differing: list[Taken], season: Season
) -> None:
    """Nobody undoes a decision by typing the command twice; it says how one would."""
    settle(season, keep="first")
    before = dump(season)
    told = settle(season, keep="second")
    assert isinstance(told, Problem)
    assert "to decide one again, name it with --conflict" in sentence(told)
    assert dump(season) == before


def test_what_differs_after_a_decision_is_a_conflict_anew(
    differing: list[Taken], season: Season, tmp_path: Path
) -> None:
    """A third value beside what was decided: open again, and no longer among what was decided."""
    settle(season, keep="first")
    took = take(season, copy_of(tmp_path / "copy.xlsx", odd=18), days=9)
    assert "corrections-differ" in codes(took)
    assert [one.number for one in field_conflicts(season, "A1")] == [1]
    assert field_decisions(season, "A1") == ()


@pytest.mark.parametrize("keep", ["third", "0", "first.xlsx"])
def test_a_reading_that_is_not_there_can_t_be_kept(
    differing: list[Taken], season: Season, keep: str
) -> None:
    """A wrong name is told, with what there is, and nothing changes."""
    before = dump(season)
    told = settle(season, keep=keep)
    assert isinstance(told, Problem)
    assert told.code == "decision-unclear"
    assert "mended.xlsx, again.xlsx" in sentence(told)
    assert dump(season) == before


@pytest.mark.parametrize("value", ["15", "sixteen", "166"])
def test_what_is_impossible_can_t_be_chosen(
    differing: list[Taken], season: Season, value: str
) -> None:
    """A person may be wrong as well: an odd number, a word, a digit too many."""
    told = settle(season, value=value)
    assert isinstance(told, Problem)
    assert told.code == "decision-impossible"
    assert open_codes(season) == ["corrections-differ"]


def test_what_is_rare_is_confirmed_by_choosing_it(differing: list[Taken], season: Season) -> None:
    """24 rows chosen on purpose count, and the report marks them as confirmed."""
    settle(season, value="24")
    result = season_results(season, as_of=NOW.date()).fields[0]
    assert rows_around(season)[2, 1] == 24
    assert [found.code for found in result.confirmed] == ["unusual", "unusual"]


def test_one_of_several_conflicts_is_named(
    asked: Path, other: Path, season: Season, tmp_path: Path
) -> None:
    """Without a number nothing is settled where there are two; with it, that one alone."""
    take(season, mend(asked, tmp_path / "mended.xlsx", {ODD: 14, SURE: YES}))
    take(season, mend(other, tmp_path / "again.xlsx", {ODD: 16, RARE: 18}), days=2)
    assert [one.what for one in field_conflicts(season, "A1")] == [
        "Ears, Stop 2, Ear 1, Rows around",
        "Ears, Stop 4, Ear 1, Rows around",
    ]
    told = settle(season, keep="first")
    assert isinstance(told, Problem)
    assert "2 conflicts" in sentence(told)
    assert isinstance(settle(season, 3, keep="first"), Problem)
    assert isinstance(settle(season, 2, keep="second"), Settled)
    assert rows_around(season)[4, 1] == 18
    (left,) = field_conflicts(season, "A1")
    assert left.what == "Ears, Stop 2, Ear 1, Rows around"


def test_nothing_to_settle_is_told(season: Season) -> None:
    """A field without a conflict has nothing to decide."""
    told = settle(season, keep="first")
    assert isinstance(told, Problem)
    assert "no conflict" in sentence(told)


def test_a_decision_is_an_event_of_its_own_and_is_replayed(
    differing: list[Taken], season: Season
) -> None:
    """Who, when, why and against what are kept; the ledger comes out of the replay the same."""
    settle(season, keep="second")
    before = dump(season)
    *_, event = all_events(season.folder)
    assert isinstance(event, DecisionEvent)
    assert (event.who, event.reason, event.keeps, event.against) == (
        "Mara",
        "Ana was there again",
        3,
        (2, 3),
    )
    assert event.received == "2026-08-25T09:00:00Z"
    assert event_from_json(event_json(event)) == event
    assert kept_problems(season.folder) == []
    assert rebuild(season.folder) == (4, [])
    assert dump(season) == before


def test_a_damaged_decision_is_found(differing: list[Taken], season: Season) -> None:
    """A rebuild stops at it and leaves the ledger as it is."""
    settle(season, keep="second")
    (season.folder.events / "000004.json").write_text('{"kind": "decision"}')
    assert [found.code for found in kept_problems(season.folder)] == ["kept-event-damaged"]
    assert rebuild(season.folder)[0] == 0


def test_old_files_do_not_reopen_what_was_decided(
    differing: list[Taken], asked: Path, season: Season, tmp_path: Path
) -> None:
    """Copies of either correction, and of the first book, change nothing; a new value asks."""
    settle(season, keep="second")
    for at, cells in enumerate(({ODD: 14, NOTE: "dry"}, {ODD: 16, NOTE: "dry"}), start=1):
        took = take(season, mend(asked, tmp_path / f"more{at}.xlsx", {**cells, SURE: YES}), days=9)
        assert "corrections-differ" not in codes(took)
        assert rows_around(season)[2, 1] == 16
    take(season, copy_of(tmp_path / "copy.xlsx"), days=9)
    assert rows_around(season)[2, 1] == 16
    new = mend(asked, tmp_path / "new.xlsx", {ODD: 20, SURE: YES})
    assert "corrections-differ" in codes(take(season, new, days=9))


def test_the_next_correction_book_can_settle_it(
    differing: list[Taken], season: Season, tmp_path: Path
) -> None:
    """The cell is empty, its note shows both; who fills it knows both, so that counts."""
    (again,) = write_corrections(season)
    assert again.questions == 1
    assert "14 (ana" in again.reply.read_text("utf-8")
    cell = cell_of(load_workbook(again.path)["Ears"], ("A1", 2, 1), "rows_around")
    assert cell.value is None
    assert "14 (ana" in cell.comment.text
    assert "16 (ana" in cell.comment.text
    untouched = mend(again.path, tmp_path / "untouched.xlsx", {})
    take(season, untouched, days=3)
    assert open_codes(season) == ["corrections-differ"]
    took = take(season, mend(again.path, tmp_path / "settled.xlsx", {ODD: 18}), days=4)
    assert codes(took) == []
    assert rows_around(season)[2, 1] == 18
    assert open_codes(season) == []


def test_nobody_can_recount_what_differs(
    differing: list[Taken], season: Season, tmp_path: Path
) -> None:
    """'Cannot recount' in the row of a conflict gives that reading up, and no other."""
    (again,) = write_corrections(season)
    take(season, mend(again.path, tmp_path / "lost.xlsx", {ODD_SURE: LOST}), days=3)
    assert rows_around(season)[2, 1] is None
    assert open_codes(season) == []
    with Ledger(season.folder) as ledger:
        (visit,) = ledger.visits()
    ear = next(e for e in visit.records["ears"] if (e.stop, e.ear) == (2, 1))
    assert ear.kernels_set is not None


# ---- telling it ---------------------------------------------------------------------------


def test_the_history_shows_what_differed_and_how_it_was_settled(
    differing: list[Taken], season: Season
) -> None:
    """Every reading with its source; the two side by side; who settled it, when and why."""
    with Ledger(season.folder) as ledger:
        found = field_history(ledger, "A1")
    said = list(history_lines(found.readings, found))
    (first, second) = (line for line in said if "in conflict" in line)
    assert first.startswith("  Ears, Stop 2, Ear 1, Rows around: '14' in ")
    assert all(line.endswith(", not used, in conflict") for line in (first, second))
    assert any(line.startswith("In conflict: none of these is used") for line in said)
    settle(season, keep="second")
    with Ledger(season.folder) as ledger:
        found = field_history(ledger, "A1")
    here = [one for one in found.readings if one.what == "Ears, Stop 2, Ear 1, Rows around"]
    assert [(one.typed, one.kind, one.replaced_by) for one in here] == [
        ("15", "book", 2),
        ("14", "correction", 4),
        ("16", "correction", 4),
        ("16", "decision", None),
    ]
    said = list(history_lines(found.readings, found))
    (first,) = (line for line in said if ": '15' in " in line)
    assert first.endswith(", refused, replaced by mended.xlsx, 2026-08-21")
    assert sum(line.endswith(", replaced by a decision, 2026-08-25") for line in said) == 2
    assert "Settled by Mara, 2026-08-25: A1.KC1  Ears, Stop 2, Ear 1, Rows around" in said
    assert said[-1] == "   counts: 16, from again.xlsx, 2026-08-22. Ana was there again"


def run(*words: str | Path) -> Any:
    """Run a command."""
    return CliRunner().invoke(main, [str(word) for word in words])


def test_the_command_shows_and_settles(differing: list[Taken], season: Season) -> None:
    """Side by side with numbers, exit 1; settled with exit 0; then there is nothing left."""
    folder = ("--season", season.folder.path)
    shown = run("decide", "A1", *folder)
    assert shown.exit_code == 1
    assert "1. A1.KC1  Ears, Stop 2, Ear 1, Rows around" in shown.output
    assert "   2: 16 (ana, 2026-08-22, again.xlsx, " in shown.output
    found = json.loads(run("decide", "A1", *folder, "--json").output)
    assert [side["typed"] for side in found["conflicts"][0]["sides"]] == ["14", "16"]
    assert run("decide", "A1", *folder, "--keep", "first", "--none").exit_code == 2
    assert run("decide", "Z9", *folder).exit_code == 2
    wrong = run("decide", "A1", *folder, "--value", "15")
    assert wrong.exit_code == 1
    assert "'15' can't count for Ears, Stop 2, Ear 1, Rows around" in wrong.output
    kept = run("decide", "A1", *folder, "--keep", "second", "--by", "Mara", "--reason", "why")
    said = "A1.KC1  Ears, Stop 2, Ear 1, Rows around: '16' counts\n"
    assert (kept.exit_code, kept.output) == (0, said)
    nothing = run("decide", "A1", *folder)
    first, second, *_, last = nothing.output.splitlines()
    assert (nothing.exit_code, first) == (0, "Field A1 has no corrections that differ.")
    assert second == "Decided before; to decide one again, name it with --conflict:"
    assert last.startswith("   counts: 16 (Mara, ")
    decided = json.loads(run("decide", "A1", *folder, "--json").output)
    assert (decided["conflicts"], decided["decided"][0]["decided"]["typed"]) == ([], "16")
    again = run("decide", "A1", *folder, "--conflict", "1", "--keep", "first")
    assert (again.exit_code, rows_around(season)[2, 1]) == (0, 14)
    told = json.loads(run("history", "A1", *folder, "--json", "--changed").output)["history"]
    assert told["decisions"][0]["reason"] == "why"
    assert {one["what"] for one in told["readings"]} == {
        "Ears, Stop 2, Ear 1, Rows around",
        "Ears, Stop 4, Ear 1, Rows around",
    }


def test_a_decision_is_by_somebody(differing: list[Taken], season: Season) -> None:
    """Without a name it is the user of the computer."""
    settled = run("decide", "A1", "--season", season.folder.path, "--none")
    said = "A1.KC1  Ears, Stop 2, Ear 1, Rows around: can't be counted again, so none counts\n"
    assert settled.output == said
    *_, event = all_events(season.folder)
    assert isinstance(event, DecisionEvent)
    assert event.who
