"""Seeded damage to good books: the look never fails, and what passes never kills the caller."""

from collections.abc import Iterable

from fieldbook.jobs import isolated
from fieldbook.problems import Problem
from fieldbook.workbook.guard import Inspection, inspect
from fieldbook.workbook.guard_cells import MAX_COLUMN, MAX_ROW
from fieldbook.worker import Outcome
from hostile.books import (
    ODS_CELL,
    SHEET,
    cuts,
    flipped,
    ods,
    ods_cells,
    ods_row,
    read_by_calamine,
    real_book,
    repacked,
    unzipped,
    xlsx,
    xlsx_cell,
)

SMALL_ODS = ods(
    ods_row(ODS_CELL, ods_cells(3), ods_cells(2, 'office:value-type="string"')),
    ods_row("<table:table-cell/>", repeat=7),
    ods_row(ODS_CELL, repeat=12, attributes='table:visibility="collapse"'),
)
SMALL_XLSX = xlsx(
    xlsx_cell("B2", "<v>0</v>", 't="s"') + xlsx_cell("C30", "<f>B2</f><v>1</v>"),
    before='<dimension ref="B2:C30"/>',
    after='<mergeCells count="1"><mergeCell ref="D4:E5"/></mergeCells>',
    shared='<sst count="1" uniqueCount="1"><si><t>Owl bend</t></si></sst>',
)


def those_that_pass(damaged: Iterable[bytes]) -> list[bytes]:
    """Look at each; only the two kinds of answer are allowed."""
    good = []
    for data in damaged:
        found = inspect(data)
        assert isinstance(found, Inspection | Problem)
        if isinstance(found, Inspection):
            good.append(data)
    return good


def read_all(good: list[bytes]) -> list[Outcome[dict[str, tuple[int, int]]]]:
    """Read each in one worker, a good book last; nothing may be outside the limits."""
    outcomes = list(isolated(read_by_calamine, [*good, real_book()]))
    assert len(outcomes) == len(good) + 1
    assert outcomes[-1].value is not None
    for outcome in outcomes:
        for rows, columns in (outcome.value or {}).values():
            assert rows <= MAX_ROW
            assert columns <= MAX_COLUMN
    return outcomes


def kills(outcomes: list[Outcome[dict[str, tuple[int, int]]]]) -> list[int]:
    """Find what passed the guard and still killed or stalled its reader."""
    return [
        number
        for number, outcome in enumerate(outcomes)
        if outcome.timed_out or (outcome.died and outcome.error is None)
    ]


def test_flipped_bytes_of_a_book() -> None:
    """300 books with a few bytes changed: checksums catch nearly all, and none does harm."""
    damaged = (flipped(real_book(), seed, flips=1 + seed % 3) for seed in range(300))
    assert kills(read_all(those_that_pass(damaged))) == []


def test_flipped_bytes_inside_a_sheet() -> None:
    """300 sheets with one byte changed and a right checksum: XML that nobody wrote."""
    part = "xl/worksheets/sheet2.xml"
    sheet = unzipped(real_book())[part]
    assert isinstance(sheet, bytes)
    damaged = (
        repacked(real_book(), {part: flipped(sheet, seed)}, stored=True) for seed in range(300)
    )
    good = those_that_pass(damaged)
    assert len(good) > 30  # flips in text or numbers leave good XML, or nothing was tried
    assert kills(read_all(good)) == []


def test_flipped_bytes_of_small_books() -> None:
    """In a small file every other byte matters: places, counts, repeats, relations."""
    damaged = []
    for seed in range(300):
        for book in (SMALL_XLSX, SMALL_ODS):
            parts = unzipped(book)
            name = sorted(parts)[seed % len(parts)]
            content = parts[name]
            assert isinstance(content, bytes)
            damaged.append(repacked(book, {name: flipped(content, seed)}, stored=True))
    assert kills(read_all(those_that_pass(damaged))) == []


def test_digits_replaced_by_nines() -> None:
    """Every number of a small book in turn is made huge: a place, a count, a repeat, an index."""
    damaged = []
    for book in (SMALL_XLSX, SMALL_ODS):
        for name, content in unzipped(book).items():
            assert isinstance(content, bytes)
            for at, byte in enumerate(content):
                if chr(byte).isdigit():
                    grown = content[:at] + b"99999999" + content[at + 1 :]
                    damaged.append(repacked(book, {name: grown}, stored=True))
    assert len(damaged) > 50
    assert kills(read_all(those_that_pass(damaged))) == []


def test_cut_off_small_books() -> None:
    """Small books of both formats cut off at 40 places each are all refused."""
    for book in (SMALL_XLSX, SMALL_ODS):
        assert those_that_pass(cuts(book, 40, seed=3)) == []


def test_parts_cut_off_with_a_right_checksum() -> None:
    """A sheet that ends early inside a sound zip file is damaged all the same."""
    sheet = unzipped(real_book())[SHEET]
    assert isinstance(sheet, bytes)
    damaged = [repacked(real_book(), {SHEET: cut}, stored=True) for cut in cuts(sheet, 40, seed=5)]
    assert those_that_pass(damaged) == []
