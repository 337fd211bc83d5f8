"""What a command refuses before it begins, each by its code: nothing there, nothing known of it."""

from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from harvested import Plot, count, season_of
from seasons import ROWS, good_visit, small_season, write_filled

from fieldbook.cli import main
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.problems import Param, line, problem
from fieldbook.report import build, plain, plan_build
from fieldbook.results.planning import season_plan
from fieldbook.season.blank import Order, write_books
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import new_season
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System

LATE = date(2026, 9, 28)


def refused(words: list[str], code: str, **params: Param) -> None:
    """Run a command and hold its one line and exit code against a refusal of the catalogue."""
    result = CliRunner().invoke(main, words)
    assert (result.exit_code, result.output.strip()) == (2, line(problem(code, **params)))


def test_a_filled_blank_is_not_written_over(season: Season) -> None:
    """A book in blank/ with entries stays as it is, and the refusal says where it lies."""
    order = Order(round_=KERNEL_COUNT, scout="ana")
    ((path, _, said),) = write_books(season, order)
    assert said is None
    write_filled(path, season, good_visit("A1"))
    before = path.read_bytes()
    ((_, _, said),) = write_books(season, order)
    assert said is not None
    assert said.code == "blank-filled"
    assert "blank/kernel-count" in line(said)
    assert path.read_bytes() == before


def test_a_new_season_takes_no_folder_in_use(season: Season) -> None:
    """A folder that holds something is left alone."""
    said = new_season(season.folder.path, year=2026, name=None, units=System.US)
    assert said is not None
    assert said.code == "season-exists"


def test_a_season_without_its_roster_does_not_open(season: Season) -> None:
    """Without a roster nothing can be worked out, so nothing is opened."""
    assert season.folder.roster is not None
    season.folder.roster.unlink()
    opened, problems = open_season(season.folder.path)
    assert opened is None
    assert [found.code for found in problems] == ["roster-missing"]


def test_what_nobody_knows_is_refused_with_the_nearest(season: Season) -> None:
    """A misspelled round gets the nearest one."""
    refused(
        ["blank", str(season.folder.path), "--round", "kernel-cuont"],
        "no-such-choice",
        what="round",
        typed="kernel-cuont",
        suggestion="Did you mean 'kernel-count'?",
    )


def test_a_season_without_trials_has_nothing_to_compare(season: Season) -> None:
    """Nothing to work on is wrong use, not a clean end."""
    detail = "No field of the roster has a Trial."
    refused(["compare", str(season.folder.path)], "nothing-to-do", detail=detail)


def test_blank_without_a_plan_to_follow(season: Season) -> None:
    """Books in the order of a plan need one."""
    words = ["blank", str(season.folder.path), "--round", "kernel-count", "--follow-plan"]
    refused(words, "plan-missing")


def test_a_round_that_nobody_walked_is_told(tmp_path: Path) -> None:
    """In autumn the windows are over: each round without a visit is named with its last day."""
    season = small_season(tmp_path / "season", rows=ROWS[:1])
    days = daily_weather(date(2019, 1, 1), LATE, seed="plan")
    (season.folder.weather / "home.csv").write_text(weather_csv(days), "utf-8")
    said = season_plan(season, as_of=LATE, days=14).problems
    assert "plan-closed" in [one.code for one in said]
    assert all("A1 Long eighty" in line(one) for one in said)


@pytest.mark.parametrize("room", [build, plain, plan_build])
def test_pages_without_pango_are_html_with_a_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, room: object
) -> None:
    """Every command that writes PDFs writes the rest and says why there is none."""
    monkeypatch.setattr(room, "pdf_missing", lambda: "the library is not there")
    season = season_of(tmp_path / "s", [Plot(field_id="S1", treatment="A")])
    count(season, {"S1": 30})
    verb = {build: "report", plain: "compare", plan_build: "plan"}[room]  # type: ignore[index]
    result = CliRunner().invoke(main, [verb, str(season.folder.path), "--as-of", "2026-09-01"])
    assert result.exit_code == 1
    assert line(problem("pdf-missing", detail="the library is not there")) in result.output
    assert not [*season.folder.path.rglob("*.pdf")]
