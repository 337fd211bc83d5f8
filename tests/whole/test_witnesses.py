"""Second witnesses of what is read: LibreOffice saves the examples again, openpyxl looks in too."""

import math
import shutil
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
from addresses import Addresses
from examples import FOLDER
from office import Office
from openpyxl import load_workbook

from fieldbook.check.verdict import USABLE
from fieldbook.entries import BookEntries, Cell, SheetEntries
from fieldbook.forms.rounds import ROUNDS
from fieldbook.schema import Column, Kind
from fieldbook.season.judging import judge
from fieldbook.season.season import Season, open_season
from fieldbook.units import System
from fieldbook.workbook.read import read_book, read_roster

BOOKS = sorted(path for kind in ("blank", "filled") for path in FOLDER.glob(f"{kind}-*"))
SHEETS = {one.sheet.name: one.sheet for round_ in ROUNDS.values() for one in round_.full.sheets}
DAY = date(2026, 9, 18)


@pytest.fixture(scope="module")
def examples(tmp_path_factory: pytest.TempPathFactory) -> Season:
    """Open the season that the example books belong to."""
    folder = tmp_path_factory.mktemp("examples") / "season"
    (folder / "weather").mkdir(parents=True)
    for name in ("season.toml", "roster.xlsx"):
        shutil.copyfile(FOLDER / name, folder / name)
    shutil.copyfile(FOLDER / "weather.csv", folder / "weather" / "marrow-creek.csv")
    return opened(folder)


def opened(folder: Path) -> Season:
    season, problems = open_season(folder)
    assert season is not None, problems
    return season


def book_of(path: Path) -> BookEntries:
    read = read_book(path.read_bytes(), "book")
    assert read.book is not None, read.problems
    return read.book


def cells(sheet: SheetEntries) -> dict[tuple[int, str], Cell]:
    """Return all cells that hold something typed or printed, with what is known of each.

    A picture placed in its cell is none of them: one app writes an error there, another nothing.
    """
    return {
        (row.number, name): cell
        for row in sheet.rows
        for name, cell in row.cells.items()
        if not cell.is_empty and not cell.is_formula and name != "picture"
    }


# ---- LibreOffice ----------------------------------------------------------------------------


def test_every_round_is_among_the_examples() -> None:
    """The books that the tests here go over are of all rounds but the harvest, at least."""
    rounds = {book_of(path).identity.round for path in BOOKS if path.name.startswith("filled")}
    assert rounds >= ROUNDS.keys() - {"harvest"}
    assert len(BOOKS) >= 9


@pytest.mark.office
@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
@pytest.mark.parametrize("path", BOOKS, ids=[path.name for path in BOOKS])
def test_a_book_saved_again_gives_the_same_readings(
    office: Office, examples: Season, tmp_path: Path, path: Path, suffix: str
) -> None:
    """In either format every cell is as before, and so are the readings and the questions."""
    saved = office.convert(path, tmp_path / f"again{suffix}")
    before, after = book_of(path), book_of(saved)
    assert after.identity == before.identity
    assert {name: cells(sheet) for name, sheet in after.sheets.items()} == {
        name: cells(sheet) for name, sheet in before.sheets.items()
    }
    assert sum(len(cells(sheet)) for sheet in before.sheets.values()) > 20
    first, second = (judge(examples, book, DAY) for book in (before, after))
    # Apps pack pictures anew, and one drops those placed in cells: photos have tests of their own.
    assert replace(second, photos=first.photos) == first
    assert bool(first.readings) == path.name.startswith("filled")


@pytest.mark.office
@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
def test_a_roster_saved_again_is_the_same(office: Office, tmp_path: Path, suffix: str) -> None:
    """Every cell of the roster is as before in either format."""
    saved = office.convert(FOLDER / "roster.xlsx", tmp_path / f"again{suffix}")
    before, after = (
        read_roster(path.read_bytes(), "roster") for path in (FOLDER / "roster.xlsx", saved)
    )
    assert before.sheet is not None
    assert after.sheet is not None
    assert cells(after.sheet) == cells(before.sheet)
    assert len(cells(before.sheet)) > 200
    assert (after.units, after.problems) == (before.units, before.problems)


# ---- openpyxl -------------------------------------------------------------------------------


def doubted(path: Path, season: Season) -> tuple[int, list[str]]:
    """Count the accepted values of a book, and name those of which openpyxl sees another."""
    entries = book_of(path)
    verdict = judge(season, entries, DAY)
    titles = {SHEETS[name].label: sheet.title for name, sheet in entries.sheets.items()}
    seen, at = load_workbook(path), Addresses.of(path, titles)
    count, wrong = 0, []
    for reading in verdict.readings:
        if reading.status not in USABLE:
            continue
        title, column = SHEETS[reading.sheet].label, SHEETS[reading.sheet].column(reading.column)
        key = (reading.visit_id.rpartition(".")[0], *reading.row)
        place = at.cell(title, key, column.label)
        value = seen[titles[title]][place].value
        count += 1
        if place != reading.cell or not agrees(column, value, reading.value):
            wrong.append(f"{title} {place}: {value!r}, read at {reading.cell} as {reading.value!r}")
    return count, wrong


def agrees(column: Column, value: Any, stored: Any) -> bool:
    """Say whether a cell's value, in units of the field as all examples are, is what is stored."""
    if column.choices:
        return {choice.label: choice.key for choice in column.choices}.get(value) == stored
    if column.kind is Kind.DAY:
        return isinstance(value, datetime) and value.date() == stored
    if column.kind is Kind.TEXT:
        return str(value) == stored
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    return math.isclose(column.unit.stored(value, System.US), stored, rel_tol=1e-12)


def test_openpyxl_sees_every_accepted_value_of_the_examples(examples: Season) -> None:
    """By sheet, header and printed keys it finds the same cell, and in it the same value."""
    books = [path for path in BOOKS if path.suffix == ".xlsx" and path.name.startswith("filled")]
    for path in books:
        count, wrong = doubted(path, examples)
        assert wrong == []
        assert count >= 20


def test_openpyxl_sees_every_accepted_value_of_the_demo(demo: Path) -> None:
    """The same for all books that came back in the demo season, faulty ones among them."""
    season = opened(demo)
    counts = []
    for path in sorted((demo / "incoming" / "taken").glob("*.xlsx")):
        count, wrong = doubted(path, season)
        assert wrong == []
        counts.append(count)
    assert len(counts) >= 10
    assert sum(counts) > 2_000
