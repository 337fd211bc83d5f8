"""`rebuild --recheck`: what today's rules would say differently of every kept book."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from seasons import NOW, ROWS, good_visit, write_filled

from fieldbook.check import book as book_check
from fieldbook.check.context import Context
from fieldbook.check.rows import Finding
from fieldbook.check.visit import Located, VisitDraft
from fieldbook.cli import main
from fieldbook.forms.roster import RosterRow
from fieldbook.problems import Place, problem
from fieldbook.season.intake import take_in
from fieldbook.season.recheck import Rechecked, recheck
from fieldbook.season.season import Season, open_season
from fieldbook.units import System
from fieldbook.workbook.roster import write_roster


def take(season: Season, path: Path, *, days: int = 0) -> None:
    """Take a book in, some days after the usual one."""
    (taken,) = take_in(season, [path], now=NOW + timedelta(days=days))
    assert taken.accepted


def with_roster(season: Season, *rows: RosterRow) -> Season:
    """Write another roster over the season's and open it again."""
    roster = season.folder.roster
    assert roster is not None
    data = write_roster(rows, year=2026, units=System.US, language="en", paper="letter")
    roster.write_bytes(data)
    opened, problems = open_season(season.folder.path)
    assert opened is not None, problems
    return opened


@pytest.fixture
def counted(season: Season, tmp_path: Path) -> Season:
    """Give a season with one good book and, a day later, its copy with an odd number of rows."""
    spoiled = {**good_visit("A1"), ("ears", ("A1", 1, 1), "rows_around"): 15}
    second = write_filled(tmp_path / "b.xlsx", season, spoiled)
    take(season, write_filled(tmp_path / "a.xlsx", season, good_visit("A1")))
    (taken,) = take_in(season, [second], now=NOW + timedelta(days=1))
    assert [found.code for found in taken.open_problems] == ["value-replaced", "rows-odd"]
    return season


def told(found: Rechecked) -> list[tuple[int, str, str | None, str | None]]:
    """Return what changes: event, the reading or the code of the problem, before, now."""
    whats = [
        one.what if one.what.endswith(")") else one.what.split(",")[0] for one in found.changes
    ]
    return [
        (one.event, what, one.before, one.now)
        for one, what in zip(found.changes, whats, strict=True)
    ]


def test_the_same_rules_say_the_same_and_change_nothing(counted: Season) -> None:
    """Nothing differs; not one file of the season is touched; the words say what it rests on."""
    paths = [path for path in counted.folder.path.rglob("*") if path.is_file()]
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in paths}
    assert recheck(counted) == Rechecked(books=2, changes=(), problems=())
    done = CliRunner().invoke(main, ["rebuild", str(counted.folder.path), "--recheck"])
    assert done.exit_code == 0
    assert "Judged 2 kept books again by the rules, the roster and the settings of" in done.output
    assert "Nothing was changed." in done.output
    after = [path for path in counted.folder.path.rglob("*") if path.is_file()]
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in after} == before


def test_a_roster_of_today_asks_anew(counted: Season) -> None:
    """The row width was corrected in the roster: both books of the field would be asked about."""
    opened = with_roster(counted, replace(ROWS[0], row_width_in=20), *ROWS[1:])
    assert told(recheck(opened)) == [
        (1, "row-width-differs", None, "asked, open"),
        (2, "row-width-differs", None, "asked, open"),
    ]


def test_a_question_that_is_gone_is_told(season: Season, tmp_path: Path) -> None:
    """Asked when it came in, since the roster was wrong; by today's roster nothing is asked."""
    path = write_filled(tmp_path / "a.xlsx", season, good_visit("A1"))
    wrong = with_roster(season, replace(ROWS[0], row_width_in=20), *ROWS[1:])
    take(wrong, path)
    right = with_roster(wrong, *ROWS)
    assert told(recheck(right)) == [(1, "row-width-differs", "asked, open", None)]


def test_a_new_rule_is_told_by_cell_and_status(
    counted: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A rule that refuses ears of over 32: the reading's place, was and would be; exit code 1."""

    def too_many_ears(visit: VisitDraft, _: Context) -> Iterator[Located]:
        for key, draft in visit.rows["stops"].items():
            if (draft.values.get("ears") or 0) > 32:
                found = problem("not-whole", Place(sheet="Stops"), typed=33, column="Ears")
                yield "stops", key, Finding(problem=found, marks=("ears",))

    monkeypatch.setattr(book_check, "_CHECKS", (*book_check._CHECKS, too_many_ears))
    assert told(recheck(counted)) == [
        (number, what, before, now)
        for number in (1, 2)
        for what, before, now in (
            ("Stops, Stop 5, Ears (H9)", "used as 33", "refused as 33"),
            ("not-whole", None, "asked, open"),
        )
    ]
    done = CliRunner().invoke(main, ["rebuild", str(counted.folder.path), "--recheck"])
    assert done.exit_code == 1
    assert (
        "000002 b.xlsx A1.KC1: Stops, Stop 5, Ears (H9): used as 33 -> refused as 33" in done.output
    )


def test_a_visit_is_judged_by_what_was_known_then(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first book of a field is judged by no other visit, although there is one by now."""
    known: list[tuple[str, list[str]]] = []

    def look(visit: VisitDraft, context: Context) -> Iterator[Located]:
        slip = visit.slip
        seen = context.seen(slip)
        known.append((slip.visit_id, [one.visit_id for one in seen]))
        return iter(())

    take(season, write_filled(tmp_path / "first.xlsx", season, good_visit("A1")))
    later = {**good_visit("A1"), ("fields", ("A1",), "visit_date"): date(2026, 8, 18)}
    take(season, write_filled(tmp_path / "second.xlsx", season, later), days=1)
    monkeypatch.setattr(book_check, "_CHECKS", (*book_check._CHECKS, look))
    assert recheck(season).changes == ()
    assert known == [("A1.KC1", []), ("A1.KC2", ["A1.KC1"])]


def test_a_book_that_would_be_refused_is_told_in_one_line(counted: Season) -> None:
    """The season was renamed in its settings: the books of the old name would not be taken in."""
    settings = counted.folder.settings
    settings.write_text(settings.read_text().replace("test-2026", "north-2026"))
    opened, _ = open_season(counted.folder.path)
    assert opened is not None
    found = recheck(opened)
    assert [(one.what, one.before) for one in found.changes] == [("the whole book", "taken in")] * 2
    assert all("belongs to season 'test-2026'" in (one.now or "") for one in found.changes)


def test_a_damaged_original_is_told_and_the_others_are_judged(counted: Season) -> None:
    """What can't be read again is named; its event still counts for the books after it."""
    first = sorted(counted.folder.events.iterdir())[0].read_text("utf-8")
    (original,) = (path for path in counted.folder.originals.iterdir() if path.stem in first)
    original.write_bytes(b"changed")
    found = recheck(counted)
    assert (found.books, found.changes) == (1, ())
    assert [one.code for one in found.problems] == ["kept-original-damaged"]


def test_a_damaged_event_ends_it(counted: Season) -> None:
    """Without the whole sequence of events nothing can be said to have been known then."""
    sorted(counted.folder.events.iterdir())[0].write_text("{")
    found = recheck(counted)
    assert (found.books, [one.code for one in found.problems]) == (0, ["kept-event-damaged"])
