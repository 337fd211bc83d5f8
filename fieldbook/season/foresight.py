"""Judge a book by what the ledger holds, and tell what would become of it.

Taking in and checking have this in common. It loads no SQLAlchemy where a short look into the
ledger is enough.
"""

import sqlite3
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from fieldbook import __version__
from fieldbook.check.book import empty_cells
from fieldbook.check.verdict import CheckedBook
from fieldbook.entries import BookEntries
from fieldbook.ledger.earlier import Earlier
from fieldbook.ledger.entry import Entry
from fieldbook.ledger.event_parts import utc_text
from fieldbook.ledger.events import BookEvent
from fieldbook.ledger.glance import glanced
from fieldbook.season.judging import judge, local
from fieldbook.season.past import PastVisits
from fieldbook.season.season import Season
from fieldbook.season.taken import FOLDER, Origin, Taken
from fieldbook.season.walked import as_walked
from fieldbook.weather.temps import SeasonTemps


def foreseen(season: Season, path: Path, book: BookEntries, now: datetime) -> Taken:
    """Tell what would become of a book now; nothing changes."""
    try:
        with glanced(season.folder) as glance:
            if glance is not None:
                return _foreseen(season, glance, path, book, now)
    except sqlite3.Error:
        pass  # the ledger itself waits, mends, or says what is wrong
    from fieldbook.ledger.ledger import Ledger

    with Ledger(season.folder) as ledger:
        return _foreseen(season, ledger, path, book, now)


def _foreseen(
    season: Season, earlier: Earlier, path: Path, book: BookEntries, now: datetime
) -> Taken:
    book = as_walked(earlier, book)
    verdict = judge_by_ledger(season, earlier, book, local(season, now).date())
    event = book_event(season.hashes(), earlier, book, verdict, now, FOLDER)
    return taken_as(path, path.name, verdict, earlier.foresee(event))


def judge_by_ledger(
    season: Season,
    earlier: Earlier,
    book: BookEntries,
    day: date,
    temps: SeasonTemps | None = None,
    sent_by: str | None = None,
) -> CheckedBook:
    """Judge a book by the visits that a ledger holds, too, and by what its scout cleared."""
    past = PastVisits(earlier, [slip.field_id for slip in book.identity.visits], season.roster)
    verdict = judge(season, book, day, past=past, temps=temps, sent_by=sent_by)
    return _with_cleared(earlier, book, verdict)


def _with_cleared(earlier: Earlier, book: BookEntries, verdict: CheckedBook) -> CheckedBook:
    """Add what the scout of a correction book cleared: it came to him filled."""
    if book.identity.revises is None:
        return verdict
    here = (one for one in empty_cells(book) if one.visit_id in verdict.visits)
    cleared = earlier.cleared(book.identity, here)
    return replace(verdict, readings=(*verdict.readings, *cleared))


def book_event(
    hashes: Mapping[str, str],
    earlier: Earlier,
    book: BookEntries,
    verdict: CheckedBook,
    now: datetime,
    origin: Origin,
) -> BookEvent:
    """Make the event that takes a book in, with the number that comes next."""
    return BookEvent(
        sequence=earlier.next_sequence(),
        sha256=book.sha256,
        file=book.file,
        source=origin.source,
        sender=origin.sender,
        message=origin.message,
        sent_by=origin.scout,
        received=utc_text(now),
        tool=__version__,
        judged_against=hashes,
        identity=book.identity,
        verdict=verdict,
    )


def taken_as(path: Path, name: str, verdict: CheckedBook, entries: Mapping[str, Entry]) -> Taken:
    """Tell of a book what counts: questions about readings that gave way are not asked."""
    asked = tuple(question for entry in entries.values() for question in entry.questions)
    told = replace(verdict, questions=asked)
    visits = verdict.visits
    return Taken(path=path, given=name, accepted=True, verdict=told, problems=(), visits=visits)
