"""Every book of the demo season is checked alike by a short look and by the ledger itself."""

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from mending import mend
from two_ways import both_ways

from fieldbook.cli import main
from fieldbook.demo.run import SETTLED_ON
from fieldbook.ledger.ledger import Ledger
from fieldbook.season.ask import write_corrections
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season

NOW = datetime.combine(SETTLED_ON, datetime.min.time(), UTC).replace(hour=18)


@pytest.fixture
def season(demo: Path, tmp_path: Path) -> Season:
    """Open a copy of the demo season, in which more may come in."""
    left_out = shutil.ignore_patterns("reports", "blank", "plan", "outbox")
    found, problems = open_season(shutil.copytree(demo, tmp_path / "demo", ignore=left_out))
    assert found is not None, problems
    return found


def checked(monkeypatch: pytest.MonkeyPatch, season: Season, book: Path) -> list[str]:
    """Check a book both ways by the command; return the codes of what it says."""
    words = ["check", str(book), "--season", str(season.folder.path), "--json"]

    def tell() -> Any:
        done = CliRunner().invoke(main, [*words, "--as-of", SETTLED_ON.isoformat()])
        assert isinstance(done.exception, SystemExit | None)
        return done.exit_code, json.loads(done.output)

    _, said = both_ways(monkeypatch, tell)
    return [found["code"] for found in said["problems"]]


def test_books_of_every_round_are_checked_alike(
    season: Season, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Those that were taken in, with all that is asked about them."""
    books = sorted(season.folder.taken.glob("*.xlsx"))
    assert len(books) > 15
    codes = {code for book in books for code in checked(monkeypatch, season, book)}
    assert {"rows-odd", "part-missing"} <= codes


def test_corrections_are_checked_alike(
    season: Season, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As they were written, mended, and in conflict with one that came in meanwhile."""
    spanish = replace(season, settings=replace(season.settings, language="es"))
    written = [one.path for other in (season, spanish) for one in write_corrections(other)]
    for path in written:
        assert checked(monkeypatch, season, path)
    of_joss = [path for path in written if path.name.startswith("joss-kernel-count")]
    asked = odd_row(season)
    mended, rival = (
        mend(path, tmp_path / f"{rows}.xlsx", {asked: rows})
        for path, rows in zip(of_joss, (14, 16), strict=True)
    )
    assert "corrections-differ" not in checked(monkeypatch, season, mended)
    (taken,) = take_in(season, [mended], now=NOW)
    assert taken.accepted
    assert "corrections-differ" in checked(monkeypatch, season, rival)
    (taken,) = take_in(season, [rival], now=NOW)
    assert taken.accepted
    kept = season.folder.taken / "kernel-count joss.xlsx"
    for book in (mended, rival, of_joss[0], kept):
        checked(monkeypatch, season, book)


def odd_row(season: Season) -> Any:
    """Return the cell that the demo's question about odd rows points at."""
    with Ledger(season.folder) as ledger:
        (place,) = (
            one.problem.place for one in ledger.questions() if one.problem.code == "rows-odd"
        )
    assert place.row
    return place.table, (place.field_id, *map(int, place.row.split(", "))), place.column
