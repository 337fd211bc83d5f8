"""Where things stand on a written sheet: columns by name, rows, cell references."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from fieldbook.forms.layout import SheetForm
from fieldbook.units import System
from fieldbook.words import number_words, say

KEY_ROW, TITLE_ROW, HEAD_ROW, UNIT_ROW, FIRST_ROW = range(5)
LINK, LOOK = "link", "look"
MARK = "#silkbook"
_THIS_ROW = "\x01"  # stands in no text of a workbook


def quoted(text: str) -> str:
    """Write a text as a formula's literal."""
    return '"' + text.replace('"', '""') + '"'


def in_row(formula: str, row: int) -> str:
    """Write a formula about the cells of any row for one zero-based row."""
    return formula.replace(_THIS_ROW, str(row + 1))


@dataclass(frozen=True, kw_only=True)
class Extra:
    """A locked column that the tool computes live in the book."""

    name: str
    label: str
    unit: str
    width: int


@dataclass(frozen=True, kw_only=True)
class Grid:
    """One sheet of a book: its columns by position and its rows."""

    form: SheetForm
    title: str
    extras: tuple[Extra, ...]
    rows: int
    linked: bool
    language: str
    units: System
    lists: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def names(self) -> tuple[str, ...]:
        """All columns from left to right: keys, a link, the form's, computed ones."""
        keys = tuple(column.name for column in self.form.sheet.keys)
        link = (LINK,) if self.linked else ()
        return (*keys, *link, *self.form.names, *(extra.name for extra in self.extras))

    @property
    def frozen(self) -> int:
        """How many columns stay in sight when the sheet is moved sideways."""
        return len(self.form.sheet.keys) + int(self.linked)

    @cached_property
    def _at(self) -> dict[str, int]:
        return {name: index for index, name in enumerate(self.names)}

    def index(self, name: str) -> int:
        """Return a column's zero-based position; KeyError where the form leaves it out."""
        return self._at[name]

    def has(self, name: str) -> bool:
        """Say whether the form shows a column."""
        return name in self._at

    def letter(self, name: str) -> str:
        """Return a column's letters."""
        from xlsxwriter.utility import xl_col_to_name

        return str(xl_col_to_name(self.index(name)))

    def ref(self, name: str, row: int) -> str:
        """Return a cell of a zero-based row, its column fixed."""
        return f"${self.letter(name)}{row + 1}"

    def span(self, name: str) -> str:
        """Return a column's data cells as a fixed range with the sheet's name."""
        letter = self.letter(name)
        return f"'{self.title}'!${letter}${FIRST_ROW + 1}:${letter}${FIRST_ROW + self.rows}"

    @property
    def cells(self) -> "RowCells":
        """The cells of any row, for rules; `in_row` then names the row."""
        return RowCells(grid=self)


@dataclass(frozen=True, kw_only=True)
class RowCells:
    """The cells of any row as a row rule asks for them."""

    grid: Grid

    def ref(self, name: str) -> str:
        """Return the cell of a column in the row that `in_row` will name."""
        return f"${self.grid.letter(name)}{_THIS_ROW}"

    def shown(self, name: str, value: float) -> str:
        """Write a stored number as shown in that column."""
        unit = self.grid.form.sheet.column(name).unit
        return number_words(round(unit.shown(value, self.grid.units), 4))

    def list_range(self, name: str) -> str:
        """Return the range that holds a column's list."""
        return self.grid.lists[f"{self.grid.form.sheet.name}.{name}"]

    def label(self, name: str, choice: str) -> str:
        """Return a choice of a column as a quoted label."""
        column = self.grid.form.sheet.column(name)
        return quoted(say(column.choice_label(choice), self.grid.language))
