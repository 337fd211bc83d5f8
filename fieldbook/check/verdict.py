"""What a book is judged to say: its readings with their status, its questions with their state."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, NamedTuple

from fieldbook.check.photos import Photo
from fieldbook.check.visit import RowKey
from fieldbook.problems import Problem, Weight


class Status(StrEnum):
    """Whether a reading is used: only ``used`` and ``confirmed`` ones are.

    ``cleared`` is a cell that a correction book showed filled and that came back empty.
    """

    USED = "used"
    CONFIRMED = "confirmed"
    ASKED = "asked"
    REFUSED = "refused"
    LOST = "lost"
    CLEARED = "cleared"


USABLE = (Status.USED, Status.CONFIRMED)


class State(StrEnum):
    """Where a question stands."""

    OPEN = "open"
    CONFIRMED = "confirmed"
    LOST = "lost"


class Reading(NamedTuple):
    """One filled cell: as typed, as stored, and whether it is used."""

    visit_id: str
    sheet: str
    row: RowKey
    column: str
    typed: str
    value: Any
    status: Status
    cell: str


@dataclass(frozen=True, kw_only=True)
class Question:
    """A problem of one visit and where it stands."""

    visit_id: str
    problem: Problem
    state: State


@dataclass(frozen=True, kw_only=True)
class CheckedBook:
    """The verdict on a book: its readings, its questions, and problems of the file as a whole."""

    readings: tuple[Reading, ...]
    questions: tuple[Question, ...]
    problems: tuple[Problem, ...]
    photos: tuple[Photo, ...] = ()

    @property
    def open_questions(self) -> tuple[Question, ...]:
        """The questions that nobody answered yet, notes left out."""
        standing = (one for one in self.questions if one.state is State.OPEN)
        return tuple(one for one in standing if one.problem.weight is not Weight.NOTE)

    @property
    def open_problems(self) -> tuple[Problem, ...]:
        """Everything a person should look at now."""
        asked = (q.problem for q in self.questions if q.state is State.OPEN)
        return (*self.problems, *asked)

    @property
    def visits(self) -> tuple[str, ...]:
        """The visits that have a reading or a photo, in the book's order."""
        read = (reading.visit_id for reading in self.readings)
        return tuple(dict.fromkeys((*read, *(photo.visit_id for photo in self.photos))))
