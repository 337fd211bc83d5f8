"""A part of the demo season on every engine and in either database: the same results."""

import json
import shutil
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from cluster import DaskCluster
from killed import NOW, make_season, state

from fieldbook.cli import main
from fieldbook.engines import using
from fieldbook.ledger.folder import book_files
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season

AS_OF = "2026-09-18"
SCOUT = "joss"
EXAMPLE = '# url = "postgresql://ana@db.example.org/corn"'
ENGINES = ("here", "pool", "cluster")
DATABASES = ("file", "postgres")


@pytest.fixture(scope="session")
def returned(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the demo season as it is when one scout's books of every round came back."""
    folder = tmp_path_factory.mktemp("engines") / "season"
    left = shutil.ignore_patterns("reports", "incoming", "season.db", "plan")
    shutil.copytree(demo, folder, ignore=left)
    for kept in ("originals", "events", "photos"):
        shutil.rmtree(folder / "kept" / kept)
    (folder / "incoming").mkdir()
    for place in ("taken", "set-aside"):
        for path in (demo / "incoming" / place).iterdir():
            if SCOUT in path.name or place == "set-aside":
                shutil.copyfile(path, folder / "incoming" / path.name)
    return folder


@pytest.fixture(scope="session")
def told(returned: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """Give what is told of it in one process and with a ledger in a file."""
    folder = tmp_path_factory.mktemp("engines") / "plain"
    return worked(Path(shutil.copytree(returned, folder)), "--workers", "1")


def _without(told: str, *folders: Path) -> str:
    """Take the folders out of what a command told."""
    for folder in folders:
        told = told.replace(f"{folder}/", "").replace(str(folder), "SEASON")
    return told


def worked(folder: Path, *engine: str) -> dict[str, Any]:
    """Take everything in, work everything out and write the pages; return all that comes of it."""
    run, day = CliRunner(), ("--as-of", AS_OF)
    intake = run.invoke(main, ["intake", "--season", str(folder), *day, *engine])
    results = run.invoke(main, ["results", str(folder), "--json", *day, *engine])
    report = run.invoke(main, ["report", str(folder), "--no-pdf", *day, *engine])
    for done in (intake, results, report):
        assert not done.exception or isinstance(done.exception, SystemExit), done.output
    whole = folder.resolve()
    return {
        "intake": _without(intake.output, whole, folder),
        "results": json.loads(results.stdout),
        "pages": {path.name: path.read_bytes() for path in (folder / "reports").glob("*.html")},
        "set aside": sorted(path.name for path in (folder / "incoming" / "set-aside").iterdir()),
    }


@pytest.mark.parametrize(("engine", "database"), [*product(ENGINES, DATABASES)][1:])
def test_every_engine_and_database_tells_the_same(
    engine: str,
    database: str,
    returned: Path,
    told: dict[str, Any],
    tmp_path: Path,
    request: pytest.FixtureRequest,
) -> None:
    """Intake, results as JSON and pages are equal, in order and in every figure."""
    folder = Path(shutil.copytree(returned, tmp_path / "season"))
    if database == "postgres":
        url = request.getfixturevalue("postgres").new_url()
        text = (folder / "season.toml").read_text("utf-8")
        assert EXAMPLE in text
        (folder / "season.toml").write_text(text.replace(EXAMPLE, f'url = "{url}"'), "utf-8")
    chosen = {"here": ("--workers", "1"), "pool": ("--workers", "2")}.get(engine)
    if chosen is None:
        chosen = ("--scheduler", request.getfixturevalue("cluster").address)
    found = worked(folder, *chosen)
    assert (folder / "season.db").exists() is (database == "file")
    visited = [one for one in told["results"]["fields"] if one["visits"]]
    assert len(visited) >= 3
    assert {visit["round"] for one in visited for visit in one["visits"]} == ROUNDS
    assert len(told["pages"]) > 30
    for what, wanted in told.items():
        assert found[what] == wanted, what


ROUNDS = {"roadside", "pollination", "kernel-count", "ripening", "harvest"}


def opened(path: Path) -> Season:
    """Open a season."""
    season, problems = open_season(path)
    assert season is not None, problems
    return season


def test_a_worker_killed_in_the_middle_of_an_intake_changes_nothing(
    cluster: DaskCluster, tmp_path: Path
) -> None:
    """What it was reading is read again: every file of the season is as in a calm intake."""
    calm, hit = (make_season(tmp_path / name, books=40) for name in ("calm", "hit"))
    for _ in taken(calm):
        pass
    with using(scheduler=cluster.address):
        steps = taken(hit)
        next(steps)
        cluster.lose_worker()
        assert sum(1 for _ in steps) == 39
    assert state(hit) == state(calm)


def taken(path: Path) -> Iterator[object]:
    """Take in all that lies in the incoming folder."""
    season = opened(path)
    return take_in(season, book_files([season.folder.incoming]), now=NOW)
