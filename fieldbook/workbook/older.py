"""Read a book of the form before: its headers and choices in the names of now."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from fieldbook.entries import EntryRow, SheetEntries
from fieldbook.forms.migrations import ReadForm
from fieldbook.schema import Column
from fieldbook.words import SHIPPED_LANGUAGES, say
from fieldbook.workbook.grid import MARK

HEADER_ROWS = 30


def folded(text: str) -> str:
    """Write a text so that case and spaces make no difference."""
    return " ".join(text.replace("\xa0", " ").split()).casefold()


def with_heads_of_now(
    rows: Sequence[Sequence[Any]], title: str, form: ReadForm
) -> Sequence[Sequence[Any]]:
    """Let a sheet's header rows name renamed columns as the form does now."""
    heads = _heads(rows, title, form)
    if not heads:
        return rows
    top = [[_renamed(value, heads) for value in row] for row in rows[:HEADER_ROWS]]
    return [*top, *rows[HEADER_ROWS:]]


def _renamed(value: Any, heads: Mapping[str, str]) -> Any:
    if not isinstance(value, str):
        return value
    return heads.get(value) or heads.get(folded(value), value)


def _heads(rows: Sequence[Sequence[Any]], title: str, form: ReadForm) -> dict[str, str]:
    """Return what stood in the headers before, and what stands there now, for one sheet."""
    if form.step is None:
        return {}
    sheets = {one.sheet.name: one.sheet for one in form.sheets}
    name = _marked(rows) or next((n for n, s in sheets.items() if title in _said(s.label)), None)
    heads: dict[str, str] = {}
    for (sheet, column), former in form.step.columns_renamed.items():
        if sheet == name and sheet in sheets:
            heads[former.name] = column
            label = sheets[sheet].column(column).label
            for then, now in zip(_said(former.label), _said(label), strict=True):
                heads.setdefault(folded(then), now)
    return heads


def _said(text: str) -> list[str]:
    """Say a text in every language that a book may have."""
    return [say(text, language) for language in SHIPPED_LANGUAGES]


def _marked(rows: Sequence[Sequence[Any]]) -> str | None:
    """Return the sheet that the mark in the hidden key row names."""
    for row in rows[:HEADER_ROWS]:
        for value in row:
            if isinstance(value, str) and value.startswith(f"{MARK}:"):
                return value.split(":")[1]
    return None


def with_choices_of_now(
    found: Mapping[str, SheetEntries], form: ReadForm, language: str
) -> dict[str, SheetEntries]:
    """Let cells that were picked from an older list say the choice of now."""
    sheets = dict(found)
    choices = form.step.choices if form.step else {}
    columns = {one.sheet.name: one.sheet for one in form.sheets}
    for (name, column), renamed in choices.items():
        if name in sheets:
            told = columns[name].column(column)
            rows = tuple(_repicked(row, told, renamed, language) for row in sheets[name].rows)
            sheets[name] = replace(sheets[name], rows=rows)
    return sheets


def _repicked(row: EntryRow, column: Column, renamed: Mapping[str, str], language: str) -> EntryRow:
    typed = row.cells.typed.get(column.name)
    if not isinstance(typed, str):
        return row
    known = {
        folded(said): key for old, key in renamed.items() for said in (old, say(old, language))
    }
    key = known.get(folded(typed))
    if key is None:
        return row
    now = say(column.choice_label(key), language)
    return EntryRow(number=row.number, cells=row.cells.typing(column.name, now))
