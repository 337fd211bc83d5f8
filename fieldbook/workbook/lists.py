"""The hidden sheets: every list that a cell may be picked from, and the book's identity."""

import dataclasses
import json
from collections.abc import Iterable, Mapping
from typing import Any

from xlsxwriter.utility import xl_col_to_name

from fieldbook.entries import Identity, VisitSlip
from fieldbook.forms.layout import SheetForm
from fieldbook.schema import Column
from fieldbook.words import say
from fieldbook.workbook.paper import Paper, must

LISTS_TITLE, IDENTITY_TITLE = "Lists", "Identity"
IDENTITY_NAME = "silkbook_book"
_IDENTITY_FORMAT = 1


def list_values(column: Column, language: str) -> tuple[str | float, ...]:
    """Return what a cell of a column may be picked from, the common value first."""
    if column.choices:
        return tuple(say(choice.label, language) for choice in column.choices)
    return column.picks


def write_lists(
    paper: Paper,
    sheet: Any,
    forms: Iterable[SheetForm],
    language: str,
    kernel_counts: Mapping[str, float],
) -> dict[str, str]:
    """Fill the hidden Lists sheet; return each list's range by ``sheet.column``."""
    ranges: dict[str, str] = {}
    at = 0
    for form in forms:
        for column in form.entries:
            values = list_values(column, language)
            if values:
                name = f"{form.sheet.name}.{column.name}"
                ranges[name] = _write_list(paper, sheet, at, name, values)
                at += 1
            if column.name == "grain_fill":
                counts = [kernel_counts[choice.key] for choice in column.choices]
                ranges["kernel_counts"] = _write_list(paper, sheet, at, "kernel_counts", counts)
                at += 1
    return ranges


def _write_list(paper: Paper, sheet: Any, at: int, name: str, values: Iterable[Any]) -> str:
    paper.text(sheet, 0, at, name)
    last = 0
    for last, value in enumerate(values, start=1):
        if isinstance(value, str):
            paper.text(sheet, last, at, value)
        else:
            must(sheet.write_number(last, at, value))
    letter = xl_col_to_name(at)
    return f"{LISTS_TITLE}!${letter}$2:${letter}${last + 1}"


def write_identity(paper: Paper, identity: Identity) -> None:
    """Write the hidden Identity sheet and the defined name that points to it."""
    sheet = paper.sheet(IDENTITY_TITLE)
    paper.text(sheet, 0, 0, IDENTITY_NAME)
    paper.text(sheet, 0, 1, identity.book_id)
    must(sheet.write_number(1, 0, _IDENTITY_FORMAT))
    paper.text(sheet, 1, 1, identity_json(identity))
    must(paper.book.define_name(IDENTITY_NAME, f"={IDENTITY_TITLE}!$B$1"))
    sheet.hide()


def identity_json(identity: Identity) -> str:
    """Write an identity as one line of JSON."""
    return json.dumps(dataclasses.asdict(identity), sort_keys=True, separators=(",", ":"))


def identity_from_json(text: str) -> Identity | None:
    """Read an identity back; None where it is not one."""
    try:
        raw = json.loads(text)
        visits = tuple(VisitSlip(**slip) for slip in raw.pop("visits"))
        return Identity(visits=visits, **raw)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None
