"""A workbook of tidy data: native tables to filter and pivot, and a summary with native charts."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum
from math import ceil
from typing import Any

from fieldbook.words import ENGLISH
from fieldbook.workbook.paper import FONT, Paper, must

DataValue = str | int | float | bool | date | None
_STYLE = "Table Style Light 1"
_HEAD_POINTS, _LINE_POINTS = 48, 15
_INK, _BLUE, _PALE = "#1A1A1A", "#0072B2", "#8FC1E3"
_CHART_WIDTH, _CHART_HEIGHT, _CHART_ROWS = 1120, 290, 15
_LETTERS_A_PAGE = 170


class Fill(StrEnum):
    """How the cells of a column are written; a number by its decimal places."""

    TEXT = "data-text"
    WRAPPED = "data-wrapped"
    DAY = "data-day"
    TICK = "data-tick"
    WHOLE = "data-whole"
    TENTHS = "data-tenths"
    HUNDREDTHS = "data-hundredths"
    EXACT = "data-exact"


_LEFT = (Fill.TEXT, Fill.WRAPPED)


@dataclass(frozen=True, kw_only=True)
class DataColumn:
    """A column: its head, its width in letters, and how its cells are written."""

    head: str
    width: int
    fill: Fill


@dataclass(frozen=True, kw_only=True)
class DataSheet:
    """A sheet that holds one table from its first cell on; ``name`` is the table's own."""

    name: str
    title: str
    columns: Sequence[DataColumn]
    rows: Iterable[Sequence[DataValue]]


class ChartKind(StrEnum):
    """A low, a likely and a high end for each row, or one bar."""

    RANGE = "range"
    BARS = "bars"


@dataclass(frozen=True, kw_only=True)
class DataChart:
    """One picture of a small table.

    ``drawn`` are the columns of the table that it shows: high, low and likely, or one. ``most``
    is the end of its axis where that is fixed.
    """

    kind: ChartKind
    caption: str
    axis: str
    drawn: Sequence[int]
    axis_format: str = "0"
    most: float | None = None


@dataclass(frozen=True, kw_only=True)
class ShownTable:
    """A small table, named in its first column, and the pictures that it gives."""

    caption: str
    columns: Sequence[DataColumn]
    rows: Sequence[Sequence[DataValue]]
    charts: Sequence[DataChart]


@dataclass(frozen=True, kw_only=True)
class Summary:
    """The first sheet: a few facts in words, pictures, and beneath them what they show."""

    title: str
    heading: str
    facts: Sequence[str]
    tables: Sequence[ShownTable]


def write_data_book(
    sheets: Iterable[DataSheet],
    summary: Summary,
    *,
    title: str,
    year: int,
    paper: str,
    language: str = ENGLISH,
) -> bytes:
    """Return the bytes of a workbook of data, the same for the same tables.

    Raises
    ------
    ValueError
        Where a cell or a name does not fit a workbook, or a row has more or fewer values than
        there are columns.
    """
    with Paper(
        created=datetime(year, 1, 1), paper=paper, title=title, language=language, row_by_row=True
    ) as book:
        _write_summary(book, summary, title)
        for sheet in sheets:
            _write_sheet(book, sheet, title)
        return book.close()


def _write_sheet(book: Paper, data: DataSheet, title: str) -> None:
    wide = ceil(sum(column.width for column in data.columns) / _LETTERS_A_PAGE)
    footer = f"{title}, {data.title}"
    sheet = book.sheet(data.title, footer=footer, locked=False, pages_wide=wide)
    for at, column in enumerate(data.columns):
        must(sheet.set_column(at, at, column.width, book.style(column.fill)))
    sheet.freeze_panes(1, 1)
    sheet.repeat_rows(0)
    must(sheet.set_row(0, _HEAD_POINTS))
    heads = [column.head for column in data.columns]
    for at, head in enumerate(heads):
        book.text(sheet, 0, at, head, "data-head")
    last = _write_rows(book, sheet, 1, data.columns, data.rows)
    sheet.add_native_table(f"t_{data.name}", heads, last=max(last, 1), style=_STYLE)


def _write_rows(
    book: Paper,
    sheet: Any,
    first: int,
    columns: Sequence[DataColumn],
    rows: Iterable[Sequence[DataValue]],
) -> int:
    """Write the values that there are, and return the last row; a missing one is no cell."""
    ways = [(_writer(sheet, column.fill), book.style(column.fill)) for column in columns]
    tall = [(at, one.width) for at, one in enumerate(columns) if one.fill is Fill.WRAPPED]
    row = first - 1
    for row, values in enumerate(rows, start=first):
        for at, ((write, style), value) in enumerate(zip(ways, values, strict=True)):
            if value is not None:
                must(write(row, at, value, style))
        if tall:
            must(sheet.set_row(row, _LINE_POINTS * _lines(values, tall)))
    return row


def _lines(values: Sequence[DataValue], tall: Sequence[tuple[int, int]]) -> int:
    """Count the lines of the longest wrapped text; not every app finds that by itself."""
    return max(1, *(ceil(len(str(values[at] or "")) / width) for at, width in tall))


def _writer(sheet: Any, fill: Fill) -> Callable[..., Any]:
    ways: Mapping[Fill, Callable[..., Any]] = {
        Fill.TEXT: sheet.write_string,
        Fill.WRAPPED: sheet.write_string,
        Fill.DAY: sheet.write_datetime,
        Fill.TICK: sheet.write_boolean,
    }
    return ways.get(fill, sheet.write_number)


def _write_summary(book: Paper, summary: Summary, title: str) -> None:
    sheet = book.sheet(summary.title, footer=title, locked=False)
    book.text(sheet, 0, 0, summary.heading, "title")
    must(sheet.set_row(0, 30))
    for row, fact in enumerate(summary.facts, start=1):
        book.text(sheet, row, 0, fact)
    _summary_widths(sheet, summary.tables)
    at = len(summary.facts) + 2
    below = at + _CHART_ROWS * sum(len(table.charts) for table in summary.tables)
    sheet.set_h_pagebreaks([below])
    for table in summary.tables:
        first = _write_shown(book, sheet, below, table)
        below = first + len(table.rows) + 2
        for chart in table.charts:
            made = _chart(book, chart, summary.title, first, below - 3)
            options = {"object_position": 2, "description": chart.caption}
            must(sheet.insert_chart(at, 0, made, options))
            at += _CHART_ROWS


def _summary_widths(sheet: Any, tables: Sequence[ShownTable]) -> None:
    """Make each column as wide as the widest of the small tables that share it."""
    most = max((len(table.columns) for table in tables), default=0)
    for at in range(most):
        widths = [table.columns[at].width for table in tables if at < len(table.columns)]
        must(sheet.set_column(at, at, max(widths)))


def _write_shown(book: Paper, sheet: Any, top: int, table: ShownTable) -> int:
    """Write a small table beneath its caption; return its first row of values."""
    book.text(sheet, top, 0, table.caption, "bold")
    for at, column in enumerate(table.columns):
        style = "table-head" if column.fill in _LEFT else "table-head-number"
        book.text(sheet, top + 1, at, column.head, style)
    must(sheet.set_row(top + 1, _HEAD_POINTS))
    _write_rows(book, sheet, top + 2, table.columns, table.rows)
    return top + 2


def _chart(book: Paper, chart: DataChart, sheet: str, first: int, last: int) -> Any:
    is_range = chart.kind is ChartKind.RANGE
    made = book.book.add_chart({"type": "stock" if is_range else "column"})
    looks = _RANGE_LOOKS if is_range else _BAR_LOOKS
    for at, look in zip(chart.drawn, looks, strict=True):
        series = {
            "name": [sheet, first - 1, at],
            "categories": [sheet, first, 0, last, 0],
            "values": [sheet, first, at, last, at],
        }
        must(made.add_series(series | look))
    _dress(made, chart)
    if is_range:
        made.set_high_low_lines({"line": {"color": _INK, "width": 1.25}})
    return made


def _dress(made: Any, chart: DataChart) -> None:
    """Give a chart its caption, axes and size; captions say all that a legend would."""
    small = {"name": FONT, "size": 10, "color": _INK}
    made.set_title({"name": chart.caption, "name_font": {**small, "size": 13, "bold": True}})
    made.set_x_axis({"num_font": small, "text_axis": True, "line": {"color": _INK}})
    lines = {"visible": True, "line": {"color": "#BFBFBF", "width": 0.75}}
    axis = {"name": chart.axis, "name_font": {**small, "bold": False}, "num_font": small}
    ends = {} if chart.most is None else {"min": 0, "max": chart.most}
    made.set_y_axis({**axis, **ends, "num_format": chart.axis_format, "major_gridlines": lines})
    made.set_legend({"none": True})
    made.set_size({"width": _CHART_WIDTH, "height": _CHART_HEIGHT})


def _mark(kind: str, size: int, fill: str) -> dict[str, Any]:
    border, inside = {"color": _INK}, {"color": fill}
    return {
        "line": {"none": True},
        "marker": {"type": kind, "size": size, "border": border, "fill": inside},
    }


_RANGE_LOOKS = (
    _mark("long_dash", 7, _INK),
    _mark("diamond", 8, _BLUE),
    _mark("long_dash", 7, _INK),
)
_BAR_LOOKS = ({"fill": {"color": _PALE}, "border": {"color": _INK, "width": 0.75}, "gap": 60},)
