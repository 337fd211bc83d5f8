"""Take books in: read each apart, check it, keep it, enter it reading by reading.

The order makes a crash harmless: the original is kept first, then its event, then the ledger
follows. A file is known by its content, so the same one is never taken in twice.
"""

import errno
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date, datetime
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

from fieldbook import __version__
from fieldbook.check.book import empty_cells
from fieldbook.check.verdict import CheckedBook
from fieldbook.entries import BookEntries
from fieldbook.ledger.entry import Entry
from fieldbook.ledger.events import BookEvent, keep_original, write_event
from fieldbook.ledger.folder import sweep
from fieldbook.ledger.ledger import Ledger, writing
from fieldbook.ledger.photos import keep_photos
from fieldbook.problems import Place, problem
from fieldbook.season.changed import changed_since
from fieldbook.season.incoming import move_to_taken, set_aside, tidy
from fieldbook.season.judging import judge, local
from fieldbook.season.loading import Loaded, is_gone, read_books
from fieldbook.season.past import PastVisits
from fieldbook.season.season import Season
from fieldbook.season.taken import FOLDER, Origin, Taken
from fieldbook.weather.temps import SeasonTemps
from fieldbook.words import one_line
from fieldbook.workbook.read import ReadBook
from fieldbook.worker import Worker

NO_ROOM = (errno.ENOSPC, errno.EDQUOT)
_SLIPS = (
    *(ArithmeticError, AssertionError, AttributeError, LookupError),
    *(RuntimeError, TypeError, ValueError),
)


def take_in(
    season: Season,
    paths: Iterable[Path],
    *,
    now: datetime,
    origin: Origin = FOLDER,
    reader: Worker[Loaded, ReadBook] | None = None,
) -> Iterator[Taken]:
    """Take files in, in order; one result a file. `now` carries a time zone.

    What lies in the incoming folder moves on: to taken/ once it is kept, or aside with its reason.
    `origin` says who sent the files, and `reader` is a worker that serves more than this call.
    """
    with writing(season.folder) as ledger:
        with ledger.turn():
            sweep(season.folder)
            tidy(season.folder)
        temps = season.temps(local(season, now).date())
        hashes = season.hashes()
        take = partial(_take_one, season, ledger, temps, hashes, now, origin)
        for path, data, read in read_books(season, paths, origin=origin, reader=reader):
            with ledger.turn():
                taken = take(path, data, read)
                if not taken.accepted and is_gone(season, path):
                    continue
                taken = _put_away(season, taken, now)
            yield taken


def _put_away(season: Season, taken: Taken, now: datetime) -> Taken:
    """Move a file where it belongs now; tell one that can't be moved, unless the disk is full."""
    try:
        if taken.accepted or taken.was_seen:
            move_to_taken(season.folder, taken.path)
            return taken
        aside = set_aside(
            season.folder,
            taken.path,
            taken.problems,
            when=local(season, now),
            language=season.language,
        )
    except OSError as fault:
        if fault.errno in NO_ROOM:
            raise
        detail = fault.strerror or type(fault).__name__
        found = problem("file-not-moved", Place(file=taken.name), detail=detail)
        return replace(taken, problems=(*taken.problems, found))
    return replace(taken, aside=aside)


def _take_one(
    season: Season,
    ledger: Ledger,
    temps: SeasonTemps,
    hashes: Mapping[str, str],
    now: datetime,
    origin: Origin,
    path: Path,
    data: bytes,
    read: ReadBook,
) -> Taken:
    turned_down = partial(
        Taken, path=path, given=origin.name_of(path), accepted=False, verdict=None
    )
    if read.book is None:
        return turned_down(problems=read.problems)
    before = ledger.taken_in(read.book.sha256)
    if before:
        sequence, received = before
        seen = problem("book-seen", Place(file=read.book.file), when=received[:10])
        return turned_down(problems=(seen,), seen_as=sequence)
    try:
        day = local(season, now).date()
        verdict = judge_by_ledger(season, ledger, read.book, day, temps, origin.scout)
    except _SLIPS as slip:  # ours, not the scout's: this file waits, the others go on
        detail = one_line(f"{type(slip).__name__}: {slip}")
        found = problem("file-not-judged", Place(file=read.book.file), detail=detail)
        return turned_down(problems=(found,))
    if not verdict.readings and not verdict.photos:
        return turned_down(problems=verdict.problems)
    event = _event(hashes, ledger, read.book, verdict, now, origin)
    entries = ledger.foresee(event)
    told = (*verdict.problems, *changed_since(ledger, entries, read.book.file))
    event = replace(event, verdict=replace(verdict, problems=told))
    keep_original(season.folder, data, event.sha256, _suffix(data))
    keep_photos(season.folder, read.book, verdict.photos)
    write_event(season.folder, event)
    ledger.enter(event, entries)
    taken = _taken(path, origin.name_of(path), event.verdict, entries)
    return replace(taken, book_id=event.identity.book_id)


def judge_by_ledger(
    season: Season,
    ledger: Ledger,
    book: BookEntries,
    day: date,
    temps: SeasonTemps | None = None,
    sent_by: str | None = None,
) -> CheckedBook:
    """Judge a book by the visits that a ledger holds, too, and by what its scout cleared."""
    past = PastVisits(ledger, [slip.field_id for slip in book.identity.visits], season.roster)
    verdict = judge(season, book, day, past=past, temps=temps, sent_by=sent_by)
    return _with_cleared(ledger, book, verdict)


def _with_cleared(ledger: Ledger, book: BookEntries, verdict: CheckedBook) -> CheckedBook:
    """Add what the scout of a correction book cleared: it came to him filled."""
    if book.identity.revises is None:
        return verdict
    here = (one for one in empty_cells(book) if one.visit_id in verdict.visits)
    cleared = ledger.cleared(book.identity, here)
    return replace(verdict, readings=(*verdict.readings, *cleared))


def _event(
    hashes: Mapping[str, str],
    ledger: Ledger,
    book: BookEntries,
    verdict: CheckedBook,
    now: datetime,
    origin: Origin,
) -> BookEvent:
    return BookEvent(
        sequence=ledger.next_sequence(),
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


def utc_text(now: datetime) -> str:
    """Write a moment as events have it."""
    return now.astimezone(ZoneInfo("UTC")).strftime("%Y-%m-%dT%H:%M:%SZ")


def _taken(path: Path, name: str, verdict: CheckedBook, entries: Mapping[str, Entry]) -> Taken:
    """Tell of a book what counts: questions about readings that gave way are not asked."""
    asked = tuple(question for entry in entries.values() for question in entry.questions)
    told = replace(verdict, questions=asked)
    visits = verdict.visits
    return Taken(path=path, given=name, accepted=True, verdict=told, problems=(), visits=visits)


def _suffix(data: bytes) -> str:
    """Tell the two accepted formats apart by their content; the name is only data."""
    return ".ods" if b"application/vnd.oasis.opendocument.spreadsheet" in data[:200] else ".xlsx"


def foreseen(season: Season, path: Path, book: BookEntries, now: datetime) -> Taken:
    """Tell what would become of a book now; nothing changes."""
    with Ledger(season.folder) as ledger:
        verdict = judge_by_ledger(season, ledger, book, local(season, now).date())
        entries = ledger.foresee(_event(season.hashes(), ledger, book, verdict, now, FOLDER))
    return _taken(path, path.name, verdict, entries)
