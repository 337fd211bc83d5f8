"""What happens to a season over a summer: edited rosters, forged books, lost and damaged files."""

import errno
import re
import sqlite3
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from dataclasses import replace
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import pytest
import sqlalchemy
from click.testing import CliRunner
from hostile.books import repacked, unzipped
from hostile.forged import forged
from seasons import NOW, ROWS, good_visit, small_season, write_filled

from fieldbook.cli import main
from fieldbook.forms.roster import RosterRow
from fieldbook.ledger.events import DamagedEventError
from fieldbook.ledger.folder import SeasonBusyError
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.stored import StoredVisit
from fieldbook.ledger.tables import layout_number
from fieldbook.problems import problem, sentence
from fieldbook.report.growers import report_name
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season, open_season
from fieldbook.units import System
from fieldbook.workbook.roster import write_roster


def codes_of(season: Season, path: Path) -> list[str]:
    """Take a file in; return the codes of what is to be looked at."""
    (taken,) = take_in(season, [path], now=NOW)
    return [found.code for found in taken.open_problems]


def with_roster(season: Season, *rows: RosterRow, units: System = System.US) -> Season:
    """Write another roster over the season's and open it again."""
    roster = season.folder.roster
    assert roster is not None
    roster.write_bytes(write_roster(rows, year=2026, units=units, language="en", paper="letter"))
    opened, problems = open_season(season.folder.path)
    assert opened is not None, problems
    return opened


@pytest.fixture
def counted(season: Season, tmp_path: Path) -> Season:
    """Give a season with one visit taken in."""
    assert codes_of(season, write_filled(tmp_path / "a.xlsx", season, good_visit("A1"))) == []
    return season


def test_a_planting_that_stands_twice_is_refused(season: Season) -> None:
    """Two equal rows would count the area twice; the field is left out until one is gone."""
    opened = with_roster(season, ROWS[0], ROWS[0], ROWS[1])
    assert [found.code for found in opened.problems] == [*("roster-row-twice", "roster-left-out")]
    assert list(opened.roster.fields) == ["A2"]


def test_a_roster_keeps_the_units_it_was_written_in(season: Season) -> None:
    """Changing the season to metric does not turn a US roster's 80 acres into 198."""
    settings = season.folder.settings
    settings.write_text(settings.read_text().replace('units = "us"', 'units = "metric"', 1))
    opened, _ = open_season(season.folder.path)
    assert opened is not None
    assert opened.settings.units is System.METRIC
    assert opened.roster.fields["A1"].acres == pytest.approx(80)
    again = with_roster(opened, ROWS[0], units=System.METRIC)
    assert again.roster.fields["A1"].acres == pytest.approx(80)


def test_a_row_width_that_changed_is_told(counted: Season, tmp_path: Path) -> None:
    """Both the next book and the results say that book and roster differ."""
    book = write_filled(
        tmp_path / "b.xlsx",
        counted,
        {**good_visit("A1"), ("fields", ("A1",), "remark"): "second copy"},
    )
    opened = with_roster(counted, replace(ROWS[0], row_width_in=20), ROWS[1])
    assert "row-width-differs" in codes_of(opened, book)
    found = season_results(opened, as_of=NOW.date()).fields[0]
    assert "row-width-differs" in [note.code for note in found.notes]


def test_a_counted_field_that_left_the_roster_is_told(counted: Season) -> None:
    """Its readings are kept, and the results name it."""
    opened = with_roster(counted, ROWS[1])
    found = season_results(opened, as_of=NOW.date())
    assert [(p.code, dict(p.params)["field"]) for p in found.problems if p.code == "field-unknown"]
    again = with_roster(opened, ROWS[0], ROWS[1])
    assert season_results(again, as_of=NOW.date()).fields[0].yield_ is not None


def test_a_field_that_is_left_out_is_not_said_to_be_missing(
    counted: Season, tmp_path: Path
) -> None:
    """Neither the results nor an intake say so; a book of it is used once the roster is mended."""
    again = {**good_visit("A1"), ("fields", ("A1",), "remark"): "second copy"}
    book = write_filled(tmp_path / "b.xlsx", counted, again)
    opened = with_roster(counted, replace(ROWS[0], acres=0.01), ROWS[1])
    out = [found for found in opened.problems if found.code == "roster-left-out"]
    assert [found.place.field_id for found in out] == ["A1"]
    found = season_results(opened, as_of=NOW.date())
    assert "field-unknown" not in [one.code for one in found.problems]
    assert "field-unknown" not in codes_of(opened, book)
    mended = with_roster(opened, ROWS[0], ROWS[1])
    assert season_results(mended, as_of=NOW.date()).fields[0].yield_ is not None


def test_a_command_asked_for_a_field_that_is_left_out_says_why(counted: Season) -> None:
    """It stands in the roster, so no other field is suggested; a wrong ID gets what there is."""
    opened = with_roster(counted, replace(ROWS[0], acres=0.01), ROWS[1])
    folder = str(opened.folder.path)
    said = CliRunner().invoke(main, ["report", folder, "--field", "A1", "--no-pdf"])
    assert said.exit_code == 2
    assert "A1 is left out of everything until you mend E" in said.output
    assert "Did you mean" not in said.output
    said = CliRunner().invoke(main, ["report", folder, "--field", "A3", "--no-pdf"])
    assert "There is: A2." in said.output


def test_settings_of_a_field_that_is_left_out_are_not_called_unknown(counted: Season) -> None:
    """Its grower may be in a row that can't be read; without such a row they are told."""
    settings = counted.folder.settings
    settings.write_text(settings.read_text() + '\n[growers.G2]\nlanguage = "es"\n')
    left_out = with_roster(counted, ROWS[0], ROWS[1], replace(ROWS[2], acres=0.01))
    gone = with_roster(counted, ROWS[0], ROWS[1])
    told = [{found.code for found in one.problems} for one in (left_out, gone)]
    assert ["season-grower-unknown" in codes for codes in told] == [False, True]


def test_old_weather_and_days_to_come_are_told_and_left_out(season: Season) -> None:
    """A mistyped future day does not open a gap, and weather that ended weeks ago is told."""
    lines = ["date,tmax_f,tmin_f,rain_in"]
    day = date(2026, 1, 1)
    while day <= date(2026, 6, 19):
        lines.append(f"{day},80,60,0")
        day += timedelta(days=1)
    lines.append("2027-08-01,80,60,0")
    (season.folder.weather / "home.csv").write_text("\n".join(lines))
    found = season_results(season, as_of=date(2026, 8, 10))
    assert [p.code for p in found.problems] == ["weather-stale", "weather-no-past-years"]
    heat = found.fields[0].heat
    assert heat is not None
    assert heat.weather_through == date(2026, 6, 19)


@pytest.mark.parametrize(
    "changes",
    [
        {"scout": None},
        {"units": "zz"},
        {"rows": {"stop": "x"}},
        {"rows": {"stop": 5_000_000}},
        {"row_width_in": 0},
        {"row_width_in": True},
        {"visit_id": "../../A1"},
        {"visit_id": ["A1.KC1"]},
        {"units": {"us": 1}},
        {"full": "yes"},
        {"visits": "none"},
        {"book_id": ""},
        {"book_id": "KC26-\x00AB"},
        {"scout": "\ud800na"},
    ],
)
def test_a_forged_identity_is_refused_and_the_next_book_is_taken_in(
    season: Season, tmp_path: Path, changes: dict[str, object]
) -> None:
    """What no book could carry is no book; it stops nobody and leaves no event."""
    bad = forged(season, tmp_path / "forged.xlsx", **changes)
    good = write_filled(tmp_path / "good.xlsx", season, good_visit("A1"))
    first, second = take_in(season, [bad, good], now=NOW)
    assert [found.code for found in first.open_problems] == ["file-not-a-book"]
    assert second.accepted
    assert len(list(season.folder.events.iterdir())) == 1


@pytest.mark.parametrize("number", ["NaN", "INF", "-inf", "1e999", "9" * 400])
def test_a_number_that_is_none_is_asked_and_the_next_book_is_taken_in(
    season: Season, tmp_path: Path, number: str
) -> None:
    """Where the file itself holds no finite number, that cell is told and nothing stops."""
    odd, good = (
        write_filled(tmp_path / name, season, good_visit("A1")) for name in ("odd", "good")
    )
    sheets = [name for name in unzipped(odd.read_bytes()) if "worksheets/sheet" in name]
    change = partial(re.sub, rb"<v>31</v>", b"<v>%s</v>" % number.encode())
    odd.write_bytes(repacked(odd.read_bytes(), dict.fromkeys(sheets, change)))
    first, second = take_in(season, [odd, good], now=NOW)
    assert first.accepted
    assert ("not-a-number", "ears") in [(p.code, p.place.column) for p in first.open_problems]
    assert second.accepted


def dump(season: Season) -> list[str]:
    """Return the whole ledger as lines."""
    with Ledger(season.folder) as ledger:
        return list(ledger.dump())


@pytest.mark.parametrize("mishap", ["gone", "damaged", "missing-one"])
def test_a_rebuild_never_replaces_more_by_less(
    counted: Season, tmp_path: Path, mishap: str
) -> None:
    """With events gone or damaged the ledger stays as it is, and what is wrong is named."""
    changed = {**good_visit("A1"), ("ears", ("A1", 1, 1), "remark"): "worm"}
    codes_of(counted, write_filled(tmp_path / "b.xlsx", counted, changed))
    before = dump(counted)
    first, second = sorted(counted.folder.events.iterdir())
    if mishap == "damaged":
        first.write_text("{")
    else:
        first.unlink()
    if mishap == "gone":
        second.unlink()
    count, problems = rebuild(counted.folder)
    wanted = {"gone": "kept-empty", "damaged": "kept-event-damaged"}
    assert (count, [p.code for p in problems]) == (0, [wanted.get(mishap, "kept-event-missing")])
    assert dump(counted) == before


def test_a_changed_original_is_named(counted: Season) -> None:
    """Readings stand, and the damaged original is told."""
    (original,) = counted.folder.originals.iterdir()
    original.write_bytes(b"not what it was")
    count, problems = rebuild(counted.folder)
    assert (count, [p.code for p in problems]) == (1, ["kept-original-damaged"])


@pytest.mark.parametrize("spoil", [b"rubbish" * 900, b""])
def test_a_damaged_ledger_is_mended_by_rebuild(counted: Season, spoil: bytes) -> None:
    """The message names the command, and the command makes it whole."""
    before = dump(counted)
    counted.folder.ledger.write_bytes(spoil)
    run = CliRunner()
    folder = str(counted.folder.path)
    if spoil:
        broken = run.invoke(main, ["results", folder])
        assert broken.exit_code == 1
        assert "silkbook rebuild" in broken.output
    assert run.invoke(main, ["rebuild", folder]).exit_code == 0
    assert dump(counted) == before


def test_a_copy_that_a_sync_program_made_is_no_event(counted: Season) -> None:
    """'000001 (1).json' beside the events changes nothing."""
    (event,) = counted.folder.events.iterdir()
    event.with_name("000001 (1).json").write_text(event.read_text())
    assert rebuild(counted.folder) == (1, [])


def test_two_fields_never_share_a_report(tmp_path: Path) -> None:
    """IDs that make the same file name are told apart."""
    rows = [replace(ROWS[0], field_id=field_id, hybrid=None) for field_id in ("A/1", "A?1")]
    season = small_season(tmp_path / "s", rows=tuple(rows))
    names = {report_name(result) for result in season_results(season, as_of=NOW.date()).fields}
    assert len(names) == 2


def test_many_may_open_a_fresh_ledger_at_once(season: Season) -> None:
    """Whoever comes second finds tables already made, or made at this moment, and goes on."""
    with ThreadPoolExecutor(8) as pool:
        for _ in range(6):
            season.folder.ledger.unlink(missing_ok=True)
            found = list(pool.map(lambda _: visits_of(season), range(16)))
            assert found == [[]] * 16


SAID = {
    "season-busy": SeasonBusyError("here"),
    "kept-event-damaged": DamagedEventError("000001.json"),
    "disk-full": OSError(errno.ENOSPC, "No space left on device", "here"),
    "not-writable": PermissionError(errno.EACCES, "Permission denied", "here"),
}


@pytest.mark.parametrize("code", SAID)
def test_what_ends_a_command_is_said_by_its_code(
    season: Season, monkeypatch: pytest.MonkeyPatch, code: str
) -> None:
    """Busy, damaged, full or refused: one sentence of the catalogue, exit code 1, no traceback."""

    def ended(*_: object, **__: object) -> None:
        raise SAID[code]

    monkeypatch.setattr("fieldbook.season.intake.take_in", ended)
    done = CliRunner().invoke(main, ["intake", "--season", str(season.folder.path)])
    params = {"event": "000001.json", "folder": "here", "detail": "Permission denied"}
    assert done.exit_code == 1
    assert done.output.splitlines() == [sentence(problem(code, **params))]


def numbered(ledger: Path, number: int) -> None:
    """Let a ledger in a file bear another number of its tables."""
    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute(f"PRAGMA user_version={number}")


def without_number(ledger: Path) -> None:
    """Make a ledger as an older version did: one column less, and no number."""
    numbered(ledger, 0)
    without_column(ledger)


def without_column(ledger: Path) -> None:
    """Take a column away."""
    with closing(sqlite3.connect(ledger)) as connection:
        connection.execute("ALTER TABLE visits DROP COLUMN grower")


UNFIT: dict[str, tuple[str, Callable[[Path], object]]] = {
    "no database": ("ledger-damaged", lambda ledger: ledger.write_bytes(b"rubbish" * 900)),
    "a column gone": ("ledger-damaged", without_column),
    "older": ("ledger-of-other-version", without_number),
    "older, all columns there": ("ledger-of-other-version", lambda ledger: numbered(ledger, 0)),
    "newer": ("ledger-of-other-version", lambda ledger: numbered(ledger, layout_number() ^ 1)),
}


@pytest.mark.parametrize("kind", UNFIT)
@pytest.mark.parametrize("command", ["results", "doctor"])
def test_a_ledger_of_another_version_or_none_at_all_is_told(
    counted: Season, kind: str, command: str
) -> None:
    """Bytes that are no ledger, or one of another number: the sentence names `rebuild`."""
    code, spoil = UNFIT[kind]
    spoil(counted.folder.ledger)
    done = CliRunner().invoke(main, [command, str(counted.folder.path)])
    assert done.exit_code == 1
    assert sentence(problem(code)) in done.output
    assert CliRunner().invoke(main, ["rebuild", str(counted.folder.path)]).exit_code == 0
    assert CliRunner().invoke(main, ["results", str(counted.folder.path)]).exit_code == 0
    with closing(sqlite3.connect(counted.folder.ledger)) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (layout_number(),)


def forget(season: Season) -> None:
    """Put an empty ledger in the place of the season's, so that the next command must write."""
    away = season.folder.events.rename(season.folder.path / "away")
    season.folder.ledger.unlink()
    season.folder.events.mkdir()
    assert dump(season) == []
    away.rename(season.folder.events)


def test_a_ledger_that_another_program_holds_is_busy(
    counted: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lock on season.db is no damage: the sentence says to wait, and never to rebuild."""
    forget(counted)
    real = sqlalchemy.create_engine
    quick = {"connect_args": {"timeout": 0.1}}
    opened = partial(real, **quick)
    monkeypatch.setattr("fieldbook.ledger.ledger.sa.create_engine", opened)
    with closing(sqlite3.connect(counted.folder.ledger)) as holder:
        holder.execute("BEGIN EXCLUSIVE")
        done = CliRunner().invoke(main, ["results", str(counted.folder.path)])
    assert done.exit_code == 1
    assert done.output.splitlines()[-1] == sentence(problem("season-busy"))


def test_a_ledger_that_may_not_be_written_is_named(
    counted: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A season.db without the right to write, and an event to enter: `not-writable`."""
    forget(counted)
    real = sqlalchemy.create_engine

    def read_only(url: str, **options: str) -> sqlalchemy.Engine:
        path = url.removeprefix("sqlite:///")
        return real(f"sqlite:///file:{path}?mode=ro&uri=true", **options)

    monkeypatch.setattr("fieldbook.ledger.ledger.sa.create_engine", read_only)
    done = CliRunner().invoke(main, ["results", str(counted.folder.path)])
    assert done.exit_code == 1
    params = {"folder": "season.db", "detail": "no right to write"}
    assert done.output.splitlines()[-1] == sentence(problem("not-writable", **params))


def visits_of(season: Season) -> list[StoredVisit]:
    """Open the ledger and read it."""
    with Ledger(season.folder) as ledger:
        return ledger.visits()
