"""The correction book: what was entered, its questioned cells marked, to mend and send back."""

import json
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from fieldbook.check.printed import own_visits
from fieldbook.check.verdict import Question
from fieldbook.entries import Identity, VisitSlip, row_numbers
from fieldbook.forms.rounds import ROUNDS, Form
from fieldbook.ledger.conflicts import DIFFER
from fieldbook.ledger.event_parts import value_in
from fieldbook.ledger.events import book_events
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.merge import ANSWER
from fieldbook.ledger.names import cell_words
from fieldbook.problems import Problem, Weight, sentence
from fieldbook.season.ask_folder import Cleared, ask_folder, clear_ask_folder, write_noted
from fieldbook.season.blank import keep_identity, live_kernel_counts, named, safe_name, visit_plan
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.words import say
from fieldbook.workbook.plan import BookPlan, EntryKey, EntryValue
from fieldbook.workbook.write import write_book

_PLACES_NAMED = 3


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A correction book as written, its reply, how many questions it asks, and their words."""

    path: Path
    reply: Path
    scout: str
    questions: int
    lines: tuple[str, ...] = ()


def write_corrections(
    season: Season, *, scout: str | None = None, books: Collection[str] | None = None
) -> Iterator[Asked]:
    """Write a correction book and a reply for every book with open questions.

    `scout` or `books`, by their ids, leave out the others.
    """
    with Ledger(season.folder) as ledger:
        found = list(_plans(season, ledger, scout))
    plans = [one for one in found if books is None or one[0].identity.revises in books]
    for plan, questions in plans:
        path = ask_folder(season.folder) / f"{_stem(plan)}.xlsx"
        keep_identity(season, plan)
        if not path.exists():  # the same name is the same book, perhaps mended where it lies
            write_noted(path, write_book(plan))
        reply = path.with_suffix(".txt")
        write_noted(reply, _reply(season, plan, questions).encode("utf-8"))
        yield Asked(
            path=path,
            reply=reply,
            scout=plan.identity.scout,
            questions=len(questions),
            lines=_lines(plan, questions),
        )


def clear_answered(season: Season) -> Cleared:
    """Remove correction books that ask nothing any more from where they were written."""
    with Ledger(season.folder) as ledger:
        asking = {_stem(plan) for plan, _ in _plans(season, ledger, None)}
    return clear_ask_folder(season.folder, asking)


def _stem(plan: BookPlan) -> str:
    identity = plan.identity
    return f"{safe_name(identity.scout)}-{identity.round}-{identity.book_id}"


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
        for event in book_events(season.folder)
        for slip in event.identity.visits
        if slip.visit_id in event.verdict.visits
    }
    for identity in {_visits_of(one): one for one in latest.values()}.values():
        if scout not in (None, identity.scout):
            continue
        mine = [
            slip.visit_id
            for slip in own_visits(identity.visits, season.roster)
            if slip.visit_id in latest and _visits_of(latest[slip.visit_id]) == _visits_of(identity)
        ]
        asked = [question for visit_id in mine for question in open_.get(visit_id, ())]
        known = season.roster.fields
        if any(question.problem.place.field_id in known for question in asked):
            yield _plan(season, ledger, identity, asked), asked


def _visits_of(identity: Identity) -> tuple[str, ...]:
    """Name a book and its visits; a book that was filled twice has other visits then."""
    return (identity.book_id, *(slip.visit_id for slip in identity.visits))


def _plan(season: Season, ledger: Ledger, identity: Identity, asked: list[Question]) -> BookPlan:
    round_, settings = ROUNDS[identity.round], season.settings
    language = season.language_of(identity.scout)
    wanted = {question.visit_id for question in asked}
    known = season.roster.fields
    slips = [
        _with_all_rows(slip, round_.form(full=identity.full))
        for slip in identity.visits
        if slip.visit_id in wanted and slip.field_id in known
    ]
    visits = tuple(
        visit_plan(season, known[slip.field_id], slip, round_, language) for slip in slips
    )
    asking = replace(
        identity,
        visits=tuple(slips),
        form_version=round_.form_version,
        revises=identity.book_id,
        language=language,
        written_after=ledger.last_event(slip.visit_id for slip in slips),
        book_id="",
    )
    entries: dict[EntryKey, EntryValue] = {}
    for slip in slips:
        mine = [question for question in asked if question.visit_id == slip.visit_id]
        entries |= _entries(ledger, slip, _unanswered(mine))
    return BookPlan(
        identity=named(asking, round_, settings.year),
        season_name=settings.name,
        year=settings.year,
        paper=settings.paper,
        kernel_counts=live_kernel_counts(season_figures(settings)),
        visits=visits,
        entries=entries,
        asked=_cells(identity, asked, language),
    )


def _with_all_rows(slip: VisitSlip, form: Form) -> VisitSlip:
    """Give a visit of an older form rows on the sheets that the form has meanwhile."""
    return replace(slip, rows={**form.rows, **slip.rows})


def _unanswered(asked: list[Question]) -> frozenset[tuple[str, str]]:
    """Return the rows whose answer, if any, was given before what is asked there came up."""
    again = (q.problem for q in asked if q.problem.weight is Weight.ASK or q.problem.code == DIFFER)
    return frozenset((found.place.table or "", found.place.row or "") for found in again)


def _entries(
    ledger: Ledger, slip: VisitSlip, unanswered: frozenset[tuple[str, str]]
) -> dict[EntryKey, EntryValue]:
    """Return what stands now in a visit's cells: the stored value, or what was typed."""
    return {
        (name, (slip.field_id, *row_numbers(row)), column): entry
        for (name, row, column), reading in ledger.readings_now(slip.visit_id).items()
        if (entry := _entry(reading)) != "" and not (column == ANSWER and (name, row) in unanswered)
    }


def _entry(reading: Mapping[str, Any]) -> EntryValue:
    value: EntryValue | None = value_in(json.loads(reading["value"]))
    return str(reading["typed"]) if value is None else value


def _cells(identity: Identity, asked: list[Question], language: str) -> dict[EntryKey, str]:
    """Return the question of every cell that a form has; a row without a cell is in the reply."""
    form = ROUNDS[identity.round].form(full=identity.full)
    cells: dict[EntryKey, str] = {}
    for question in asked:
        place = question.problem.place
        if place.table and place.column and form.has(place.table, place.column):
            key: tuple[str | int, ...] = (str(place.field_id), *row_numbers(place.row or ""))
            cells.setdefault((place.table, key, place.column), sentence(question.problem, language))
    return cells


def where_asked(found: Problem, language: str) -> str:
    """Name the place by its printed keys: cells of a correction book lie elsewhere."""
    place = found.place
    words = place.sheet
    if place.table and place.column:
        words = cell_words((place.table, place.row or "", place.column)).said(language)
    return " ".join(part for part in (place.field_id, words) if part)


def _lines(plan: BookPlan, asked: list[Question]) -> tuple[str, ...]:
    """Say the questions with their places, in the language of the book; alike ones share a line.

    They are all marked in the book, so that a line names but the first places.
    """
    language = plan.identity.language
    places: dict[str, list[str]] = {}
    for one in asked:
        said = sentence(one.problem, language)
        places.setdefault(said, []).append(where_asked(one.problem, language))
    return tuple(f"- {_named(places[said], language)}: {said}" for said in places)


def _named(places: list[str], language: str) -> str:
    named = "; ".join(places[:_PLACES_NAMED])
    left = len(places) - _PLACES_NAMED
    if left <= 0:
        return named
    return say("{cells} and {count} more", language, cells=named, count=left)


def _reply(season: Season, plan: BookPlan, asked: list[Question]) -> str:
    """Say in plain words what is asked, for the mail that the book goes with."""
    language = plan.identity.language
    names = {scout.scout_id: scout.name for scout in season.settings.scouts}
    who = names.get(plan.identity.scout, plan.identity.scout)
    told = _lines(plan, asked)
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
