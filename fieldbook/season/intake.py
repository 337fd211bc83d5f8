"""Take books in: read each apart, check it, keep it, enter it reading by reading.

The order makes a crash harmless: the original is kept first, then its event, then the ledger
follows. A file is known by its content, so the same one is never taken in twice.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from fieldbook import __version__
from fieldbook.check.book import CheckedBook, check_book
from fieldbook.entries import BookEntries
from fieldbook.jobs import isolated
from fieldbook.problems import Place, Problem, Weight, problem, worst
from fieldbook.season.events import (
    BookEvent,
    event_paths,
    keep_original,
    kept_problems,
    next_sequence,
    write_event,
)
from fieldbook.season.folder import SeasonFolder, season_lock, sweep
from fieldbook.season.ledger import Ledger
from fieldbook.season.past import PastVisits
from fieldbook.season.season import Season
from fieldbook.season.tables import ledger_sheets, row_text
from fieldbook.season.temps import SeasonTemps
from fieldbook.workbook.read import ReadBook, read_book


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What became of one file."""

    path: Path
    accepted: bool
    verdict: CheckedBook | None
    problems: tuple[Problem, ...]
    visits: tuple[str, ...] = ()

    @property
    def open_problems(self) -> tuple[Problem, ...]:
        """Everything a person should look at now."""
        return (*self.problems, *(self.verdict.open_problems if self.verdict else ()))

    @property
    def needs_a_look(self) -> bool:
        """Say whether something should be looked at: refused, seen before, or questioned."""
        return not self.accepted or worst(self.open_problems) in (Weight.ERROR, Weight.ASK)


def _read(path: Path) -> tuple[Path, bytes, ReadBook]:
    try:
        data = path.read_bytes()
    except OSError as fault:
        found = problem("file-unreadable", Place(file=path.name), detail=fault.strerror or "?")
        return path, b"", ReadBook(book=None, problems=(found,))
    return path, data, ReadBook(book=None, problems=())


def read_books(season: Season, paths: Iterable[Path]) -> Iterator[tuple[Path, bytes, ReadBook]]:
    """Read all files in order; what kills or stalls its reader is one file's fault alone."""
    loaded = [_read(path) for path in paths if not _is_gone(season, path)]
    identities = season.folder.identities
    wanted = [(data, path.name, identities) for path, data, read in loaded if not read.problems]
    outcomes = isolated(_read_one, wanted)
    for path, data, read in loaded:
        if read.problems:
            yield path, data, read
            continue
        outcome = next(outcomes)
        if outcome.value is None:
            died = problem("file-reader-died", Place(file=path.name))
            yield path, data, ReadBook(book=None, problems=(died,))
        else:
            yield path, data, outcome.value


def _is_gone(season: Season, path: Path) -> bool:
    """Say whether another intake has meanwhile taken this file from the incoming folder."""
    return not path.exists() and season.folder.incoming in path.parents


def _read_one(what: tuple[bytes, str, Path]) -> ReadBook:
    data, file, identities = what
    return read_book(data, file, identities=identities)


def take_in(season: Season, paths: list[Path], *, now: datetime) -> Iterator[Taken]:
    """Take files in, in order; one result a file. `now` carries a time zone."""
    with season_lock(season.folder), Ledger(season.folder) as ledger:
        sweep(season.folder)
        temps = season.temps(_day(season, now))
        for path, data, read in read_books(season, paths):
            taken = _take_one(season, ledger, path, data, read, now, temps)
            if taken.accepted or _was_seen(taken):
                _move_away(season, path)
            yield taken


def _take_one(
    season: Season,
    ledger: Ledger,
    path: Path,
    data: bytes,
    read: ReadBook,
    now: datetime,
    temps: SeasonTemps,
) -> Taken:
    if read.book is None:
        return Taken(path=path, accepted=False, verdict=None, problems=read.problems)
    before = ledger.has_file(read.book.sha256)
    if before:
        seen = problem("book-seen", Place(file=path.name), when=before[:10])
        return Taken(path=path, accepted=False, verdict=None, problems=(seen,))
    day = _day(season, now)
    context = season.context(_past(ledger, read.book), today=day, received=day, temps=temps)
    verdict = check_book(read.book, context)
    if not verdict.readings:
        return Taken(path=path, accepted=False, verdict=None, problems=verdict.problems)
    kept = _changed_since(ledger, verdict, path.name)
    verdict = CheckedBook(
        readings=verdict.readings,
        questions=verdict.questions,
        problems=(*verdict.problems, *kept),
    )
    _enter(season, ledger, path, data, read.book, verdict, now)
    return Taken(path=path, accepted=True, verdict=verdict, problems=(), visits=verdict.visits)


def _past(ledger: Ledger, book: BookEntries) -> PastVisits:
    return PastVisits(ledger, [slip.field_id for slip in book.identity.visits])


def _enter(
    season: Season,
    ledger: Ledger,
    path: Path,
    data: bytes,
    book: BookEntries,
    verdict: CheckedBook,
    now: datetime,
) -> None:
    keep_original(season.folder, data, book.sha256, _suffix(data))
    event = BookEvent(
        sequence=next_sequence(season.folder),
        sha256=book.sha256,
        file=path.name,
        source="folder",
        sender=None,
        received=now.astimezone(ZoneInfo("UTC")).strftime("%Y-%m-%dT%H:%M:%SZ"),
        tool=__version__,
        judged_against=season.hashes(),
        identity=book.identity,
        verdict=verdict,
    )
    write_event(season.folder, event)
    ledger.catch_up()


def _suffix(data: bytes) -> str:
    """Tell the two accepted formats apart by their content; the name is only data."""
    return ".ods" if b"application/vnd.oasis.opendocument.spreadsheet" in data[:200] else ".xlsx"


def _changed_since(ledger: Ledger, verdict: CheckedBook, file: str) -> list[Problem]:
    """Tell, in a line a visit, what a later book left empty or replaced of an earlier one."""
    found = []
    for visit_id in verdict.visits:
        before = ledger.typed_now(visit_id)
        now = {
            (reading.sheet, row_text(reading.row), reading.column): reading.typed
            for reading in verdict.readings
            if reading.visit_id == visit_id
        }
        emptied = [cell for cell in before if cell not in now]
        changed = [cell for cell in before if cell in now and now[cell] != before[cell]]
        place = Place(file=file, visit_id=visit_id)
        if emptied:
            found.append(_told("value-kept", place, visit_id, emptied, typed=before[emptied[0]]))
        if changed:
            first = changed[0]
            found.append(
                _told(
                    "value-replaced", place, visit_id, changed, typed=before[first], now=now[first]
                )
            )
    return found


def _told(
    code: str, place: Place, visit_id: str, cells: list[tuple[str, str, str]], **params: str
) -> Problem:
    first = cell_words(cells[0])
    return problem(code, place, visit=visit_id, count=len(cells), example=first, **params)


def cell_words(cell: tuple[str, str, str]) -> str:
    """Name a reading for a person, for example "Ears 1, 3 Rows around"."""
    name, row, column = cell
    sheet = next(sheet for sheet in ledger_sheets() if sheet.name == name)
    parts = (sheet.label, row, sheet.column(column).label)
    return " ".join(part for part in parts if part)


def _was_seen(taken: Taken) -> bool:
    return any(found.code == "book-seen" for found in taken.problems)


def _move_away(season: Season, path: Path) -> None:
    """Move a kept book out of the incoming folder; one from elsewhere stays where it is."""
    if season.folder.incoming.resolve() not in path.resolve().parents:
        return
    season.folder.taken.mkdir(parents=True, exist_ok=True)
    target = season.folder.taken / path.name
    count = 1
    while target.exists():
        count += 1
        target = season.folder.taken / f"{path.stem} ({count}){path.suffix}"
    path.rename(target)


def _day(season: Season, now: datetime) -> date:
    return now.astimezone(ZoneInfo(season.settings.time_zone)).date()


def check_file(season: Season, path: Path, *, now: datetime) -> Taken:
    """Check one file and change nothing."""
    *_, read = next(read_books(season, [path]))
    if read.book is None:
        return Taken(path=path, accepted=False, verdict=None, problems=read.problems)
    day = _day(season, now)
    if season.folder.ledger.exists():
        with Ledger(season.folder) as ledger:
            past = _past(ledger, read.book)
            verdict = check_book(read.book, season.context(past, today=day, received=day))
    else:
        verdict = check_book(read.book, season.context({}, today=day, received=day))
    return Taken(path=path, accepted=True, verdict=verdict, problems=(), visits=verdict.visits)


def rebuild(folder: SeasonFolder) -> tuple[int, list[Problem]]:
    """Replay the ledger from the kept events; return how many, and what is wrong with the kept.

    The new ledger is made beside the old one and takes its place only when every event could be
    replayed: a season whose kept folder was lost keeps the ledger that it has.
    """
    with season_lock(folder):
        problems = kept_problems(folder)
        if any(found.code != "kept-original-damaged" for found in problems):
            return 0, problems
        events = len(event_paths(folder))
        if not events and folder.ledger.exists():
            return 0, [problem("kept-empty")]
        fresh = folder.ledger.with_suffix(".rebuilt")
        fresh.unlink(missing_ok=True)
        with Ledger(folder, path=fresh):
            pass
        fresh.replace(folder.ledger)
        return events, problems
