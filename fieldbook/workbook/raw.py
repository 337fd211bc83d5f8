"""A spreadsheet file's values as they are, sheet by sheet, once the guard has let it pass."""

import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any

from fieldbook.entries import (
    Cell,
    CellValue,
)
from fieldbook.problems import Problem, problem
from fieldbook.workbook.guard import Inspection, inspect


@dataclass(frozen=True, kw_only=True)
class RawSheet:
    """One sheet's values, row by row, and what the guard saw in it."""

    title: str
    rows: Sequence[Sequence[Any]]
    formulas: frozenset[str]
    errors: frozenset[str]
    hidden: frozenset[int]

    @cached_property
    def marked(self) -> frozenset[str]:
        """The cells that have a formula or show an error."""
        return self.formulas | self.errors

    def value(self, row: int, column: int) -> CellValue:
        """Return what is in one cell; nothing outside the sheet's area."""
        inside = row < len(self.rows) and column < len(self.rows[row])
        return _plain(self.rows[row][column]) if inside else None

    def filled(self, row: int, columns: Iterable[tuple[str, int, str]]) -> dict[str, Cell]:
        """Return the cells of a row that have anything in them.

        `columns` are names with their positions and letters.
        """
        values, number = self.rows[row], str(row + 1)
        width, found = len(values), {}
        for name, at, letters in columns:
            value, ref = values[at] if at < width else "", letters + number
            if value != "" or ref in self.marked:
                marks = ref in self.formulas, ref in self.errors
                found[name] = Cell(_plain(value), ref, *marks)
        return found


def open_raw(data: bytes) -> tuple[tuple[RawSheet, ...] | None, tuple[Problem, ...]]:
    """Return the sheets of a file, or None with the reason among the problems."""
    looked = inspect(data)
    if isinstance(looked, Problem):
        return None, (looked,)
    try:
        return _values(data, looked), looked.notes
    except Exception as fault:  # calamine raises several unrelated kinds for damaged parts
        return None, (problem("file-broken", detail=type(fault).__name__),)


def _values(data: bytes, looked: Inspection) -> tuple[RawSheet, ...]:
    from python_calamine import CalamineWorkbook, SheetTypeEnum

    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    titles = [meta.name for meta in book.sheets_metadata if meta.typ is SheetTypeEnum.WorkSheet]
    return tuple(
        RawSheet(
            title=title,
            rows=book.get_sheet_by_name(title).to_python(skip_empty_area=False),
            formulas=looked.formulas.get(title, frozenset()),
            errors=looked.errors.get(title, frozenset()),
            hidden=looked.hidden_rows.get(title, frozenset()),
        )
        for title in titles
    )


def _plain(value: Any) -> CellValue:
    if value == "" or value is None:
        return None
    if isinstance(value, float) and not math.isfinite(value):
        return str(value)  # no app shows such a number; as a text it is told like any other
    if isinstance(value, str | bool | int | float | datetime | date):
        return value
    return str(value)
