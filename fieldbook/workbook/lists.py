"""The hidden sheets: every list that a cell may be picked from, and the book's identity."""

from __future__ import annotations

import dataclasses
import json
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from fieldbook.entries import Identity, VisitSlip, identity_from
from fieldbook.forms.layout import SheetForm
from fieldbook.schema import Column
from fieldbook.units import System
from fieldbook.words import say

if TYPE_CHECKING:
    from fieldbook.workbook.paper import Paper

LISTS_TITLE, IDENTITY_TITLE = "Lists", "Identity"
IDENTITY_NAME = "silkbook_book"
_IDENTITY_FORMAT = 2
_LONGEST, _MOST_VISITS, _MOST_ROWS = 200, 100, 60
_WIDEST_ROW_IN, _MOST_EVENTS = 100, 1_000_000


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
    from xlsxwriter.utility import xl_col_to_name

    from fieldbook.workbook.paper import must

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
    from fieldbook.workbook.paper import must

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
    """Read an identity back; None where it is not one that a book could carry."""
    try:
        identity = identity_from(json.loads(text))
        return identity if _is_sound(identity) else None
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _is_sound(identity: Identity) -> bool:
    """Say whether every part is of its kind and size: a book comes from outside."""
    texts = (
        identity.book_id,
        identity.season_id,
        identity.round,
        identity.language,
        identity.scout,
    )
    return (
        all(_is_text(text) for text in texts)
        and (identity.revises is None or _is_text(identity.revises))
        and (identity.written_after is None or _is_count(identity.written_after, _MOST_EVENTS))
        and identity.units in set(System)
        and isinstance(identity.full, bool)
        and _is_count(identity.form_version, 1000)
        and len({slip.visit_id for slip in identity.visits}) == len(identity.visits) <= _MOST_VISITS
        and all(_is_sound_slip(slip) for slip in identity.visits)
    )


def _is_sound_slip(slip: VisitSlip) -> bool:
    width = slip.row_width_in
    return (
        all(_is_text(text) for text in (slip.visit_id, slip.field_id, slip.field, slip.grower))
        and slip.visit_id.startswith(f"{slip.field_id}.")
        and isinstance(width, int | float)
        and not isinstance(width, bool)
        and 0 < width <= _WIDEST_ROW_IN
        and isinstance(slip.rows, dict)
        and all(
            _is_text(name) and _is_count(count, _MOST_ROWS) for name, count in slip.rows.items()
        )
    )


def _is_text(value: object) -> bool:
    """Say whether this is a text that can be kept; ValueError for one with half a letter."""
    sound = isinstance(value, str) and 0 < len(value) <= _LONGEST
    return sound and b"\0" not in str(value).encode()


def _is_count(value: object, most: int) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 1 <= value <= most
