"""Field IDs exchanged in the roster: no grower gets another's counts, and the way back is whole."""

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from seasons import NOW, ROWS, VISIT_DAY, book_plan, good_visit

from fieldbook.check.verdict import State
from fieldbook.cli import main
from fieldbook.forms.roster import RosterRow
from fieldbook.problems import Weight
from fieldbook.results.results import season_results
from fieldbook.results.settle import settle
from fieldbook.results.trials import trial_results
from fieldbook.season.ask import write_corrections
from fieldbook.season.checking import check_file
from fieldbook.season.intake import take_in
from fieldbook.season.known import read_known
from fieldbook.season.season import Season, open_season
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.roster import write_roster
from fieldbook.workbook.write import write_book

LONG, SHORT, BARN = ROWS
DAY = NOW.date()
SWAPPED = (replace(LONG, field_id="B7"), SHORT, replace(BARN, field_id="A1"))


def with_roster(season: Season, *rows: RosterRow) -> Season:
    """Write another roster over the season's and open it again."""
    assert season.folder.roster is not None
    data = write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
    season.folder.roster.write_bytes(data)
    opened, problems = open_season(season.folder.path)
    assert opened is not None, problems
    return opened


def filled(
    season: Season, path: Path, field_id: str, scout: str, *, stage: str = "R4", **cells: EntryValue
) -> Path:
    """Write a book with one good visit; `cells` are of its first ear."""
    entries: dict[EntryKey, EntryValue] = good_visit(field_id)
    entries["fields", (field_id,), "stage"] = stage
    entries |= {("ears", (field_id, 1, 1), column): value for column, value in cells.items()}
    plan = book_plan(season, scout=scout, entries={field_id: entries})
    path.write_bytes(write_book(plan))
    return path


@pytest.fixture
def counted(season: Season, tmp_path: Path) -> Season:
    """Give a season with a visit of each of two growers."""
    books = [
        filled(season, tmp_path / "ana.xlsx", "A1", "ana"),
        filled(season, tmp_path / "joss.xlsx", "B7", "joss"),
    ]
    assert all(taken.accepted for taken in take_in(season, books, now=NOW))
    return season


def run(*words: str | Path) -> Result:
    """Run a command; a traceback fails the test."""
    done = CliRunner().invoke(main, [str(word) for word in words])
    assert done.exception is None or isinstance(done.exception, SystemExit), done.output
    return done


def yields(season: Season) -> dict[str, float | None]:
    """Return the likely yield of every field, by its ID."""
    found = season_results(season, as_of=DAY).fields
    return {one.field_id: one.yield_.likely_bu_ac if one.yield_ else None for one in found}


def test_exchanged_ids_give_no_grower_the_counts_of_another(counted: Season) -> None:
    """Both fields stand without counts, and both are told with the field that was printed."""
    before = yields(counted)
    assert before["A1"]
    assert before["B7"]
    opened = with_roster(counted, *SWAPPED)
    assert yields(opened) == {"B7": None, "A2": None, "A1": None}
    found = season_results(opened, as_of=DAY)
    told = [one for one in found.problems if one.code == "field-exchanged"]
    assert [(one.place.field_id, dict(one.params)["other"]) for one in told] == [
        ("A1", "B7"),
        ("B7", "A1"),
    ]
    assert yields(with_roster(opened, *ROWS)) == before


def test_a_page_tells_a_visit_left_out_and_names_nobody_else(counted: Season) -> None:
    """The report of the ID goes to the roster's grower and holds nothing of the other field."""
    opened = with_roster(counted, *SWAPPED)
    (barn,) = (one for one in season_results(opened, as_of=DAY).fields if one.field_id == "A1")
    assert barn.visits == ()
    assert barn.grower == "Tamar O'Neill & Sons"
    assert [(one.code, one.weight) for one in barn.questions] == [("visit-left-out", Weight.ASK)]
    assert run("report", opened.folder.path, "--no-pdf", "--as-of", DAY).exit_code == 1
    (page,) = opened.folder.reports.glob("A1*.html")
    text = page.read_text("utf-8")
    assert "A visit whose field is in doubt (A1.KC1)" in text
    assert "Whoever keeps the roster" in text
    assert "which visits are of this field" in text
    assert "for the first time" not in text
    assert "Fenwick" not in text
    assert "Long eighty" not in text


@pytest.mark.parametrize(
    "words",
    [
        ["results", "--as-of", str(DAY)],
        ["report", "--no-pdf", "--as-of", str(DAY)],
        ["report", "--no-pdf", "--field", "A1", "--as-of", str(DAY)],
        ["board", "--as-of", str(DAY)],
        ["plan", "--no-pdf", "--as-of", str(DAY)],
        ["blank", "--round", "ripening"],
        ["ask"],
        ["doctor"],
    ],
    ids=" ".join,
)
def test_commands_tell_exchanged_ids_until_they_are_put_back(
    counted: Season, words: list[str]
) -> None:
    """Each ends with 1 and says which ID is whose; with the roster mended none says it."""
    command, *more = words
    opened = with_roster(counted, *SWAPPED)
    done = run(command, opened.folder.path, *more)
    assert done.exit_code == 1
    assert "Books of A1 (A1.KC1) were printed for 'Long eighty' of Oda Fenwick" in done.output
    mended = with_roster(opened, *ROWS)
    assert "were printed for" not in run(command, mended.folder.path, *more).output


def test_pages_follow_the_roster_there_and_back(counted: Season) -> None:
    """The page of a field that keeps its row, and gets another's names, is written anew."""
    words = ("report", counted.folder.path, "--no-pdf", "--as-of", DAY)
    run(*words)
    (page,) = counted.folder.reports.glob("A1*.html")
    counts = page.read_text("utf-8")
    with_roster(counted, replace(LONG, grower="Ilse Roth"), SHORT, BARN)
    run(*words)
    assert page.read_text("utf-8") == counts.replace("Oda Fenwick", "Ilse Roth")
    taker = replace(SHORT, field="Long eighty", grower="Oda Fenwick")
    with_roster(counted, replace(LONG, grower="Ilse Roth"), taker, BARN)
    run(*words)
    assert "A visit whose field is in doubt (A1.KC1)" in page.read_text("utf-8")
    with_roster(counted, *ROWS)
    run(*words)
    assert page.read_text("utf-8") == counts


def test_a_new_owner_is_asked_about_and_settled_in_the_roster(counted: Season) -> None:
    """Its counts stay in the field; the former name in the roster ends the question."""
    sold = replace(LONG, grower="Ilse Roth", grower_id="G9")
    opened = with_roster(counted, sold, SHORT, BARN)
    done = run("results", opened.folder.path, "--as-of", DAY)
    assert done.exit_code == 1
    assert "type 'Oda Fenwick' under Formerly" in done.output
    assert yields(opened)["A1"]
    again = with_roster(counted, replace(sold, formerly="Oda Fenwick"), SHORT, BARN)
    assert read_known(again).name_problems == ()
    assert yields(again)["A1"]


def test_a_new_name_is_a_note_and_changes_nothing(counted: Season) -> None:
    """A renamed field keeps its counts, and no command ends with 1 for it."""
    opened = with_roster(counted, replace(LONG, field="Long ninety"), SHORT, BARN)
    assert [one.code for one in read_known(opened).name_problems] == ["field-renamed"]
    assert yields(opened)["A1"]
    assert run("doctor", opened.folder.path).exit_code == 0


def test_a_book_printed_before_the_exchange_is_told_when_it_comes_back(
    season: Season, tmp_path: Path
) -> None:
    """It is taken in, nothing of it is refused, and `check` and `intake` say whose names it has."""
    book = filled(season, tmp_path / "ana.xlsx", "A1", "ana")
    opened = with_roster(season, *SWAPPED)
    checked = check_file(opened, book, now=NOW)
    assert [one.code for one in checked.open_problems if one.weight is Weight.ERROR] == [
        "field-exchanged"
    ]
    assert (
        json.loads(
            run("check", book, "--season", opened.folder.path, "--as-of", DAY, "--json").output
        )["problems"][0]["code"]
        == "field-exchanged"
    )
    (taken,) = take_in(opened, [book], now=NOW)
    assert taken.accepted
    assert taken.needs_a_look
    assert yields(opened)["A1"] is None
    assert yields(with_roster(opened, *ROWS))["A1"]


def test_a_book_of_other_names_is_not_judged_by_the_wrong_row(
    season: Season, tmp_path: Path
) -> None:
    """Its date lies before the planting of the field that has its ID now, and stands all the same.

    What is refused on intake would stay so after the roster was mended.
    """
    book = filled(season, tmp_path / "ana.xlsx", "A1", "ana")
    late = replace(SWAPPED[2], planted=VISIT_DAY + timedelta(days=1), row_width_in=20)
    opened = with_roster(season, *SWAPPED[:2], late)
    (taken,) = take_in(opened, [book], now=NOW)
    assert [one.code for one in taken.open_problems] == ["field-exchanged"]
    assert yields(with_roster(opened, *ROWS))["A1"]


def test_a_book_is_not_held_against_visits_of_other_names(counted: Season, tmp_path: Path) -> None:
    """What was seen in the field that had the ID before says nothing of the one that has it."""
    opened = with_roster(counted, *SWAPPED)
    book = filled(opened, tmp_path / "later.xlsx", "A1", "joss", stage="R3")
    (taken,) = take_in(opened, [book], now=NOW)
    assert taken.visits == ("A1.KC2",)
    assert taken.open_problems == ()
    again = with_roster(opened, *ROWS)
    book = filled(again, tmp_path / "last.xlsx", "A1", "ana", stage="R3")
    (taken,) = take_in(again, [book], now=NOW)
    assert [one.code for one in taken.open_problems if one.place.column == "stage"]


def test_nothing_is_asked_of_a_scout_while_the_ids_are_exchanged(
    season: Season, tmp_path: Path
) -> None:
    """A correction book would carry another field's hybrid and stops; it waits for the roster."""
    book = filled(season, tmp_path / "ana.xlsx", "A1", "ana", rows_around=15)
    (taken,) = take_in(season, [book], now=NOW)
    assert taken.verdict
    assert State.OPEN in {one.state for one in taken.verdict.questions}
    opened = with_roster(season, *SWAPPED)
    assert list(write_corrections(opened)) == []
    assert len(list(write_corrections(with_roster(opened, *ROWS)))) == 1


def test_tables_trials_and_settling_leave_exchanged_visits_out(counted: Season) -> None:
    """No row carries a grower's name beside another's counts; trials and settling say why."""
    strips = [replace(row, trial="North", treatment=str(at)) for at, row in enumerate(SWAPPED)]
    opened = with_roster(counted, *strips)
    found, problems = trial_results(opened, as_of=DAY)
    assert [strip.value_bu_ac for strip in found[0].strips] == [None] * 3
    assert "field-exchanged" in {one.code for one in problems}
    assert "field-exchanged" in {one.code for one in settle(opened, as_of=DAY).problems}
    run("results", opened.folder.path, "--export", "csv", "--as-of", DAY)
    tables = opened.folder.reports / "tables"
    assert len((tables / "ears.csv").read_text("utf-8").splitlines()) == 1
    assert "field-exchanged" in (tables / "questions.csv").read_text("utf-8")
