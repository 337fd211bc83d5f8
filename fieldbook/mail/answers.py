"""Answers to messages: what was taken in, what is asked, what was set aside and why."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.ledger.safely import write_safely
from fieldbook.mail.draft import Letter, draft, replied
from fieldbook.mail.message import Message
from fieldbook.mail.sender import Correspondent
from fieldbook.problems import Problem, Weight, line
from fieldbook.render import environment
from fieldbook.season.ask import Asked, write_corrections
from fieldbook.season.blank import safe_name
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.words import say

if TYPE_CHECKING:
    from jinja2 import Environment


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What an answer says, part by part; a part without lines is left out."""

    name: str
    taken: tuple[str, ...]
    questions: tuple[str, ...]
    has_book: bool
    aside: tuple[str, ...]
    signature: str | None


def write_answer(
    season: Season,
    person: Correspondent,
    message: Message,
    taken: Iterable[Taken],
    problems: Iterable[Problem],
    *,
    key: str,
    now: datetime,
    templates: Path | None,
) -> Path:
    """Write the one answer to a message into the outbox; return where it lies."""
    books, language = list(taken), season.language_of(person.scout)
    ids = {one.book_id for one in books if one.accepted}
    asked = list(write_corrections(season, books=ids)) if ids else []
    answer = Answer(
        name=person.name,
        taken=tuple(_taken_line(season, one) for one in books if one.accepted),
        questions=_questions(books, asked, language),
        has_book=bool(asked),
        aside=_aside(books, problems, language),
        signature=season.settings.sender,
    )
    letter = Letter(
        recipient=person.mail,
        subject=replied(message.subject or say("Your books", language)),
        text=page_text("mail/answer", answer, language, templates),
        about=key,
        attachments=tuple(one.path for one in asked),
        answers_to=message.message_id,
        references=message.references,
        is_answer=True,
    )
    path = season.folder.outbox / answer_name(person, key)
    write_safely(path, draft(letter, sender=season.settings.mail.from_address, now=now))
    return path


def answer_name(person: Correspondent, key: str) -> str:
    """Return the file name of an answer: the same message always gets the same."""
    return f"answer-{safe_name(person.scout or 'sender')}-{key[:16]}.eml"


def _taken_line(season: Season, taken: Taken) -> str:
    visits = ", ".join(_visit_words(season, visit_id) for visit_id in taken.visits)
    return f"{taken.name}: {visits}"


def _visit_words(season: Season, visit_id: str) -> str:
    field = season.roster.fields.get(visit_id.rpartition(".")[0])
    return f"{field.field} ({visit_id})" if field else visit_id


def _questions(books: list[Taken], asked: list[Asked], language: str) -> tuple[str, ...]:
    """Return what is asked, a line each; what no cell can answer stands before the rest."""
    accepted = [one for one in books if one.accepted and one.verdict]
    whole = [found for one in accepted if one.verdict for found in one.verdict.problems]
    loose = [] if asked else [found for one in accepted for found in one.open_problems]
    told = [found for found in (*whole, *loose) if found.weight is not Weight.NOTE]
    lines = [f"- {line(found, language, mailed=True)}" for found in dict.fromkeys(told)]
    return (*lines, *(text for one in asked for text in one.lines))


def _aside(books: list[Taken], problems: Iterable[Problem], language: str) -> tuple[str, ...]:
    refused = [found for one in books if not one.accepted for found in one.problems]
    lines = (line(found, language, mailed=True) for found in (*refused, *problems))
    return tuple(f"- {text}" for text in dict.fromkeys(lines))


def page_text(name: str, page: object, language: str, templates: Path | None) -> str:
    """Write a plain text by its template."""
    template = _environment(templates).get_template(f"{name}.txt.j2")
    return template.render(page=page, language=language)


@cache
def _environment(templates: Path | None) -> "Environment":
    """Return the environment of plain texts: nothing is escaped, since nothing is markup."""
    return environment(templates).overlay(autoescape=False)
