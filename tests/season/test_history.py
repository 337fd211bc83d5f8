"""The history of a field: every reading, and what replaced it."""

from datetime import timedelta
from pathlib import Path

from click.testing import CliRunner
from seasons import NOW, good_visit, write_filled

from fieldbook.cli import main
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import catalogue
from fieldbook.season.history import changed_only, field_history
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season

ROWS = ("ears", ("A1", 2, 1), "rows_around")


def corrected(season: Season, folder: Path) -> None:
    """Take in a book, and then one in which a single count differs."""
    first = write_filled(folder / "first.xlsx", season, good_visit("A1"))
    list(take_in(season, [first], now=NOW))
    with Ledger(season.folder) as ledger:
        (visit,) = ledger.visits()
    assert visit.visit_id == "A1.KC1"


def test_a_replaced_reading_stays_in_the_history(season: Season, tmp_path: Path) -> None:
    """Both values are there, with file and scout, and which event replaced the first."""
    again = write_filled(tmp_path / "again.xlsx", season, good_visit("A1") | {ROWS: 14})
    corrected(season, tmp_path)
    list(take_in(season, [again], now=NOW + timedelta(days=1)))
    with Ledger(season.folder) as ledger:
        found = field_history(ledger, "A1")
    moved = changed_only(found)
    assert [(one.what, one.typed, one.replaced_by) for one in moved] == [
        ("Ears, Stop 2, Ear 1, Rows around", "16", 2),
        ("Ears, Stop 2, Ear 1, Rows around", "14", None),
    ]
    assert [one.file for one in moved] == ["first.xlsx", "again.xlsx"]
    assert {one.scout for one in found.readings} == {"ana"}


def test_the_command_shows_it(season: Season, tmp_path: Path) -> None:
    """One line a reading, beneath visit, scout, day and file; an unknown field is told."""
    corrected(season, tmp_path)
    folder = str(season.folder.path)
    shown = CliRunner().invoke(main, ["history", "A1", "--season", folder])
    assert shown.exit_code == 0
    assert "A1.KC1  ana, 2026-08-20, first.xlsx" in shown.output
    assert "  Ears, Stop 1, Ear 1, Rows around: '16' in" in shown.output
    assert CliRunner().invoke(main, ["history", "Z9", "--season", folder]).exit_code == 2
    none = CliRunner().invoke(main, ["history", "B7", "--season", folder])
    assert "Nothing was taken in" in none.output


def test_every_check_is_explained() -> None:
    """The page is a loop over the catalogue."""
    shown = CliRunner().invoke(main, ["check", "--explain"])
    assert shown.exit_code == 0
    assert all(f"{code} (" in shown.output for code in catalogue())
    assert CliRunner().invoke(main, ["check"]).exit_code == 2
