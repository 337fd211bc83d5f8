"""Any valid record, drawn from the declarations, comes back from a book as it went in."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date
from functools import cache
from itertools import cycle, islice, product
from pathlib import Path
from typing import Any
from zlib import crc32

import pytest
from hypothesis import given, seed, settings
from hypothesis import strategies as st
from seasons import ROWS, small_season

from fieldbook.check.book import check_book
from fieldbook.check.roster import check_roster
from fieldbook.check.rows import drafts_of
from fieldbook.check.verdict import USABLE
from fieldbook.cross_rules import (
    AtLeastWith,
    AtMost,
    NeedsAlso,
    NotTogether,
    ProductAtMost,
    SumAtMost,
)
from fieldbook.forms.answers import TRUE
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.roster import OTHER_CORN, ROSTER_FORM, RosterRow
from fieldbook.forms.rounds import ROUNDS, Form, Round
from fieldbook.problems import Weight, weight_of
from fieldbook.rules import Even, Rule
from fieldbook.schema import Column, Kind
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey
from fieldbook.workbook.read import read_book, read_roster
from fieldbook.workbook.roster import write_roster
from fieldbook.workbook.write import write_book

FIELDS = 10
BOOKS = 2
PLANTED, LAST_DAY = date(2026, 4, 28), date(2026, 12, 31)
Record = dict[str, Any]

# ---- strategies, made from the declarations -------------------------------------------------

# Letters that are read as they are; signs that steer a terminal or turn a line are taken out.
_LETTERS = st.characters(
    blacklist_categories=("Cs", "Cc", "Cf", "Zl", "Zp"), blacklist_characters="\ufffe\uffff"
)
_ODD_WORDS = ("=1+1", "0", "007", "TRUE", "2026-07-22", "1/2", "_x000D_", "#N/A", "line\nline", "-")
_WORDS = st.sampled_from(_ODD_WORDS) | st.text(_LETTERS, min_size=1, max_size=80).map(
    lambda text: text.strip("\xa0\u202f \t\r\n") or "x"
)


def values(column: Column, units: System, *, usual: bool, is_even: bool) -> st.SearchStrategy[Any]:
    """Return what a column may hold, in stored units."""
    if column.choices:
        return st.sampled_from([choice.key for choice in column.choices])
    if column.kind is Kind.DAY:
        return st.dates(PLANTED, LAST_DAY)
    if column.kind is Kind.TEXT:
        return _WORDS
    limits = column.limits_in(units)
    assert limits is not None, column.name
    low, high = limits.least, limits.most
    if usual:
        low = low if limits.usual_least is None else limits.usual_least
        high = high if limits.usual_most is None else limits.usual_most
    if column.kind is Kind.WHOLE:
        step = 2 if is_even else 1
        whole = st.integers(math.ceil(low / step), math.floor(high / step))
        return whole.map(lambda count: step * count)
    tenths = st.integers(math.ceil(low * 10), math.floor(high * 10)).map(lambda n: n / 10)
    return st.floats(low, high) | tenths | st.sampled_from([float(low), float(high)])


def drawn(form: SheetForm, units: System) -> st.SearchStrategy[Record]:
    """Return records of a sheet, most cells filled, that no check may refuse."""
    even = {rule.column for rule in form.rules(units) if isinstance(rule, Even)}
    answered = any(column.name == "answer" for column in form.entries)
    parts = {}
    for column in form.entries:
        value = values(column, units, usual=False, is_even=column.name in even)
        if not answered:
            value = values(column, units, usual=True, is_even=column.name in even)
        elif column.limits:
            value |= values(column, units, usual=True, is_even=column.name in even)
        parts[column.name] = value if column.needed else st.none() | value | value
    return st.fixed_dictionaries(parts).map(lambda record: mended(form, record, units))


def mended(form: SheetForm, record: Record, units: System) -> Record:
    """Drop what contradicts, until only what may be confirmed is left, and confirm that."""
    record = dict(record)
    rules = form.rules(units)
    while hard := [rule for rule in rules if rule.broken(record) and not _is_asked(rule)]:
        record[_one_too_many(hard[0], record)] = None
    if any(rule.broken(record) for rule in rules):
        record["answer"] = TRUE.key
    return {name: value for name, value in record.items() if value is not None}


def _is_asked(rule: Rule) -> bool:
    return weight_of(rule.code) is Weight.ASK


def _one_too_many(rule: Rule, record: Record) -> str:
    """Return the cell to empty; a rule of another kind has no valid neighbour to fall back to."""
    if isinstance(rule, SumAtMost):
        return max(rule.columns, key=lambda name: record.get(name) or 0)
    assert isinstance(rule, AtLeastWith | AtMost | NeedsAlso | NotTogether | ProductAtMost), rule
    return rule.column


def draw(form: SheetForm, count: int, units: System, number: int) -> list[Record]:
    """Draw `count` records, different ones as far as they come, and others for another number.

    They are drawn here and checked together in few books: one book a record would take an hour.
    """
    pile: dict[str, Record] = {}

    @seed(number)
    @settings(max_examples=count + count // 3, database=None)
    @given(drawn(form, units))
    def collect(record: Record) -> None:
        pile[repr(record)] = record

    collect()
    records = list(pile.values())
    assert len(records) > count // 2
    return [dict(record) for record in islice(cycle(records), count)]


# ---- books full of them ---------------------------------------------------------------------


@cache
def drawn_for(round_: str, full: bool, units: System) -> Mapping[str, list[Record]]:
    """Draw as many records of each sheet as the books hold; once for each system of units."""
    form = ROUNDS[round_].form(full=full)
    number = crc32(f"{round_}/{full}/{units}".encode())
    return {
        one.sheet.name: draw(
            one, BOOKS * FIELDS * len(list(one.sheet.planned_rows(form.rows))), units, number
        )
        for one in form.sheets
    }


def pack(pile: Mapping[str, Iterator[Record]], field_id: str, form: Form) -> dict[EntryKey, Any]:
    """Fill one field, and confirm beforehand whatever the checks of a whole visit may ask."""
    entries: dict[EntryKey, Any] = {}
    for one in form.sheets:
        for row in one.sheet.planned_rows(form.rows):
            record = dict(next(pile[one.sheet.name]))
            if "answer" in one.names:
                record["answer"] = TRUE.key
            if "at_stop" in record:
                record["at_stop"] = min(record["at_stop"], form.rows.get("stop", 0)) or None
            for column, value in record.items():
                if value is not None:
                    entries[one.sheet.name, (field_id, *row), column] = value
    return entries


def same(found: Any, expected: Any) -> bool:
    """Compare exactly, but decimals within a billionth of themselves."""
    if isinstance(expected, float):
        return isinstance(found, int | float) and math.isclose(found, expected, rel_tol=1e-9)
    return type(found) is type(expected) and bool(found == expected)


def ten_fields(path: Path, units: System) -> Season:
    """Make a season of ten fields whose place is not known, so that any stop may be anywhere."""
    rows = tuple(
        replace(ROWS[0], field_id=f"F{at}", planted=PLANTED, latitude=None, longitude=None)
        for at in range(FIELDS)
    )
    return small_season(path, units=units, rows=rows)


@pytest.mark.parametrize("full", [False, True], ids=["quick", "full"])
@pytest.mark.parametrize("units", System)
@pytest.mark.parametrize("round_", ROUNDS.values(), ids=ROUNDS)
def test_any_valid_record_comes_back(
    tmp_path: Path, round_: Round, units: System, full: bool
) -> None:
    """Records -> book -> reader -> checks: every value is back, usable, and nothing is open.

    Only notes may be said, such as a stop that has a count but no ears yet.
    """
    season = ten_fields(tmp_path / "season", units)
    order, form = Order(round_=round_, full=full), round_.form(full=full)
    drawn = drawn_for(round_.name, full, units)
    pile = {sheet: iter(records) for sheet, records in drawn.items()}
    context = season.context({}, today=LAST_DAY, received=LAST_DAY)
    compared = 0
    for _ in range(BOOKS):
        entries = {f"F{at}": pack(pile, f"F{at}", form) for at in range(FIELDS)}
        plan = next(iter(book_plans(season, order, entries=entries)))
        read = read_book(write_book(plan), "drawn.xlsx")
        assert read.book is not None, read.problems
        verdict = check_book(read.book, context)
        said = [found for found in verdict.open_problems if found.weight is not Weight.NOTE]
        assert said == []
        back = {
            (r.sheet, (r.visit_id.split(".")[0], *r.row), r.column): r for r in verdict.readings
        }
        assert back.keys() == plan.entries.keys()
        wrong = {
            key: (reading.value, plan.entries[key], reading.status)
            for key, reading in back.items()
            if reading.status not in USABLE or not same(reading.value, plan.entries[key])
        }
        assert wrong == {}
        compared += len(back)
    assert all(next(records, None) is None for records in pile.values())
    assert compared > sum(len(records) for records in drawn.values())


@cache
def drawn_roster() -> tuple[RosterRow, ...]:
    """Draw roster rows, each of another field."""
    return tuple(
        RosterRow(**{**record, "field_id": f"F{at}", "use": _grain(record.get("use"))})
        for at, record in enumerate(draw(ROSTER_FORM, 150, System.US, 0))
    )


@pytest.mark.parametrize("units", System)
def test_any_valid_roster_row_comes_back(units: System) -> None:
    """Roster rows -> workbook -> reader -> checks: every value is back and every row usable."""
    rows = drawn_roster()
    data = write_roster(rows, year=2026, units=units, language="en", paper="letter")
    read = read_roster(data, "roster.xlsx")
    assert read.sheet is not None
    assert read.problems == ()
    drafts = drafts_of(ROSTER_FORM, read.sheet, units, "en")
    for draft, row in zip(drafts, rows, strict=True):
        assert draft.findings == ()
        for column in ROSTER_FORM.entries:
            expected = getattr(row, column.name)
            assert same(draft.values[column.name], expected), (column.name, row)
    roster, problems = check_roster(read.sheet, "roster.xlsx", units, "en")
    places = {"roster-far-away", "roster-sign"}  # drawn all over the world
    names = {"roster-grower-differs"}  # drawn IDs meet again
    assert {found.code for found in problems} <= places | names
    assert list(roster.fields) == [row.field_id for row in rows]


def _grain(use: str | None) -> str | None:
    return None if use in OTHER_CORN else use


def limited(form: SheetForm) -> Iterator[tuple[SheetForm, Column]]:
    """Return the columns that have limits."""
    return ((form, column) for column in form.entries if column.limits)


LIMITED = {
    f"{form.sheet.name}-{column.name}": (form, column)
    for form in (*(f for r in ROUNDS.values() for f in r.full.sheets), ROSTER_FORM)
    for _, column in limited(form)
}


def edges(column: Column, units: System) -> Iterator[tuple[float, set[str]]]:
    """Return each limit of a column, and what may be said of it."""
    limits = column.limits_in(units)
    assert limits is not None
    for edge in (limits.usual_least, limits.usual_most):
        if edge is not None:
            yield edge, set()
    for edge in (limits.least, limits.most):
        yield edge, {"unusual"}


@pytest.mark.parametrize(
    ("units", "form", "column"),
    [
        pytest.param(
            units,
            form,
            column,
            id=f"{units}-{name}",
        )
        for units in System
        for name, (form, column) in LIMITED.items()
    ],
)
def test_the_limits_that_a_cell_shows_are_allowed(
    units: System, form: SheetForm, column: Column
) -> None:
    """The very number that the cell's message names as its limit is accepted by the checks too."""
    rules = [
        rule
        for rule in form.rules(units)
        if getattr(rule, "column", None) == column.name and rule.code in ("out-of-range", "unusual")
    ]
    assert rules
    for edge, allowed in edges(column, units):
        typed = round(column.unit.shown(edge, units), 4)
        stored = column.unit.stored(typed, units)
        said = {rule.code for rule in rules if rule.broken({column.name: stored})}
        assert said <= allowed, (edge, typed)


def test_thousands_of_different_records_went_through_the_books() -> None:
    """All that the tests above pack: over 2,000 different records, over 140 of every sheet."""
    different: dict[str, set[str]] = {"roster": {repr(row) for row in drawn_roster()}}
    for round_, full, units in product(ROUNDS, (False, True), System):
        for sheet, records in drawn_for(round_, full, units).items():
            different.setdefault(sheet, set()).update(map(repr, records))
    assert different.keys() == {
        form.sheet.name for one in ROUNDS.values() for form in one.full.sheets
    } | {"roster"}
    counts = {sheet: len(some) for sheet, some in different.items()}
    assert sum(counts.values()) > 2_000
    assert min(counts.values()) > 140, counts
