"""Read a filled book or a roster: sheets and columns found by their marks, then by their headers.

Positions are never trusted: books come back with sheets renamed and moved, columns and rows in
another order, and hidden rows. Values come from python-calamine, behind the guard.
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fieldbook.entries import (
    BookEntries,
    EntryRow,
    Identity,
    RowCells,
    SheetEntries,
)
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.migrations import ReadForm, form_to_read
from fieldbook.forms.roster import ROSTER_FORM
from fieldbook.problems import Place, Problem, problem
from fieldbook.schema import Role
from fieldbook.units import System
from fieldbook.words import SHIPPED_LANGUAGES, phrase, say
from fieldbook.workbook.grid import MARK
from fieldbook.workbook.guard_cells import column_letters
from fieldbook.workbook.lists import IDENTITY_NAME, identity_from_json
from fieldbook.workbook.older import HEADER_ROWS, folded, with_choices_of_now, with_heads_of_now
from fieldbook.workbook.photos import photos_of
from fieldbook.workbook.raw import RawSheet, open_raw

_SHARE_OF_LABELS = 0.6
_MOST_HEADER_LINES = 4


@dataclass(frozen=True, kw_only=True)
class Header:
    """Where a sheet's columns are: the row they are named in, and each one's position."""

    row: int
    columns: Mapping[str, int]
    by_mark: bool


@dataclass(frozen=True, kw_only=True)
class ReadBook:
    """A book as read, or None with the reason among the problems."""

    book: BookEntries | None
    problems: tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True)
class ReadRoster:
    """A roster sheet as read, or None with the reason among the problems.

    ``units`` are those that the roster was written in; None where its mark is gone.
    """

    sheet: SheetEntries | None
    problems: tuple[Problem, ...]
    units: System | None = None


def read_book(
    data: bytes, file: str, *, identities: Path | None = None, keep_position: bool = False
) -> ReadBook:
    """Read a book's bytes; every fault is a problem that carries the file's name.

    `identities` names the folder where `BOOK_ID.json` was kept when a book was written. What was
    kept counts before what the file says of itself, and is found by the mark on any of its sheets,
    so that a book which lost its Identity sheet is still known. `keep_position` lets its pictures
    keep the place where they were taken.
    """
    raw, notes = open_raw(data)
    if raw is None:
        return ReadBook(book=None, problems=_named(notes, file))
    identity = _kept_identity(raw, identities) or _identity(raw)
    if identity is None:
        return _refused(file, problem("file-not-a-book"))
    form = form_to_read(identity.round, identity.form_version, full=identity.full)
    if isinstance(form, Problem):
        return _refused(file, form)
    found, more = _sheets(_as_now(raw, form), form.sheets)
    shown = [found[one.sheet.name] for one in form.sheets if _shows(one, found)]
    photos, faults = photos_of(data, shown, keep_position=keep_position)
    book = BookEntries(
        file=file,
        sha256=hashlib.sha256(data).hexdigest(),
        identity=identity,
        sheets=with_choices_of_now(found, form, identity.language),
        problems=_named((*notes, *form.notes, *more, *faults), file),
        photos=photos,
    )
    return ReadBook(book=book, problems=())


def _shows(form: SheetForm, found: Mapping[str, SheetEntries]) -> bool:
    return form.sheet.pictures and form.sheet.name in found


def _as_now(raw: tuple[RawSheet, ...], form: ReadForm) -> tuple[RawSheet, ...]:
    """Let the sheets of an older form name their columns as the form does now."""
    return tuple(
        replace(sheet, rows=with_heads_of_now(sheet.rows, sheet.title, form)) for sheet in raw
    )


def read_roster(data: bytes, file: str) -> ReadRoster:
    """Read a roster's bytes."""
    raw, notes = open_raw(data)
    if raw is None:
        return ReadRoster(sheet=None, problems=_named(notes, file))
    found, more = _sheets(raw, (ROSTER_FORM,))
    sheet = found.get(ROSTER_FORM.sheet.name)
    if sheet is None:
        return ReadRoster(sheet=None, problems=_named((problem("file-not-a-roster"),), file))
    written = {end for end in _mark_ends(raw) if end in set(System)}
    units = System(min(written)) if len(written) == 1 else None
    return ReadRoster(sheet=sheet, problems=_named((*notes, *more), file), units=units)


def _refused(file: str, why: Problem) -> ReadBook:
    return ReadBook(book=None, problems=_named((why,), file))


def _named(problems: Iterable[Problem], file: str) -> tuple[Problem, ...]:
    return tuple(found.in_file(file) for found in problems)


def _identity(raw: Iterable[RawSheet]) -> Identity | None:
    for sheet in raw:
        if sheet.value(0, 0) == IDENTITY_NAME:
            return identity_from_json(str(sheet.value(1, 1)))
    return None


def _kept_identity(raw: Iterable[RawSheet], identities: Path | None) -> Identity | None:
    for book_id in _marked_ids(raw):
        kept = identities / f"{book_id}.json" if identities else None
        if kept and kept.is_file():
            return identity_from_json(kept.read_text("utf-8"))
    return None


def _marked_ids(raw: Iterable[RawSheet]) -> Iterator[str]:
    """Find the book's name in the marks of its sheets; only plain names, never a path."""
    return (end for end in _mark_ends(raw) if end.replace("-", "").isalnum() and end.isascii())


def _mark_ends(raw: Iterable[RawSheet]) -> Iterator[str]:
    """Find what stands behind the last colon of every mark."""
    for sheet in raw:
        for values in sheet.rows[:HEADER_ROWS]:
            for value in values:
                if isinstance(value, str) and value.startswith(f"{MARK}:"):
                    yield value.rpartition(":")[2]


def _sheets(
    raw: Iterable[RawSheet], forms: Iterable[SheetForm]
) -> tuple[dict[str, SheetEntries], list[Problem]]:
    left = list(raw)
    found: dict[str, SheetEntries] = {}
    problems: list[Problem] = []
    for form in forms:
        match = _find(left, form)
        if match is None:
            problems.append(problem("sheet-missing", sheet=phrase(form.sheet.label)))
            continue
        sheet, header = match
        left.remove(sheet)
        problems.extend(_shape_problems(sheet, header, form))
        found[form.sheet.name] = _entries(sheet, header, form)
        problems.extend(_hidden_problems(sheet, found[form.sheet.name]))
    return found, problems


def _find(left: Sequence[RawSheet], form: SheetForm) -> tuple[RawSheet, Header] | None:
    for find in (_header_by_mark, _header_by_labels):
        for sheet in left:
            header = find(sheet, form)
            if header is not None:
                return sheet, header
    return None


def _header_by_mark(sheet: RawSheet, form: SheetForm) -> Header | None:
    mark = f"{MARK}:{form.sheet.name}:"
    for row, values in enumerate(sheet.rows[:HEADER_ROWS]):
        if any(isinstance(value, str) and value.startswith(mark) for value in values):
            at = {value: index for index, value in enumerate(values) if isinstance(value, str)}
            known = {column.name for column in form.columns}
            return Header(
                row=row,
                columns={name: index for name, index in at.items() if name in known},
                by_mark=True,
            )
    return None


def _header_by_labels(sheet: RawSheet, form: SheetForm) -> Header | None:
    for language in SHIPPED_LANGUAGES:
        labels = {folded(say(column.label, language)): column.name for column in form.columns}
        for row, values in enumerate(sheet.rows[:HEADER_ROWS]):
            at = {
                labels[folded(value)]: index
                for index, value in enumerate(values)
                if isinstance(value, str) and folded(value) in labels
            }
            if len(at) >= _SHARE_OF_LABELS * len(labels):
                return Header(row=row, columns=at, by_mark=False)
    return None


def _shape_problems(sheet: RawSheet, header: Header, form: SheetForm) -> list[Problem]:
    place = Place(sheet=sheet.title)
    wanted = (one for one in form.columns if one.role is not Role.PRINTED and not one.late)
    problems = [
        problem("column-missing", place, column=phrase(column.label))
        for column in wanted
        if column.name not in header.columns
    ]
    label = form.sheet.label
    if not any(sheet.title == say(label, language) for language in SHIPPED_LANGUAGES):
        problems.append(problem("sheet-renamed", place, sheet=phrase(label), typed=sheet.title))
    order = [
        header.columns[column.name] for column in form.columns if column.name in header.columns
    ]
    if order != sorted(order):
        problems.append(problem("column-moved", place))
    return problems


def _entries(sheet: RawSheet, header: Header, form: SheetForm) -> SheetEntries:
    letters = {name: column_letters(at + 1) for name, at in header.columns.items()}
    columns, names = tuple(header.columns.items()), header.columns.keys()
    marks = sheet.marks(letters)
    rows = []
    for at in range(header.row + 1, len(sheet.rows)):
        number = at + 1
        cells = RowCells(sheet.typed(at, columns), letters, number, marks.get(number, {}))
        if cells.is_filled(names):
            rows.append(EntryRow(number=number, cells=cells))
    skipped = _header_lines(rows, form)
    return SheetEntries(name=form.sheet.name, title=sheet.title, rows=tuple(rows[skipped:]))


def _header_lines(rows: Sequence[EntryRow], form: SheetForm) -> int:
    """Count the lines between the mark and the first row, of which somebody may have lost some."""
    first = rows[:_MOST_HEADER_LINES]
    return max(_header_lines_in(first, form, language) for language in SHIPPED_LANGUAGES)


def _header_lines_in(rows: Sequence[EntryRow], form: SheetForm, language: str) -> int:
    title = f"{folded(say(form.sheet.label, language))}. "
    labels = {folded(say(column.label, language)) for column in form.columns}
    last = 0
    for count, row in enumerate(rows, start=1):
        texts = [folded(value) for value in row.cells.typed.values() if isinstance(value, str)]
        is_title = len(texts) == 1 and texts[0].startswith(title)
        are_labels = sum(text in labels for text in texts) >= _SHARE_OF_LABELS * len(texts) > 0
        if is_title or are_labels or (count == last + 1 and _is_unit_line(row, form, language)):
            last = count
    return last


def _is_unit_line(row: EntryRow, form: SheetForm, language: str) -> bool:
    units = {column.name: column.unit for column in form.columns}
    return all(
        value in {units[name].label(system, language) for system in System}
        for name, value in row.cells.typed.items()
    )


def _hidden_problems(sheet: RawSheet, entries: SheetEntries) -> list[Problem]:
    return [
        problem("rows-hidden", Place(sheet=sheet.title), typed=row.number)
        for row in entries.rows
        if row.number in sheet.hidden
    ]
