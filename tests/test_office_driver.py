"""The LibreOffice driver itself: what a scout could do it does, what he could not it refuses."""

import os
import signal
import subprocess
import sys
import time
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from office import (
    CellError,
    DeleteRow,
    Edit,
    HideRow,
    InsertColumn,
    InsertRow,
    MoveColumn,
    MoveSheet,
    Office,
    OfficeDiedError,
    OfficeError,
    RenameSheet,
    SortRows,
    office_session,  # noqa: F401  (a fixture)
)
from parts import chromium_missing, need, office_missing, poppler_missing
from python_calamine import CalamineWorkbook

pytestmark = pytest.mark.office
OLE = bytes.fromhex("d0cf11e0a1b11ae1")


@pytest.fixture
def office(office_session: Office) -> Office:  # noqa: F811
    return office_session


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """Make a protected book: places A, a count B, a list C, a free D, a sum formula E."""
    path = tmp_path / "book.xlsx"
    with xlsxwriter.Workbook(path) as made:
        ears, lists = made.add_worksheet("Ears"), made.add_worksheet("Lists of words")
        entry = made.add_format({"locked": False})
        as_text = made.add_format({"locked": False, "num_format": "@"})
        ears.write_row("A1", ["place", "count", "pattern", "free", "twice"])
        for row in range(1, 6):
            ears.write_string(row, 0, f"place {6 - row}")
            for col in (1, 2, 3):
                ears.write_blank(row, col, None, entry)
            ears.write_formula(row, 4, f'=IF(B{row + 1}="","",2*B{row + 1})', None, "")
        ears.write_blank("F2", None, as_text)
        ears.data_validation(
            "B2:B6",
            {
                "validate": "integer",
                "criteria": "between",
                "minimum": 0,
                "maximum": 60,
                "error_title": "Count",
                "error_message": "Whole kernels, 0 to 60.",
            },
        )
        ears.data_validation("C2", {"validate": "list", "source": ["even", "one-sided", "10"]})
        ears.data_validation("C3", {"validate": "list", "source": "='Lists of words'!$A$1:$A$3"})
        ears.data_validation("C4", {"validate": "list", "source": "=patterns"})
        ears.data_validation("C5:C6", {"validate": "list", "source": "=$A2:$A3"})
        lists.write_column("A1", ["even", "one-sided", "scattered"])
        lists.hide()
        made.define_name("patterns", "='Lists of words'!$A$1:$A$3")
        ears.protect("", {"select_locked_cells": False, "format_columns": True})
    return path


def rows_of(path: Path, sheet: str = "Ears") -> list[list[Any]]:
    read = CalamineWorkbook.from_path(path).get_sheet_by_name(sheet)
    return read.to_python(skip_empty_area=False)


@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
def test_typed_and_picked_values_arrive(
    office: Office, book: Path, tmp_path: Path, suffix: str
) -> None:
    """Numbers, typed numbers, text in a number cell, dates and picks are read back as such."""
    edits = [
        Edit("Ears", "B2", 16),
        Edit("Ears", "B3", "18"),
        Edit("Ears", "B4", "16 rows"),
        Edit("Ears", "B5", "'20"),
        Edit("Ears", "B6", "12,5"),
        Edit("Ears", "C2", "one-sided", how="pick"),
        Edit("Ears", "C3", "scattered", how="pick"),
        Edit("Ears", "C4", "even", how="pick"),
        Edit("Ears", "D2", date(2026, 7, 16)),
        Edit("Ears", "D3", "1/2"),
        Edit("Ears", "D4", "7.25"),
        Edit("Ears", "F2", "007"),
    ]
    saved = office.fill(book, edits, tmp_path / f"filled{suffix}")
    rows = rows_of(saved)
    assert [row[1] for row in rows[1:6]] == [16, 18, "16 rows", "20", "12,5"]
    assert [row[2] for row in rows[1:4]] == ["one-sided", "scattered", "even"]
    assert rows[1][3] == date(2026, 7, 16)
    assert isinstance(rows[2][3], date)
    assert (rows[2][3].month, rows[2][3].day) == (1, 2)
    assert rows[3][3] == 7.25
    assert rows[1][5] == "007"


def test_cleared_cell_is_empty_again(office: Office, book: Path, tmp_path: Path) -> None:
    """None takes the content away."""
    first = office.fill(book, [Edit("Ears", "B2", 16)], tmp_path / "first.xlsx")
    second = office.fill(first, [Edit("Ears", "B2", None)], tmp_path / "second.xlsx")
    assert office.values(first, {"Ears": ["B2"]}) == {"Ears": {"B2": 16.0}}
    assert office.values(second, {"Ears": ["B2"]}) == {"Ears": {"B2": None}}


def test_locked_cell_refuses(office: Office, book: Path, tmp_path: Path) -> None:
    """A locked cell takes nothing and no file is written; by force it does, and stays locked."""
    edit = Edit("Ears", "A2", "elsewhere")
    with pytest.raises(OfficeError, match="Ears!A2 is locked"):
        office.fill(book, [edit], tmp_path / "no.xlsx")
    assert not (tmp_path / "no.xlsx").exists()
    forced = Edit("Ears", "A2", "elsewhere", force=True)
    saved = office.fill(book, [forced], tmp_path / "forced.xlsx")
    assert rows_of(saved)[1][0] == "elsewhere"
    with pytest.raises(OfficeError, match="locked"):
        office.fill(saved, [edit], tmp_path / "no.xlsx")


@pytest.mark.parametrize(
    ("edit", "reason"),
    [
        (Edit("Ears", "C2", "odd", how="pick"), "not in the list"),
        (Edit("Ears", "C4", "Even", how="pick"), "not in the list"),
        (Edit("Ears", "C6", "even", how="pick"), "cannot read the list"),
        (Edit("Ears", "D2", "x", how="pick"), "no list"),
    ],
)
def test_pick_outside_the_list_refuses(
    office: Office, book: Path, tmp_path: Path, edit: Edit, reason: str
) -> None:
    """Only what stands in the list can be picked."""
    with pytest.raises(OfficeError, match=reason):
        office.fill(book, [edit], tmp_path / "no.xlsx")


def test_live_formulas_are_computed_again(office: Office, tmp_path: Path) -> None:
    """A false cached result is not believed; errors and empty text are told from empty cells."""
    path = tmp_path / "stale.xlsx"
    with xlsxwriter.Workbook(path) as made:
        sheet = made.add_worksheet("S")
        sheet.write_number("A1", 21)
        sheet.write_formula("B1", "=2*A1", None, 999)
        sheet.write_formula("A2", "=1/0", None, 5)
        sheet.write_formula("B2", '=IF(A1>0,"","x")', None, "stale")
        sheet.write_formula("C2", '="read "&A1', None, "")
    found = office.values(path, {"S": ["B1", "A1:C2"]})["S"]
    assert found["B1"] == 42.0
    assert found["A1:C2"] == [[21.0, 42.0, None], [CellError("#DIV/0!"), "", "read 21"]]
    assert rows_of(office.convert(path, tmp_path / "again.xlsx"), "S")[0][1] == 42


def test_filled_cell_moves_its_formula(office: Office, book: Path, tmp_path: Path) -> None:
    """The saved file carries the result of a live formula."""
    saved = office.fill(book, [Edit("Ears", "B3", "18")], tmp_path / "filled.ods")
    assert [row[4] for row in rows_of(saved)[1:3]] == ["", 36]


def test_validations_as_the_app_sees_them(office: Office, book: Path) -> None:
    """Limits, messages and the items of three kinds of list are found; others are not guessed."""
    seen = office.validations(book, "Ears", ["A2", "B2", "C2", "C3", "C4", "C6", "D2"])
    count = seen["B2"]
    assert (count.type, count.operator, count.formula1, count.formula2) == (
        "WHOLE",
        "BETWEEN",
        "0",
        "60",
    )
    assert (count.error_title, count.error_message) == ("Count", "Whole kernels, 0 to 60.")
    assert (count.error_style, count.shows_error, count.locked) == ("STOP", True, False)
    assert seen["C2"].items == ("even", "one-sided", 10.0)
    assert seen["C3"].items == seen["C4"].items == ("even", "one-sided", "scattered")
    assert (seen["C6"].type, seen["C6"].items) == ("LIST", None)
    assert (seen["D2"].type, seen["D2"].items, seen["A2"].locked) == ("ANY", None, True)


def test_changes_of_shape(office: Office, book: Path, tmp_path: Path) -> None:
    """Sheets renamed and moved, rows sorted, inserted, deleted, columns moved: all arrive."""
    saved = office.fill(
        book,
        [
            Edit("Ears", "B2", 16),
            SortRows("Ears", "A2:E6", "A"),
            InsertRow("Ears", 3),
            DeleteRow("Ears", 4),
            InsertColumn("Ears", "A"),
            MoveColumn("Ears", "C", "B"),
            HideRow("Ears", 2),
            RenameSheet("Ears", "My ears"),
            MoveSheet("My ears", 1),
        ],
        tmp_path / "shaped.xlsx",
    )
    assert CalamineWorkbook.from_path(saved).sheet_names == ["Lists of words", "My ears"]
    rows = rows_of(saved, "My ears")
    assert rows[0][:4] == ["", "count", "place", "pattern"]
    assert [row[2] for row in rows[1:]] == ["place 1", "", "place 3", "place 4", "place 5"]
    assert rows[5][1] == 16
    assert rows[5][5] == 32


@pytest.mark.parametrize(("source", "before", "order"), [("A", "D", "bcad"), ("D", "B", "adbc")])
def test_column_moves_either_way(
    office: Office, tmp_path: Path, source: str, before: str, order: str
) -> None:
    """A column lands in front of the named one whether it comes from the left or the right."""
    path = tmp_path / "abcd.xlsx"
    with xlsxwriter.Workbook(path) as made:
        made.add_worksheet("S").write_row("A1", list("abcd"))
    saved = office.fill(path, [MoveColumn("S", source, before)], tmp_path / "moved.xlsx")
    assert rows_of(saved, "S") == [list(order)]


@pytest.mark.parametrize("position", [0, 1, 2])
def test_sheet_lands_at_its_position(office: Office, tmp_path: Path, position: int) -> None:
    """The position is the one in the saved book."""
    path = tmp_path / "three.xlsx"
    with xlsxwriter.Workbook(path) as made:
        for name in ("a", "b", "c"):
            made.add_worksheet(name)
    saved = office.fill(path, [MoveSheet("b", position)], tmp_path / "moved.ods")
    assert CalamineWorkbook.from_path(saved).sheet_names.index("b") == position


def test_rows_sort_downwards(office: Office, book: Path, tmp_path: Path) -> None:
    """A descending sort turns the ascending one around."""
    edits = [SortRows("Ears", "A2:E6", "A"), SortRows("Ears", "A2:E6", "A", descending=True)]
    up = rows_of(office.fill(book, edits[:1], tmp_path / "up.xlsx"))
    down = rows_of(office.fill(book, edits, tmp_path / "down.xlsx"))
    assert [row[0] for row in up[1:]] == [f"place {n}" for n in range(1, 6)]
    assert [row[0] for row in down[1:]] == [f"place {n}" for n in range(5, 0, -1)]


def test_password_protected_files(office: Office, book: Path, tmp_path: Path) -> None:
    """An encrypted .xlsx is an OLE file, both kinds open with the password only."""
    xlsx = office.convert(book, tmp_path / "secret.xlsx", password="tassel")
    ods = office.fill(book, [Edit("Ears", "B2", 16)], tmp_path / "secret.ods", password="tassel")
    assert xlsx.read_bytes()[:8] == OLE
    assert ods.read_bytes()[:2] == b"PK"
    for path in (xlsx, ods):
        with pytest.raises(OfficeError, match="secret"):
            office.values(path, {"Ears": ["A1"]})
        found = office.values(path, {"Ears": ["A1"]}, open_password="tassel")
        assert found["Ears"]["A1"] == "place"


def test_old_format(office: Office, book: Path, tmp_path: Path) -> None:
    """An .xls is the old binary file."""
    assert office.convert(book, tmp_path / "old.xls").read_bytes()[:8] == OLE


def test_pdf_has_the_sheet(office: Office, book: Path, tmp_path: Path) -> None:
    """The print holds the visible sheet and not the hidden one."""
    need(poppler_missing())
    printed = office.pdf(book, tmp_path / "print.pdf")
    text = subprocess.run(
        ["pdftotext", "-layout", str(printed), "-"], capture_output=True, check=True, text=True
    ).stdout
    assert "place 5" in text
    assert "scattered" not in text


@pytest.mark.parametrize("content", [b"", b"PK\x03\x04 torn", OLE + b"torn"])
def test_torn_file_is_refused_and_the_next_works(
    office: Office, book: Path, tmp_path: Path, content: bytes
) -> None:
    """What is no workbook raises and the same LibreOffice goes on."""
    torn = tmp_path / "torn.xlsx"
    torn.write_bytes(content)
    before = list(office.incidents)
    with pytest.raises(OfficeError):
        office.values(torn, {"Ears": ["A1"]})
    assert office.values(book, {"Ears": ["A1"]})["Ears"]["A1"] == "place"
    assert office.incidents == before


def test_no_lock_file_stays(office: Office, book: Path) -> None:
    """Nothing is left beside the book."""
    office.values(book, {"Ears": ["A1"]})
    assert [path.name for path in book.parent.iterdir()] == ["book.xlsx"]


def test_a_fill_is_quick(office: Office, book: Path, tmp_path: Path) -> None:
    """After the start, a fill takes well under a second (the best of three counts)."""
    edits = [Edit("Ears", f"B{row}", row) for row in range(2, 7)]
    times_s = []
    for _ in range(3):
        start = time.perf_counter()
        office.fill(book, edits, tmp_path / "quick.xlsx")
        times_s.append(time.perf_counter() - start)
    assert min(times_s) < 1.0


def group_of(leader: int) -> set[int]:
    """Return the ids of the living processes in a process group."""
    run = subprocess.run(
        ["ps", "-e", "-o", "pid=,pgid=,stat="], capture_output=True, text=True, check=True
    )
    lines = [line.split() for line in run.stdout.splitlines()]
    return {int(pid) for pid, group, stat in lines if int(group) == leader and stat[0] != "Z"}


def leader_of(office: Office) -> int:
    """Return the id of the driver's worker, which leads its process group."""
    assert office._worker is not None
    return office._worker.pid


def gone(pids: set[int]) -> bool:
    """Wait (not for long) until none of the processes lives."""
    end = time.monotonic() + 20
    while time.monotonic() < end:
        if not any(_lives(pid) for pid in pids):
            return True
        time.sleep(0.02)
    return False


def _lives(pid: int) -> bool:
    try:
        stat = Path(f"/proc/{pid}/stat").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return False
    return stat.rpartition(")")[2].split()[0] != "Z"


def test_dead_office_is_started_again_and_told_of(book: Path) -> None:
    """A killed LibreOffice is replaced and the work done; at the end no process is left."""
    need(office_missing())
    with Office() as own:
        leader = leader_of(own)
        first = group_of(leader)
        assert len(first) > 1
        for pid in first - {leader}:
            os.kill(pid, signal.SIGKILL)
        assert own.values(book, {"Ears": ["A1"]})["Ears"]["A1"] == "place"
        assert len(own.incidents) == 1
        assert gone(first)
        second = group_of(leader_of(own))
    assert gone(second)


def test_hung_office_is_given_up(book: Path) -> None:
    """Past the time limit LibreOffice is killed; the next operation starts another."""
    need(office_missing())
    with Office() as own:
        first, home = group_of(leader_of(own)), own._home
        own.limit_s = 0.0
        with pytest.raises(OfficeDiedError, match="no answer in 0 s"):
            own.values(book, {"Ears": ["A1"]})
        assert gone(first)
        assert home is not None
        assert not home.exists()
        own.limit_s = 60.0
        assert own.values(book, {"Ears": ["A1"]})["Ears"]["A1"] == "place"
        assert len(own.incidents) == 2


def test_nothing_outlives_a_killed_test_run() -> None:
    """When the Python that drives is killed outright, its LibreOffice ends too."""
    need(office_missing())
    script = (
        "from office import Office; own = Office().__enter__();"
        "print(own._worker.pid, own._home, flush=True); input()"
    )
    with subprocess.Popen(
        [sys.executable, "-c", script],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        cwd=Path(__file__).parent,
        text=True,
    ) as driver:
        assert driver.stdout is not None
        leader, home = driver.stdout.readline().split()
        left = group_of(int(leader))
        driver.kill()
    assert len(left) > 1
    assert gone(left)
    assert not Path(home).exists()


def test_missing_part_skips_or_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """A missing part skips with its sentence; where all parts are promised it fails."""
    monkeypatch.setenv("PATH", "/nowhere")
    sentence = chromium_missing()
    assert sentence is not None
    monkeypatch.delenv("SILKBOOK_ALL_PARTS", raising=False)
    with pytest.raises(pytest.skip.Exception, match="install chromium"):
        need(sentence)
    monkeypatch.setenv("SILKBOOK_ALL_PARTS", "1")
    with pytest.raises(pytest.fail.Exception, match="install chromium"):
        need(sentence)
    need(None)
