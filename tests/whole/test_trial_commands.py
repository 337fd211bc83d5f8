"""`compare` and `settle` as a person uses them: text, JSON, pages, and every way to go wrong."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from harvested import Plot, count, cut, season_of, strips
from parts import need, pango_missing

from fieldbook.cli import main

CLEAN, LOOK, USE = 0, 1, 2
YIELDS = {"Early": [198, 205, 190, 201], "Late": [187, 196, 184, 188]}
AS_OF = ("--as-of", "2026-12-01")


def run(*words: object, code: int) -> Result:
    """Run one command in this process; it ends with this code and without a traceback."""
    result = CliRunner().invoke(main, [str(word) for word in words])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert result.exit_code == code, result.output
    return result


@pytest.fixture
def trial(tmp_path: Path) -> Path:
    """Make a season with one harvested trial."""
    plots = strips(YIELDS)
    cut(season_of(tmp_path / "trial", plots), plots)
    return tmp_path / "trial"


def fields(path: Path, year: int) -> Path:
    """Make a season of three fields, counted and cut."""
    plots = [Plot(field_id=name, bu_ac=170, trial=None) for name in ("A1", "B2", "C3")]
    season = season_of(path, plots, year=year)
    count(season, {plot.field_id: 28 for plot in plots})
    cut(season, plots)
    return path


def test_compare_prints_and_writes_a_page(trial: Path) -> None:
    """Means on the terminal, an HTML page that fetches nothing, exit code 0."""
    said = run("compare", trial, "--no-pdf", *AS_OF, code=CLEAN).output
    assert "Early gave the highest mean, 198.5 bushels an acre" in said
    page = trial / "reports" / "trial-north.html"
    assert str(page) in said
    assert "Early minus Late, block by block: 11.0, 9.0, 6.0, 13.0" in page.read_text("utf-8")
    assert not page.with_suffix(".pdf").exists()


@pytest.mark.pdf
def test_compare_writes_a_pdf(trial: Path) -> None:
    """The page as PDF beside it."""
    need(pango_missing())
    run("compare", trial, *AS_OF, code=CLEAN)
    assert (trial / "reports" / "trial-north.pdf").read_bytes().startswith(b"%PDF")


def test_compare_tells_machines_the_same(trial: Path) -> None:
    """JSON holds means, F, LSD and pairs, at the level asked for, and writes no page."""
    raw = json.loads(run("compare", trial, "--json", "--level", "5", *AS_OF, code=CLEAN).output)
    (found,) = raw["trials"]
    assert found["basis"] == "harvested"
    assert found["comparison"]["level_pct"] == 5
    assert [mean["mean"] for mean in found["comparison"]["means"]] == [198.5, 188.75]
    assert found["pairs"]["mean"] == pytest.approx(9.75)
    assert found["comparison"]["lsd"] == pytest.approx(found["pairs"]["lsd"], abs=1e-3)
    assert raw["problems"] == []
    assert not (trial / "reports").exists() or not list((trial / "reports").iterdir())


def test_a_trial_that_is_not_there_is_refused(trial: Path, tmp_path: Path) -> None:
    """A wrong name names the right one; a roster without trials says so."""
    assert "Did you mean 'North'?" in run("compare", trial, "--trial", "Nort", code=USE).output
    season_of(tmp_path / "none", [Plot(field_id="A1", trial=None)])
    assert (
        "No field of the roster has a Trial" in run("compare", tmp_path / "none", code=USE).output
    )


def test_a_trial_in_doubt_ends_with_something_to_look_at(tmp_path: Path) -> None:
    """A trial without replicates is shown and told, with exit code 1."""
    plots = strips({"A": [201], "B": [188]}, blocks=False)
    cut(season_of(tmp_path / "s", plots), plots)
    said = run("compare", tmp_path / "s", "--no-pdf", *AS_OF, code=LOOK).output
    assert "has one strip only" in said
    assert "differed by 10 bu/ac" in said


def test_settle_prints_and_writes_a_page(tmp_path: Path) -> None:
    """One season: the misses, the page, and no suggestion yet."""
    season = fields(tmp_path / "s", 2026)
    said = run("settle", season, "--no-pdf", *AS_OF, code=CLEAN).output
    assert "3 of 3 fields have a harvest that can be used." in said
    assert "not yet: needs 1 more year" in said
    assert (season / "reports" / "settle.html").is_file()
    assert not list((season / "reports").glob("*.toml"))


def test_settle_with_another_season_keeps_a_suggestion(tmp_path: Path) -> None:
    """Two years suggest, on the page, as JSON and as lines for next season's settings."""
    this, before = fields(tmp_path / "s", 2026), fields(tmp_path / "b", 2025)
    words = ("settle", this, "--with", before, "--no-pdf", *AS_OF)
    assert "3 fields in 2 years" in run(*words, code=CLEAN).output
    lines = (this / "reports" / "settle-next-season.toml").read_text("utf-8")
    assert '"kernels.average_thousand_per_bu"' in lines
    raw = json.loads(run(*words, "--json", code=CLEAN).output)
    together = raw["settled"]["suggestions"][0]
    assert together["hybrid"] is None
    assert together["found"]["years"] == 2
    assert f"{together['found']['likely']:.1f}" in lines
    assert len(raw["settled"]["estimates"]) == 3


def test_settle_without_a_harvest_says_what_to_do(tmp_path: Path) -> None:
    """Nothing cut is wrong use, with the command that begins it."""
    season_of(tmp_path / "s", [Plot(field_id="A1", trial=None)])
    assert "blank --round harvest" in run("settle", tmp_path / "s", code=USE).output


def test_a_harvest_book_is_written_like_any_other(tmp_path: Path) -> None:
    """`blank` writes the round's book for the fields of the roster."""
    season_of(tmp_path / "s", [Plot(field_id="A1", trial=None)])
    said = run("blank", tmp_path / "s", "--round", "harvest", code=CLEAN).output
    assert (tmp_path / "s" / "blank" / "harvest" / "ana.xlsx").is_file()
    assert "A1" in said
