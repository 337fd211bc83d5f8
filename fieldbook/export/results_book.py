"""The results workbook: a summary with charts, then every table of the season on its own sheet."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from fieldbook.export.columns import TableColumn
from fieldbook.export.export import ExportTable, SeasonTables
from fieldbook.forms.stages import STAGE_ORDER
from fieldbook.schema import Kind
from fieldbook.settings.settings import Settings
from fieldbook.units import GRAIN_WEIGHT, HEAT, KERNEL_DEPTH, PER_AREA, YIELD, System
from fieldbook.words import day_words, say, say_count
from fieldbook.workbook.data_book import (
    ChartKind,
    DataChart,
    DataColumn,
    DataSheet,
    DataValue,
    Fill,
    ShownTable,
    Summary,
    write_data_book,
)

if TYPE_CHECKING:
    import pandas as pd

_FILLS = {
    Kind.WHOLE: Fill.WHOLE,
    Kind.DAY: Fill.DAY,
    Kind.TICK: Fill.TICK,
}
_FINE = (GRAIN_WEIGHT, KERNEL_DEPTH)
_ROUGH = (PER_AREA, HEAT)
_DRAWN = ("yield_high_bu_ac", "yield_low_bu_ac", "yield_likely_bu_ac", "kernel_set_pct")
_FIELD = (("Field ID", 9), ("Field", 24), ("Grower", 24))


def results_book(found: SeasonTables, settings: Settings, *, as_of: date) -> bytes:
    """Make the workbook of a season's tables; the same bytes for the same tables."""
    language = settings.language
    day = day_words(as_of, language)
    title = say("{season}, results of {day}", language, season=settings.name, day=day)
    return write_data_book(
        _sheets(found, settings),
        _summary(found, settings, title),
        title=title,
        year=settings.year,
        paper=settings.paper,
        language=language,
    )


def _sheets(found: SeasonTables, settings: Settings) -> Iterator[DataSheet]:
    system, language = settings.units, settings.language
    for table in found.tables:
        yield DataSheet(
            name=table.name,
            title=say(table.title, language),
            columns=[_column(column, system, language) for column in table.columns],
            rows=_rows(table, system, language),
        )


def _column(column: TableColumn, system: System, language: str) -> DataColumn:
    head = column.head_in(system, language)
    return DataColumn(head=head, width=_width(column), fill=_fill(column, system))


def _width(column: TableColumn) -> int:
    return column.width if column.wrap else column.letters


def _fill(column: TableColumn, system: System) -> Fill:
    if column.kind is Kind.NUMBER:
        return _number_fill(column, system)
    return _FILLS.get(column.kind, Fill.WRAPPED if column.wrap else Fill.TEXT)


def _number_fill(column: TableColumn, system: System) -> Fill:
    if column.unit in _FINE or (column.unit is YIELD and system is System.METRIC):
        return Fill.HUNDREDTHS
    if column.unit in _ROUGH:
        return Fill.WHOLE
    return Fill.TENTHS if column.json_key or column.unit.shown(1, system) != 1 else Fill.EXACT


def _rows(table: ExportTable, system: System, language: str) -> Iterator[Sequence[DataValue]]:
    """Return a frame's rows as a sheet shows them: labels for choices, None where missing."""
    return zip(
        *(
            _shown(column, table.frame[column.name_in(system)], language)
            for column in table.columns
        ),
        strict=True,
    )


def _shown(column: TableColumn, series: "pd.Series[Any]", language: str) -> list[DataValue]:
    values = series.astype(object).where(series.notna(), None).tolist()
    if column.kind is Kind.DAY:
        return [value and value.date() for value in values]
    if column.choices:
        labels = {one.key: say(one.label, language) for one in column.choices}
        return [labels.get(value, value) for value in values]
    return values


def _summary(found: SeasonTables, settings: Settings, title: str) -> Summary:
    tables = (_counted_fields(found, settings), _stage_days(found, settings.language))
    return Summary(
        title=say("Summary", settings.language),
        heading=title,
        facts=list(_facts(found, settings)),
        tables=[table for table in tables if table.rows],
    )


def _facts(found: SeasonTables, settings: Settings) -> Iterator[str]:
    language, metric = settings.language, settings.units is System.METRIC
    fields, visits = found.table("fields").frame, found.table("visits").frame
    counted = int(fields[_name(found, "yield_likely_bu_ac", settings)].notna().sum())
    yield say(
        "Fields: {fields}; visits taken in: {visits}; fields with a yield from counts: {counted}.",
        language,
        fields=len(fields),
        visits=len(visits),
        counted=counted,
    )
    open_ = int(fields[_name(found, "open_questions", settings)].sum())
    yield say_count(open_, "One question is open.", "{count} questions are open.", language)
    yield say(
        "Metric units: hectares, tonnes, centimeters, degrees C."
        if metric
        else "US units: acres, bushels, inches, degrees F.",
        language,
    )
    yield say("Every column is explained on the sheet Dictionary.", language)
    yield say("An estimate is not a promise: it stands with its low and high end.", language)


def _name(found: SeasonTables, stored: str, settings: Settings) -> str:
    """Return the name in files of a column of the fields' table."""
    columns = found.table("fields").columns
    return next(one for one in columns if one.name == stored).name_in(settings.units)


def _counted_fields(found: SeasonTables, settings: Settings) -> ShownTable:
    """Return the fields with a yield from counts, the highest first, and two pictures of them."""
    language, metric = settings.language, settings.units is System.METRIC
    rough = Fill.HUNDREDTHS if metric else Fill.WHOLE
    numbers = (("High", rough), ("Low", rough), ("Likely", rough), ("Kernel set, %", Fill.WHOLE))
    columns = [
        *(_head(head, width, Fill.TEXT, language) for head, width in _FIELD),
        *(_head(head, 12, fill, language) for head, fill in numbers),
    ]
    yields = DataChart(
        kind=ChartKind.RANGE,
        caption=say("Yield from counts: the mark is likely, the line is low to high", language),
        axis=YIELD.label(settings.units, language),
        drawn=(3, 4, 5),
    )
    kernel_set = DataChart(
        kind=ChartKind.BARS,
        caption=say("Kernel set, same order: places in the row that hold a kernel", language),
        axis="%",
        drawn=(6,),
        most=100,
    )
    unit = YIELD.label(settings.units, language)
    return ShownTable(
        caption=say("Yield from counts in {unit}, highest first", language, unit=unit),
        columns=columns,
        rows=_counted_rows(found, settings),
        charts=(yields, kernel_set),
    )


def _head(head: str, width: int, fill: Fill, language: str) -> DataColumn:
    return DataColumn(head=say(head, language), width=width, fill=fill)


def _counted_rows(found: SeasonTables, settings: Settings) -> list[Sequence[DataValue]]:
    names = ["field_id", "field", "grower", *(_name(found, one, settings) for one in _DRAWN)]
    likely, frame = _name(found, "yield_likely_bu_ac", settings), found.table("fields").frame
    some = frame[frame[likely].notna()]
    some = some.sort_values([likely, "field_id"], ascending=[False, True])[names]
    plain = some.astype(object).where(some.notna(), None)
    return list(plain.itertuples(index=False, name=None))


def _stage_days(found: SeasonTables, language: str) -> ShownTable:
    """Return the first, middle and last day on which fields reach each stage, and a picture."""
    days = [(head, 14, Fill.DAY) for head in ("Last field", "First field", "Middle field")]
    heads = (("Stage", 9, Fill.TEXT), ("Fields", 24, Fill.WHOLE), *days)
    chart = DataChart(
        kind=ChartKind.RANGE,
        caption=say(
            "Days on which fields reach each stage: the mark is the middle field, the line is "
            "first to last",
            language,
        ),
        axis=say("Day", language),
        drawn=(2, 3, 4),
        axis_format="d mmm",
    )
    return ShownTable(
        caption=say("When fields reach each stage, seen or likely", language),
        columns=[_head(*head, language) for head in heads],
        rows=_stage_rows(found),
        charts=(chart,),
    )


def _stage_rows(found: SeasonTables) -> list[Sequence[DataValue]]:
    frame = found.table("stages").frame
    frame = frame[frame["reached"].notna()]
    rows: list[Sequence[DataValue]] = []
    for stage in STAGE_ORDER:
        days = [day.date() for day in sorted(frame[frame["stage"] == stage]["reached"])]
        if days:
            rows.append((stage, len(days), days[-1], days[0], days[len(days) // 2]))
    return rows
