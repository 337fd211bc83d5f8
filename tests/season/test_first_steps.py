"""What somebody meets who makes the first season: slips of the roster, and where to go on."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from seasons import NOW, ROWS, good_visit, small_season, write_filled

from fieldbook.cli import main
from fieldbook.problems import line, problem
from fieldbook.season.season import Season
from fieldbook.season.start import new_season
from fieldbook.settings.read import read_settings
from fieldbook.units import System

AS_OF = ("--as-of", NOW.date().isoformat())


def said(*words: object) -> str:
    """Run a command and return what it says."""
    return CliRunner().invoke(main, [str(word) for word in words]).output


def test_a_field_planted_in_another_year_is_asked_about(tmp_path: Path) -> None:
    """Last year's roster would count heat from last year's planting."""
    rows = (replace(ROWS[0], planted=date(2025, 5, 4)), *ROWS[1:])
    season = small_season(tmp_path / "season", rows=rows)
    (found,) = season.problems
    assert (found.code, found.weight) == ("roster-other-year", "ask")
    assert "2025-05-04" in line(found)
    assert "2026" in line(found)


def test_a_scout_and_a_station_typed_otherwise_are_guessed(tmp_path: Path) -> None:
    """The ids are those of season.toml; the nearest one is named, whatever its case."""
    rows = (replace(ROWS[0], scout="Ana", station="Home"), *ROWS[1:])
    season = small_season(tmp_path / "season", rows=rows)
    told = {found.code: line(found) for found in season.problems}
    assert "Did you mean 'ana'?" in told["roster-unknown-scout"]
    assert "[scouts.Ana]" in told["roster-unknown-scout"]
    assert "Did you mean 'home'?" in told["roster-unknown-station"]


def test_an_intake_of_a_season_folder_takes_in_what_lies_in_it(season: Season) -> None:
    """The folder may be named as other commands have it."""
    path = season.folder.incoming / "back.xlsx"
    season.folder.incoming.mkdir(exist_ok=True)
    write_filled(path, season, good_visit("A1"))
    assert "back.xlsx: taken in: A1" in said("intake", season.folder.path, *AS_OF)


@pytest.mark.parametrize("command", ["intake", "check"])
def test_a_name_that_nothing_has_is_told_outside_of_a_season(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: str
) -> None:
    """'path-missing' names what was typed, not the folder that one is in; a season goes on."""
    monkeypatch.chdir(tmp_path)
    done = CliRunner().invoke(main, [command, "nowhere"])
    assert done.exit_code == 2
    assert done.output == line(problem("path-missing", path="nowhere")) + "\n"
    (tmp_path / "there.xlsx").write_bytes(b"")
    assert line(problem("season-missing", folder=".")) in said(command, "there.xlsx")
    told = said(command, "nowhere", "--season", season.folder.path)
    assert "nowhere: The file can't be opened" in told


def test_a_season_folder_that_does_not_exist_is_told_as_that(tmp_path: Path) -> None:
    """'season-nowhere' is another slip than a folder without a season."""
    for folder, code in ((tmp_path / "nowhere", "season-nowhere"), (tmp_path, "season-missing")):
        assert line(problem(code, folder=str(folder))) in said("results", folder)


IDS = [
    ("season-2026", "season-2026"),
    ("agro", "agro-2026"),
    ("2026 Rehearsal!", "rehearsal-2026"),
    ("Campaña ensayo", "campana-ensayo-2026"),
    ("☃", "season-2026"),
    ("x" * 60, "x" * 30 + "-2026"),
]


@pytest.mark.parametrize(("folder", "season_id"), IDS)
@pytest.mark.parametrize("name", [None, "North 2026"])
def test_a_season_is_known_by_its_folder(
    tmp_path: Path, folder: str, season_id: str, name: str | None
) -> None:
    """Plain letters of the folder's name with the year; what people call it stands beside it."""
    assert new_season(tmp_path / folder, year=2026, name=name, units=System.US) is None
    settings, _ = read_settings(tmp_path / folder / "season.toml")
    assert settings is not None
    assert settings.season_id == season_id
    assert settings.name == (name or "Season 2026")


def test_the_folder_that_one_is_in_gives_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """'silkbook new .' knows where it is."""
    folder = tmp_path / "rehearsal"
    folder.mkdir()
    monkeypatch.chdir(folder)
    said("new", ".", "--year", 2026)
    settings, _ = read_settings(folder / "season.toml")
    assert settings is not None
    assert settings.season_id == "rehearsal-2026"


def test_a_new_season_says_how_to_have_other_units(tmp_path: Path) -> None:
    """A roster is written in its units, so that is the moment to choose."""
    told = said("new", tmp_path / "a", "--year", 2026)
    assert "units are us" in told
    assert "--units metric" in told
    assert "--language es" in told


def test_an_intake_with_questions_says_how_to_ask(season: Season, tmp_path: Path) -> None:
    """Nothing of it without a question."""
    good = write_filled(tmp_path / "good.xlsx", season, good_visit("A1"))
    assert "silkbook ask" not in said("intake", good, "--season", season.folder.path, *AS_OF)
    odd = {**good_visit("A2"), ("ears", ("A2", 1, 1), "rows_around"): 15}
    path = write_filled(tmp_path / "odd.xlsx", season, odd)
    told = said("intake", path, "--season", season.folder.path, *AS_OF)
    assert f"silkbook ask {season.folder.path}" in told


def test_a_report_tells_what_is_wrong_with_weather_and_roster(season: Season) -> None:
    """Whoever only writes reports hears of it, too."""
    season.folder.weather.mkdir(exist_ok=True)
    (season.folder.weather / "home.csv").write_text("date,tmax,tmin\n8/1/2026,88,60\n")
    done = CliRunner().invoke(main, ["report", str(season.folder.path), "--no-pdf", *AS_OF])
    assert "'8/1/2026'" in done.output
    assert done.exit_code == 1


def test_a_day_that_is_none_says_how_to_type_one(season: Season) -> None:
    """In words, not in the signs of a programmer."""
    assert "type it like 2027-08-20" in said("results", season.folder.path, "--as-of", "8/24/2026")
