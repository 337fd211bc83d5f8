"""A spreadsheet file's values as they are, sheet by sheet, once the guard has let it pass."""

import io
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from fieldbook.entries import CellValue, Mark, is_blank
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

    def value(self, row: int, column: int) -> CellValue:
        """Return what is in one cell; nothing outside the sheet's area."""
        inside = row < len(self.rows) and column < len(self.rows[row])
        return _plain(self.rows[row][column]) if inside else None

    def typed(self, row: int, columns: Iterable[tuple[str, int]]) -> dict[str, CellValue]:
        """Return what stands in a row's cells, blank ones left out.

        `columns` are names with their positions.
        """
        values = self.rows[row]
        width = len(values)
        found: dict[str, CellValue] = {}
        for name, at in columns:
            if at < width and values[at] != "":  # as most are
                value = _plain(values[at])
                if value is not None:
                    found[name] = value
        return found

    def marks(self, letters: Mapping[str, str]) -> dict[int, dict[str, Mark]]:
        """Return by row number which cells of these columns have a formula or show an error."""
        names = {at: name for name, at in letters.items()}
        found: dict[int, dict[str, Mark]] = {}
        for ref in self.formulas | self.errors:
            column = ref.rstrip("0123456789")
            if column in names:
                mark = Mark(is_formula=ref in self.formulas, is_error=ref in self.errors)
                found.setdefault(int(ref[len(column) :]), {})[names[column]] = mark
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
    """Return a value as an app shows it; None for a text of which nothing can be seen."""
    if isinstance(value, str):
        return None if is_blank(value) else value
    if isinstance(value, float):
        # No app shows a number without an end; as a text it is told like any other.
        # Minus nothing is nothing: the two are equal, and must not be told apart later.
        return value + 0.0 if math.isfinite(value) else str(value)
    if value is None or isinstance(value, bool | int | datetime | date):
        return value
    return str(value)
