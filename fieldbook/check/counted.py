"""The ears and stops of a book's visit, as far as nothing in their rows puts them in doubt."""

from collections.abc import Mapping
from typing import Any

from fieldbook.check.history import EarCount, StopCount, ear_count, stop_count
from fieldbook.check.rows import Draft
from fieldbook.check.visit import RowKey, VisitDraft


def ears_of(visit: VisitDraft) -> dict[RowKey, EarCount]:
    """Return what was counted on each ear of a visit, by stop and ear."""
    rows = visit.rows.get("ears", {}).items()
    return {key: ear_count(key[0], _standing(draft)) for key, draft in rows}


def stops_of(visit: VisitDraft) -> tuple[StopCount, ...]:
    """Return the stand at each stop of a visit that lies where it was laid out."""
    width, units = visit.slip.row_width_in, visit.book_units
    rows = visit.rows.get("stops", {}).items()
    counts = (
        stop_count(key[0], _standing(draft), row_width_in=width, units=units) for key, draft in rows
    )
    return tuple(count for count in counts if count is not None)


def _standing(draft: Draft) -> Mapping[str, Any]:
    if not draft.findings:
        return draft.values
    return {name: value for name, value in draft.values.items() if not draft.is_doubted(name)}
