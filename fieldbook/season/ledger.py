"""The ledger: what was taken in, as tables; always a replay of the kept events.

Readings are never overwritten: a new one replaces an old one, and both stay.
"""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import sqlalchemy as sa
from sqlalchemy.schema import CreateIndex, CreateTable

from fieldbook.check.book import USABLE, Question, Reading, State, Status
from fieldbook.problems import Place, Problem
from fieldbook.schema import Sheet
from fieldbook.season.events import BookEvent, read_events, value_in, value_out
from fieldbook.season.folder import SeasonFolder
from fieldbook.season.stored import StoredVisit
from fieldbook.season.tables import (
    EVENTS,
    METADATA,
    QUESTIONS,
    READINGS,
    SHEET_TABLES,
    VISITS,
    ledger_sheets,
    row_text,
)


class Ledger:
    """An open ledger; use it as a context manager.

    `path` is where it is, if not the folder's own: a rebuild makes a new one beside the old.
    """

    def __init__(self, folder: SeasonFolder, *, path: Path | None = None) -> None:
        self.folder = folder
        self._engine = sa.create_engine(f"sqlite:///{path or folder.ledger}")
        sa.event.listen(self._engine, "connect", _journal_mode)
        try:
            self._connection = self._engine.connect()
            self._create_tables()
            self.catch_up()
        except BaseException:
            self._engine.dispose()
            raise

    def _create_tables(self) -> None:
        """Create what is missing; another process may be doing the same at this moment."""
        with self._connection.begin():
            for table in METADATA.sorted_tables:
                self._connection.execute(CreateTable(table, if_not_exists=True))
                for index in sorted(table.indexes, key=lambda one: str(one.name)):
                    self._connection.execute(CreateIndex(index, if_not_exists=True))

    def __enter__(self) -> "Ledger":
        return self

    def __exit__(self, *_: object) -> None:
        self._connection.close()
        self._engine.dispose()

    def catch_up(self) -> int:
        """Apply the events that are kept but not yet here; return how many."""
        count = 0
        for event in read_events(self.folder, after=self._last_sequence()):
            self.apply(event)
            count += 1
        return count

    def _last_sequence(self) -> int:
        found = self._connection.execute(sa.select(sa.func.max(EVENTS.c.sequence))).scalar()
        self._connection.rollback()
        return int(found or 0)

    def apply(self, event: BookEvent) -> None:
        """Enter one event, in one transaction."""
        with self._connection.begin():
            self._enter_event(event)
            self._enter_visits(event)
            self._enter_readings(event)
            self._enter_questions(event)
            for visit_id in event.verdict.visits:
                self._renew_records(visit_id)

    def _enter_event(self, event: BookEvent) -> None:
        row = {
            "sequence": event.sequence,
            "sha256": event.sha256,
            "file": event.file,
            "book_id": event.identity.book_id,
            "scout": event.identity.scout,
            "received": event.received,
        }
        self._connection.execute(EVENTS.insert(), row)

    def _enter_visits(self, event: BookEvent) -> None:
        touched = set(event.verdict.visits)
        for slip in event.identity.visits:
            if slip.visit_id not in touched:
                continue
            row = {
                "visit_id": slip.visit_id,
                "field_id": slip.field_id,
                "round": event.identity.round,
                "scout": event.identity.scout,
                "units": event.identity.units,
                "row_width_in": slip.row_width_in,
                "sequence": event.sequence,
            }
            same = VISITS.c.visit_id == slip.visit_id
            self._connection.execute(VISITS.delete().where(same))
            self._connection.execute(VISITS.insert(), row)

    def _enter_readings(self, event: BookEvent) -> None:
        for visit_id in event.verdict.visits:
            now = self._current(visit_id)
            new = []
            for reading in event.verdict.readings:
                if reading.visit_id != visit_id:
                    continue
                row = _reading_row(reading, event.sequence)
                before = now.get((row["sheet"], row["row"], row["name"]))
                if before and all(before[key] == row[key] for key in ("typed", "value", "status")):
                    continue
                if before:
                    self._replace(before, event.sequence)
                new.append(row)
            if new:
                self._connection.execute(READINGS.insert(), new)

    def _current(self, visit_id: str) -> dict[tuple[str, str, str], Mapping[str, Any]]:
        wanted = (READINGS.c.visit_id == visit_id) & READINGS.c.replaced_by.is_(None)
        rows = self._connection.execute(sa.select(READINGS).where(wanted)).mappings()
        return {(row["sheet"], row["row"], row["name"]): dict(row) for row in rows}

    def _replace(self, before: Mapping[str, Any], sequence: int) -> None:
        keys = ("visit_id", "sheet", "row", "name", "sequence")
        same = sa.and_(*(READINGS.c[key] == before[key] for key in keys))
        self._connection.execute(READINGS.update().where(same).values(replaced_by=sequence))

    def _enter_questions(self, event: BookEvent) -> None:
        """Enter an event's questions; older ones stand only about readings it does not have."""
        judged = {(r.visit_id, r.sheet, row_text(r.row)) for r in event.verdict.readings}
        touched = set(event.verdict.visits)
        standing = QUESTIONS.c.replaced_by.is_(None) & QUESTIONS.c.visit_id.in_(touched)
        for old in self._connection.execute(sa.select(QUESTIONS).where(standing)).mappings():
            place = json.loads(old["place"])
            row = (old["visit_id"], place.get("table"), place.get("row") or "")
            if place.get("table") is None or row in judged or not place.get("row"):
                same = sa.and_(*(QUESTIONS.c[k] == old[k] for k in ("visit_id", "sequence", "at")))
                update = QUESTIONS.update().where(same).values(replaced_by=event.sequence)
                self._connection.execute(update)
        rows = [
            _question_row(question, event.sequence, at)
            for at, question in enumerate(event.verdict.questions)
        ]
        if rows:
            self._connection.execute(QUESTIONS.insert(), rows)

    def _renew_records(self, visit_id: str) -> None:
        current = self._current(visit_id)
        for sheet in ledger_sheets():
            table = SHEET_TABLES[sheet.name]
            self._connection.execute(table.delete().where(table.c.visit_id == visit_id))
            rows = _record_rows(sheet, visit_id, current)
            if rows:
                self._connection.execute(table.insert(), rows)

    def has_file(self, sha256: str) -> str | None:
        """Return when a file of this hash was taken in; None if never."""
        wanted = sa.select(EVENTS.c.received).where(EVENTS.c.sha256 == sha256)
        found = self._connection.execute(wanted).scalar()
        self._connection.rollback()
        return None if found is None else str(found)

    def readings_now(self, visit_id: str) -> dict[tuple[str, str, str], Mapping[str, Any]]:
        """Return the readings of a visit that stand now, by sheet, row and column."""
        found = self._current(visit_id)
        self._connection.rollback()
        return dict(found)

    def typed_now(self, visit_id: str) -> dict[tuple[str, str, str], str]:
        """Return what stands as typed for a visit, by sheet, row and column."""
        found = {place: str(row["typed"]) for place, row in self._current(visit_id).items()}
        self._connection.rollback()
        return found

    def visits(self) -> list[StoredVisit]:
        """Return all visits with their usable readings as records."""
        rows = self._connection.execute(sa.select(VISITS).order_by(VISITS.c.visit_id)).mappings()
        heads = [dict(row) for row in rows]
        field_of = {head["visit_id"]: head["field_id"] for head in heads}
        records = {sheet.name: self._records(sheet, field_of) for sheet in ledger_sheets()}
        self._connection.rollback()
        return [
            StoredVisit(
                **head,
                records={
                    name: tuple(found.get(head["visit_id"], ())) for name, found in records.items()
                },
            )
            for head in heads
        ]

    def _records(self, sheet: Sheet, field_of: Mapping[str, str]) -> dict[str, list[Any]]:
        table = SHEET_TABLES[sheet.name]
        rows = self._connection.execute(sa.select(table).order_by(*table.primary_key)).mappings()
        found: dict[str, list[Any]] = {}
        for row in rows:
            values = dict(row)
            visit_id = values.pop("visit_id")
            record = sheet.record(field_id=field_of[visit_id], **values)
            found.setdefault(visit_id, []).append(record)
        return found

    def questions(self, state: State = State.OPEN) -> list[Question]:
        """Return the questions that stand now in one state."""
        standing = QUESTIONS.c.replaced_by.is_(None) & (QUESTIONS.c.state == str(state))
        wanted = sa.select(QUESTIONS).where(standing).order_by(*QUESTIONS.primary_key)
        rows = self._connection.execute(wanted).mappings()
        found = [_question(dict(row)) for row in rows]
        self._connection.rollback()
        return found

    def rows(self, wanted: sa.Select[Any]) -> list[Mapping[str, Any]]:
        """Return what a selection finds, row by row."""
        rows = self._connection.execute(wanted).mappings()
        found: list[Mapping[str, Any]] = [dict(row) for row in rows]
        self._connection.rollback()
        return found

    def dump(self) -> Iterator[str]:
        """Write every row of every table, sorted, for comparing two ledgers."""
        for table in METADATA.sorted_tables:
            rows = self._connection.execute(sa.select(table))
            yield from sorted(f"{table.name}: {tuple(row)!r}" for row in rows)
        self._connection.rollback()


def _journal_mode(connection: Any, _: object) -> None:
    connection.execute("PRAGMA journal_mode=DELETE")


def _reading_row(reading: Reading, sequence: int) -> dict[str, Any]:
    return {
        "visit_id": reading.visit_id,
        "sheet": reading.sheet,
        "row": row_text(reading.row),
        "name": reading.column,
        "sequence": sequence,
        "typed": reading.typed,
        "value": json.dumps(value_out(reading.value)),
        "status": str(reading.status),
        "cell": reading.cell,
    }


def _question_row(question: Question, sequence: int, at: int) -> dict[str, Any]:
    found = question.problem
    place = {name: value for name, value in vars(found.place).items() if value is not None}
    return {
        "visit_id": question.visit_id,
        "sequence": sequence,
        "at": at,
        "code": found.code,
        "state": str(question.state),
        "place": json.dumps(place, sort_keys=True),
        "params": json.dumps(dict(found.params), sort_keys=True),
    }


def _question(row: Mapping[str, Any]) -> Question:
    params = tuple(sorted(json.loads(row["params"]).items()))
    place = Place(**json.loads(row["place"]))
    found = Problem(code=row["code"], place=place, params=params)
    return Question(visit_id=row["visit_id"], problem=found, state=State(row["state"]))


def _record_rows(
    sheet: Sheet, visit_id: str, current: Mapping[tuple[str, str, str], Mapping[str, Any]]
) -> list[dict[str, Any]]:
    rows: dict[str, dict[str, Any]] = {}
    empty = {column.name: None for column in sheet.entries}
    keys = [key.name for key in sheet.keys if key.name != "field_id"]
    for (name, row, column), reading in current.items():
        if name != sheet.name or Status(reading["status"]) not in USABLE:
            continue
        parts = [int(part) for part in row.split(", ") if part]
        start = {"visit_id": visit_id, **dict(zip(keys, parts, strict=True)), **empty}
        rows.setdefault(row, start)[column] = value_in(json.loads(reading["value"]))
    return list(rows.values())
