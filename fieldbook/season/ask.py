"""The correction book: what was entered, its questioned cells marked, to mend and send back."""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fieldbook.check.book import Question, Status
from fieldbook.entries import Identity
from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Weight, sentence
from fieldbook.season.blank import keep_identity, live_kernel_counts, named, safe_name, visit_plan
from fieldbook.season.events import read_events, value_in
from fieldbook.season.figures import season_figures
from fieldbook.season.folder import write_safely
from fieldbook.season.intake import cell_words
from fieldbook.season.ledger import Ledger
from fieldbook.season.season import Season
from fieldbook.words import say
from fieldbook.workbook.plan import BookPlan, EntryKey, EntryValue
from fieldbook.workbook.write import write_book


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A correction book as written, its reply, and how many questions it asks."""

    path: Path
    reply: Path
    scout: str
    questions: int


def write_corrections(season: Season, *, scout: str | None = None) -> Iterator[Asked]:
    """Write a correction book and a reply for every book with open questions."""
    with Ledger(season.folder) as ledger:
        plans = list(_plans(season, ledger, scout))
    for plan, questions in plans:
        stem = f"{safe_name(plan.identity.scout)}-{plan.identity.round}-{plan.identity.book_id}"
        path = season.folder.blank / "ask" / f"{stem}.xlsx"
        keep_identity(season, plan)
        write_safely(path, write_book(plan))
        reply = path.with_suffix(".txt")
        write_safely(reply, _reply(season, plan, questions).encode("utf-8"))
        yield Asked(path=path, reply=reply, scout=plan.identity.scout, questions=len(questions))


def _plans(
    season: Season, ledger: Ledger, scout: str | None
) -> Iterator[tuple[BookPlan, list[Question]]]:
    """Plan a book for each book whose visits have questions that a cell can answer."""
    open_: dict[str, list[Question]] = {}
    for question in ledger.questions():
        if question.problem.weight is not Weight.NOTE:
            open_.setdefault(question.visit_id, []).append(question)
    latest = {
        slip.visit_id: event.identity
        for event in read_events(season.folder)
        for slip in event.identity.visits
        if slip.visit_id in event.verdict.visits
    }
    for identity in {one.book_id: one for one in latest.values()}.values():
        if scout not in (None, identity.scout):
            continue
        mine = [slip for slip, owner in latest.items() if owner.book_id == identity.book_id]
        asked = [question for visit_id in mine for question in open_.get(visit_id, ())]
        if asked:
            yield _plan(season, ledger, identity, asked), asked


def _plan(season: Season, ledger: Ledger, identity: Identity, asked: list[Question]) -> BookPlan:
    round_, settings = ROUNDS[identity.round], season.settings
    wanted = {question.visit_id for question in asked}
    known = season.roster.fields
    slips = [s for s in identity.visits if s.visit_id in wanted and s.field_id in known]
    visits = tuple(visit_plan(season, known[slip.field_id], slip, round_) for slip in slips)
    asking = replace(identity, visits=tuple(slips), revises=identity.book_id, book_id="")
    entries: dict[EntryKey, EntryValue] = {}
    for slip in slips:
        entries |= _entries(ledger, slip.visit_id, slip.field_id)
    return BookPlan(
        identity=named(asking, round_, settings.year),
        season_name=settings.name,
        year=settings.year,
        paper=settings.paper,
        kernel_counts=live_kernel_counts(season_figures(settings)),
        visits=visits,
        entries=entries,
        asked=_cells(identity, asked, season.language),
    )


def _entries(ledger: Ledger, visit_id: str, field_id: str) -> dict[EntryKey, EntryValue]:
    """Return what stands now in a visit's cells: the stored value, or what was typed."""
    return {
        (name, (field_id, *_numbers(row)), column): _entry(reading)
        for (name, row, column), reading in ledger.readings_now(visit_id).items()
    }


def _entry(reading: Mapping[str, Any]) -> EntryValue:
    value = value_in(json.loads(reading["value"]))
    faulty = value is None or Status(reading["status"]) is Status.LOST
    kept: EntryValue = str(reading["typed"]) if faulty else value
    return kept


def _numbers(row: str) -> tuple[int, ...]:
    return tuple(int(part) for part in row.split(", ") if part)


def _cells(identity: Identity, asked: list[Question], language: str) -> dict[EntryKey, str]:
    """Return the question of every cell that a form has; a row without a cell is in the reply."""
    form = ROUNDS[identity.round].form(full=identity.full)
    cells: dict[EntryKey, str] = {}
    for question in asked:
        place = question.problem.place
        if place.table and place.column and form.has(place.table, place.column):
            key: tuple[str | int, ...] = (str(place.field_id), *_numbers(place.row or ""))
            cells.setdefault((place.table, key, place.column), sentence(question.problem, language))
    return cells


def _where(question: Question) -> str:
    """Name the place by its printed keys: cells of the new book lie elsewhere."""
    place = question.problem.place
    words = place.sheet
    if place.table and place.column:
        words = cell_words((place.table, place.row or "", place.column))
    return " ".join(part for part in (place.field_id, words) if part)


def _reply(season: Season, plan: BookPlan, asked: list[Question]) -> str:
    """Say in plain words what is asked, for the mail that the book goes with."""
    language = season.language
    names = {scout.scout_id: scout.name for scout in season.settings.scouts}
    who = names.get(plan.identity.scout, plan.identity.scout)
    told = [f"- {_where(question)}: {sentence(question.problem, language)}" for question in asked]
    return "\n".join(
        [
            say("{name}, thank you for the book.", language, name=who),
            say(
                "These things need another look. Mend the marked cells in the book that comes "
                "with this and send it back; everything else is as you entered it.",
                language,
            ),
            "",
            *told,
            "",
        ]
    )
