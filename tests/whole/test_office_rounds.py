"""Each round's quick book, filled by a real spreadsheet program: figures, Look texts, readings."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from addresses import Addresses
from office import Edit, Office
from openpyxl import load_workbook
from parts import need, office_missing
from seasons import NOW, ROWS, book_plan, small_season

from fieldbook.check.book import check_book
from fieldbook.check.rows import Draft, drafts_of
from fieldbook.check.verdict import USABLE, CheckedBook
from fieldbook.forms.answers import LOST, TRUE
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, ROUNDS, Round
from fieldbook.ledger.ledger import Ledger
from fieldbook.results.ears import kernels
from fieldbook.results.results import season_results
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.simulate.field import grow
from fieldbook.simulate.place import PLOTS, SEASON_END, YEAR
from fieldbook.simulate.scout import Entries, Walk, walk_field
from fieldbook.simulate.weather import daily_weather
from fieldbook.units import System
from fieldbook.workbook.look import LEFT_OUT, OK, look_text, look_words
from fieldbook.workbook.plan import EntryValue
from fieldbook.workbook.read import ReadBook, read_book
from fieldbook.workbook.write import write_book

pytestmark = pytest.mark.office

WALKED = {
    "roadside": ("R1", 0),
    "pollination": ("R2", 0),
    "kernel-count": ("R4", 3),
    "ripening": ("R6", 3),
    "harvest": ("R6", 3),
}
_HEAD_ROW, _FIRST_FIELD_ROW = 12, 14


@dataclass(frozen=True, kw_only=True)
class Spoiled:
    """A row of field A2 as typed, choices by key, and the fault found: its code and column."""

    sheet: str
    row: tuple[int, ...]
    cells: Mapping[str, EntryValue]
    fault: tuple[str, str] | None = None


def _of(sheet: str, *row: int, fault: tuple[str, str] | None = None, **cells: Any) -> Spoiled:
    return Spoiled(sheet=sheet, row=row, cells=cells, fault=fault)


_HEAD = {"visit_date": date(2026, 8, 14)}
SPOILED: Mapping[str, tuple[Spoiled, ...]] = {
    "roadside": (_of("fields", fault=("out-of-range", "silked"), **_HEAD, stage="VT", silked=25),),
    "pollination": (
        _of("fields", **_HEAD, stage="R1"),
        _of("stops", 1, silked=25, fault=("out-of-range", "silked")),
        _of("stops", 2, silked=12, beetles=3, fault=("part-missing", "beetles_on")),
        _of("stops", 3, pest_plants=4, fault=("part-missing", "pest")),
        _of("stops", 4, silked=11, silk_length_in=9, answer=TRUE.key),
        _of(
            "ears",
            *(1, 1),
            all_fallen="yes",
            fallen_tip_pct=40,
            fault=("all-fallen-contradicts", "all_fallen"),
        ),
        _of(
            "ears",
            1,
            2,
            fallen_tip_pct=80,
            pale_tip_pct=40,
            fault=("silks-over-all", "fallen_tip_pct"),
        ),
        _of("ears", 1, 3, fallen_tip_pct=80, pale_tip_pct=40, answer=TRUE.key),
        _of("ears", 1, 4, fallen_middle_pct="~40", fault=("not-a-number", "fallen_middle_pct")),
        _of("ears", 1, 5, fallen_base_pct=120, fallen_tip_pct=60, answer=LOST.key),
        _of(
            "leaves",
            *(1, 1),
            disease="common-rust",
            looked=20,
            with_it=26,
            fault=("part-over-whole", "with_it"),
        ),
        _of(
            "leaves",
            1,
            2,
            disease="none",
            looked=20,
            with_it=3,
            fault=("none-contradicts", "disease"),
        ),
        _of("leaves", 2, 1, disease="GLS", fault=("not-on-list", "disease")),
    ),
    "kernel-count": (
        _of("fields", **_HEAD, stage="R4", grain_fill="poor"),
        _of("stops", 1, ears=31, plants=33),
        _of("stops", 2, ears=3, fault=("unusual", "ears")),
        _of("stops", 3, ears=29, place="end-rows"),
        _of("stops", 4, ears=34, plants=30, answer=TRUE.key),
        _of("ears", 1, 1, rows_around=15, kernels_set=33, fault=("rows-odd", "rows_around")),
        _of("ears", 1, 2, rows_around=16, kernels_set=33, tip_unset=2),
        _of("ears", 1, 3, rows_around=24, kernels_set=30, answer=TRUE.key),
        _of("ears", 2, 1, rows_around=16, fault=("part-missing", "kernels_set")),
        _of("ears", 2, 2, rows_around=18, kernels_set=31),
        _of(
            "ears",
            3,
            1,
            rows_around=18,
            kernels_set=50,
            tip_unset=9,
            fault=("rings-many", "kernels_set"),
        ),
        _of("ears", 3, 2, rows_around=22, kernels_set=50, fault=("kernels-many", "rows_around")),
        _of("ears", 3, 3, rows_around=14, kernels_set=28),
        _of("ears", 4, 1, rows_around=14, kernels_set=36, tip_aborted=1),
        _of("ears", 4, 2, rows_around=17, kernels_set=36, answer=LOST.key),
    ),
    "ripening": (
        _of("fields", **_HEAD, stage="R5", milk_line="half"),
        _of("ears", 1, 1, mould="none", mould_pct=5, fault=("none-contradicts", "mould")),
        _of("ears", 1, 2, kernel_depth_in=12, fault=("out-of-range", "kernel_depth_in")),
        _of("ears", 1, 3, mould_pct=5, fault=("part-missing", "mould")),
        _of("stalks", 1, tried=20, failed=31, fault=("part-over-whole", "failed")),
        _of("stalks", 2, failed=4, fault=("part-missing", "tried")),
        _of(
            "stalks",
            *(3,),
            ears_opened=20,
            ears_mouldy=3,
            mould="none",
            fault=("none-contradicts", "mould"),
        ),
        _of(
            "stalks",
            *(4,),
            tried=20,
            failed=5,
            bag_ears=10,
            bag_grain_lb=52,
            bag_moisture_pct=20,
            fault=("bag-weight-odd", "bag_grain_lb"),
        ),
        _of("stalks", 5, tried=18, failed=0),
    ),
    "harvest": (
        _of("fields", visit_date="mid October", acres_cut=40, fault=("not-a-date", "visit_date")),
        _of("harvest", 1, ticket="A-17", wet_lb=300_000, moisture_pct=20.5, test_weight_lb_bu=57),
        _of("harvest", 2, wet_lb=52_000, moisture_pct=2, fault=("out-of-range", "moisture_pct")),
        _of("harvest", 3, wet_lb=52_000, fault=("part-missing", "moisture_pct")),
        _of("harvest", 4, wet_lb=52_000, moisture_pct=45, answer=TRUE.key),
        _of("harvest", 5, wet_lb="a lot", fault=("not-a-number", "wet_lb")),
        _of("harvest", 6, wet_bu=980, moisture_pct=46, answer=LOST.key),
    ),
}


@cache
def _right(name: str) -> Entries:
    """Walk an invented field rightly, with the quick form, as field A1."""
    plot = replace(next(plot for plot in PLOTS if plot.field_id == "D14"), row=ROWS[0])
    days = list(daily_weather(date(YEAR, 1, 1), SEASON_END, seed="office"))
    truth = grow(plot, days, seed="office")
    round_ = ROUNDS[name]
    stage, after = WALKED[name]
    day = min(truth.stage_days[stage] + timedelta(days=after), date(2026, 8, 19))
    walk = Walk(day=day, form=round_.quick, rows=round_.quick.rows)
    return walk_field(truth, walk, seed="office")


def _edits(round_: Round, at: Addresses) -> Iterator[Edit]:
    """Type everything as a scout: choices are picked, the rest is typed."""
    for (sheet, key, name), value in _right(round_.name).items():
        yield _edit(round_, at, sheet, key, name, value)
    for spoiled in SPOILED[round_.name]:
        for name, value in spoiled.cells.items():
            yield _edit(round_, at, spoiled.sheet, ("A2", *spoiled.row), name, value)


def _edit(
    round_: Round,
    at: Addresses,
    sheet: str,
    key: tuple[str | int, ...],
    name: str,
    value: EntryValue,
) -> Edit:
    form = _form(round_, sheet)
    column = form.sheet.column(name)
    cell = at.cell(form.sheet.label, key, column.label)
    labels = {choice.key: choice.label for choice in column.choices}
    if value in labels:
        return Edit(form.sheet.label, cell, labels[str(value)], "pick")
    return Edit(form.sheet.label, cell, value)


def _form(round_: Round, sheet: str) -> SheetForm:
    return next(form for form in round_.quick.sheets if form.sheet.name == sheet)


@dataclass(frozen=True, kw_only=True)
class Filled:
    """One round's book as a scout saved it, in both formats, and what the app shows in it."""

    round_: Round
    season: Season
    at: Addresses
    heads: Mapping[str, str]
    saved: Mapping[str, Path]
    shown: Mapping[str, Mapping[str, Any]] = field(repr=False)

    def read(self, suffix: str = ".xlsx") -> ReadBook:
        """Read the book back."""
        path = self.saved[suffix]
        return read_book(path.read_bytes(), path.name)

    def judged(self, suffix: str = ".xlsx") -> CheckedBook:
        """Read and check it."""
        book = self.read(suffix).book
        assert book is not None
        today = NOW.date()
        return check_book(book, self.season.context({}, today=today, received=today))

    def start(self, label: str, field_id: str) -> Any:
        """Return what the Start sheet shows for a field."""
        row = _FIRST_FIELD_ROW + ("A1", "A2").index(field_id)
        return self.shown["Start"][f"{self.heads[label]}{row}"]

    def live(self, title: str, key: tuple[object, ...], head: str) -> Any:
        """Return what a live cell shows."""
        return self.shown[title][self.at.cell(title, key, head)]


@pytest.fixture(scope="module", params=list(WALKED))
def filled(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Filled:
    """Fill one round's book once and ask the app once what it shows."""
    need(office_missing())
    office: Office = request.getfixturevalue("office_session")
    round_ = ROUNDS[request.param]
    folder = tmp_path_factory.mktemp(round_.name)
    season = small_season(folder / "season")
    blank = folder / "blank.xlsx"
    blank.write_bytes(write_book(book_plan(season, round_=round_)))
    at = Addresses.of(blank)
    edits = list(_edits(round_, at))
    saved = {
        suffix: office.fill(blank, edits, folder / f"filled{suffix}")
        for suffix in (".xlsx", ".ods")
    }
    heads = _start_heads(blank)
    places = _live_places(at, heads)
    return Filled(
        round_=round_,
        season=season,
        at=at,
        heads=heads,
        saved=saved,
        shown=office.values(saved[".xlsx"], places),
    )


def _start_heads(blank: Path) -> dict[str, str]:
    sheet = load_workbook(blank)["Start"]
    return {str(cell.value): cell.column_letter for cell in sheet[_HEAD_ROW] if cell.value}


def _live_places(at: Addresses, heads: Mapping[str, str]) -> dict[str, list[str]]:
    rows = (_FIRST_FIELD_ROW, _FIRST_FIELD_ROW + 1)
    places = {"Start": [f"{letter}{row}" for letter in heads.values() for row in rows]}
    for title, keys in at.rows.items():
        heads_here = [head for head in ("Look", "Kernels", "Yield") if head in at.columns[title]]
        places[title] = [at.cell(title, key, head) for head in heads_here for key in keys]
    return {title: cells for title, cells in places.items() if cells}


@pytest.mark.parametrize("suffix", [".xlsx", ".ods"])
def test_right_and_spoiled_rows_come_back_as_typed(filled: Filled, suffix: str) -> None:
    """Every cell of the right field is used as typed; each spoiled row gives its one fault."""
    verdict = filled.judged(suffix)
    right = {
        (r.sheet, ("A1", *r.row), r.column): r.value
        for r in verdict.readings
        if r.visit_id.startswith("A1.") and r.status in USABLE
    }
    assert right == pytest.approx(_right(filled.round_.name))
    found = [
        (p.place.field_id, p.place.table, p.place.row, p.code, p.place.column)
        for p in verdict.open_problems
    ]
    wanted = [
        ("A2", one.sheet, ", ".join(map(str, one.row)) or None, *one.fault)
        for one in SPOILED[filled.round_.name]
        if one.fault
    ]
    assert sorted(found, key=str) == sorted(wanted, key=str)


def test_look_texts_are_those_of_the_checks(filled: Filled) -> None:
    """In every row, right, spoiled, confirmed, left out or empty, the app shows Python's words."""
    book = filled.read().book
    assert book is not None
    seen = set()
    for form in filled.round_.quick.sheets:
        title = form.sheet.label
        if "Look" not in filled.at.columns[title]:
            continue
        for draft in drafts_of(form, book.sheets[form.sheet.name], System.US, "en"):
            cell = f"{filled.at.columns[title]['Look']}{draft.number}"
            look = _look(form, draft)
            assert (filled.shown[title][cell] or "") == look, (title, draft.number)
            seen.add(look)
    assert OK in seen
    assert len(seen) >= 2


def _look(form: SheetForm, draft: Draft) -> str:
    """Say what a row must show; a cell that is no value at all comes first."""
    faulty = [column.name for column in form.entries if draft.is_faulty(column.name)]
    if not faulty:
        return look_text(form, draft.values, "en", System.US)
    rule = next(rule for rule in form.rules(System.US) if rule.marks == (faulty[0],))
    return look_words(rule, form, "en", System.US)


def test_progress_and_questions_are_counted(filled: Filled) -> None:
    """The Start sheet counts the filled rows of each sheet and the rows to look at."""
    looks = {
        (title, key): filled.live(title, key, "Look") or ""
        for title, rows in filled.at.rows.items()
        if "Look" in filled.at.columns[title]
        for key in rows
    }
    for field_id in ("A1", "A2"):
        for title in filled.at.rows:
            if f"{title} done" not in filled.heads:
                continue
            keys = [key for key in filled.at.rows[title] if key[0] == field_id]
            typed = sum(_is_filled(filled.round_, title, key) for key in keys)
            assert filled.start(f"{title} done", field_id) == f"{typed} / {len(keys)}"
        wrong = sum(
            text not in ("", OK, LEFT_OUT) for (_, key), text in looks.items() if key[0] == field_id
        )
        assert filled.start("Rows to look at", field_id) == wrong
    assert filled.start("Rows to look at", "A1") == 0


def _is_filled(round_: Round, title: str, key: tuple[object, ...]) -> bool:
    sheet = title.lower()
    right = any(place[:2] == (sheet, key) for place in _right(round_.name))
    return right or any(
        one.sheet == sheet and ("A2", *one.row) == key for one in SPOILED[round_.name]
    )


def test_share_of_silked_plants_is_the_results_own(filled: Filled) -> None:
    """Silked, in percent of all plants looked at, leaves out what the checks leave out."""
    if filled.round_ is not POLLINATION:
        assert "Silked" not in filled.heads
        return
    for result in _results(filled):
        assert result.pollination is not None
        (count,) = result.pollination.silk_counts
        live = filled.start("Silked", result.field_id)
        assert live == pytest.approx(100 * count.silked / count.of, abs=1e-9)


def test_share_of_failed_stalks_is_that_of_used_readings(filled: Filled) -> None:
    """Stalks failed, in percent of those tried, over the rows whose two numbers are used."""
    if filled.round_ is not RIPENING:
        assert "Stalks failed" not in filled.heads
        return
    rows: dict[tuple[str, tuple[int, ...]], dict[str, Any]] = {}
    for reading in filled.judged().readings:
        if reading.sheet == "stalks" and reading.status in USABLE:
            rows.setdefault((reading.visit_id[:2], reading.row), {})[reading.column] = reading.value
    for field_id in ("A1", "A2"):
        whole = [
            (cells["failed"], cells["tried"])
            for (known, _), cells in rows.items()
            if known == field_id and {"failed", "tried"} <= set(cells)
        ]
        failed, tried = (sum(numbers) for numbers in zip(*whole, strict=True))
        assert filled.start("Stalks failed", field_id) == pytest.approx(100 * failed / tried)


def test_kernels_and_yields_are_the_results_own(filled: Filled) -> None:
    """Kernels on each ear, the yield of each stop and that of the field equal Python's."""
    if filled.round_ is not KERNEL_COUNT:
        assert "Yield" not in filled.heads
        return
    results = _results(filled)
    for result in results:
        assert result.yield_ is not None
        live = filled.start("Yield", result.field_id)
        assert live == pytest.approx(result.yield_.likely_bu_ac, abs=1e-9)
        for stop in result.stops:
            _same(filled.live("Stops", (result.field_id, stop.stop), "Yield"), stop.yield_bu_ac)
    with Ledger(filled.season.folder) as ledger:
        ears = [ear for visit in ledger.visits() for ear in visit.records["ears"]]
    assert len(ears) == 15 + 9
    for ear in ears:
        _same(filled.live("Ears", (ear.field_id, ear.stop, ear.ear), "Kernels"), kernels(ear))


def _results(filled: Filled) -> Any:
    """Take the book in, once, and work the season out."""
    for taken in take_in(filled.season, [filled.saved[".xlsx"]], now=NOW):
        assert taken.accepted
    results = season_results(filled.season, as_of=NOW.date()).fields
    return [one for one in results if one.field_id in ("A1", "A2")]


def _same(live: Any, worked_out: float | None) -> None:
    wanted = None if worked_out is None else pytest.approx(worked_out, abs=1e-9)
    assert (None if live == "" else live) == wanted
