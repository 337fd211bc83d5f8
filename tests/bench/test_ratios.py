"""How long the work takes, and how much of it is the bare library's own.

``python tests/bench/table.py`` runs these and keeps the table in `validation.md`. Each figure is
taken beside the bare library doing the same work, turn by turn in one run.
"""

import gc
import io
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import count
from pathlib import Path
from statistics import median
from typing import Any

import pytest
from counted import Walk, bare_rows, counted_season, yields_and_losses
from grown import AS_OF, FIELDS_A_BOOK, filled, grown, taken
from openpyxl import load_workbook
from python_calamine import CalamineWorkbook
from replay import recorded, replay
from rows import Row, compared, note, timed

from fieldbook.engines import using
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.report.build import write_reports
from fieldbook.report.context import report_context
from fieldbook.report.page import field_page
from fieldbook.report.pdf import page_pdf
from fieldbook.results import field, parts, results
from fieldbook.season.blank import Order, book_plans, write_books
from fieldbook.season.season import Season, open_season
from fieldbook.workbook.write import write_book

BOOKS = int(os.environ.get("BENCH_BOOKS", "40"))
FIELDS = int(os.environ.get("BENCH_FIELDS", "1000"))
REPORTS = int(os.environ.get("BENCH_REPORTS", "48"))
PRINTED = 20  # times a page is printed in a row
UNCOMPILED = "PYTHONDONTWRITEBYTECODE"
ORDER = Order(round_=KERNEL_COUNT)


@pytest.fixture(scope="session")
def season(tmp_path_factory: pytest.TempPathFactory) -> Season:
    """Make a season of as many fields as some books hold."""
    return grown(tmp_path_factory.mktemp("bench") / "season", BOOKS * FIELDS_A_BOOK)


@pytest.fixture(scope="session")
def books(season: Season, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """Write that season's returned books, of ten visits each."""
    return filled(season, tmp_path_factory.mktemp("bench") / "back")


@pytest.fixture(scope="session")
def walked(season: Season, books: list[Path]) -> Season:
    """Take the books in."""
    assert all(taken(season, books))
    return season


def copied(season: Season, path: Path) -> Season:
    """Copy what a season is made of, without what was taken in."""
    shutil.copytree(season.folder.path, path, ignore=shutil.ignore_patterns("kept", "*.db"))
    shutil.copytree(season.folder.identities, SeasonFolder(path).identities)
    fresh, problems = open_season(path)
    assert fresh is not None, problems
    return fresh


# ---- books ---------------------------------------------------------------------------------


def test_write_a_round_of_blank_books(benchmark: Any, tmp_path: Path) -> None:
    """Plan and write the books of 40 fields; the library then makes the same calls without us."""
    season = grown(tmp_path / "season", 4 * FIELDS_A_BOOK)
    calls = [recorded(partial(write_book, plan)) for plan in book_plans(season, ORDER)]
    for made, plan in zip(calls, book_plans(season, ORDER), strict=True):
        assert len(replay(made)) == len(write_book(plan))

    def bare() -> None:
        for number, made in enumerate(calls):
            (tmp_path / f"{number}.xlsx").write_bytes(replay(made))

    def none_yet() -> tuple[()]:
        shutil.rmtree(season.folder.blank)  # or it would look first what lies there
        return ()

    compared(
        benchmark,
        lambda: list(write_books(season, ORDER)),
        bare,
        prepare=none_yet,
        work="write a round of blank books",
        against="bare xlsxwriter making the same calls",
        most=1.3,
        count=len(calls),
        each="a ten-field book",
    )


def by_openpyxl(books: list[Path]) -> None:
    """Read all values into lists with openpyxl."""
    for path in books:
        for sheet in load_workbook(path, data_only=True).worksheets:
            [list(row) for row in sheet.iter_rows(values_only=True)]


def by_calamine(books: list[Path]) -> None:
    """Read all values into lists with calamine."""
    for path in books:
        book = CalamineWorkbook.from_filelike(io.BytesIO(path.read_bytes()))
        for title in book.sheet_names:
            book.get_sheet_by_name(title).to_python(skip_empty_area=False)


@pytest.mark.parametrize(
    ("bare", "library", "most"),
    [
        (by_openpyxl, "bare openpyxl reading the same values", 0.4),
        (by_calamine, "bare python-calamine reading the same values", 5.0),
    ],
)
def test_take_books_in(
    benchmark: Any,
    season: Season,
    books: list[Path],
    tmp_path: Path,
    bare: Callable[[list[Path]], None],
    library: str,
    most: float,
) -> None:
    """Read, check, keep and record returned ten-visit books, one after the other."""
    numbers = count()

    compared(
        benchmark,
        lambda fresh: list(taken(fresh, books)),
        partial(bare, books),
        prepare=lambda: (copied(season, tmp_path / str(next(numbers))),),
        work="read, check, keep and record returned ten-visit books",
        against=library,
        most=most,
        rounds=3,
        count=len(books),
        each="a book",
    )


# ---- figures -------------------------------------------------------------------------------


def test_yield_and_loss(benchmark: Any, tmp_path: Path) -> None:
    """Of every field in turn, against reading the same rows into frames."""
    walk = Walk(stops=20, ears=10)
    ears = FIELDS * walk.stops * walk.ears
    season = counted_season(tmp_path / "season", FIELDS, walk)
    assert bare_rows(season) == ears == sum(seen for _, seen in yields_and_losses(season))

    compared(
        benchmark,
        lambda: list(yields_and_losses(season)),
        lambda: bare_rows(season),
        work=f"yield and loss of {FIELDS:,} fields, {ears:,} ears, field by field",
        against="bare pandas `read_sql` of the same rows",
        most=3.0,
        rounds=3,
        count=FIELDS,
        each="a field",
    )


DATING = (
    *((parts, name) for name in ("look_ahead", "pollination", "silked_within", "_gaps")),
    *((parts, "ripe"), (parts, "outlook"), (field, "heat_curve")),
)


def test_work_out_a_field(benchmark: Any, walked: Season, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stages, silking, gaps, ripening and dry-down of a field, among all its figures."""
    fields = len(walked.roster.fields)
    spans: list[float] = []
    for module, name in DATING:
        monkeypatch.setattr(module, name, clocked(getattr(module, name), spans))
    rounds = []

    def work_out() -> None:
        spans.clear()
        results.season_results(walked, as_of=AS_OF)
        rounds.append(sum(spans))

    with using(workers=1):
        benchmark.pedantic(work_out, rounds=3, warmup_rounds=1)
    assert len(spans) == len(DATING) * fields
    figure = 1000 * median(rounds) / fields
    everything = 1000 * benchmark.stats.stats.median / fields
    told = f"of {everything:.1f} ms for all figures of a field, read from the ledger"
    work = "dating and forecasts of a field"
    note(benchmark, Row(work=work, against="", most=5.0, figure=figure, unit="ms", told=told))


def clocked(work: Callable[..., Any], spans: list[float]) -> Callable[..., Any]:
    """Return a function that does the same and notes how long it took [s]."""

    def run(*args: Any, **named: Any) -> Any:
        start = time.perf_counter()
        try:
            return work(*args, **named)
        finally:
            spans.append(time.perf_counter() - start)

    return run


# ---- pages ---------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def page(walked: Season) -> str:
    """Write the page of one field; a worker that prints it has no season to look through."""
    found = results.season_results(walked, as_of=AS_OF, field_id="F7").fields[0]
    written = field_page(found, report_context(walked))
    gc.collect()
    gc.freeze()
    return written


def bare_pdf(html: str) -> bytes:
    """Print a page with nothing but the library."""
    import weasyprint

    made: bytes = weasyprint.HTML(string=html).write_pdf(pdf_variant="pdf/ua-1")
    return made


def test_print_a_report(benchmark: Any, page: str) -> None:
    """One field's PDF in a warm worker."""
    compared(
        benchmark,
        lambda: page_pdf(page),
        lambda: bare_pdf(page),
        work="one field's PDF in a warm worker",
        against="bare WeasyPrint of the same HTML",
        most=1.1,
    )


def yardstick() -> str:
    """Write a page of two sheets with a table of 278 cells, to measure this computer by."""
    words = "<p>" + "Kernels that were never set leave the tip of an ear bare. " * 12 + "</p>"
    cells = "".join(
        "<tr>" + "".join(f"<td>{row * column}</td>" for column in range(1, columns + 1)) + "</tr>"
        for row, columns in [(row, 6) for row in range(1, 47)] + [(47, 2)]
    )
    assert cells.count("<td>") == 278
    return (
        "<!DOCTYPE html><html lang=en><head><title>Yardstick</title></head><body>"
        f"<h1>Yardstick</h1>{words}<table>{cells}</table>{words * 2}</body></html>"
    )


def test_a_report_is_lean(benchmark: Any, page: str) -> None:
    """Its two pages as we print them against two other pages, plain, as the bare library does.

    Many in a row, as a worker prints them: what printing leaves is cleared away now and then, and
    in one turn of a single page that would be found or missed by chance.
    """
    compared(
        benchmark,
        lambda: [page_pdf(page) for _ in range(PRINTED)],
        lambda: [bare_pdf(yardstick()) for _ in range(PRINTED)],
        work=f"the two pages of a report in a warm worker, {PRINTED} in a row",
        against="bare WeasyPrint of two plain pages with a table of 278 cells, as many in a row",
        most=250 / 280,
        count=PRINTED,
        each="for two pages",
    )


def test_reports_on_two_processes(benchmark: Any, walked: Season) -> None:
    """The season's reports as PDF, on one process and on two; results are there."""
    fields = list(walked.roster.fields)[:REPORTS]
    some = replace(
        walked, roster=replace(walked.roster, fields={f: walked.roster.fields[f] for f in fields})
    )

    def run(workers: int) -> None:
        wanted = {"as_of": AS_OF, "field_id": None, "templates": None, "everything": True}
        with using(workers=workers):
            list(write_reports(some, pdf=True, **wanted))  # type: ignore[arg-type]

    compared(
        benchmark,
        partial(run, 2),
        partial(run, 1),
        work=f"reports of {len(fields)} fields on two processes",
        against="one process",
        most=0.6,
        rounds=1,
        count=len(fields),
        each="a field",
    )


# ---- starting ------------------------------------------------------------------------------


def started(*words: str) -> Callable[[], None]:
    """Run Python with these words, compiled once before as wherever a program is installed."""
    surroundings = {name: value for name, value in os.environ.items() if name != UNCOMPILED}

    def run() -> None:
        command = [sys.executable, *words]
        done = subprocess.run(command, capture_output=True, check=False, env=surroundings)
        assert done.returncode in (0, 1), done.stderr

    run()
    return run


CHECKS = {"`check` of one book": True, "`check` of a season's first book": False}


@pytest.mark.parametrize("name", ["`silkbook --help`", *CHECKS])
def test_start(benchmark: Any, tmp_path: Path, name: str) -> None:
    """What a command takes beyond Python's own start."""
    words, most = ["--help"], 120.0
    if name in CHECKS:
        season = grown(tmp_path / "season", 3 * FIELDS_A_BOOK)
        books = filled(season, tmp_path / "back")
        assert not CHECKS[name] or all(taken(season, books[1:]))
        words, most = ["check", str(books[0]), "--season", str(season.folder.path)], 400.0
    bare, spans = started("-c", "pass"), []
    command = started("-c", "from fieldbook.cli import main; main()", *words)
    benchmark.pedantic(command, setup=lambda: spans.append(timed(bare)), rounds=10)
    figure = 1000 * (benchmark.stats.stats.median - sorted(spans)[len(spans) // 2])
    against = "bare `python -c pass`"
    note(benchmark, Row(work=name, against=against, most=most, figure=figure, unit="ms"))
