"""The tables of a season written down: a workbook, or CSV or Parquet with the dictionary."""

import io
import re
from collections.abc import Iterator
from datetime import date
from enum import StrEnum
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldbook.export.export import DICTIONARY, ExportTable, SeasonTables, season_tables
from fieldbook.export.results_book import results_book
from fieldbook.ledger.safely import write_safely
from fieldbook.results.results import SeasonResults
from fieldbook.schema import Kind
from fieldbook.season.season import Season
from fieldbook.units import System
from fieldbook.words import say

if TYPE_CHECKING:
    import pandas as pd

# What a spreadsheet program takes for a formula, in its wide forms too, and what it swallows.
_RISKY = re.compile(r"\s*[=+\-@'\uff1d\uff0b\uff0d\uff20\x00-\x1f\x7f]")


class Format(StrEnum):
    """The kinds of files that tables can be written as."""

    CSV = "csv"
    PARQUET = "parquet"


def can_write(wanted: Format) -> bool:
    """Say whether what a format needs is installed."""
    return wanted is Format.CSV or find_spec("pyarrow") is not None


def write_tables(
    season: Season,
    results: SeasonResults,
    *,
    as_of: date,
    book: bool,
    wanted: Format | None,
    place: Path | None = None,
) -> Iterator[Path]:
    """Write ``results.xlsx`` if `book` and ``tables/`` if a format is wanted, and name each file.

    They go into `place`, or among the season's reports.
    """
    folder, settings = place or season.folder.reports, season.settings
    found = season_tables(season, results, as_of=as_of)
    if book:
        path = folder / "results.xlsx"
        write_safely(path, results_book(found, settings, as_of=as_of))
        yield path
    if wanted:
        yield from write_files(found, folder / "tables", wanted, settings.units, settings.language)


def write_files(
    found: SeasonTables, folder: Path, wanted: Format, system: System, language: str
) -> Iterator[Path]:
    """Write one file a table over the ones before; the dictionary is CSV in either format."""
    for table in found.tables:
        as_csv = wanted is Format.CSV or table.name == DICTIONARY
        path = folder / f"{table.name}.{Format.CSV if as_csv else wanted}"
        made = csv_bytes(table, system) if as_csv else parquet_bytes(table, system, language)
        write_safely(path, made)
        yield path


def harmless(text: str) -> str:
    """Put ' before a text that a spreadsheet program could take for a formula."""
    return f"'{text}" if _RISKY.match(text) else text


def csv_bytes(table: ExportTable, system: System) -> bytes:
    """Write a table as CSV: UTF-8, a header row, ISO dates, true or false, one LF a line."""
    made = table.frame.copy()
    for column in table.columns:
        name = column.name_in(system)
        if column.kind is Kind.TEXT:
            made[name] = made[name].map(harmless, na_action="ignore")
        elif column.kind is Kind.TICK:
            made[name] = made[name].map({True: "true", False: "false"}, na_action="ignore")
    text: str = made.to_csv(index=False, lineterminator="\n", date_format="%Y-%m-%d")
    return text.encode("utf-8")


def parquet_bytes(table: ExportTable, system: System, language: str) -> bytes:
    """Write a table as Parquet; each column carries its head, unit and meaning as metadata."""
    import pyarrow as pa
    import pyarrow.parquet as pq

    types = {
        Kind.WHOLE: pa.int64(),
        Kind.NUMBER: pa.float64(),
        Kind.TICK: pa.bool_(),
        Kind.DAY: pa.date32(),
    }
    fields = []
    for column in table.columns:
        words = {
            "head": column.head_in(system, language),
            "unit": column.unit.label(system, language),
            "meaning": say(column.meaning, language),
        }
        kind = types.get(column.kind, pa.string())
        fields.append(pa.field(column.name_in(system), kind, metadata=words))
    made = pa.Table.from_pandas(_with_days(table, system), pa.schema(fields), preserve_index=False)
    buffer = io.BytesIO()
    pq.write_table(made, buffer)
    return buffer.getvalue()


def _with_days(table: ExportTable, system: System) -> "pd.DataFrame":
    """Return the frame with plain dates, as Parquet keeps days without a time."""
    made = table.frame.copy()
    for column in table.columns:
        if column.kind is Kind.DAY:
            days: Any = made[column.name_in(system)].astype(object)
            made[column.name_in(system)] = days.map(lambda day: day.date(), na_action="ignore")
    return made
