"""A written book, looked at cell by cell: locks, fonts, limits, formulas, links, paper."""

import hashlib
import io
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook
from openpyxl.utils import get_column_letter
from seasons import NOW, ROWS, book_plan, good_visit, small_season
from xlsxwriter.worksheet import Worksheet

from fieldbook.check.book import check_book
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.roster import ROSTER_FORM, RosterRow
from fieldbook.forms.rounds import ROUNDS, Round
from fieldbook.forms.stops import STOPS
from fieldbook.units import System
from fieldbook.words import SHIPPED_LANGUAGES, say
from fieldbook.workbook.lists import IDENTITY_NAME
from fieldbook.workbook.plan import BookPlan
from fieldbook.workbook.read import read_book, read_roster
from fieldbook.workbook.roster import write_roster
from fieldbook.workbook.write import write_book

TESTS = Path(__file__).parents[1]
KEY_ROW, HEAD_ROW, FIRST_ROW = 1, 3, 5
# Known to Excel since 2007, and to LibreOffice, Google Sheets, Numbers and the tablet apps.
EVERYWHERE = {
    *("AND", "AVERAGE", "AVERAGEIFS", "COUNT", "COUNTA", "COUNTIFS", "IF", "IFERROR", "INDEX"),
    *("INT", "ISNA", "ISNUMBER", "ISTEXT", "MATCH", "MIN", "MOD", "N", "OR", "SUM", "SUMIFS"),
}
# A 10-inch tablet in landscape shows 1280 px; the row numbers at the left take about 30.
TABLET_PX, ROW_NUMBERS_PX = 1280, 30
FORMULA_LIKE = (
    '=HYPERLINK("http://x.example","y")',
    "@SUM(A1:A9)",
    "+1",
    "-2+3",
    "{=1}",
    "=cmd|'/C calc'!A0",
    "https://x.example/a",
    "internal:Start!A1",
    "</t></si><f>1</f>",
    "&L&P {name} %s",
    "'quoted",
    "TRUE",
    "_x0041_",
)


@dataclass(frozen=True)
class Written:
    """One written book: its bytes, what it was planned as, and the file as openpyxl sees it."""

    plan: BookPlan
    data: bytes
    book: Any

    @property
    def forms(self) -> tuple[SheetForm, ...]:
        """The sheets of the form."""
        identity = self.plan.identity
        return ROUNDS[identity.round].form(full=identity.full).sheets

    def column_at(self, form: SheetForm) -> dict[str, int]:
        """Positions of columns by name, as the hidden key row tells them."""
        sheet = self.book[form.sheet.label]
        return {cell.value: cell.column for cell in sheet[KEY_ROW] if cell.value}

    def entry_cells(self, form: SheetForm) -> Iterator[Any]:
        """Every cell that a scout fills."""
        sheet, at = self.book[form.sheet.label], self.column_at(form)
        for row in range(FIRST_ROW, sheet.max_row + 1):
            for column in form.entries:
                yield sheet.cell(row, at[column.name])


def links_of(sheet: Any) -> list[Any]:
    """Every link of a sheet, in order."""
    return [cell.hyperlink for row in sheet.iter_rows() for cell in row if cell.hyperlink]


def written(plan: BookPlan) -> Written:
    """Write a plan and open what came out."""
    data = write_book(plan)
    return Written(plan=plan, data=data, book=load_workbook(io.BytesIO(data)))


@pytest.fixture(
    scope="module",
    params=[
        *((System.US, full, round_) for full in (False, True) for round_ in ROUNDS.values()),
        *((System.METRIC, full, ROUNDS["kernel-count"]) for full in (False, True)),
    ],
    ids=lambda param: f"{param[0]}-{'full' if param[1] else 'quick'}-{param[2].name}",
)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Written:
    """Write Ana's book of each round and form, and one round's in metric too."""
    units, full, round_ = request.param
    season = small_season(tmp_path_factory.mktemp("season"), units=units)
    return written(book_plan(season, full=full, round_=round_))


_SCRIPT = """
import hashlib, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from seasons import book_plan, good_visit, small_season
from fieldbook.workbook.write import write_book
season = small_season(Path(sys.argv[2]))
for full in (False, True):
    plan = book_plan(season, full=full, entries={"A1": good_visit("A1")})
    print(hashlib.sha256(write_book(plan)).hexdigest())
print(hashlib.sha256((Path(sys.argv[2]) / "roster.xlsx").read_bytes()).hexdigest())
"""


@pytest.mark.parametrize("seed", ["1", "77"])
def test_the_same_plan_gives_the_same_bytes_in_every_process(tmp_path: Path, seed: str) -> None:
    """Neither the hash seed, nor the time zone, nor the folder changes a byte."""
    season = small_season(tmp_path / "here")
    plans = [
        book_plan(season, full=full, entries={"A1": good_visit("A1")}) for full in (False, True)
    ]
    expected = [hashlib.sha256(write_book(plan)).hexdigest() for plan in plans]
    expected.append(hashlib.sha256((tmp_path / "here" / "roster.xlsx").read_bytes()).hexdigest())
    run = subprocess.run(
        [sys.executable, "-c", _SCRIPT, str(TESTS), str(tmp_path / "there")],
        env={**os.environ, "PYTHONHASHSEED": seed, "TZ": "Asia/Tokyo"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert run.stdout.split() == expected


def test_writing_formulas_as_they_are_changes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The library's own way to write a formula gives the same bytes, only later."""
    plan = book_plan(small_season(tmp_path / "season"), entries={"A1": good_visit("A1")})
    ours = write_book(plan)
    monkeypatch.setattr("fieldbook.workbook.paper._PlainSheet", Worksheet)
    assert write_book(plan) == ours


def test_another_plan_gives_another_book(tmp_path: Path) -> None:
    """The identity follows the content: another number of stops is another book."""
    season = small_season(tmp_path / "season")
    one, other = book_plan(season), book_plan(season, full=True)
    assert one.identity.book_id != other.identity.book_id
    assert write_book(one) != write_book(other)


def test_only_entry_cells_are_unlocked(made: Written) -> None:
    """Every cell that a scout fills can be typed into, and no other one of the whole book."""
    wanted = {
        (form.sheet.label, cell.coordinate)
        for form in made.forms
        for cell in made.entry_cells(form)
    }
    unlocked = {
        (sheet.title, cell.coordinate)
        for sheet in made.book
        for row in sheet.iter_rows()
        for cell in row
        if not cell.protection.locked
    }
    assert unlocked == wanted
    slips = made.plan.identity.visits
    rows = {
        form.sheet.name: sum(len(list(form.sheet.planned_rows(slip.rows))) for slip in slips)
        for form in made.forms
    }
    counted = sum(rows[form.sheet.name] * len(form.entries) for form in made.forms)
    assert len(wanted) == counted


def test_protection_is_on_without_a_password(made: Written) -> None:
    """Sheets are protected against slips, and anybody may take the protection off."""
    for sheet in made.book:
        assert sheet.protection.sheet is True, sheet.title
        assert sheet.protection.password is None, sheet.title
        assert sheet.protection.hashValue is None, sheet.title
        # False means allowed: cells can be chosen, so that links work and columns can be widened.
        assert not sheet.protection.selectLockedCells, sheet.title
        assert not sheet.protection.selectUnlockedCells, sheet.title
        assert sheet.protection.formatColumns is False, sheet.title
    assert made.book.security is None or made.book.security.workbookPassword is None


def test_entry_cells_are_framed_and_filled_and_locked_ones_are_not(made: Written) -> None:
    """What to fill is seen at once, by frame and by fill, also without colour."""
    for form in made.forms:
        for cell in made.entry_cells(form):
            sides = (cell.border.left, cell.border.right, cell.border.top, cell.border.bottom)
            assert all(side is not None and side.style for side in sides), cell
            assert cell.fill.fill_type == "solid", cell
            assert cell.fill.fgColor.rgb not in ("FFFFFFFF", "00000000"), cell
        at = made.column_at(form)
        sheet = made.book[form.sheet.label]
        locked = [name for name in at if name not in {column.name for column in form.entries}]
        for name in locked:
            cell = sheet.cell(FIRST_ROW, at[name])
            assert cell.fill.fill_type is None, cell
            assert not cell.border.left.style, cell


def test_neighbouring_fields_have_different_fills(made: Written) -> None:
    """The two fields of the book are told apart by the fill of their entry cells."""
    for form in made.forms:
        sheet, at = made.book[form.sheet.label], made.column_at(form)
        fills: dict[str, set[str]] = {}
        for row in range(FIRST_ROW, sheet.max_row + 1):
            field_id = sheet.cell(row, at["field_id"]).value
            fill = sheet.cell(row, at["remark"]).fill.fgColor.rgb
            fills.setdefault(field_id, set()).add(fill)
        assert fills.keys() == {"A1", "A2"}
        assert all(len(fill) == 1 for fill in fills.values())
        assert fills["A1"] != fills["A2"]


def test_rows_are_tall_and_letters_large(made: Written) -> None:
    """Rows to fill or to tap are 24 points or higher, letters 12 or larger."""
    for form in made.forms:
        sheet = made.book[form.sheet.label]
        for row in range(FIRST_ROW, sheet.max_row + 1):
            assert sheet.row_dimensions[row].height >= 24, (sheet.title, row)
    start = made.book["Start"]
    assert len(links_of(start)) == 2
    for link in links_of(start):
        assert start.row_dimensions[start[link.ref].row].height >= 24
    for sheet in made.book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.value is not None and sheet.sheet_state == "visible":
                    assert cell.font.sz >= 12, (sheet.title, cell.coordinate)
    for form in made.forms:
        assert all(cell.font.sz >= 12 for cell in made.entry_cells(form))


def test_messages_and_lists_keep_within_what_apps_take(made: Written) -> None:
    """Titles have at most 32 signs, messages and lists 255; and no message was cut off."""
    for form in made.forms:
        sheet, at = made.book[form.sheet.label], made.column_at(form)
        rules = sheet.data_validations.dataValidation
        covered = {str(rule.sqref): rule for rule in rules}
        letters = {name: sheet.cell(1, column).column_letter for name, column in at.items()}
        for column in form.entries:
            area = f"{letters[column.name]}{FIRST_ROW}:{letters[column.name]}{sheet.max_row}"
            if not (column.choices or column.picks or column.limits or column.kind == "day"):
                assert area not in covered
                continue
            rule = covered[area]
            assert len(rule.errorTitle) <= 32
            assert len(rule.promptTitle or "") <= 32
            assert len(rule.error) <= 255
            assert rule.error.endswith(".")
            assert (rule.prompt or "") == column.help
            assert len(column.help) <= 255
            assert rule.showErrorMessage
            assert rule.allow_blank
            assert len(rule.formula1) <= 255
            assert '"' not in rule.formula1  # lists stand in the hidden sheet, not in the cell
        assert len(rules) == len({str(rule.sqref) for rule in rules})


def test_a_date_cell_takes_the_year_that_its_message_names(made: Written) -> None:
    """The first and the last day of the year, and none beside them."""
    epoch = date(1899, 12, 30)
    first, last = ((date(2026, *day) - epoch).days for day in ((1, 1), (12, 31)))
    for form in made.forms:
        rules = made.book[form.sheet.label].data_validations.dataValidation
        days = [rule for rule in rules if rule.type == "date"]
        assert len(days) == sum(column.kind == "day" for column in form.entries)
        for rule in days:
            assert rule.error == "Type a date in 2026."
            assert (rule.operator, rule.formula1, rule.formula2) in (
                ("between", str(first), str(last)),
                (None, str(first), str(last)),
            )


def test_a_metric_limit_is_told_short_and_accepts_the_same() -> None:
    """The message of an area rounds; what the cell accepts does not move."""
    data = write_roster((), year=2026, units=System.METRIC, language="en", paper="a4")
    sheet = load_workbook(io.BytesIO(data))["Roster"]
    rules = {rule.errorTitle: rule for rule in sheet.data_validations.dataValidation}
    assert rules["Area"].error == "0.0405 to 2020: a field is a real area."
    assert (rules["Area"].formula1, rules["Area"].formula2) == ("0.0405", "2023.4282")
    assert rules["Heat to silk"].error.startswith("445 to 1110: ")
    assert rules["Heat to silk"].formula1 == "444.4444"


def test_lists_hold_the_choices_and_fit_their_columns(made: Written) -> None:
    """A list offers every choice, the common one first, and its column is as wide as the longest.

    Widths are in letters of the default font; labels are compared by their number of letters.
    """
    lists = made.book["Lists"]
    for form in made.forms:
        sheet, at = made.book[form.sheet.label], made.column_at(form)
        rules = {
            str(rule.sqref).split(":", 1)[0]: rule
            for rule in sheet.data_validations.dataValidation
            if rule.type == "list"
        }
        for column in form.entries:
            if not (column.choices or column.picks):
                continue
            cell = sheet.cell(FIRST_ROW, at[column.name])
            area = rules[cell.coordinate].formula1.replace("Lists!", "").replace("$", "")
            offered = [row[0].value for row in lists[area]]
            wanted = [choice.label for choice in column.choices] or list(column.picks)
            assert offered == wanted
            width = widths_of(sheet)[cell.column_letter]
            assert max(len(str(item)) for item in offered) <= width, column.name


def test_every_word_of_a_header_fits_its_column(made: Written) -> None:
    """Headers wrap between words only."""
    for form in made.forms:
        sheet = made.book[form.sheet.label]
        widths = widths_of(sheet)
        for cell in sheet[HEAD_ROW]:
            for word in str(cell.value or "").split():
                assert len(word) <= widths[cell.column_letter], (sheet.title, cell.value)


def widths_of(sheet: Any) -> dict[str, float]:
    """Return the width of every column; neighbours of one width are stored as one."""
    return {
        get_column_letter(at): group.width
        for group in sheet.column_dimensions.values()
        if group.min is not None
        for at in range(group.min, group.max + 1)
    }


def formulas_of(book: Any) -> Iterator[tuple[str, str]]:
    """Every formula of a book: of cells, conditional formats and validations."""
    for sheet in book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    yield f"{sheet.title}!{cell.coordinate}", str(cell.value)
        for area in sheet.conditional_formatting:
            for rule in area.rules:
                yield from ((f"{sheet.title} {area.sqref}", f"={text}") for text in rule.formula)
        for rule in sheet.data_validations.dataValidation:
            for text in (rule.formula1, rule.formula2):
                if text:
                    yield f"{sheet.title} {rule.sqref}", f"={text}"


def deepest(formula: str) -> int:
    """Return how deep functions are nested in a formula without its texts."""
    depth, most, stack = 0, 0, []
    for at, letter in enumerate(formula):
        if letter == "(":
            is_call = at > 0 and formula[at - 1].isalnum()
            stack.append(is_call)
            depth += is_call
            most = max(most, depth)
        elif letter == ")":
            depth -= stack.pop()
    assert not stack, formula
    return most


def test_nesting_is_measured_as_meant() -> None:
    """The measure itself: calls count, brackets of sums do not."""
    assert deepest("=1+(2*(3))") == 0
    assert deepest("=IF(AND(A1,(B1)),N(C1),D1)") == 2


def test_formulas_run_in_every_app(made: Written) -> None:
    """Only old functions, none too long or too deep, no array, no volatile one, no other file."""
    seen: set[str] = set()
    count = 0
    for where, formula in formulas_of(made.book):
        count += 1
        plain = re.sub(r'"(?:[^"]|"")*"', "", formula)
        called = set(re.findall(r"([A-Za-z_][A-Za-z0-9_.]*)\(", plain))
        assert called <= EVERYWHERE, (where, called - EVERYWHERE)
        seen |= called
        assert len(formula) < 8192, where
        assert deepest(plain) < 64, where
        assert all(len(text) <= 257 for text in re.findall(r'"(?:[^"]|"")*"', formula)), where
        assert "[" not in plain, where
        assert "{" not in plain, where
        assert "#REF" not in plain, where
        sheets = set(re.findall(r"'([^']+)'!", plain)) | set(re.findall(r"\b([A-Z]\w+)!", plain))
        assert sheets <= set(made.book.sheetnames), where
    assert count > 5
    assert {"COUNTA", "COUNTIFS", "IF"} <= seen
    if made.plan.identity.round == "kernel-count":
        assert count > 50
        assert {"AVERAGEIFS", "IFERROR"} <= seen


@pytest.mark.parametrize("what", ["book", "roster"])
def test_nothing_but_plain_parts_in_the_package(made: Written, what: str) -> None:
    """No macros, no links to other files, no connections, nothing embedded."""
    data = made.data
    if what == "roster":
        data = write_roster(ROWS, year=2026, units=System.US, language="en", paper="letter")
    with zipfile.ZipFile(io.BytesIO(data)) as package:
        names = package.namelist()
        whole = {name: package.read(name).decode("utf-8") for name in names}
    plain = r"(\[Content_Types\]\.xml|_rels/\.rels|docProps/(app|core)\.xml|xl/_rels/.*|xl/theme/.*"
    plain += r"|xl/(sharedStrings|styles|workbook)\.xml|xl/worksheets/sheet\d+\.xml)"
    assert all(re.fullmatch(plain, name) for name in names)
    assert not any('TargetMode="External"' in text for text in whole.values())
    assert "macroEnabled" not in whole["[Content_Types].xml"]


def test_key_row_lists_and_identity_are_hidden(made: Written) -> None:
    """What only the reader needs is out of sight, and the defined name leads to the identity."""
    states = {sheet.title: sheet.sheet_state for sheet in made.book}
    assert states == {
        "Start": "visible",
        **{form.sheet.label: "visible" for form in made.forms},
        "Lists": "hidden",
        "Identity": "hidden",
    }
    assert made.book.active.title == "Start"
    for form in made.forms:
        sheet = made.book[form.sheet.label]
        assert sheet.row_dimensions[KEY_ROW].hidden
        names = [cell.value for cell in sheet[KEY_ROW]]
        assert {column.name for column in form.columns} <= set(names)
        assert names[-1] == f"#silkbook:{form.sheet.name}:{made.plan.identity.book_id}"
    defined = made.book.defined_names[IDENTITY_NAME]
    title, cell = next(iter(defined.destinations))
    assert made.book[title][cell].value == made.plan.identity.book_id


def test_prints_as_a_form(made: Written) -> None:
    """Landscape, as few pages wide as can be written on, any number long, headers on each."""
    for form in made.forms:
        sheet = made.book[form.sheet.label]
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        wide = sum(column.width for column in form.columns)
        assert (sheet.page_setup.fitToWidth or 1) == (1 if wide <= 175 else 2)
        assert str(sheet.print_title_cols).startswith("$A:$")
        assert sheet.page_setup.fitToHeight == 0
        assert sheet.print_title_rows == "$3:$4"
        shown = len(made.column_at(form)) - 1  # the mark stands beside the printed area
        last = sheet.cell(sheet.max_row, shown).coordinate
        area = str(sheet.print_area).rsplit("!", 1)[-1].replace("$", "")
        assert area == f"A2:{last}"
        assert made.plan.identity.book_id in sheet.oddFooter.left.text
    assert made.book["Start"].page_setup.orientation == "landscape"


@pytest.mark.parametrize(("paper", "size"), [("letter", 1), ("a4", 9)])
def test_paper_is_the_one_of_the_season(tmp_path: Path, paper: str, size: int) -> None:
    """Letter or A4."""
    plan = replace(book_plan(small_season(tmp_path / "s")), paper=paper)
    sizes = {int(sheet.page_setup.paperSize) for sheet in written(plan).book}
    assert sizes == {size}


def test_panes_are_frozen_beside_keys_and_below_headers(made: Written) -> None:
    """Which row one is in stays in sight."""
    for form in made.forms:
        sheet, at = made.book[form.sheet.label], made.column_at(form)
        first_entry = len(form.sheet.keys) + ("link" in at) + 1
        assert sheet.freeze_panes == sheet.cell(FIRST_ROW, first_entry).coordinate


def test_links_lead_to_the_row_they_name(made: Written) -> None:
    """Start to a field, a field to its first stop, a stop to its first ear, an ear to its stop."""
    goes = {"Start": "Fields", "Photos": "Fields"}
    if "Stops" in made.book.sheetnames:
        goes |= {"Fields": "Stops", "Stops": "Ears"}
        goes |= dict.fromkeys(("Ears", "Leaves", "Stalks"), "Stops")
    shared = {"Start": 1, "Fields": 1, "Photos": 1, "Stops": 2, "Ears": 2, "Leaves": 2, "Stalks": 2}
    for title, target in goes.items():
        if title not in made.book.sheetnames:
            continue
        sheet = made.book[title]
        links = links_of(sheet)
        first = FIRST_ROW if title != "Start" else 14
        assert {sheet[link.ref].row for link in links} == set(range(first, sheet.max_row + 1))
        for link in links:
            assert link.target is None
            there = re.fullmatch(r"'(\w+)'!A(\d+)", link.location)
            assert there, link.location
            assert there[1] == target
            row, deep = sheet[link.ref].row, shared[title]
            here = [sheet.cell(row, at).value for at in range(1, deep + 1)]
            keys = [made.book[target].cell(int(there[2]), at).value for at in range(1, 4)]
            assert keys[:deep] == here
            if title in ("Fields", "Stops"):
                assert keys[deep] == 1


def width_px(sheet: Any) -> int:
    """Return how wide a sheet is in a spreadsheet app at 100 %: 7 px a letter.

    The stored width already holds the 5 px of padding that every column has.
    """
    return sum(
        round(dimension.width * 7) * (dimension.max - dimension.min + 1)
        for dimension in sheet.column_dimensions.values()
    )


@pytest.mark.parametrize("units", System)
@pytest.mark.parametrize("round_", ROUNDS.values(), ids=ROUNDS)
def test_the_quick_form_fits_the_tablet(tmp_path: Path, round_: Round, units: System) -> None:
    """Nothing to scroll sideways on a 10-inch tablet in landscape."""
    made = written(book_plan(small_season(tmp_path / "s", units=units), round_=round_))
    for title in ("Start", *(form.sheet.label for form in made.forms)):
        assert width_px(made.book[title]) + ROW_NUMBERS_PX <= TABLET_PX, title


@pytest.mark.parametrize(
    ("name", "first", "asks"),
    [
        ("kernel-count", "Before you walk in", False),
        ("harvest", "Have the scale tickets at hand", False),
        ("kernel-count", "1. Mend the cells that are listed below", True),
    ],
)
def test_the_first_sheet_says_what_this_book_is_for(
    tmp_path: Path, name: str, first: str, asks: bool
) -> None:
    """Nobody walks in with scale tickets, and a correction book asks for its cells alone."""
    plan = book_plan(small_season(tmp_path / "s"), round_=ROUNDS[name])
    if asks:
        plan = replace(plan, asked={("ears", ("A1", 1, 1), "rows_around"): "Count again."})
    steps = [str(cell.value) for cell in written(plan).book["Start"]["A"][4:10]]
    assert any(step.startswith(first) for step in steps)
    assert ("Before you walk in" in steps[0]) == (name != "harvest")


@pytest.fixture(params=[language for language in SHIPPED_LANGUAGES if language != "en"])
def language(request: pytest.FixtureRequest) -> str:
    """Every language that books are written in beside English."""
    return str(request.param)


@pytest.mark.parametrize("round_", ROUNDS.values(), ids=ROUNDS)
def test_other_languages_fit_the_tablet_and_their_columns(
    tmp_path: Path, round_: Round, language: str
) -> None:
    """Longer words of a header make its column wider, and the quick form still fits."""
    season = small_season(tmp_path / "s")
    there = replace(season, settings=replace(season.settings, language=language))
    made = written(book_plan(there, round_=round_))
    for form in made.forms:
        sheet = made.book[say(form.sheet.label, language)]
        widths = widths_of(sheet)
        for cell in sheet[HEAD_ROW]:
            for word in str(cell.value or "").split():
                assert len(word) <= widths[cell.column_letter], (sheet.title, cell.value)
        assert width_px(sheet) + ROW_NUMBERS_PX <= TABLET_PX, sheet.title


def test_the_beetles_have_a_whole_word_in_every_language(language: str) -> None:
    """Their narrow column is headed by a word that its help says as well, not by part of one."""
    column = STOPS.column("beetles")
    help_words = re.findall(r"\w+", say(column.help, language).lower())
    assert say(column.label, language).lower() in help_words


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("round_", ROUNDS.values(), ids=ROUNDS)
def test_choices_of_other_languages_fit_their_columns(
    round_: Round, full: bool, language: str
) -> None:
    """A label that is picked stands in its cell on one line, as the English one does."""
    for form in round_.form(full=full).sheets:
        for column in form.entries:
            for choice in column.choices:
                label = say(choice.label, language)
                assert len(label) <= column.width, (form.sheet.name, column.name, label)


def named_rows(names: tuple[str, ...]) -> tuple[RosterRow, ...]:
    """Give every name to a field, its grower, its hybrid and its product."""
    return tuple(
        replace(
            ROWS[0],
            grower_id=f"G{at}",
            field_id=f"N{at}",
            grower=name,
            field=name,
            hybrid=name,
            product=name,
            remark=name,
        )
        for at, name in enumerate(names)
    )


def test_names_that_look_like_formulas_stay_text(tmp_path: Path) -> None:
    """From the roster through the book and back, no name is ever a formula or a link."""
    season = small_season(tmp_path / "s", rows=named_rows(FORMULA_LIKE[:10]))
    assert [field.field for field in season.roster.fields.values()] == list(FORMULA_LIKE[:10])
    plain = written(book_plan(small_season(tmp_path / "plain", rows=named_rows(("n",) * 10))))
    plan = replace(book_plan(season), season_name="=1+1 &P & Sons")
    made = written(plan)
    assert len(list(formulas_of(made.book))) == len(list(formulas_of(plain.book)))
    for at, name in enumerate(FORMULA_LIKE[:10]):
        for title, row, columns in (("Fields", FIRST_ROW + at, (3, 4)), ("Start", 14 + at, (2, 3))):
            for column in columns:
                cell = made.book[title].cell(row, column)
                assert (cell.value, cell.data_type) == (name, "s")
                assert cell.hyperlink is None
    assert made.book["Stops"].oddFooter.left.text.startswith("=1+1 &&P && Sons")


def test_a_roster_keeps_any_name_as_typed() -> None:
    """What the roster was written with is what is read from it, and nothing became a formula."""
    data = write_roster(
        named_rows(FORMULA_LIKE), year=2026, units=System.US, language="en", paper="letter"
    )
    read = read_roster(data, "roster.xlsx")
    assert read.problems == ()
    assert read.sheet is not None
    names = ("grower", "field", "hybrid", "product", "remark")
    found = [{row.cells[column].value for column in names} for row in read.sheet.rows]
    assert found == [{name} for name in FORMULA_LIKE]
    sheet = load_workbook(io.BytesIO(data))[ROSTER_FORM.sheet.label]
    texts = {cell.value for row in sheet.iter_rows() for cell in row if cell.data_type == "s"}
    assert texts >= set(FORMULA_LIKE)
    assert not links_of(sheet)


_WORDS = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), blacklist_characters="\ufffe\uffff"),
    min_size=1,
    max_size=80,
).filter(lambda text: text.strip("\xa0\u202f ") == text and " ".join(text.split()) == text)


@pytest.fixture(scope="module")
def one_field(tmp_path_factory: pytest.TempPathFactory) -> BookPlan:
    """Plan a book of one field."""
    return book_plan(small_season(tmp_path_factory.mktemp("one"), rows=ROWS[:1]))


@given(field=_WORDS, grower=_WORDS, remark=_WORDS)
def test_any_name_comes_back_letter_by_letter(
    one_field: BookPlan, field: str, grower: str, remark: str
) -> None:
    """Names and remarks in any script survive writing and reading, and nothing is questioned."""
    visit = one_field.visits[0]
    slip = replace(visit.slip, field=field, grower=grower)
    plan = replace(
        one_field,
        identity=replace(one_field.identity, visits=(slip,)),
        visits=(replace(visit, slip=slip),),
        entries={("fields", ("A1",), "remark"): remark},
    )
    read = read_book(write_book(plan), "any.xlsx")
    assert read.book is not None, read.problems
    assert read.book.problems == ()
    assert read.book.identity == plan.identity
    cells = read.book.sheets["fields"].rows[0].cells
    shown = tuple(cells[name].value for name in ("field", "grower", "remark"))
    assert shown == (field, grower, remark)


@pytest.mark.parametrize("letter", ["W", "&", "ü", '"', "字"])
def test_the_longest_names_do_not_break(tmp_path: Path, letter: str) -> None:
    """Names of 80 letters are written whole, and the book still says nothing is wrong with them."""
    name = letter * 80
    rows = tuple(replace(row, scout="ana") for row in named_rows((name, name)))
    season = small_season(tmp_path / "s", rows=rows)
    plan = replace(
        book_plan(season, entries={"N0": good_visit("N0")}),
        season_name=name,
    )
    made = written(plan)
    assert made.book["Fields"].cell(FIRST_ROW, 3).value == name
    read = read_book(made.data, "long.xlsx")
    assert read.book is not None
    today = NOW.date()
    verdict = check_book(read.book, season.context({}, today=today, received=today))
    assert [found.code for found in verdict.open_problems] == []


def test_a_filled_book_shows_values_in_their_cells(tmp_path: Path) -> None:
    """Entries given beforehand stand in the cells as a scout would have typed them."""
    season = small_season(tmp_path / "s", units=System.METRIC)
    entries = {**good_visit("A1"), ("stops", ("A1", 2), "length_ft"): 26.1}
    made = written(book_plan(season, entries={"A1": entries}))
    forms = {form.sheet.name: form for form in made.forms}
    head = made.column_at(forms["fields"])
    fields, stops = made.book["Fields"], made.book["Stops"]
    assert fields.cell(FIRST_ROW, head["visit_date"]).value.date() == date(2026, 8, 12)
    assert fields.cell(FIRST_ROW, head["stage"]).value == "R4 dough"
    length = stops.cell(FIRST_ROW + 1, made.column_at(forms["stops"])["length_ft"]).value
    assert length == pytest.approx(26.1 * 0.3048)
