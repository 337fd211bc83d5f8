"""How long the work takes, and how much of it is the bare library's own.

Run with `.venv/bin/pytest tests/bench`; each figure is also given as a ratio to the bare library
doing the same work in the same run, under `ratio` in the extra columns of the saved report.
"""

import io
import time
from collections.abc import Callable
from pathlib import Path

import pytest
import xlsxwriter
from openpyxl import load_workbook
from python_calamine import CalamineWorkbook
from seasons import NOW, book_plan, good_visit, small_season

from fieldbook.check.book import check_book
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

pytest.importorskip("pytest_benchmark")


def fastest(work: Callable[[], object], *, times: int = 5) -> float:
    """Return the shortest of several runs [s]."""
    spans = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spans.append(time.perf_counter() - start)
    return min(spans)


@pytest.fixture
def filled(tmp_path: Path) -> bytes:
    """Give a filled book of two fields."""
    season = small_season(tmp_path / "season")
    entries = {"A1": good_visit("A1"), "A2": good_visit("A2")}
    return write_book(book_plan(season, entries=entries))


def test_write_a_book(benchmark, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Write a blank book of two fields, against the bare writer given the same cells."""
    plan = book_plan(small_season(tmp_path / "season"))
    cells = [
        (sheet.title, cell.row - 1, cell.column - 1, cell.value)
        for sheet in load_workbook(io.BytesIO(write_book(plan))).worksheets
        for row in sheet.iter_rows()
        for cell in row
        if cell.value is not None
    ]

    def bare() -> None:
        book = xlsxwriter.Workbook(io.BytesIO(), {"in_memory": True})
        sheets = {title: book.add_worksheet(title) for title in dict.fromkeys(c[0] for c in cells)}
        for title, row, column, value in cells:
            sheets[title].write(row, column, value)
        book.close()

    benchmark(write_book, plan)
    benchmark.extra_info["ratio"] = fastest(lambda: write_book(plan)) / fastest(bare)


def test_guard_and_read_a_book(benchmark, filled: bytes) -> None:  # type: ignore[no-untyped-def]
    """Guard and read a filled book, against the bare reader alone."""

    def bare() -> None:
        book = CalamineWorkbook.from_filelike(io.BytesIO(filled))
        for title in book.sheet_names:
            book.get_sheet_by_name(title).to_python(skip_empty_area=False)

    benchmark(read_book, filled, "ana.xlsx")
    ours = fastest(lambda: read_book(filled, "ana.xlsx"))
    benchmark.extra_info["ratio"] = ours / fastest(bare)


def test_check_a_book(benchmark, filled: bytes, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    """Judge a filled book of two fields; there is no bare library for that."""
    season = small_season(tmp_path / "other")
    book = read_book(filled, "ana.xlsx").book
    assert book is not None
    context = season.context({}, today=NOW.date(), received=NOW.date())
    benchmark(check_book, book, context)
