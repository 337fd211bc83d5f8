"""One data sheet: header, locked cells, entry cells, lists and limits, live columns."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

from fieldbook.schema import Column, Kind, Role
from fieldbook.words import say
from fieldbook.workbook.grid import (
    FIRST_ROW,
    HEAD_ROW,
    KEY_ROW,
    LINK,
    LOOK,
    MARK,
    TITLE_ROW,
    UNIT_ROW,
    Grid,
    in_row,
)
from fieldbook.workbook.look import OK, look_formula
from fieldbook.workbook.paper import Paper, must
from fieldbook.workbook.plan import EntryValue
from fieldbook.workbook.validation import validation

ROW_POINTS, TWO_LINES_POINTS, PICTURE_POINTS = 26, 34, 130
_LINK_WIDTH = 7
_NOTE = {"x_scale": 2.2, "y_scale": 1.3, "font_size": 11, "author": ""}
RowKey = tuple[str | int, ...]


@dataclass(frozen=True, kw_only=True)
class Line:
    """One row to be written: its key, its printed cells, and which field it belongs to."""

    key: RowKey
    printed: Mapping[str, str] = field(default_factory=dict)
    field_index: int = 0
    is_first: bool = False

    @property
    def line_above(self) -> str:
        """The style's ending for cells of a field's first row."""
        return "-first" if self.is_first else ""

    @property
    def pale(self) -> str:
        """The style's ending for the fill of this field's entry cells."""
        return "-next" if self.field_index % 2 else ""


@dataclass(frozen=True, kw_only=True)
class Link:
    """Where a row's link leads, and its word."""

    target: str
    words: str


Formula = tuple[str, str]
LiveColumn = Callable[[Line], Formula]


@dataclass(frozen=True, kw_only=True)
class DataSheet:
    """A sheet to be written, with all that its cells need.

    `live` gives the formula and the style of each computed column; `entries` what is filled in
    beforehand, by row key and column, in stored units; `asked` what is asked about cells.
    """

    paper: Paper
    sheet: Any
    grid: Grid
    lines: tuple[Line, ...]
    year: int
    mark: str
    entries: Mapping[tuple[RowKey, str], EntryValue] = field(default_factory=dict)
    asked: Mapping[tuple[RowKey, str], str] = field(default_factory=dict)
    links: Mapping[RowKey, Link] = field(default_factory=dict)
    live: Mapping[str, LiveColumn] = field(default_factory=dict)
    printed_lines: int | None = None

    def write(self) -> None:
        """Write the whole sheet."""
        self._header()
        for at, line in enumerate(self.lines):
            self._row(FIRST_ROW + at, line)
        last = FIRST_ROW + len(self.lines) - 1
        for column in self.grid.form.entries:
            rule = validation(column, self.grid, self.year)
            at = self.grid.index(column.name)
            if rule:
                must(self.sheet.data_validation(FIRST_ROW, at, last, at, rule))
        self._mark_faults(last)
        self.sheet.freeze_panes(FIRST_ROW, self.grid.frozen)
        self.sheet.repeat_rows(HEAD_ROW, UNIT_ROW)
        if self.grid.frozen:
            must(self.sheet.repeat_columns(0, self.grid.frozen - 1))
        paper_last = FIRST_ROW + (self.printed_lines or len(self.lines)) - 1
        must(self.sheet.print_area(TITLE_ROW, 0, paper_last, len(self.grid.names) - 1))

    def _header(self) -> None:
        heads = self._heads()
        for name, (label, unit, width) in heads.items():
            at = self.grid.index(name)
            self.paper.text(self.sheet, KEY_ROW, at, name)
            self.paper.text(self.sheet, HEAD_ROW, at, label, "head")
            self.paper.text(self.sheet, UNIT_ROW, at, unit, "unit")
            must(self.sheet.set_column(at, at, _fitted(width, label)))
        mark = f"{MARK}:{self.grid.form.sheet.name}:{self.mark}"
        self.paper.text(self.sheet, KEY_ROW, len(heads), mark)
        must(self.sheet.set_row(KEY_ROW, None, None, {"hidden": True}))
        sheet, language = self.grid.form.sheet, self.grid.language
        title = f"{say(sheet.label, language)}. {say(sheet.hint, language)}"
        self.paper.text(self.sheet, TITLE_ROW, 0, title, "title")
        must(self.sheet.set_row(TITLE_ROW, 30))
        must(self.sheet.set_row(HEAD_ROW, 34))

    def _heads(self) -> dict[str, tuple[str, str, int]]:
        language, units = self.grid.language, self.grid.units
        heads = {
            column.name: (
                say(column.label, language),
                column.unit.label(units, language),
                column.width,
            )
            for column in self.grid.form.columns
        }
        if self.grid.has(LINK):
            heads[LINK] = (say("Go", language), "", _LINK_WIDTH)
        for extra in self.grid.extras:
            heads[extra.name] = (say(extra.label, language), say(extra.unit, language), extra.width)
        return heads

    def _row(self, row: int, line: Line) -> None:
        must(self.sheet.set_row(row, self._points(line)))
        for column, value in zip(self.grid.form.sheet.keys, line.key, strict=False):
            self._locked(row, column.name, value, line)
        for column in self.grid.form.columns:
            if column.role is Role.PRINTED:
                self._locked(row, column.name, line.printed.get(column.name, ""), line)
            elif column.role is Role.ENTRY:
                self._entry(row, column, line)
        link = self.links.get(line.key)
        if link:
            at, style = self.grid.index(LINK), f"link{line.line_above}"
            self.paper.link(self.sheet, row, at, link.target, link.words, style)
        self._live(row, line)

    def _points(self, line: Line) -> int:
        """Give a row room for a picture, or for two lines where a printed text needs them."""
        if self.grid.form.sheet.pictures:
            return PICTURE_POINTS
        widths = {column.name: column.width for column in self.grid.form.columns}
        printed = {**line.printed, **dict(zip(widths, map(str, line.key), strict=False))}
        long = any(len(text) > widths.get(name, 99) - 2 for name, text in printed.items())
        return TWO_LINES_POINTS if long else ROW_POINTS

    def _locked(self, row: int, name: str, value: str | int, line: Line) -> None:
        at = self.grid.index(name)
        if isinstance(value, int):
            style = self.paper.style(f"locked-number{line.line_above}")
            must(self.sheet.write_number(row, at, value, style))
        else:
            self.paper.text(self.sheet, row, at, value, f"locked{line.line_above}")

    def _entry(self, row: int, column: Column, line: Line) -> None:
        at, value = self.grid.index(column.name), self.entries.get((line.key, column.name))
        kind = {Kind.DAY: "entry-day", Kind.TEXT: "entry-text"}.get(column.kind, "entry")
        if isinstance(value, date):  # as an app shows what it takes for a date, in any column
            kind = "entry-day"
        question = self.asked.get((line.key, column.name))
        style = f"{kind}{'-asked' if question else line.pale}{line.line_above}"
        form = self.paper.style(style)
        if value is None:
            must(self.sheet.write_blank(row, at, None, form))
        elif isinstance(value, date):
            must(self.sheet.write_datetime(row, at, value, form))
        elif isinstance(value, str):
            self.paper.text(self.sheet, row, at, self._shown_choice(column, value), style)
        else:
            must(self.sheet.write_number(row, at, column.unit.shown(value, self.grid.units), form))
        if question:
            must(self.sheet.write_comment(row, at, question, _NOTE))

    def _shown_choice(self, column: Column, value: str) -> str:
        known = {choice.key: say(choice.label, self.grid.language) for choice in column.choices}
        return known.get(value, value)

    def _live(self, row: int, line: Line) -> None:
        self._formula(row, LOOK, (self._look, "look"), line)
        for name, column in self.live.items():
            self._formula(row, name, column(line), line)

    @cached_property
    def _look(self) -> str:
        return look_formula(self.grid)

    def _formula(self, row: int, name: str, formula: Formula, line: Line) -> None:
        words, style = formula
        at, style = self.grid.index(name), f"{style}{line.line_above}"
        self.paper.formula(self.sheet, row, at, in_row(words, row), style)

    def _mark_faults(self, last: int) -> None:
        at = self.grid.index(LOOK)
        ref = self.grid.ref(LOOK, FIRST_ROW)
        fine = say(OK, self.grid.language)
        rule = {
            "type": "formula",
            "criteria": f'=AND({ref}<>"",{ref}<>"{fine}")',
            "format": self.paper.style("look-fault"),
        }
        must(self.sheet.conditional_format(FIRST_ROW, at, last, at, rule))


def _fitted(width: int, label: str) -> int:
    """Widen a column whose header has a longer word, as it may in another language [letters]."""
    longest = max((len(word) for word in label.split()), default=0)
    return width if longest <= width else longest + 1
