"""A check looks into a ledger that is a file without SQLAlchemy, and says what it says with it."""

import sqlite3
import threading
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import pytest
import sqlalchemy
from click.testing import CliRunner, Result
from database import Postgres
from mending import mend
from seasons import NOW, VISIT_DAY, good_visit, write_filled
from two_ways import both_ways

from fieldbook.cli import main
from fieldbook.forms.rounds import POLLINATION, RIPENING, Round
from fieldbook.ledger.database import season_database
from fieldbook.ledger.disk import SharedDiskError
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.glance import glanced
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.names import LAYOUT
from fieldbook.problems import problem, sentence
from fieldbook.season.ask import write_corrections
from fieldbook.season.checking import check_file
from fieldbook.season.intake import take_in
from fieldbook.season.past import PastVisits
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.workbook.plan import EntryKey, EntryValue

ODD, ODD_SURE = ("ears", ("A1", 2, 1), "rows_around"), ("ears", ("A1", 2, 1), "answer")
GOOD = ("ears", ("A1", 1, 1), "rows_around")
YES = "Yes, it is true"
BY_KIND = "SELECT sequence FROM events WHERE kind IN :kinds ORDER BY sequence"
SAID = "first.xlsx: 83 readings, "


def take(season: Season, path: Path, *, days: int = 0) -> Path:
    """Take a file in, some days after the first book."""
    (taken,) = take_in(season, [path], now=NOW + timedelta(days=days))
    assert taken.accepted, taken.problems
    return path


@pytest.fixture
def first(season: Season, tmp_path: Path) -> Path:
    """Take in a book with a number that cannot be."""
    return take(season, write_filled(tmp_path / "first.xlsx", season, good_visit("A1") | {ODD: 15}))


def codes(taken: Taken) -> list[str]:
    """Return the codes of what is to be looked at."""
    return [found.code for found in taken.open_problems]


def checked(monkeypatch: pytest.MonkeyPatch, season: Season, book: Path, days: int) -> list[str]:
    """Check a book both ways, and return the codes of what is to be looked at."""
    now = NOW + timedelta(days=days)
    return codes(both_ways(monkeypatch, lambda: check_file(season, book, now=now)))


def test_corrections_and_conflicts_are_foreseen_alike(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A question, its correction, a rival of that, what one emptied, copies of the first book."""
    look = partial(checked, monkeypatch, season)
    copied = good_visit("A1") | {ODD: 20, GOOD: 17}
    third = write_filled(tmp_path / "third.xlsx", season, copied)
    first = take(
        season, write_filled(tmp_path / "first.xlsx", season, good_visit("A1") | {ODD: 15})
    )
    assert look(first, 1) == ["rows-odd"]
    (asked,) = write_corrections(season)
    mended = mend(asked.path, tmp_path / "mended.xlsx", {ODD: 14, ODD_SURE: YES})
    rival = mend(asked.path, tmp_path / "rival.xlsx", {ODD: 16, ODD_SURE: YES})
    emptied = mend(asked.path, tmp_path / "emptied.xlsx", {GOOD: None})
    assert look(mended, 1) == []
    assert look(emptied, 1) == ["part-missing", "rows-odd"]
    scouts = tuple(replace(scout, language="es") for scout in season.settings.scouts)
    spanish = replace(season, settings=replace(season.settings, scouts=scouts))
    (other,) = write_corrections(spanish)
    take(season, mended, days=1)
    rival = mend(other.path, rival, {ODD: 16, ODD_SURE: YES})
    assert look(rival, 2) == ["corrections-differ"]
    take(season, rival, days=2)
    assert look(first, 3) == []
    assert look(third, 3) == ["rows-odd", "corrections-differ"]


SILKS: tuple[str, date, Round] = ("R2", date(2026, 7, 16), POLLINATION)
OFF: tuple[str, date, Round] = ("R6", VISIT_DAY - timedelta(4), RIPENING)


def visit(season: Season, path: Path, stage: str, day: date, round_: Round) -> Path:
    """Write a book of a visit that saw this stage."""
    entries: dict[EntryKey, EntryValue] = {
        ("fields", ("A1",), "visit_date"): day,
        ("fields", ("A1",), "stage"): stage,
    }
    return write_filled(path, season, entries, round_=round_)


def test_a_look_knows_the_visits_of_a_field(
    first: Path, season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was counted before and when, read by either connection, and what follows from that."""
    take(season, visit(season, tmp_path / "silks.xlsx", *SILKS))
    with Ledger(season.folder) as ledger, glanced(season.folder) as glance:
        assert glance is not None
        by_ledger, by_glance = (
            PastVisits(one, ["A1", "A2"], season.roster) for one in (ledger, glance)
        )
        assert [*by_glance] == ["A1"]
        assert dict(by_glance) == dict(by_ledger)
        assert [one.stage for one in by_glance["A1"]] == ["R2", "R4"]
        assert by_glance["A1"][1].day == VISIT_DAY
    off = visit(season, tmp_path / "off.xlsx", *OFF)
    assert checked(monkeypatch, season, off, 1) == ["stage-ahead-of-later"]


def test_a_teams_ledger_foresees_as_a_file_does(
    first: Path, season: Season, tmp_path: Path, postgres: Postgres
) -> None:
    """The same questions in the same words, with days, lists and what is not there."""
    take(season, visit(season, tmp_path / "silks.xlsx", *SILKS))
    place = season_database(postgres.new_url(), season.settings.season_id)
    shared = replace(season, folder=replace(season.folder, database=place))
    with Ledger(shared.folder) as ledger:
        assert [row["sequence"] for row in ledger.ask(BY_KIND, kinds=("book", "none"))] == [1, 2]
        assert ledger.ask(BY_KIND, kinds=()) == []
    (asked,) = write_corrections(season)
    books = [
        visit(season, tmp_path / "off.xlsx", *OFF),
        mend(asked.path, tmp_path / "mended.xlsx", {ODD: None, GOOD: 14}),
        write_filled(tmp_path / "again.xlsx", season, good_visit("A1") | {ODD: 17}),
    ]
    for book in books:
        later = NOW + timedelta(days=1)
        found = check_file(shared, book, now=later)
        assert found == check_file(season, book, now=later)
        assert codes(found)


# ---- where a short look is not enough -------------------------------------------------------


def check(season: Season, book: Path) -> Result:
    """Run the command."""
    words = ["check", str(book), "--season", str(season.folder.path), "--as-of", "2026-08-21"]
    return CliRunner().invoke(main, words)


def is_glanced(folder: SeasonFolder) -> bool:
    """Say whether a short look is enough."""
    with glanced(folder) as glance:
        return glance is not None


def test_a_ledger_behind_its_events_is_brought_up_first(season: Season, tmp_path: Path) -> None:
    """An event that the ledger lacks counts in a check, and is entered by it."""
    with Ledger(season.folder):
        before = season.folder.ledger.read_bytes()
    take(season, write_filled(tmp_path / "first.xlsx", season, good_visit("A1")))
    assert is_glanced(season.folder)
    season.folder.ledger.write_bytes(before)
    assert not is_glanced(season.folder)
    off = visit(season, tmp_path / "off.xlsx", *OFF)
    assert codes(check_file(season, off, now=NOW)) == ["stage-ahead-of-later"]
    assert is_glanced(season.folder)


def test_a_ledger_that_is_gone_is_made_first(first: Path, season: Season) -> None:
    """No look makes an empty file in its place."""
    said = check(season, first).output
    season.folder.ledger.unlink()
    with pytest.raises(sqlite3.OperationalError), glanced(season.folder):
        pass
    assert not season.folder.ledger.exists()
    assert check(season, first).output == said
    assert is_glanced(season.folder)


def spoil(ledger: Path, statement: str) -> None:
    """Do something to a ledger."""
    with closing(sqlite3.connect(ledger)) as connection, connection:
        connection.execute(statement)


UNFIT: dict[str, tuple[str, Callable[[Path], object]]] = {
    "no database": ("ledger-damaged", lambda ledger: ledger.write_bytes(b"rubbish" * 900)),
    "a column gone": (
        "ledger-damaged",
        lambda ledger: spoil(ledger, "ALTER TABLE visits DROP COLUMN grower"),
    ),
    "older": (
        "ledger-of-other-version",
        lambda ledger: spoil(ledger, "PRAGMA user_version=0"),
    ),
    "newer": (
        "ledger-of-other-version",
        lambda ledger: spoil(ledger, f"PRAGMA user_version={LAYOUT ^ 1}"),
    ),
}


@pytest.mark.parametrize("kind", UNFIT)
def test_a_check_tells_a_ledger_that_is_unfit(first: Path, season: Season, kind: str) -> None:
    """Another version's, or damaged: the sentence names `rebuild`."""
    code, damage = UNFIT[kind]
    damage(season.folder.ledger)
    done = check(season, first)
    assert done.exit_code == 1
    assert done.output.splitlines() == [sentence(problem(code))]


@pytest.fixture
def _impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    opened = partial(sqlalchemy.create_engine, connect_args={"timeout": 0.1})
    monkeypatch.setattr("fieldbook.ledger.engine.sa.create_engine", opened)


@pytest.mark.usefixtures("_impatient")
def test_a_check_says_that_a_ledger_is_busy(first: Path, season: Season) -> None:
    """Another program holds season.db and does not let go: the sentence says to wait."""
    with closing(sqlite3.connect(season.folder.ledger)) as holder:
        holder.execute("BEGIN EXCLUSIVE")
        done = check(season, first)
    assert done.exit_code == 1
    assert done.output.splitlines() == [sentence(problem("season-busy"))]


def test_a_check_waits_for_one_who_writes(first: Path, season: Season) -> None:
    """A ledger that is let go soon is read as if nobody had held it."""
    said = check(season, first).output
    assert said.splitlines()[-1].startswith(SAID)
    with closing(sqlite3.connect(season.folder.ledger, check_same_thread=False)) as holder:
        holder.execute("BEGIN EXCLUSIVE")
        release = threading.Timer(0.5, holder.rollback)
        release.start()
        assert check(season, first).output == said
        assert not holder.in_transaction
        release.join()


def test_a_ledger_that_was_left_half_written_is_mended_first(
    first: Path, season: Season, tmp_path: Path
) -> None:
    """Who wrote was killed: what was written comes off again, which a look alone may not do."""
    said = check(season, first).output
    ledger, journal = season.folder.ledger, season.folder.ledger.with_name("season.db-journal")
    with closing(sqlite3.connect(ledger)) as writer:
        writer.execute("PRAGMA cache_size=1")
        writer.execute("UPDATE events SET sequence = 7")
        writer.execute("UPDATE readings SET sequence = 7, typed = typed || '0', value = '9'")
        halves = {path: path.read_bytes() for path in (ledger, journal)}
        writer.rollback()
    for path, half in halves.items():
        path.write_bytes(half)
    with pytest.raises(sqlite3.OperationalError), glanced(season.folder):
        pass
    assert check(season, first).output == said
    assert not journal.exists()
    assert is_glanced(season.folder)


def test_a_look_leaves_the_ledger_to_others(first: Path, season: Season) -> None:
    """Who writes meanwhile need not wait, and the look itself may not write."""
    with glanced(season.folder) as glance, closing(sqlite3.connect(season.folder.ledger)) as other:
        assert glance is not None
        assert glance.last_sequence() == 1
        other.execute("BEGIN EXCLUSIVE")
        with pytest.raises(sqlite3.OperationalError, match="locked"):
            glance.last_sequence()
        other.rollback()
        with pytest.raises(sqlite3.OperationalError, match="readonly"):
            glance.ask("UPDATE events SET scout = :scout", scout="joss")


def test_no_look_on_a_disk_that_is_shared(
    first: Path, season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is refused there as the ledger itself is."""
    monkeypatch.setattr("fieldbook.ledger.disk._kind", lambda _: "nfs4")
    with pytest.raises(SharedDiskError), glanced(season.folder):
        pass
