"""Forms age: a book of the form before is read by declared steps, others name the way out."""

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from openpyxl import load_workbook
from seasons import NOW, book_plan, good_visit

from fieldbook.cli import main
from fieldbook.entries import BookEntries
from fieldbook.forms import migrations
from fieldbook.forms.migrations import STEPS, Former, Step, form_to_read
from fieldbook.forms.rounds import KERNEL_COUNT, ROUNDS
from fieldbook.ledger.events import read_events
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.stored import StoredVisit
from fieldbook.problems import Problem, sentence
from fieldbook.season.ask import write_corrections
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season
from fieldbook.words import SHIPPED_LANGUAGES, say
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

DATA = Path(__file__).parents[1] / "data"
QUICK, FULL = DATA / "kernel-count-1-quick.xlsx", DATA / "kernel-count-1-full.xlsx"
EVENT = DATA / "kernel-count-1-quick.event.json"
HARVEST_1 = DATA / "harvest-1.xlsx"


def read(path: Path) -> BookEntries:
    """Read a book that can be read."""
    found = read_book(path.read_bytes(), path.name)
    assert found.book is not None, found.problems
    return found.book


def taken_in(season: Season, path: Path) -> StoredVisit:
    """Take a book in and return its one visit."""
    (taken,) = take_in(season, [path], now=NOW)
    assert taken.accepted, taken.problems
    with Ledger(season.folder) as ledger:
        (visit,) = ledger.visits()
    return visit


def test_every_step_names_what_the_form_has() -> None:
    """A step leads to a version that exists, and speaks only of sheets and columns of now."""
    for step in STEPS:
        round_ = ROUNDS[step.round]
        assert step.since < round_.form_version
        full = {one.sheet.name: set(one.names) for one in round_.full.sheets}
        quick = {one.sheet.name: set(one.names) for one in round_.quick.sheets}
        assert set(step.sheets_added) <= set(full)
        named = [(sheet, name) for sheet, names in step.columns_added.items() for name in names]
        for sheet, column in (*named, *step.columns_renamed, *step.choices):
            assert column in full[sheet] | quick.get(sheet, set())


def test_every_form_that_was_raised_declares_its_last_step() -> None:
    """A round beyond its first version can read the one before."""
    for round_ in ROUNDS.values():
        if round_.form_version > 1:
            found = form_to_read(round_.name, round_.form_version - 1, full=False)
            assert not isinstance(found, Problem)


@pytest.mark.parametrize(("path", "ears"), [(QUICK, 15), (FULL, 25)])
def test_a_true_book_of_version_1_is_read(season: Season, path: Path, ears: int) -> None:
    """A book written by the code of its day gives every reading; one note tells what is new."""
    book = read(path)
    assert book.identity.form_version == 1 < KERNEL_COUNT.form_version
    assert [found.code for found in book.problems] == ["book-form-older"]
    said = sentence(book.problems[0])
    assert "Milk line, Leaves, Photos" in said if path is QUICK else "Lowest green" in said
    visit = taken_in(season, path)
    assert len(visit.records["ears"]) == ears
    assert visit.records["fields"][0].visit_date == date(2026, 8, 12)
    assert visit.records["fields"][0].milk_line is None
    assert (visit.records["leaves"], visit.records["photos"]) == ((), ())


def test_the_full_book_of_version_1_keeps_every_value(season: Season) -> None:
    """Numbers, choices, text and a rare value stand as they were typed."""
    visit = taken_in(season, FULL)
    stops = {stop.stop: stop for stop in visit.records["stops"]}
    ears = {(ear.stop, ear.ear): ear for ear in visit.records["ears"]}
    assert [stops[n].ears for n in range(1, 6)] == [29, 30, 31, 32, 33]
    assert (stops[2].plants, stops[3].place) == (33, "end-rows")
    assert ears[1, 1].pattern == "one-sided"
    assert ears[4, 1].rows_around is None  # rare, so asked
    assert visit.records["fields"][0].remark == "Hail in the west corner"


def test_a_correction_of_an_older_visit_is_a_book_of_now(season: Season, tmp_path: Path) -> None:
    """What the old form asked comes back as entered, with the sheets that the form has now."""
    taken_in(season, QUICK)
    (asked,) = write_corrections(season)
    book = read(asked.path)
    assert book.identity.form_version == KERNEL_COUNT.form_version
    assert book.problems == ()
    assert len(book.sheets["leaves"].rows) == 10
    whole = load_workbook(asked.path)
    ears = whole["Ears"]
    heads = {cell.value: cell.column for cell in ears[1] if cell.value}
    row = next(
        at
        for at in range(5, ears.max_row + 1)
        if (ears.cell(at, heads["stop"]).value, ears.cell(at, heads["ear"]).value) == (2, 1)
    )
    assert ears.cell(row, heads["rows_around"]).value == 15
    ears.cell(row, heads["rows_around"]).value = 16
    mended = tmp_path / "mended.xlsx"
    whole.save(mended)
    (taken,) = take_in(season, [mended], now=NOW + timedelta(days=1))
    assert taken.accepted, taken.problems
    with Ledger(season.folder) as ledger:
        assert ledger.questions() == []
        (visit,) = ledger.visits()
    assert [ear.rows_around for ear in visit.records["ears"]] == [16] * 15


def test_an_event_of_version_1_is_replayed(season: Season) -> None:
    """A season begun with version 1 is rebuilt, and asks its open question in a form of now."""
    raw = json.loads(EVENT.read_text("utf-8"))
    originals = season.folder.originals
    originals.mkdir(parents=True, exist_ok=True)
    season.folder.events.mkdir(parents=True, exist_ok=True)
    (originals / f"{raw['sha256']}.xlsx").write_bytes(QUICK.read_bytes())
    (season.folder.events / "000001.json").write_bytes(EVENT.read_bytes())
    assert rebuild(season.folder) == (1, [])
    (event,) = read_events(season.folder)
    assert event.sequence == 1
    (asked,) = write_corrections(season)
    assert asked.questions == 1
    assert read(asked.path).identity.written_after == 1


def test_a_newer_form_is_refused_with_the_way_out(season: Season) -> None:
    """Even where its identity has parts that nobody knows yet: update, nothing is lost."""
    plan = book_plan(season, entries={"A1": good_visit("A1")})
    newer = replace(
        plan, identity=replace(plan.identity, form_version=KERNEL_COUNT.form_version + 1)
    )
    path = season.folder.path / "newer.xlsx"
    path.write_bytes(write_book(newer))
    book = load_workbook(path)
    cell = book["Identity"]["B2"]
    cell.value = json.dumps({**json.loads(cell.value), "drone": "yes"})
    book.save(path)
    found = read_book(path.read_bytes(), path.name)
    assert [one.code for one in found.problems] == ["book-form-newer"]
    assert "Update silkbook" in sentence(found.problems[0])


def test_an_unknown_round_is_refused(season: Season) -> None:
    """A book of a round that this version does not have."""
    found = form_to_read("tasselling", 1, full=False)
    assert isinstance(found, Problem)
    assert found.code == "book-unknown-form"


def later_form(monkeypatch: pytest.MonkeyPatch, step: Step) -> None:
    """Let the kernel count be a version further, with this step to it."""
    now = replace(KERNEL_COUNT, form_version=KERNEL_COUNT.form_version + 1)
    monkeypatch.setitem(migrations.ROUNDS, KERNEL_COUNT.name, now)
    monkeypatch.setattr(migrations, "STEPS", (*STEPS, step))


def test_the_form_before_the_last_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two versions back is not guessed at: copy the numbers, or use the version that wrote it."""
    later_form(monkeypatch, Step(round=KERNEL_COUNT.name, since=KERNEL_COUNT.form_version))
    found = read_book(QUICK.read_bytes(), QUICK.name)
    assert [one.code for one in found.problems] == ["book-form-too-old"]
    said = sentence(found.problems[0])
    now = KERNEL_COUNT.form_version
    assert f"reads {now} and {now + 1}" in said
    assert "silkbook blank --round kernel-count" in said


def test_renamed_columns_and_choices_are_read_as_now(
    season: Season, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """A column under its former key and header, a choice under its former label."""
    entries = good_visit("A1") | {("stops", ("A1", 2), "place"): "edge"}
    whole = tmp_path / "now.xlsx"
    whole.write_bytes(write_book(book_plan(season, entries={"A1": entries})))
    book = load_workbook(whole)
    for sheet, former in (("Ears", "rows_all_round"), ("Stops", "where")):
        now = {"Ears": "rows_around", "Stops": "place"}[sheet]
        key = next(cell for cell in book[sheet][1] if cell.value == now)
        key.value = former
        book[sheet].cell(3, key.column).value = former.replace("_", " ").title()
    for row in book["Stops"].iter_rows():
        for cell in row:
            cell.value = "Border" if cell.value == "Edge" else cell.value
    old = tmp_path / "old.xlsx"
    book.save(old)
    step = Step(
        round=KERNEL_COUNT.name,
        since=KERNEL_COUNT.form_version,
        columns_renamed={
            ("ears", "rows_around"): Former(name="rows_all_round", label="Rows All Round"),
            ("stops", "place"): Former(name="where", label="Where"),
        },
        choices={("stops", "place"): {"Border": "edge"}},
    )
    later_form(monkeypatch, step)
    found = read(old)
    assert found.problems == ()
    assert {row.cells["rows_around"].value for row in found.sheets["ears"].rows} == {16, None}
    places = [row.cells["place"].value for row in found.sheets["stops"].rows]
    assert "Edge" in places
    for name in ("Ears", "Stops"):  # the hidden key row lost: known by headers alone
        book[name].delete_rows(1)
    book.save(old)
    found = read(old)
    assert {row.cells["rows_around"].value for row in found.sheets["ears"].rows} == {16, None}


@pytest.mark.parametrize("language", SHIPPED_LANGUAGES)
def test_a_true_book_of_the_first_harvest_form_is_read(tmp_path: Path, language: str) -> None:
    """Wet grain was called wet bushels: its values stand, also where only the headers name it."""
    book = load_workbook(HARVEST_1)
    sheet = book["Harvest"]
    read_as_it_was = [row.cells["wet_bu"].value for row in read(HARVEST_1).sheets["harvest"].rows]
    assert [value for value in read_as_it_was if value] == [640]
    for cell in sheet[3]:  # the headers, in the language of whoever printed it
        cell.value = cell.value and say(str(cell.value), language)
    sheet.delete_rows(1)  # the hidden key row
    old = tmp_path / "old.xlsx"
    book.save(old)
    found = read(old)
    assert found.problems == ()
    assert [row.cells["wet_bu"].value for row in found.sheets["harvest"].rows] == read_as_it_was


def test_the_command_says_it(season: Season) -> None:
    """Taking a book of version 1 in ends well, with one note on it."""
    from click.testing import CliRunner

    words = ["intake", str(FULL), "--season", str(season.folder.path), "--as-of", "2026-08-20"]
    said = CliRunner().invoke(main, words).output
    assert "taken in: A1.KC1" in said
    assert "has version 1 of the form 'kernel-count' and was read all the same" in said
