"""Books filled, spoiled and saved by a real spreadsheet program come back as planted."""

from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import pytest
from addresses import Addresses
from office import (
    Change,
    DeleteRow,
    Edit,
    HideRow,
    InsertRow,
    MoveColumn,
    MoveSheet,
    Office,
    OfficeError,
    RenameSheet,
    SortRows,
)
from seasons import NOW, VISIT_DAY, book_plan

from fieldbook.check.book import check_book
from fieldbook.check.rows import drafts_of
from fieldbook.check.verdict import CheckedBook, Status
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.look import look_text
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

pytestmark = pytest.mark.office


@dataclass
class Script:
    """What a scout does to a book, and what must come of it."""

    addresses: Addresses
    edits: list[Change] = field(default_factory=list)
    readings: dict[tuple[str, tuple[object, ...], str], object] = field(default_factory=dict)
    faults: set[tuple[str, str, str]] = field(default_factory=set)

    def put(
        self, title: str, key: tuple[object, ...], head: str, typed: object, read: object
    ) -> None:
        """Type or pick a value that is fine; `read` is what it must be stored as."""
        at = self.addresses.cell(title, key, head)
        how = "pick" if head in _PICKED else "type"
        self.edits.append(Edit(title, at, typed, how))  # type: ignore[arg-type]
        self.readings[title, key, head] = read

    def spoil(
        self, title: str, key: tuple[object, ...], head: str, typed: object, code: str
    ) -> None:
        """Type a mistake; `code` is the fault that must be found in that very cell."""
        at = self.addresses.cell(title, key, head)
        self.edits.append(Edit(title, at, typed))  # type: ignore[arg-type]
        self.faults.add((code, title, at))


_PICKED = ("Stage", "Grain fill", "Place", "Rows around", "No other gaps", "Sure?")
_HEADS = {
    "visit_date": "Visit date",
    "stage": "Stage",
    "grain_fill": "Grain fill",
    "place": "Place",
    "length_ft": "Length",
    "ears": "Ears",
    "plants": "Plants",
    "rows_around": "Rows around",
    "kernels_set": "Kernels in row",
    "tip_unset": "Tip bare",
    "tip_aborted": "Tip shrunken",
    "no_other_gaps": "No other gaps",
    "answer": "Sure?",
    "remark": "Remark",
}
_TITLES = {"fields": "Fields", "stops": "Stops", "ears": "Ears"}


def scout_script(addresses: Addresses) -> Script:
    """Walk field A1 well, field A2 with mistakes."""
    script = Script(addresses)
    script.put("Fields", ("A1",), "Visit date", VISIT_DAY, VISIT_DAY)
    script.put("Fields", ("A1",), "Stage", "R4 dough", "R4")
    script.put("Fields", ("A1",), "Grain fill", "Good", "good")
    script.put("Fields", ("A1",), "Remark", "=not a formula, said the scout", None)
    script.edits.pop()
    script.readings.popitem()
    for stop in range(1, 6):
        script.put("Stops", ("A1", stop), "Ears", 27 + stop, 27 + stop)
        for ear in range(1, 4):
            key = ("A1", stop, ear)
            script.put("Ears", key, "Rows around", 14 + 2 * (ear % 2), 14 + 2 * (ear % 2))
            script.put("Ears", key, "Kernels in row", 30 + stop + ear, 30 + stop + ear)
            script.put("Ears", key, "Tip bare", ear, ear)
            script.put("Ears", key, "No other gaps", "Yes", "yes")
    script.put("Stops", ("A1", 5), "Place", "End rows", "end-rows")
    script.put("Stops", ("A1", 2), "Plants", 30, 30)
    script.put("Stops", ("A1", 3), "Length", 20.5, 20.5)
    _spoil_a2(script)
    return script


def _spoil_a2(script: Script) -> None:
    script.put("Fields", ("A2",), "Visit date", date(2026, 8, 13), date(2026, 8, 13))
    script.put("Stops", ("A2", 1), "Ears", 31, 31)
    script.spoil("Ears", ("A2", 1, 1), "Rows around", 15, "rows-odd")
    script.put("Ears", ("A2", 1, 1), "Kernels in row", 33, 33)
    script.spoil("Ears", ("A2", 1, 2), "Rows around", "16 rows", "not-a-number")
    script.put("Ears", ("A2", 1, 2), "Kernels in row", 35, 35)
    script.put("Ears", ("A2", 1, 3), "Rows around", 24, 24)
    script.put("Ears", ("A2", 1, 3), "Kernels in row", 30, 30)
    script.put("Ears", ("A2", 1, 3), "Sure?", "Yes, it is true", "true")
    script.spoil("Stops", ("A2", 2), "Ears", "~30", "not-a-number")
    script.spoil("Stops", ("A2", 3), "Length", "1/2", "date-for-number")
    script.put("Stops", ("A2", 3), "Ears", 29, 29)
    script.faults.add(
        ("count-without-ears", "Stops", script.addresses.cell("Stops", ("A2", 3), "Ears"))
    )
    script.spoil("Stops", ("A2", 4), "Ears", 400, "out-of-range")
    script.put("Ears", ("A2", 4, 1), "Rows around", 16, 16)
    script.faults.add(
        ("part-missing", "Ears", script.addresses.cell("Ears", ("A2", 4, 1), "Kernels in row"))
    )
    script.spoil("Ears", ("A2", 5, 1), "Tip bare", 81, "out-of-range")


@pytest.fixture
def blank(tmp_path: Path, season: Season) -> Path:
    """Write Ana's blank book."""
    path = tmp_path / "blank.xlsx"
    path.write_bytes(write_book(book_plan(season)))
    return path


def judged(path: Path, season: Season) -> CheckedBook:
    """Read and check a book."""
    read = read_book(path.read_bytes(), path.name)
    assert read.book is not None, read.problems
    today = NOW.date()
    return check_book(read.book, season.context({}, today=today, received=today))


@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
def test_a_filled_book_comes_back_as_planted(
    office: Office, blank: Path, tmp_path: Path, season: Season, suffix: str
) -> None:
    """Every planted reading, and every planted mistake at its own cell, and nothing else."""
    script = scout_script(Addresses.of(blank))
    saved = office.fill(blank, script.edits, tmp_path / f"filled{suffix}")
    verdict = judged(saved, season)
    good = {
        (_TITLES[r.sheet], (r.visit_id[:2], *r.row), _HEADS[r.column]): r.value
        for r in verdict.readings
        if r.status in (Status.USED, Status.CONFIRMED)
    }
    assert good == script.readings
    found = {(p.code, str(p.place.sheet), str(p.place.cell)) for p in verdict.open_problems}
    assert found == script.faults
    assert {r.typed for r in verdict.readings if r.status is Status.REFUSED} >= {"15", "16 rows"}


def test_live_formulas_equal_our_figures(
    office: Office, blank: Path, tmp_path: Path, season: Season
) -> None:
    """What the book shows live, recalculated by the app, is what the results compute."""
    script = scout_script(Addresses.of(blank))
    saved = office.fill(blank, script.edits, tmp_path / "filled.xlsx")
    taken = next(iter(take_in(season, [saved], now=NOW)))
    assert taken.accepted
    results = {f.field_id: f for f in season_results(season, as_of=NOW.date()).fields}
    at = script.addresses
    places = {
        "Stops": [at.cell("Stops", (f, s), "Yield") for f in ("A1", "A2") for s in range(1, 6)],
        "Start": ["G14", "H14", "I14", "J14", "J15"],
    }
    shown = office.values(saved, places)
    for field_id, result in results.items():
        for stop in result.stops:
            live = shown["Stops"][at.cell("Stops", (field_id, stop.stop), "Yield")]
            expected = "" if stop.yield_bu_ac is None else pytest.approx(stop.yield_bu_ac, abs=1e-9)
            assert live == expected, (field_id, stop.stop)
    first, second = results["A1"].yield_, results["A2"].yield_
    assert first is not None
    assert second is not None
    assert first.stops_used == 4
    assert shown["Start"]["J14"] == pytest.approx(first.likely_bu_ac, abs=1e-9)
    assert shown["Start"]["J15"] == pytest.approx(second.likely_bu_ac, abs=1e-9)
    assert [shown["Start"][cell] for cell in ("G14", "H14", "I14")] == [
        "5 / 5",
        "15 / 15",
        "0 / 10",
    ]


def test_the_look_column_says_what_the_checks_say(
    office: Office, blank: Path, tmp_path: Path, season: Season
) -> None:
    """For every row, the app's Look text is the text that the same rules give in Python."""
    script = scout_script(Addresses.of(blank))
    saved = office.fill(blank, script.edits, tmp_path / "filled.xlsx")
    at = script.addresses
    read = read_book(saved.read_bytes(), saved.name)
    assert read.book is not None
    shown = {
        title: office.values(saved, {title: [at.cell(title, key, "Look") for key in rows]})[title]
        for title, rows in at.rows.items()
    }
    checked = 0
    for form in KERNEL_COUNT.quick.sheets:
        title = form.sheet.label
        drafts = drafts_of(form, read.book.sheets[form.sheet.name], System.US, "en")
        for draft in drafts:
            if any(draft.is_faulty(column.name) for column in form.entries):
                continue
            look = shown[title][f"{at.columns[title]['Look']}{draft.number}"]
            assert look == look_text(form, draft.values, "en", System.US), (title, draft.number)
            checked += 1
    assert checked >= 39
    odd = at.cell("Ears", ("A2", 1, 1), "Look")
    assert shown["Ears"][odd] == "Rows come in pairs"
    words = at.cell("Ears", ("A2", 1, 2), "Look")
    assert shown["Ears"][words] == "Rows around: a whole number"


def filled_edits(addresses: Addresses) -> list[Change]:
    """Fill one stop of field A1 well."""
    script = Script(addresses)
    script.put("Fields", ("A1",), "Visit date", VISIT_DAY, VISIT_DAY)
    script.put("Stops", ("A1", 2), "Ears", 30, 30)
    for ear in range(1, 4):
        script.put("Ears", ("A1", 2, ear), "Rows around", 16, 16)
        script.put("Ears", ("A1", 2, ear), "Kernels in row", 33 + ear, 33 + ear)
    return script.edits


def readings_of(verdict: CheckedBook) -> dict[tuple[str, tuple[int, ...], str], object]:
    """Return what is usable, without its place."""
    return {
        (r.sheet, r.row, r.column): r.value for r in verdict.readings if r.status is Status.USED
    }


@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
@pytest.mark.parametrize(
    ("name", "codes"),
    [
        ("renamed", {"sheet-renamed"}),
        ("moved-sheets", set()),
        ("moved-column", {"column-moved"}),
        ("sorted", set()),
        ("row-deleted", {"row-missing"}),
        ("row-inserted", set()),
        ("hidden", {"rows-hidden"}),
        ("locked-cell", {"identity-edited"}),
        ("formula", {"formula-in-entry"}),
    ],
)
def test_changed_books_are_followed(
    office: Office,
    blank: Path,
    tmp_path: Path,
    season: Season,
    name: str,
    codes: set[str],
    suffix: str,
) -> None:
    """Renamed sheets, moved columns, sorted, deleted and inserted rows lose no reading."""
    at = Addresses.of(blank)
    last_ear = max(at.rows["Ears"].values())
    columns = list(at.columns["Ears"].values())
    changes: dict[str, list[Change]] = {
        "renamed": [RenameSheet("Ears", "Ears north")],
        "moved-sheets": [MoveSheet("Ears", 0)],
        "moved-column": [
            MoveColumn("Ears", at.columns["Ears"]["Tip bare"], at.columns["Ears"]["Rows around"])
        ],
        "sorted": [SortRows("Ears", f"A5:{columns[-1]}{last_ear}", "C", descending=True)],
        "row-deleted": [DeleteRow("Ears", at.rows["Ears"]["A1", 5, 3])],
        "row-inserted": [InsertRow("Ears", at.rows["Ears"]["A1", 1, 2])],
        "hidden": [HideRow("Ears", at.rows["Ears"]["A1", 2, 2])],
        "locked-cell": [
            Edit("Fields", at.cell("Fields", ("A1",), "Name"), "Long ninety", force=True)
        ],
        "formula": [Edit("Stops", at.cell("Stops", ("A1", 2), "Plants"), "=15+15")],
    }
    plain = judged(office.fill(blank, filled_edits(at), tmp_path / f"plain{suffix}"), season)
    assert not plain.open_problems
    edits = [*filled_edits(at), *changes[name]]
    verdict = judged(office.fill(blank, edits, tmp_path / f"changed{suffix}"), season)
    assert readings_of(verdict) == readings_of(plain)
    assert {found.code for found in verdict.open_problems} == codes


@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
def test_a_password_is_named_with_the_way_out(
    office: Office, blank: Path, tmp_path: Path, suffix: str
) -> None:
    """A book saved with a password can't be read, and says so."""
    saved = office.fill(blank, [], tmp_path / f"locked{suffix}", password="maize")
    found = read_book(saved.read_bytes(), saved.name)
    assert found.book is None
    assert [problem.code for problem in found.problems] == ["file-protected"]


def test_an_old_xls_is_named_with_the_way_out(office: Office, blank: Path, tmp_path: Path) -> None:
    """An .xls file is recognised by its content."""
    saved = office.convert(blank, tmp_path / "old.xls")
    found = read_book(saved.read_bytes(), saved.name)
    assert [problem.code for problem in found.problems] == ["file-old-xls"]


def test_entry_cells_carry_limits_and_locked_ones_refuse(
    office: Office, blank: Path, tmp_path: Path
) -> None:
    """The app shows lists and limits with plain words, and a locked cell cannot be typed into."""
    at = Addresses.of(blank)
    ear = ("A1", 1, 1)
    cells = [at.cell("Ears", ear, head) for head in ("Rows around", "Kernels in row", "Sure?")]
    rows, along, sure = (office.validations(blank, "Ears", cells)[cell] for cell in cells)
    assert rows.items is not None
    assert rows.items[0] == 16
    assert all(float(item) % 2 == 0 for item in rows.items)
    assert (float(along.formula1), float(along.formula2)) == (0, 80)
    assert "kernels in one row" in along.error_message
    assert sure.items == ("Yes, it is true", "Cannot recount")
    with pytest.raises(OfficeError):
        office.fill(blank, [Edit("Ears", at.cell("Ears", ear, "Stop"), 4)], tmp_path / "no.xlsx")
