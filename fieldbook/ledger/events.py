"""Events: one immutable file for every decision; the ledger is a replay of them.

A book was taken in, a person settled a conflict of readings, or something became of a message. The
event of a book holds the verdict itself, reading by reading, so that a replay never judges again.
"""

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from fieldbook.check.photos import Photo
from fieldbook.check.verdict import CheckedBook, Question, Reading, State, Status
from fieldbook.entries import Identity, identity_from
from fieldbook.ledger.event_parts import problem_in, problem_out, value_in, value_out
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.mail_events import (
    DELIVERY,
    MESSAGE,
    DeliveryEvent,
    MessageEvent,
    mail_event_in,
    mail_event_out,
)
from fieldbook.ledger.safely import write_all_safely

EVENT_FORMAT = 1
_BOOK, _DECISION = "book", "decision"
_DIGITS = 6
_ON_A_LINE = json.JSONEncoder(sort_keys=True, ensure_ascii=False).encode
# A reading ends with its cell and begins with its visit. Behind a digit stands no quote but one
# that ends a text: one that begins it stands behind a space, one inside of it behind a stroke.
_BETWEEN_READINGS = re.compile(r'(?<=[0-9])"\], \["')


@dataclass(frozen=True, kw_only=True)
class BookEvent:
    """A book was accepted: which one, from where, judged against what, with what verdict.

    ``message`` is the key of the message that brought it, and ``sent_by`` the scout whose address
    that came from; None for a book from a folder.
    """

    sequence: int
    sha256: str
    file: str
    source: str
    sender: str | None
    received: str
    tool: str
    judged_against: Mapping[str, str]
    identity: Identity
    verdict: CheckedBook
    message: str | None = None
    sent_by: str | None = None


@dataclass(frozen=True, kw_only=True)
class DecisionEvent:
    """A person settled a conflict: what counts from now on, and which readings it ends.

    ``reading`` is what counts; a lost one where nobody can count again. ``keeps`` is the event of
    the reading that was chosen, None for a value of its own. ``against`` are the events of all
    readings in conflict, and ``questions`` what is rare about the value that was chosen.
    """

    sequence: int
    received: str
    tool: str
    who: str
    reason: str
    field_id: str
    reading: Reading
    keeps: int | None
    against: tuple[int, ...]
    questions: tuple[Question, ...] = ()


Event = BookEvent | DecisionEvent | MessageEvent | DeliveryEvent


def event_json(event: Event) -> str:
    """Write an event as JSON, stable in its order of keys: a line a key, a line an item."""
    raw = _event_out(event)
    lines = (f" {_ON_A_LINE(key)}: {_items(raw[key])}" for key in sorted(raw))
    return "{\n" + ",\n".join(lines) + "\n}"


def _event_out(event: Event) -> dict[str, Any]:
    if isinstance(event, MessageEvent | DeliveryEvent):
        return {"format": EVENT_FORMAT, **mail_event_out(event)}
    return _decision_out(event) if isinstance(event, DecisionEvent) else _book_out(event)


def _items(value: Any) -> str:
    if not isinstance(value, list) or not value:
        return _ON_A_LINE(value)
    return f"[\n  {_lines(value)}\n ]"


def _lines(items: list[Any]) -> str:
    """Write a line an item; hundreds of readings are written at once."""
    if isinstance(items[0], list):
        return _BETWEEN_READINGS.sub('"],\n  ["', _ON_A_LINE(items)[1:-1])
    return ",\n  ".join(map(_ON_A_LINE, items))


def _book_out(event: BookEvent) -> dict[str, Any]:
    return {
        "format": EVENT_FORMAT,
        "kind": _BOOK,
        "sequence": event.sequence,
        "sha256": event.sha256,
        "file": event.file,
        "source": event.source,
        "sender": event.sender,
        "message": event.message,
        "sent_by": event.sent_by,
        "received": event.received,
        "tool": event.tool,
        "judged_against": dict(event.judged_against),
        "identity": asdict(event.identity),
        "readings": [_reading_out(reading) for reading in event.verdict.readings],
        "questions": [_question_out(question) for question in event.verdict.questions],
        "problems": [problem_out(found) for found in event.verdict.problems],
        "photos": [asdict(photo) for photo in event.verdict.photos],
    }


def _decision_out(event: DecisionEvent) -> dict[str, Any]:
    return {
        "format": EVENT_FORMAT,
        "kind": _DECISION,
        "sequence": event.sequence,
        "received": event.received,
        "tool": event.tool,
        "who": event.who,
        "reason": event.reason,
        "field_id": event.field_id,
        "reading": _reading_out(event.reading),
        "keeps": event.keeps,
        "against": list(event.against),
        "questions": [_question_out(question) for question in event.questions],
    }


def event_from_json(text: str) -> Event:
    """Read an event back, of any kind."""
    raw = json.loads(text)
    if raw.get("kind") in (MESSAGE, DELIVERY):
        return mail_event_in(raw)
    return _decision_in(raw) if raw.get("kind", _BOOK) == _DECISION else _book_in(raw)


def _decision_in(raw: Mapping[str, Any]) -> DecisionEvent:
    return DecisionEvent(
        sequence=raw["sequence"],
        received=raw["received"],
        tool=raw["tool"],
        who=raw["who"],
        reason=raw["reason"],
        field_id=raw["field_id"],
        reading=_reading_in(raw["reading"]),
        keeps=raw["keeps"],
        against=tuple(raw["against"]),
        questions=tuple(_question_in(question) for question in raw["questions"]),
    )


def _book_in(raw: Mapping[str, Any]) -> BookEvent:
    return BookEvent(
        sequence=raw["sequence"],
        sha256=raw["sha256"],
        file=raw["file"],
        source=raw["source"],
        sender=raw["sender"],
        message=raw.get("message"),
        sent_by=raw.get("sent_by"),
        received=raw["received"],
        tool=raw["tool"],
        judged_against=raw["judged_against"],
        identity=identity_from(raw["identity"]),
        verdict=CheckedBook(
            readings=tuple(_reading_in(reading) for reading in raw["readings"]),
            questions=tuple(_question_in(question) for question in raw["questions"]),
            problems=tuple(problem_in(found) for found in raw["problems"]),
            photos=tuple(Photo(**photo) for photo in raw.get("photos", ())),
        ),
    )


def _reading_out(reading: Reading) -> list[Any]:
    row = list(reading.row)
    value, status = value_out(reading.value), str(reading.status)
    start = [reading.visit_id, reading.sheet, row, reading.column]
    return [*start, reading.typed, value, status, reading.cell]


def _reading_in(raw: list[Any]) -> Reading:
    visit_id, sheet, row, column, typed, value, status, cell = raw
    return Reading(
        visit_id=visit_id,
        sheet=sheet,
        row=tuple(row),
        column=column,
        typed=typed,
        value=value_in(value),
        status=Status(status),
        cell=cell,
    )


def _question_out(question: Question) -> dict[str, Any]:
    told = problem_out(question.problem)
    return {"visit_id": question.visit_id, "state": str(question.state), **told}


def _question_in(raw: Mapping[str, Any]) -> Question:
    state = State(raw["state"])
    return Question(visit_id=raw["visit_id"], problem=problem_in(raw), state=state)


class DamagedEventError(Exception):
    """An event file that cannot be read; its name is the message."""


def event_name(sequence: int) -> str:
    """Return the file name of an event."""
    return f"{sequence:0{_DIGITS}d}.json"


def event_paths(folder: SeasonFolder) -> list[Path]:
    """Return all event files in their order; copies that a sync program made are not among them."""
    named = (path for path in folder.events.glob("*.json") if path.stem.isascii())
    return sorted(path for path in named if path.stem.isdigit() and len(path.stem) == _DIGITS)


def read_events(folder: SeasonFolder, *, after: int = 0) -> Iterator[Event]:
    """Read the events behind a sequence number, in order; DamagedEventError for a spoiled one."""
    for path in event_paths(folder):
        if int(path.stem) > after:
            yield read_event(path)


def book_events(folder: SeasonFolder) -> Iterator[BookEvent]:
    """Read the events of books alone, in order; DamagedEventError for a spoiled one."""
    return (event for event in read_events(folder) if isinstance(event, BookEvent))


def event_at(folder: SeasonFolder, sequence: int) -> Event | None:
    """Read one event; None where it is not there."""
    path = folder.events / event_name(sequence)
    return read_event(path) if path.is_file() else None


def read_event(path: Path) -> Event:
    """Read the event of a file; DamagedEventError for a spoiled one."""
    try:
        return event_from_json(path.read_text("utf-8"))
    except (ValueError, KeyError, TypeError, AttributeError) as fault:
        raise DamagedEventError(path.name) from fault


def write_event(folder: SeasonFolder, event: Event) -> None:
    """Keep an event for good."""
    write_events(folder, [event])


def write_events(folder: SeasonFolder, events: Iterable[Event]) -> None:
    """Keep events for good, in their order."""
    written = {
        folder.events / event_name(event.sequence): event_json(event).encode("utf-8")
        for event in events
    }
    shared = folder.database is not None  # others may write from computers that see it late
    write_all_safely(written, new=shared)


def original_path(folder: SeasonFolder, sha256: str, suffix: str) -> Path:
    """Return where an accepted original is kept: under its hash; its own name is only data."""
    return folder.originals / f"{sha256}{suffix}"
