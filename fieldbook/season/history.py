"""Who read what, when, from which file, what replaced what, and how conflicts were settled."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import sqlalchemy as sa

from fieldbook.check.verdict import Status
from fieldbook.ledger.cells import side
from fieldbook.ledger.conflicts import Conflict, conflict_lines
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.names import BOOK, CORRECTION, DECISION, cell_words
from fieldbook.ledger.tables import DECISIONS, EVENTS, READINGS, VISITS


@dataclass(frozen=True, kw_only=True)
class PastReading:
    """One reading as it was taken in; ``replaced_by`` is the event that brought a later one.

    ``kind`` says what brought it: a book, a correction, or a decision.
    """

    visit_id: str
    what: str
    typed: str
    status: str
    cell: str
    event: int
    kind: str
    file: str
    scout: str
    received: str
    replaced_by: int | None
    in_conflict: bool


@dataclass(frozen=True, kw_only=True)
class PastDecision:
    """A conflict that was settled: its readings, what counts since, who decided and why."""

    event: int
    visit_id: str
    what: str
    sides: tuple[str, ...]
    counts: str
    keeps: int | None
    who: str
    decided: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class FieldHistory:
    """Every reading of a field, by visit and place, the oldest of each first; its conflicts."""

    readings: tuple[PastReading, ...]
    conflicts: tuple[Conflict, ...]
    decisions: tuple[PastDecision, ...]


def field_history(ledger: Ledger, field_id: str) -> FieldHistory:
    """Return all that was ever read in a field, what is in conflict, and what was settled."""
    rows = ledger.rows(_readings_of(field_id))
    conflicts = ledger.conflicts(field_id)
    open_ = {(one.visit_id, one.what) for one in conflicts}
    readings = (_reading(row) for row in rows)
    decided = ledger.rows(
        sa.select(DECISIONS).where(DECISIONS.c.field_id == field_id).order_by(DECISIONS.c.sequence)
    )
    return FieldHistory(
        readings=tuple(
            PastReading(
                **one,
                in_conflict=one["replaced_by"] is None and (one["visit_id"], one["what"]) in open_,
            )
            for one in readings
        ),
        conflicts=conflicts,
        decisions=tuple(_decision(row, rows) for row in decided),
    )


def _readings_of(field_id: str) -> sa.Select[Any]:
    events = (EVENTS.c.kind, EVENTS.c.file, EVENTS.c.scout, EVENTS.c.received)
    return (
        sa.select(READINGS, *events)
        .join(EVENTS, EVENTS.c.sequence == READINGS.c.sequence)
        .join(VISITS, VISITS.c.visit_id == READINGS.c.visit_id)
        .where(VISITS.c.field_id == field_id)
        .order_by(*READINGS.primary_key)
    )


def _cell(row: Mapping[str, Any]) -> tuple[str, str, str, str]:
    return row["visit_id"], row["sheet"], row["row"], row["name"]


def _reading(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "visit_id": row["visit_id"],
        "what": str(cell_words((row["sheet"], row["row"], row["name"]))),
        "typed": row["typed"],
        "status": row["status"],
        "cell": row["cell"],
        "event": row["sequence"],
        "kind": row["kind"],
        "file": row["file"],
        "scout": row["scout"],
        "received": row["received"],
        "replaced_by": row["replaced_by"],
    }


def _decision(row: Mapping[str, Any], readings: Iterable[Mapping[str, Any]]) -> PastDecision:
    here = {one["sequence"]: one for one in readings if _cell(one) == _cell(row)}
    made = here[row["sequence"]]
    return PastDecision(
        event=row["sequence"],
        visit_id=row["visit_id"],
        what=str(cell_words((row["sheet"], row["row"], row["name"]))),
        sides=tuple(str(side(here[one]).words) for one in json.loads(row["against"])),
        counts=str(side(made).said),
        keeps=row["keeps"],
        who=made["scout"],
        decided=made["received"],
        reason=row["reason"],
    )


def changed_only(history: FieldHistory) -> tuple[PastReading, ...]:
    """Keep the readings that something replaced or stood against, and what did so."""
    moved = {
        (one.visit_id, one.what)
        for one in history.readings
        if one.replaced_by is not None or one.in_conflict
    }
    return tuple(one for one in history.readings if (one.visit_id, one.what) in moved)


def history_lines(readings: Iterable[PastReading], history: FieldHistory) -> Iterator[str]:
    """Say every reading in a line beneath its visit and file, then conflicts side by side."""
    sources = {one.event: _brought(one) for one in history.readings}
    heading = ""
    for one in readings:
        here = f"{one.visit_id}  {_source(one)}"
        if here != heading:
            heading = here
            yield heading
        yield f"  {one.what}: {_value(one)}{_end(one, sources)}"
    if history.conflicts:
        yield "In conflict: none of these is used until one is chosen with 'silkbook decide'"
        yield from conflict_lines(history.conflicts)
    for decision in history.decisions:
        yield from _decision_lines(decision, sources)


def _source(one: PastReading) -> str:
    origin = {BOOK: one.file, CORRECTION: f"{one.file} (correction)", DECISION: "decided"}
    return f"{one.scout}, {one.received[:10]}, {origin[one.kind]}"


def _brought(one: PastReading) -> str:
    """Name what brought a reading, as a person knows it: a file with its day, or a decision."""
    day = one.received[:10]
    return f"a decision, {day}" if one.kind == DECISION else f"{one.file}, {day}"


def _value(one: PastReading) -> str:
    used = "not used, in conflict" if one.in_conflict else one.status
    if not one.typed:
        said = "cleared" if one.status == Status.CLEARED else "cannot recount"
        return f"{said}, {used}" if one.in_conflict else said
    where = f" in {one.cell}" if one.cell and one.kind != DECISION else ""
    return f"'{one.typed}'{where}, {used}"


def _end(one: PastReading, sources: Mapping[int, str]) -> str:
    if one.replaced_by is None:
        return ""
    return f", replaced by {sources.get(one.replaced_by, 'a later book')}"


def _decision_lines(one: PastDecision, sources: Mapping[int, str]) -> Iterator[str]:
    yield f"Settled by {one.who}, {one.decided[:10]}: {one.visit_id}  {one.what}"
    for at, words in enumerate(one.sides, start=1):
        yield f"   {at}: {words}"
    kept = f", from {sources[one.keeps]}" if one.keeps is not None else ""
    yield f"   counts: {one.counts}{kept}. {one.reason}".rstrip()
