"""The tables that leave a season: one set of frames, for the workbook, CSV and Parquet alike."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from fieldbook.export.columns import Origin, TableColumn
from fieldbook.export.rows import (
    Gathered,
    Row,
    field_rows,
    figure_rows,
    gather,
    planting_rows,
    question_rows,
    sheet_rows,
    visit_rows,
)
from fieldbook.export.sheets import (
    dictionary_columns,
    field_columns,
    figure_columns,
    planting_columns,
    question_columns,
    sheet_columns,
    stage_columns,
    visit_columns,
)
from fieldbook.forms.fields import FIELDS
from fieldbook.ledger.names import ledger_sheets
from fieldbook.results.results import SeasonResults
from fieldbook.schema import Kind
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.words import say

if TYPE_CHECKING:
    import pandas as pd

DICTIONARY, EVERY = "dictionary", "*"
TYPES = {
    Kind.WHOLE: "whole number",
    Kind.NUMBER: "number",
    Kind.CHOICE: "choice",
    Kind.TICK: "yes or no",
    Kind.DAY: "date",
    Kind.TEXT: "text",
}
_DTYPES = {
    Kind.WHOLE: "Int64",
    Kind.NUMBER: "Float64",
    Kind.TICK: "boolean",
    Kind.DAY: "datetime64[s]",
}
_CONVERTED_DIGITS = 6
TEXT_RULE = (
    "In CSV a text that begins with = + - @ ' or a control character, after spaces or at once, "
    "has one ' put before it, so that no program takes it for a formula; take that one ' away to "
    "get the text back. Numbers, dates and choices stand as they are. Nothing between two commas "
    "means: not looked at, or not known; never zero."
)


@dataclass(frozen=True, kw_only=True)
class ExportTable:
    """One table: its frame's columns are named as in files and hold the reader's units."""

    name: str
    title: str
    columns: tuple[TableColumn, ...]
    frame: "pd.DataFrame"


@dataclass(frozen=True, kw_only=True)
class SeasonTables:
    """All tables of a season as known on one day, the dictionary last."""

    tables: tuple[ExportTable, ...]

    def table(self, name: str) -> ExportTable:
        """Return one table by its name; KeyError for one that there is not."""
        return {one.name: one for one in self.tables}[name]


def season_tables(season: Season, results: SeasonResults, *, as_of: date) -> SeasonTables:
    """Make all tables of a season from its results of a day, in its unit system."""
    found = gather(season, results, as_of=as_of)
    system, language = season.settings.units, season.language
    tables = tuple(
        ExportTable(name=name, title=title, columns=columns, frame=_frame(columns, rows, system))
        for name, title, columns, rows in _tables(found, system)
    )
    columns = dictionary_columns(system)
    described = [*((one.name, one.title, one.columns) for one in tables)]
    described.append((DICTIONARY, "Dictionary", columns))
    rows = _dictionary_rows(described, system, language)
    own = ExportTable(
        name=DICTIONARY,
        title="Dictionary",
        columns=columns,
        frame=_frame(columns, rows, system),
    )
    return SeasonTables(tables=(*tables, own))


def _tables(
    found: Gathered, system: System
) -> Iterator[tuple[str, str, tuple[TableColumn, ...], Iterable[Row]]]:
    yield "fields", "Fields", field_columns(system), field_rows(found)
    yield "plantings", "Plantings", planting_columns(system), planting_rows(found)
    yield "stages", "Stages", stage_columns(system), found.stages
    yield "visits", "Visits", visit_columns(FIELDS, system), visit_rows(found, FIELDS)
    for sheet in sorted(ledger_sheets(), key=lambda one: one.pictures):  # pictures are no data
        if sheet.name != FIELDS.name:
            yield sheet.name, sheet.label, sheet_columns(sheet, system), sheet_rows(found, sheet)
    yield "questions", "Questions", question_columns(system), question_rows(found)
    yield "figures", "Figures", figure_columns(system), figure_rows(found)


def _frame(columns: Sequence[TableColumn], rows: Iterable[Row], system: System) -> "pd.DataFrame":
    import pandas as pd

    values: list[Sequence[Any]] = list(zip(*rows, strict=True)) or [()] * len(columns)
    return pd.DataFrame(
        {
            column.name_in(system): _series(column, given, system)
            for column, given in zip(columns, values, strict=True)
        }
    )


def _series(column: TableColumn, values: Sequence[Any], system: System) -> "pd.Series[Any]":
    import pandas as pd

    if column.kind is Kind.NUMBER and column.unit.shown(1.0, system) != 1.0:
        values = [
            None if value is None else round(column.unit.shown(value, system), _CONVERTED_DIGITS)
            for value in values
        ]
    made: pd.Series[Any] = pd.Series(values, dtype=_DTYPES.get(column.kind, "string"))
    return made


def _dictionary_rows(
    described: Iterable[tuple[str, str, tuple[TableColumn, ...]]], system: System, language: str
) -> Iterator[Row]:
    everywhere = (EVERY, EVERY, EVERY, EVERY, say(TYPES[Kind.TEXT], language), None)
    yield (
        *everywhere,
        say(TEXT_RULE, language),
        None,
        None,
        say(str(Origin.PROGRAM), language),
        None,
    )
    for name, title, columns in described:
        for column in columns:
            yield (
                *(name, say(title, language), column.name_in(system)),
                column.head_in(system, language),
                say(TYPES[column.kind], language),
                say(column.unit.label(system), language) or None,
                say(column.meaning, language),
                column.limits_words(system, language) or None,
                column.choices_words(language) or None,
                *(say(str(column.origin), language), column.json_key or None),
            )
