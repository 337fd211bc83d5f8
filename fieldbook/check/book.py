"""Judge a whole book: match its rows to its plan, run every check, give each reading a status."""

from collections.abc import Iterable, Iterator
from dataclasses import replace

from fieldbook.check.between import BETWEEN_CHECKS
from fieldbook.check.cells import typed_text
from fieldbook.check.context import Context
from fieldbook.check.copied import BOOK_CHECKS, COPY_CHECKS
from fieldbook.check.harvest import HARVEST_CHECKS
from fieldbook.check.leaves import LEAF_CHECKS
from fieldbook.check.matched import matched
from fieldbook.check.photos import match_photos
from fieldbook.check.places import PLACE_CHECKS
from fieldbook.check.rows import Draft, Finding, drafts_of
from fieldbook.check.spread import SPREAD_CHECKS
from fieldbook.check.stages import STAGE_CHECKS
from fieldbook.check.verdict import CheckedBook, Question, Reading, State, Status
from fieldbook.check.visit import VISIT_CHECKS, Located, RowKey, VisitDraft
from fieldbook.entries import BookEntries, Cell, SheetEntries, row_text
from fieldbook.forms.answers import LOST, TRUE
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Place, Problem, Weight, problem
from fieldbook.units import System
from fieldbook.words import Phrase, listed, phrase

_CHECKS = (
    *VISIT_CHECKS,
    *PLACE_CHECKS,
    *STAGE_CHECKS,
    *BETWEEN_CHECKS,
    *SPREAD_CHECKS,
    *COPY_CHECKS,
    *LEAF_CHECKS,
    *HARVEST_CHECKS,
)


def check_book(book: BookEntries, context: Context) -> CheckedBook:
    """Judge a book; a fault in one row or field never takes a neighbour down."""
    if book.identity.season_id != context.season_id:
        found = problem("book-other-season", theirs=book.identity.season_id, ours=context.season_id)
        return CheckedBook(readings=(), questions=(), problems=(found.in_file(book.file),))
    visits, strays = visit_drafts(book, context.year)
    readings: list[Reading] = []
    questions: list[Question] = []
    for visit in visits:
        if not visit.is_filled:
            continue
        located = [*_row_findings(visit), *_missing_rows(visit, book)]
        located += [found for check in _CHECKS for found in check(visit, context)]
        located = [found for found in located if not _is_of_a_row_aside(visit, found)]
        readings += _readings(visit, located)
        questions += _questions(visit, located, book.file)
    whole = (found for check in BOOK_CHECKS for found in check(visits, context))
    photos, lone = match_photos(visits, book)
    problems = [*book.problems, *(found.in_file(book.file) for found in (*strays, *whole, *lone))]
    if not readings and not photos:
        problems.append(problem("book-nothing-filled").in_file(book.file))
    return CheckedBook(
        readings=tuple(readings),
        questions=tuple(questions),
        problems=tuple(problems),
        photos=photos,
    )


def _is_of_a_row_aside(visit: VisitDraft, found: Located) -> bool:
    """Say whether a finding misses what stands in a row whose field is asked about already."""
    name, key, finding = found
    draft = visit.rows.get(name, {}).get(key)
    if draft is None or not draft.is_aside:
        return False
    return finding.problem.place.column in draft.form.entry_names


def empty_cells(book: BookEntries) -> Iterator[Reading]:
    """Return every entry cell that a book has and leaves empty, as a cleared reading.

    A row or a column that is gone is not among them: nobody emptied it.
    """
    visits, _ = visit_drafts(book)
    for visit in visits:
        for name, rows in visit.rows.items():
            for key, draft in rows.items():
                for column in draft.form.entries:
                    cell = draft.cells.get(column.name)
                    if cell is not None and cell.is_empty:
                        yield _cleared(visit, name, key, column.name, cell)


def _cleared(visit: VisitDraft, name: str, key: RowKey, column: str, cell: Cell) -> Reading:
    return Reading(
        visit_id=visit.slip.visit_id,
        sheet=name,
        row=key,
        column=column,
        typed="",
        value=None,
        status=Status.CLEARED,
        cell=cell.ref,
    )


def visit_drafts(
    book: BookEntries, year: int | None = None
) -> tuple[list[VisitDraft], list[Problem]]:
    """Sort every row of the book to its visit by the printed keys."""
    by_field = {slip.field_id: slip for slip in book.identity.visits}
    rows: dict[str, dict[str, dict[RowKey, Draft]]] = {field_id: {} for field_id in by_field}
    strays: list[Problem] = []
    units, language = System(book.identity.units), book.identity.language
    round_ = ROUNDS[book.identity.round]
    whole = round_.form(full=book.identity.full)
    for form in whole.sheets:
        sheet = book.sheets.get(form.sheet.name)
        lost = _lost_keys(form, sheet) if sheet else None
        if sheet and lost:
            strays.append(problem("key-column-missing", Place(sheet=sheet.title), column=lost))
            continue
        drafts = drafts_of(form, sheet, units, language, year=year) if sheet else ()
        kept, more = matched(form, drafts, by_field)
        strays += more
        for field_id, key, draft in kept:
            rows[field_id].setdefault(form.sheet.name, {})[key] = draft
    visits = [
        VisitDraft(
            slip=slip,
            round_=round_,
            form=whole,
            rows=rows[key],
            book_scout=book.identity.scout,
            book_units=units,
        )
        for key, slip in by_field.items()
    ]
    return visits, strays


def _lost_keys(form: SheetForm, sheet: SheetEntries) -> Phrase | None:
    """Name the printed key columns that a sheet lost; None where all are there."""
    lost = [
        phrase(key.label)
        for key in form.sheet.keys
        if any(key.name not in r.cells for r in sheet.rows)
    ]
    return listed(lost) if lost else None


def _row_findings(visit: VisitDraft) -> Iterator[Located]:
    for name, rows in visit.rows.items():
        for key, draft in rows.items():
            for finding in draft.findings:
                yield name, key, finding


def _missing_rows(visit: VisitDraft, book: BookEntries) -> Iterator[Located]:
    for form in visit.form.sheets:
        name = form.sheet.name
        sheet = book.sheets.get(name)
        for key in form.sheet.planned_rows(visit.slip.rows):
            if sheet is None or not key or key in visit.rows.get(name, {}):
                continue
            numbered = zip(form.sheet.keys[1:], key, strict=True)
            names = [
                phrase("{name} {value}", name=phrase(column.label), value=part)
                for column, part in numbered
            ]
            place = Place(sheet=sheet.title)
            found = problem("row-missing", place, row=listed([visit.name, *names]))
            yield name, key, Finding(problem=found)


def _answer(visit: VisitDraft, name: str, key: RowKey) -> str | None:
    draft = visit.rows.get(name, {}).get(key)
    return draft.values.get("answer") if draft else None


def _state(found: Problem, answer: str | None, marks: tuple[str, ...]) -> State:
    if answer == LOST.key and marks and found.weight is not Weight.NOTE:
        return State.LOST
    if answer == TRUE.key and found.weight is Weight.ASK:
        return State.CONFIRMED
    return State.OPEN


_WORST = (Status.LOST, Status.REFUSED, Status.ASKED, Status.CONFIRMED)


def _status(findings: Iterable[Finding], column: str, answer: str | None) -> Status:
    seen: set[Status] = set()
    for finding in findings:
        if column not in finding.marks or finding.problem.weight is Weight.NOTE:
            continue
        state = _state(finding.problem, answer, finding.marks)
        if state is State.OPEN:
            is_error = finding.problem.weight is Weight.ERROR
            seen.add(Status.REFUSED if is_error else Status.ASKED)
        else:
            seen.add(Status.LOST if state is State.LOST else Status.CONFIRMED)
    return next((status for status in _WORST if status in seen), Status.USED)


def _readings(visit: VisitDraft, located: Iterable[Located]) -> Iterator[Reading]:
    by_row: dict[tuple[str, RowKey], list[Finding]] = {}
    for name, key, finding in located:
        by_row.setdefault((name, key), []).append(finding)
    for name, rows in visit.rows.items():
        for key, draft in rows.items():
            if draft.is_filled:
                yield from _row_readings(visit, name, key, draft, by_row.get((name, key), ()))


def _row_readings(
    visit: VisitDraft, name: str, key: RowKey, draft: Draft, findings: Iterable[Finding]
) -> Iterator[Reading]:
    cells, values = draft.cells, draft.values
    typed, errors, visit_id = cells.typed, cells.errors, visit.slip.visit_id
    for column in draft.form.entry_order:
        if column in typed or column in errors:
            yield Reading(
                visit_id,
                name,
                key,
                column,
                typed_text(typed.get(column)),
                values[column],
                _status(findings, column, values.get("answer")) if findings else Status.USED,
                cells.ref(column),
            )


def _questions(visit: VisitDraft, located: Iterable[Located], file: str) -> Iterator[Question]:
    for name, key, finding in located:
        answer = _answer(visit, name, key)
        place = replace(
            finding.problem.place,
            file=file,
            visit_id=visit.slip.visit_id,
            field_id=visit.slip.field_id,
            table=name,
            row=row_text(key) or None,
        )
        yield Question(
            visit_id=visit.slip.visit_id,
            problem=replace(finding.problem, place=place),
            state=_state(finding.problem, answer, finding.marks),
        )
