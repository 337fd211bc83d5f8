"""Taking books in: once, twice, half, corrected, broken, of another season; and the replay."""

import shutil
from collections.abc import Iterator, Sequence
from datetime import timedelta
from pathlib import Path

import pytest
from openpyxl import load_workbook
from seasons import NOW, book_plan, good_stop, good_visit, small_season, write_filled

from fieldbook.check.context import Context
from fieldbook.check.verdict import CheckedBook, State
from fieldbook.entries import BookEntries
from fieldbook.ledger.events import BookEvent, read_events, write_events
from fieldbook.ledger.folder import SeasonBusyError, SeasonFolder, season_lock
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import line
from fieldbook.season import intake, judging
from fieldbook.season.blank import keep_identity
from fieldbook.season.checking import check_file
from fieldbook.season.intake import take_in
from fieldbook.season.past import PastVisits
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season, open_season
from fieldbook.season.taken import Taken
from fieldbook.workbook.write import write_book


def take(season: Season, *paths: Path) -> list[Taken]:
    """Take files in on the test's day."""
    return list(take_in(season, list(paths), now=NOW))


def dump(season: Season) -> list[str]:
    """Return the whole ledger as lines."""
    with Ledger(season.folder) as ledger:
        return list(ledger.dump())


def codes(taken: Taken) -> list[str]:
    """Return the codes of what is to be looked at."""
    return [found.code for found in taken.open_problems]


@pytest.fixture
def filled(tmp_path: Path, season: Season) -> Path:
    """Write a well filled book."""
    return write_filled(tmp_path / "ana.xlsx", season, good_visit("A1"))


def test_a_book_is_kept_recorded_and_entered(season: Season, filled: Path) -> None:
    """The original is kept byte for byte under its hash, with one event that names it."""
    (taken,) = take(season, filled)
    assert taken.accepted
    assert not taken.needs_a_look
    (event,) = read_events(season.folder)
    kept = season.folder.originals / f"{event.sha256}.xlsx"
    assert kept.read_bytes() == filled.read_bytes()
    assert set(event.judged_against) == {"season.toml", "roster.xlsx"}
    with Ledger(season.folder) as ledger:
        (visit,) = ledger.visits()
    assert visit.visit_id == "A1.KC1"
    assert len(visit.records["ears"]) == 15
    assert visit.records["stops"][0].ears == 29


def test_the_same_file_twice_changes_nothing(season: Season, filled: Path) -> None:
    """A second time gives one clear line and leaves ledger and kept files as they are."""
    take(season, filled)
    before = dump(season)
    (again,) = take(season, filled)
    assert not again.accepted
    assert codes(again) == ["book-seen"]
    assert again.said("en") == f"{filled.name}: nothing new"
    assert again.needs_a_look
    assert dump(season) == before
    assert len(list(season.folder.events.iterdir())) == 1


def test_a_half_book_then_the_whole_one(season: Season, tmp_path: Path) -> None:
    """What came first stays; what is new is added; nothing is asked."""
    half = write_filled(tmp_path / "half.xlsx", season, good_visit("A1", stops=2))
    whole = write_filled(tmp_path / "whole.xlsx", season, good_visit("A1"))
    first, second = take(season, half, whole)
    assert first.accepted
    assert second.accepted
    assert codes(second) == []
    with Ledger(season.folder) as ledger:
        (visit,) = ledger.visits()
    assert len(visit.records["stops"]) == 5


def test_a_corrected_book_replaces_what_it_corrects(season: Season, tmp_path: Path) -> None:
    """15 rows are mended to 16: the question is gone, and the old reading stays in history."""
    spoiled = {**good_visit("A1"), ("ears", ("A1", 1, 1), "rows_around"): 15}
    first = write_filled(tmp_path / "first.xlsx", season, spoiled)
    second = write_filled(tmp_path / "second.xlsx", season, good_visit("A1"))
    assert codes(take(season, first)[0]) == ["rows-odd"]
    with Ledger(season.folder) as ledger:
        assert [q.problem.code for q in ledger.questions()] == ["rows-odd"]
        assert ledger.visits()[0].records["ears"][0].rows_around is None
    assert codes(take(season, second)[0]) == ["value-replaced"]
    with Ledger(season.folder) as ledger:
        assert ledger.questions() == []
        assert ledger.visits()[0].records["ears"][0].rows_around == 16
        lines = [text for text in ledger.dump() if "'rows_around'" in text and "'1, 1'" in text]
    assert len(lines) == 2


def test_an_emptied_cell_keeps_its_earlier_value(season: Season, tmp_path: Path) -> None:
    """Empty means not looked at, so it never deletes; the scout is told."""
    first = write_filled(tmp_path / "first.xlsx", season, good_visit("A1"))
    emptied = dict(good_visit("A1"))
    del emptied["stops", ("A1", 3), "ears"]
    second = write_filled(tmp_path / "second.xlsx", season, emptied)
    take(season, first)
    (taken,) = take(season, second)
    assert "value-kept" in codes(taken)
    with Ledger(season.folder) as ledger:
        assert ledger.visits()[0].records["stops"][2].ears == 31


def test_a_question_about_a_row_that_did_not_come_again_stands(
    season: Season, tmp_path: Path
) -> None:
    """A later book without the questioned row does not answer the question."""
    spoiled = {
        **good_visit("A1", stops=1),
        **good_stop("A1", 2),
        ("ears", ("A1", 2, 1), "rows_around"): 15,
    }
    first = write_filled(tmp_path / "first.xlsx", season, spoiled)
    second = write_filled(tmp_path / "second.xlsx", season, good_visit("A1", stops=1))
    take(season, first, second)
    with Ledger(season.folder) as ledger:
        assert "rows-odd" in [q.problem.code for q in ledger.questions(State.OPEN)]


def test_bad_files_get_one_line_each_and_take_nobody_down(
    season: Season, filled: Path, tmp_path: Path
) -> None:
    """Each bad file is named with what to do; the good book in their middle is taken in."""
    data = filled.read_bytes()
    bad = {
        "note.xlsx": b"hello, not a workbook",
        "empty.xlsx": b"",
        "cut.xlsx": data[: len(data) // 2],
        "old.xls": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600,
    }
    paths = []
    for name, content in bad.items():
        path = tmp_path / name
        path.write_bytes(content)
        paths.append(path)
    other = small_season(tmp_path / "other")
    settings = other.folder.settings
    settings.write_text(settings.read_text().replace("test-2026", "north-2026"))
    reopened, _ = open_season(tmp_path / "other")
    assert reopened is not None
    foreign = write_filled(tmp_path / "foreign.xlsx", reopened, good_visit("A1"))
    missing = tmp_path / "gone.xlsx"
    taken = take(season, *paths[:2], filled, *paths[2:], foreign, missing)
    found = {one.path.name: one for one in taken}
    assert found["ana.xlsx"].accepted
    assert sum(one.accepted for one in taken) == 1
    wanted = {
        "note.xlsx": "file-not-workbook",
        "empty.xlsx": "file-empty",
        "cut.xlsx": "file-broken",
        "foreign.xlsx": "book-other-season",
        "gone.xlsx": "file-unreadable",
    }
    for name, code in wanted.items():
        assert codes(found[name]) == [code]
        assert name in line(found[name].open_problems[0])
        assert found[name].needs_a_look
    assert len(codes(found["old.xls"])) == 1


def test_a_workbook_that_is_no_book_is_named_so(season: Season, tmp_path: Path) -> None:
    """A roster is a workbook, but no book."""
    path = tmp_path / "roster-copy.xlsx"
    roster = season.folder.roster
    assert roster is not None
    shutil.copy(roster, path)
    assert codes(take(season, path)[0]) == ["file-not-a-book"]


def test_an_untouched_book_is_nothing_to_take_in(season: Season, tmp_path: Path) -> None:
    """A blank book sent back by mistake leaves no trace."""
    path = write_filled(tmp_path / "blank.xlsx", season, {})
    (taken,) = take(season, path)
    assert not taken.accepted
    assert codes(taken) == ["book-nothing-filled"]
    assert dump(season) == []


def test_books_in_incoming_move_to_taken_and_bad_ones_aside(season: Season, filled: Path) -> None:
    """What is kept moves to taken; what was refused lies aside, to be mended."""
    good = season.folder.incoming / "ana.xlsx"
    shutil.copy(filled, good)
    bad = season.folder.incoming / "bad.xlsx"
    bad.write_bytes(b"nothing")
    take(season, good, bad)
    assert not good.exists()
    assert (season.folder.taken / "ana.xlsx").exists()
    assert not bad.exists()
    assert (season.folder.aside / "bad.xlsx").read_bytes() == b"nothing"


def test_a_slip_of_ours_stops_one_book_alone(
    season: Season, filled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A check that fails over one book: that book is not taken in, the next one is."""
    other = write_filled(tmp_path / "other.xlsx", season, good_visit("A2"))
    right = judging.check_book

    def slipping(book: BookEntries, context: Context) -> CheckedBook:
        if book.file == filled.name:
            raise TypeError("a slip")
        return right(book, context)

    monkeypatch.setattr(judging, "check_book", slipping)
    first, second = take(season, filled, other)
    assert [(one.code, dict(one.params)) for one in first.problems] == [
        ("file-not-judged", {"detail": "TypeError: a slip"})
    ]
    assert second.accepted


def test_a_book_is_judged_without_counting_the_seasons_visits(
    season: Season, filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each book would take longer than the one before it; its own fields' visits will do."""

    def walk(_: PastVisits) -> Iterator[str]:
        raise AssertionError("all visits were asked for")

    monkeypatch.setattr(PastVisits, "__iter__", walk)
    (taken,) = take(season, filled)
    assert taken.accepted


def test_the_ledger_is_a_replay_of_the_kept_events(season: Season, tmp_path: Path) -> None:
    """Thrown away and replayed, it is equal row for row."""
    spoiled = {**good_visit("A1"), ("ears", ("A1", 1, 1), "rows_around"): 15}
    take(season, write_filled(tmp_path / "a.xlsx", season, spoiled))
    take(season, write_filled(tmp_path / "b.xlsx", season, good_visit("A1")))
    before = dump(season)
    assert rebuild(season.folder) == (2, [])
    assert dump(season) == before
    season.folder.ledger.unlink()
    assert dump(season) == before


def test_an_event_without_its_ledger_entry_is_caught_up(
    season: Season, filled: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed between event and ledger: the next opening enters it, once."""

    def killed(folder: SeasonFolder, events: Sequence[BookEvent]) -> None:
        write_events(folder, events)
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        assert dump(season) == []
        patch.setattr(intake, "write_events", killed)
        with pytest.raises(KeyboardInterrupt):
            take(season, filled)
    assert len(list(read_events(season.folder))) == 1
    with Ledger(season.folder) as ledger:
        assert [visit.visit_id for visit in ledger.visits()] == ["A1.KC1"]
    assert codes(take(season, filled)[0]) == ["book-seen"]


def test_a_second_intake_waits_and_then_says_so(season: Season) -> None:
    """Two processes never work in one season at once."""
    with (
        season_lock(season.folder),
        pytest.raises(SeasonBusyError),
        season_lock(season.folder, wait_s=0.1),
    ):
        raise AssertionError("the season was held twice")


def test_check_changes_nothing(season: Season, filled: Path) -> None:
    """Checking a file keeps no original, writes no event and makes no ledger."""
    before = sorted(path for path in season.folder.path.rglob("*") if path.is_file())
    taken = check_file(season, filled, now=NOW)
    assert taken.verdict is not None
    assert len(taken.verdict.readings) == len(good_visit("A1"))
    after = sorted(path for path in season.folder.path.rglob("*") if path.is_file())
    assert after == before


def test_a_date_after_the_file_came_in_is_refused(season: Season, filled: Path) -> None:
    """A visit cannot be later than the day its book arrived."""
    early = NOW - timedelta(days=10)
    (taken,) = list(take_in(season, [filled], now=early))
    assert codes(taken) == ["date-in-future"]


def test_an_original_is_not_written_over(season: Season, filled: Path, tmp_path: Path) -> None:
    """A changed copy has another hash, so both originals are kept."""
    take(season, filled)
    changed = {**good_visit("A1"), ("ears", ("A1", 1, 1), "remark"): "worm at the tip"}
    (taken,) = take(season, write_filled(tmp_path / "ana.xlsx", season, changed))
    assert taken.accepted
    assert len(list(season.folder.originals.iterdir())) == 2


def test_a_book_without_its_hidden_sheet_is_known_by_its_marks(
    season: Season, tmp_path: Path
) -> None:
    """The Identity sheet is gone; the book's name on its sheets leads to what was kept of it."""
    plan = book_plan(season, entries={"A1": good_visit("A1")})
    path = tmp_path / "torn.xlsx"
    path.write_bytes(write_book(plan))
    torn = load_workbook(path)
    del torn["Identity"]
    torn.save(path)
    shutil.rmtree(season.folder.identities, ignore_errors=True)
    assert codes(take(season, path)[0]) == ["file-not-a-book"]
    keep_identity(season, plan)
    (taken,) = take(season, path)
    assert taken.accepted
    assert codes(taken) == []


def test_a_killed_writers_leftover_is_swept(season: Season, filled: Path) -> None:
    """A half-written file of an earlier run is gone after the next intake, and nothing else is."""
    season.folder.make()
    left = season.folder.originals / ".writing-abc"
    left.write_bytes(b"half")
    take(season, filled)
    assert not left.exists()
    assert len(list(season.folder.originals.iterdir())) == 1


def test_books_kept_at_once_see_each_other(season: Season, filled: Path, tmp_path: Path) -> None:
    """The same bytes twice, and a corrected copy, among the files of one go."""
    again = Path(shutil.copyfile(filled, tmp_path / "again.xlsx"))
    first, second, third = take(season, filled, again, *_mended(season, tmp_path))
    assert first.accepted
    assert third.accepted
    assert codes(second) == ["book-seen"]
    assert [event.sequence for event in read_events(season.folder)] == [1, 2]
    before = dump(season)
    season.folder.ledger.unlink()
    assert dump(season) == before


def _mended(season: Season, folder: Path) -> list[Path]:
    mended = {**good_visit("A1"), ("fields", ("A1",), "remark"): "counted anew"}
    return [write_filled(folder / "mended.xlsx", season, mended)]


def test_what_fails_among_books_kept_at_once_keeps_none_of_them(
    season: Season, filled: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The disk is full at the events: ledger and events know of none; later all are taken in."""
    paths = [filled, *_mended(season, tmp_path)]

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(intake, "write_events", full)
        with pytest.raises(OSError, match="No space"):
            take(season, *paths)
    assert list(read_events(season.folder)) == []
    assert not any("A1.KC1" in line for line in dump(season))
    assert [one.accepted for one in take(season, *paths)] == [True, True]


@pytest.mark.parametrize(
    ("limit", "wanted"),
    [("_MOST_AT_ONCE", [2, 2, 1]), ("_MOST_BYTES", [1] * 5), ("_MOST_SECONDS", [1] * 5)],
)
def test_no_more_is_kept_at_once_than_may_wait(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, limit: str, wanted: list[int]
) -> None:
    """By number, by bytes and by time: the next ones are kept in a go of their own."""
    paths = [_remarked(season, tmp_path, number) for number in range(5)]
    goes: list[int] = []

    def counted(folder: SeasonFolder, events: Sequence[BookEvent]) -> None:
        goes.append(len(events))
        write_events(folder, events)

    monkeypatch.setattr(intake, "write_events", counted)
    monkeypatch.setattr(intake, limit, 2 if limit == "_MOST_AT_ONCE" else 0)
    assert all(one.accepted for one in take(season, *paths))
    assert goes == wanted


def _remarked(season: Season, folder: Path, number: int) -> Path:
    entries = {**good_visit("A1"), ("fields", ("A1",), "remark"): f"walk {number}"}
    return write_filled(folder / f"{number}.xlsx", season, entries)
