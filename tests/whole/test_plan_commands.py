"""`plan` and `blank --follow-plan` as a person uses them."""

import json
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from parts import need, pango_missing
from seasons import ROWS, small_season

from fieldbook.cli import main
from fieldbook.simulate.weather import daily_weather, weather_csv

AS_OF = ("--as-of", "2026-07-06")
CLEAN, LOOK, USE = 0, 1, 2


def run(*words: object, code: int) -> Result:
    """Run one command in this process."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exit_code == code, result.output
    return result


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Make a season whose three fields can be dated."""
    rows = tuple(replace(row, station="home", relative_maturity=106) for row in ROWS)
    season = small_season(tmp_path / "season", rows=rows)
    days = daily_weather(date(2020, 1, 1), date(2026, 7, 5), seed="plan commands")
    (season.folder.weather / "home.csv").write_text(weather_csv(days), "utf-8")
    return season.folder.path


def test_plan_says_who_walks_where(folder: Path) -> None:
    """A line a field under scout and day; the workbook and plan.json lie in plan/."""
    said = run("plan", folder, "--no-pdf", "--days", 21, *AS_OF, code=CLEAN).output
    assert "Ana, " in said
    assert "1 A1 Long eighty" in said
    assert "Call the grower first" in said
    assert sorted(path.name for path in (folder / "plan").iterdir()) == ["plan.json", "plan.xlsx"]


def test_plan_shows_one_scout_and_keeps_all(folder: Path) -> None:
    """--scout narrows what is shown, never the plan that is kept."""
    said = run("plan", folder, "--no-pdf", "--scout", "joss", *AS_OF, code=CLEAN).output
    assert "Ana" not in said
    kept = json.loads((folder / "plan" / "plan.json").read_bytes())
    assert {one["scout"] for one in kept["rounds"]} == {"ana", "joss"}


def test_plan_refuses_a_scout_that_has_no_field(folder: Path) -> None:
    """The nearest scout is named."""
    said = run("plan", folder, "--no-pdf", "--scout", "jos", *AS_OF, code=USE).output
    assert "Did you mean 'joss'?" in said


def test_plan_as_json(folder: Path) -> None:
    """Only JSON is printed."""
    raw = json.loads(run("plan", folder, "--no-pdf", "--json", *AS_OF, code=CLEAN).output)
    assert raw["through"] == "2026-07-19"


def test_plan_that_reaches_not_all_ends_with_one(folder: Path) -> None:
    """A field that nobody can walk in time is said, and the exit code tells."""
    said = run("plan", folder, "--no-pdf", "--as-of", "2026-11-30", code=LOOK).output
    assert "ASK" in said
    assert "no visit has been taken in" in said


def test_blank_follows_the_plan(folder: Path) -> None:
    """Without a plan it says so; with one it writes the walks of the round, in their order."""
    blank = ("blank", folder, "--round", "pollination", "--follow-plan")
    assert "Run 'silkbook plan' first" in run(*blank, code=USE).output
    run("plan", folder, "--no-pdf", "--days", 21, *AS_OF, code=CLEAN)
    kept = json.loads((folder / "plan" / "plan.json").read_bytes())
    walks = [
        one
        for one in kept["rounds"]
        if (one["round"], one["scout"]) == ("pollination", "ana") and one["day"]
    ]
    walks.sort(key=lambda one: (one["day"], one["number"]))
    said = run(*blank, code=CLEAN).output
    assert f"ana.xlsx  {', '.join(one['field'] for one in walks)}\n" in said
    other = ("blank", folder, "--round", "ripening", "--follow-plan")
    assert "The plan gives no day" in run(*other, code=USE).output


@pytest.mark.pdf
def test_plan_writes_a_page_a_scout_and_week(folder: Path) -> None:
    """Each scout with a walk in a week gets a PDF named by its first day."""
    need(pango_missing())
    run("plan", folder, "--days", 21, *AS_OF, code=CLEAN)
    kept = json.loads((folder / "plan" / "plan.json").read_bytes())
    weeks = {
        (one["scout"], (date.fromisoformat(one["day"]) - date(2026, 7, 6)).days // 7)
        for one in kept["rounds"]
        if one["day"]
    }
    names = {f"{scout}-week-of-2026-07-{6 + 7 * week:02}.pdf" for scout, week in weeks}
    assert {path.name for path in (folder / "plan").glob("*.pdf")} == names
