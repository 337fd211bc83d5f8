"""Who read what, when, from which file, and what replaced what: every reading ever taken in."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import sqlalchemy as sa

from fieldbook.season.intake import cell_words
from fieldbook.season.ledger import Ledger
from fieldbook.season.tables import EVENTS, READINGS, VISITS


@dataclass(frozen=True, kw_only=True)
class PastReading:
    """One reading as it was taken in; ``replaced_by`` is the event that brought a later one."""

    visit_id: str
    what: str
    typed: str
    status: str
    cell: str
    event: int
    file: str
    scout: str
    received: str
    replaced_by: int | None


def field_history(ledger: Ledger, field_id: str) -> tuple[PastReading, ...]:
    """Return every reading of a field, by visit and place, the oldest of each first."""
    wanted = (
        sa.select(READINGS, EVENTS.c.file, EVENTS.c.scout, EVENTS.c.received)
        .join(EVENTS, EVENTS.c.sequence == READINGS.c.sequence)
        .join(VISITS, VISITS.c.visit_id == READINGS.c.visit_id)
        .where(VISITS.c.field_id == field_id)
        .order_by(*READINGS.primary_key)
    )
    return tuple(
        PastReading(
            visit_id=row["visit_id"],
            what=cell_words((row["sheet"], row["row"], row["name"])),
            typed=row["typed"],
            status=row["status"],
            cell=row["cell"],
            event=row["sequence"],
            file=row["file"],
            scout=row["scout"],
            received=row["received"],
            replaced_by=row["replaced_by"],
        )
        for row in ledger.rows(wanted)
    )


def changed_only(readings: Iterable[PastReading]) -> tuple[PastReading, ...]:
    """Keep the readings that something replaced, and what replaced them."""
    known = tuple(readings)
    moved = {(one.visit_id, one.what) for one in known if one.replaced_by is not None}
    return tuple(one for one in known if (one.visit_id, one.what) in moved)


def history_lines(readings: Iterable[PastReading]) -> Iterator[str]:
    """Say every reading in a line beneath its visit and file."""
    heading = ""
    for one in readings:
        here = f"{one.visit_id}  {one.scout}, {one.received[:10]}, {one.file}"
        if here != heading:
            heading = here
            yield heading
        end = f", replaced by event {one.replaced_by}" if one.replaced_by else ""
        yield f"  {one.what}: '{one.typed}' in {one.cell}, {one.status}{end}"
