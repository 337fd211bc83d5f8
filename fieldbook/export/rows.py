"""The rows of the tables that leave a season: what the ledger, the roster and the results have.

Values are in stored units; a missing one is None. A row of a book's sheet is the ledger's record,
so every reading that counts stands in one cell of one table.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import sqlalchemy as sa

from fieldbook.check.printed import own_visits
from fieldbook.check.roster import Field, Planting
from fieldbook.check.verdict import Question, State
from fieldbook.export.as_json import field_record
from fieldbook.export.columns import TableColumn
from fieldbook.export.field_columns import FIELD_COLUMNS
from fieldbook.export.sheets import (
    FIELD_NAMES,
    RATINGS_BY_COLUMN,
    extra_columns,
)
from fieldbook.export.worked import (
    BAG_COLUMNS,
    STAGE_COLUMNS,
    STOP_COLUMNS,
    worked_value,
)
from fieldbook.forms.roster import FROM_EMERGENCE
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.names import ledger_sheets
from fieldbook.ledger.stored import StoredVisit, read_by, seen_by, visit_day
from fieldbook.ledger.tables import EVENTS
from fieldbook.problems import Place, Problem, catalogue, sentence
from fieldbook.results.result import FieldResult
from fieldbook.results.results import SeasonResults
from fieldbook.schema import YES, Kind, Sheet
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.words import say

Row = tuple[Any, ...]


@dataclass(frozen=True, kw_only=True)
class Gathered:
    """Everything that the tables are made of, as known on one day.

    ``worked`` holds the rows of worked-out columns by table and key; ``used`` how many fields
    rest on a figure; ``said`` what the results tell beside the questions of books.
    """

    season: Season
    visits: Sequence[StoredVisit]
    events: Mapping[int, Mapping[str, Any]]
    questions: Sequence[Question]
    said: Sequence[Problem]
    stages: Sequence[Row]
    worked: Mapping[str, Mapping[Any, Row]]
    used: Mapping[str, int]

    def names(self, field_id: str) -> tuple[str | None, str | None]:
        """Name a field and its grower; nothing for one that the roster lost."""
        found = self.season.roster.fields.get(field_id)
        return (found.field, found.grower) if found else (None, None)


def gather(season: Season, found: SeasonResults, *, as_of: date) -> Gathered:
    """Gather what the tables need from results of `as_of` and the ledger up to that day."""
    with Ledger(season.folder) as ledger:
        visits = ledger.visits()
        asked = [question for state in State for question in ledger.questions(state)]
        events = {row["sequence"]: row for row in ledger.rows(sa.select(EVENTS))}
    seen = seen_by(own_visits(visits, season.roster), as_of)
    later = {visit.visit_id for visit in visits} - {visit.visit_id for visit in seen}
    asked = [one for one in asked if one.visit_id not in later]
    taken = _Worked(language=season.language)
    for result in found.fields:
        taken.add(result)
    known = {question.problem for question in asked}
    return Gathered(
        season=season,
        visits=seen,
        events=events,
        questions=asked,
        said=[
            *(one for one in taken.notes if one not in known),
            *season.problems,
            *found.problems,
        ],
        stages=taken.stages,
        worked={"fields": taken.fields, "stops": taken.stops, "stalks": taken.bags},
        used=taken.used,
    )


@dataclass(kw_only=True)
class _Worked:
    """Collects worked-out rows field by field, so that no field's whole record is kept."""

    language: str
    fields: dict[str, Row] = field(default_factory=dict)
    stages: list[Row] = field(default_factory=list)
    stops: dict[tuple[str, int], Row] = field(default_factory=dict)
    bags: dict[tuple[str, int], Row] = field(default_factory=dict)
    used: dict[str, int] = field(default_factory=dict)
    notes: list[Problem] = field(default_factory=list)

    def add(self, result: FieldResult) -> None:
        """Take what one field's results give."""
        record = field_record(result, self.language)
        self.fields[result.field_id] = _values(record, FIELD_COLUMNS)
        head = (result.field_id, result.field, result.grower)
        self.stages += [(*head, *_values(one, STAGE_COLUMNS)) for one in record["stages"]]
        for one in record["stops"]:
            self.stops[record["count_visit"], one["stop"]] = _values(one, STOP_COLUMNS)
        for one in record["weighed"]["stops"] if record["weighed"] else ():
            self.bags[record["weighed"]["visit_id"], one["stop"]] = _values(one, BAG_COLUMNS)
        for key in dict.fromkeys(result.figures):
            self.used[key] = self.used.get(key, 0) + 1
        self.notes += result.notes


def _values(record: Any, columns: Sequence[TableColumn]) -> Row:
    return tuple(worked_value(record, column) for column in columns)


def field_rows(found: Gathered) -> Iterator[Row]:
    """One row a field of the roster."""
    for one in found.season.roster.fields.values():
        planting = one.main_planting
        given = tuple(getattr(one, name) for name in FIELD_NAMES)
        worked = found.worked["fields"][one.field_id]
        yield (*given, planting.hybrid, planting.planted, *worked)


def planting_rows(found: Gathered) -> Iterator[Row]:
    """One row a field, hybrid and planting date."""
    for one in found.season.roster.fields.values():
        for planting in one.plantings:
            yield _planting(one, planting)


def _planting(one: Field, planting: Planting) -> Row:
    return (
        *(one.field_id, one.field, one.grower),
        planting.acres,
        planting.planted,
        planting.hybrid,
        planting.relative_maturity,
        planting.silk_gdd_f,
        planting.black_layer_gdd_f,
        FROM_EMERGENCE if planting.from_emergence else "planting",
        *(planting.ratings.get(disease) for disease in RATINGS_BY_COLUMN.values()),
    )


def visit_rows(found: Gathered, sheet: Sheet) -> Iterator[Row]:
    """One row a visit: who walked, when and from which file it came, and the Fields sheet."""
    names = _scouts(found.season)
    for visit in found.visits:
        event = found.events[visit.sequence]
        head = (
            *(visit.visit_id, visit.field_id, *found.names(visit.field_id), visit.round),
            read_by(visit, names),
            date.fromisoformat(event["received"][:10]),
            *(event["file"], visit.row_width_in),
        )
        record = next(iter(visit.records[sheet.name]), None)
        yield (*head, *_entries(sheet, record))


def sheet_rows(found: Gathered, sheet: Sheet) -> Iterator[Row]:
    """One row of a book's sheet: whose visit it is of, its numbers, and what was typed."""
    names = _scouts(found.season)
    keys = [key.name for key in sheet.keys if key.name != "field_id"]
    worked = found.worked.get(sheet.name, {})
    nothing = (None,) * len(extra_columns(sheet.name))
    for visit in found.visits:
        head = (visit.visit_id, visit.field_id, *found.names(visit.field_id))
        seen = (visit.round, visit_day(visit), read_by(visit, names))
        for record in visit.records[sheet.name]:
            numbers = tuple(getattr(record, key) for key in keys)
            extra = worked.get((visit.visit_id, numbers[0]), nothing)
            yield (*head, *seen, *numbers, *_entries(sheet, record), *extra)


def _scouts(season: Season) -> dict[str, str]:
    return {scout.scout_id: scout.name for scout in season.settings.scouts}


def _entries(sheet: Sheet, record: Any) -> Row:
    """Return what the scout filled; a tick is true or missing, as nobody ticks a no."""
    values = ((column, getattr(record, column.name, None)) for column in sheet.entries)
    return tuple(
        (value == YES.key or None) if column.kind is Kind.TICK else value
        for column, value in values
    )


def question_rows(found: Gathered) -> Iterator[Row]:
    """One row a question and where it stands, then what the results tell beside them."""
    language = found.season.language
    for question in found.questions:
        yield (str(question.state), *_told(found, question.problem, language))
    for said in found.said:
        yield (None, *_told(found, said, language))


def _told(found: Gathered, said: Problem, language: str) -> Row:
    place = said.place
    names = found.names(place.field_id) if place.field_id else (None, None)
    return (
        str(said.weight),
        *(place.field_id, *names, place.visit_id),
        *(say(catalogue()[said.code].title, language), sentence(said, language)),
        *(place.file, place.sheet, place.cell, _column_label(place, language)),
        said.code,
    )


def _column_label(place: Place, language: str) -> str | None:
    found = next((sheet for sheet in ledger_sheets() if sheet.name == place.table), None)
    if found is None or place.column is None or not found.has(place.column):
        return None
    return say(found.column(place.column).label, language)


def figure_rows(found: Gathered) -> Iterator[Row]:
    """One row a number of every figure that some field's results rest on."""
    figures, language = season_figures(found.season.settings), found.season.language
    for key in figures:
        if key not in found.used:
            continue
        entry = figures.entry(key)
        values: Iterable[float] = entry.value if isinstance(entry.value, tuple) else (entry.value,)
        sources = "; ".join(_source(figures.reference(source)) for source in entry.sources)
        note = " ".join(entry.note.split())
        for part, value in enumerate(values, start=1):
            about = (say(entry.unit, language), entry.kind, sources or None, note or None)
            yield (key, part, float(value), *about, found.used[key])


def _source(reference: Any) -> str:
    year = f" ({reference.year})" if reference.year else ""
    return f"{reference.author}{year}: {reference.title}, {reference.url}"
