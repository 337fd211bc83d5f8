"""Take books in: read each apart, check it, keep it, enter it reading by reading.

The order makes a crash harmless: originals are kept first, then their events, then the ledger
follows. Some files are kept at once, since a disk takes as long for one as for several. A file is
known by its content, so the same one is never taken in twice.
"""

import errno
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial
from itertools import chain
from pathlib import Path
from time import monotonic
from typing import Any

from fieldbook.garbage import seldom_collected
from fieldbook.ledger.entry import Entry
from fieldbook.ledger.events import BookEvent, original_path, write_events
from fieldbook.ledger.folder import SeasonFolder, sweep
from fieldbook.ledger.ledger import Ledger, writing
from fieldbook.ledger.photos import photo_files
from fieldbook.ledger.safely import write_all_safely
from fieldbook.problems import Place, problem
from fieldbook.season.changed import changed_since
from fieldbook.season.foresight import book_event, judge_by_ledger, taken_as
from fieldbook.season.incoming import move_to_taken, set_aside, tidy
from fieldbook.season.judging import local
from fieldbook.season.loading import Loaded, is_gone, read_books
from fieldbook.season.season import Season
from fieldbook.season.taken import FOLDER, Origin, Taken
from fieldbook.season.walked import as_walked
from fieldbook.weather.temps import SeasonTemps
from fieldbook.words import one_line
from fieldbook.workbook.read import ReadBook
from fieldbook.worker import Worker

NO_ROOM = (errno.ENOSPC, errno.EDQUOT)
_MOST_AT_ONCE, _MOST_BYTES, _MOST_SECONDS = 8, 8 * 2**20, 1.0  # one go ends at any of them
_SLIPS = (
    *(ArithmeticError, AssertionError, AttributeError, LookupError),
    *(RuntimeError, TypeError, ValueError),
)

_Read = tuple[Path, bytes, ReadBook]


@dataclass(frozen=True, kw_only=True)
class _Kept:
    """What is kept of a book: its event, and before that its original and photos."""

    event: BookEvent
    files: Mapping[Path, bytes]


@dataclass(frozen=True, kw_only=True)
class _Judged:
    """What became of one file, and what is to be kept of it."""

    taken: Taken
    kept: _Kept | None = None


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
    with seldom_collected(), writing(season.folder) as ledger:
        with ledger.turn():
            sweep(season.folder)
            tidy(season.folder)
        temps = season.temps(local(season, now).date())
        hashes = season.hashes()
        judged = partial(_judged, season, ledger, temps, hashes, now, origin)
        reads = read_books(season, paths, origin=origin, reader=reader)
        for first in reads:
            with ledger.turn():
                done = _kept_at_once(season, ledger, map(judged, _at_once(first, reads)))
                taken = tuple(_put_away(season, one, now) for one in done)
            yield from taken


def _at_once(first: _Read, others: Iterator[_Read]) -> Iterator[_Read]:
    """Yield the files that are kept at once; nobody waits long for the first of them."""
    began, size = monotonic(), 0
    for count, one in enumerate(chain([first], others), start=1):
        yield one
        _, data, _ = one
        size += len(data)
        if count == _MOST_AT_ONCE or size > _MOST_BYTES or monotonic() - began > _MOST_SECONDS:
            return


def _kept_at_once(season: Season, ledger: Ledger, judged: Iterable[_Judged]) -> Iterator[Taken]:
    """Keep the files that are accepted, all or none; tell what became of each file."""
    with ledger.together():
        done = list(judged)
        kept = [one.kept for one in done if one.kept]
        _keep(season.folder, kept)
    for one in done:
        if one.taken.accepted or not is_gone(season, one.taken.path):
            yield one.taken


def _keep(folder: SeasonFolder, kept: Sequence[_Kept]) -> None:
    """Keep books for good: an event has its original and its photos before it is there."""
    files = {path: data for one in kept for path, data in one.files.items()}
    write_all_safely({path: data for path, data in files.items() if not path.exists()})
    write_events(folder, [one.event for one in kept])


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


def _judged(
    season: Season,
    ledger: Ledger,
    temps: SeasonTemps,
    hashes: Mapping[str, str],
    now: datetime,
    origin: Origin,
    sent: _Read,
) -> _Judged:
    """Judge one file and enter it in the ledger, which is not for good before it is kept."""
    path, data, read = sent

    def turned_down(**found: Any) -> _Judged:
        given = origin.name_of(path)
        return _Judged(taken=Taken(path=path, given=given, accepted=False, verdict=None, **found))

    if read.book is None:
        return turned_down(problems=read.problems)
    before = ledger.taken_in(read.book.sha256)
    if before:
        sequence, received = before
        seen = problem("book-seen", Place(file=read.book.file), when=received[:10])
        return turned_down(problems=(seen,), seen_as=sequence)
    try:
        day = local(season, now).date()
        book = as_walked(ledger, read.book)
        verdict = judge_by_ledger(season, ledger, book, day, temps, origin.scout)
    except _SLIPS as slip:  # ours, not the scout's: this file waits, the others go on
        detail = one_line(f"{type(slip).__name__}: {slip}")
        found = problem("file-not-judged", Place(file=read.book.file), detail=detail)
        return turned_down(problems=(found,))
    if not verdict.readings and not verdict.photos:
        return turned_down(problems=verdict.problems)
    event = book_event(hashes, ledger, book, verdict, now, origin)
    event, entries = _entered(ledger, event)
    taken = taken_as(path, origin.name_of(path), event.verdict, entries)
    taken = replace(taken, book_id=event.identity.book_id)
    original = original_path(season.folder, event.sha256, _suffix(data))
    photos = photo_files(season.folder, book, verdict.photos)
    return _Judged(taken=taken, kept=_Kept(event=event, files={original: data, **photos}))


def _entered(ledger: Ledger, event: BookEvent) -> tuple[BookEvent, Mapping[str, Entry]]:
    """Enter a book in the ledger; its verdict then tells what changed since others came in."""
    entries = ledger.foresee(event)
    told = (*event.verdict.problems, *changed_since(ledger, entries, event.file))
    event = replace(event, verdict=replace(event.verdict, problems=told))
    ledger.apply(event, entries)
    return event, entries


def _suffix(data: bytes) -> str:
    """Tell the two accepted formats apart by their content; the name is only data."""
    return ".ods" if b"application/vnd.oasis.opendocument.spreadsheet" in data[:200] else ".xlsx"
