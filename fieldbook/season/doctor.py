"""Look whether a season folder is whole, and say what is wrong and how to mend it; change nothing.

The ledger is compared with a fresh replay of the kept events. Both are made beside the season, in a
passing folder: the ledger that lies there is copied first, with the journal of a killed command.
"""

import shutil
import sqlite3
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import ExitStack, closing
from dataclasses import dataclass
from pathlib import Path

import sqlalchemy as sa
from sqlalchemy.exc import SQLAlchemyError

from fieldbook.check.printed import printed_problems
from fieldbook.ledger.database import Database, OtherVersionError
from fieldbook.ledger.engine import file_engine, ledger_engine
from fieldbook.ledger.events import DamagedEventError, book_events, event_paths, read_events
from fieldbook.ledger.folder import SeasonFolder, book_files, digest, unfinished
from fieldbook.ledger.kept import kept_problems
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.tables import EVENTS, METADATA
from fieldbook.ledger.turn import season_turn
from fieldbook.problems import Problem, problem
from fieldbook.season.incoming import lone_reasons, without_reason
from fieldbook.season.season import Season, open_season
from fieldbook.words import one_line
from fieldbook.workbook.lists import identity_from_json

_WAIT_S = 5.0
_MOST_LETTERS = 160
_AT_ONCE = 1000


@dataclass(frozen=True, kw_only=True)
class Checkup:
    """What was looked at, and what is wrong."""

    originals: int = 0
    photos: int = 0
    events: int = 0
    ledger_rows: int = 0
    books_known: int = 0
    problems: tuple[Problem, ...] = ()

    @property
    def counts(self) -> dict[str, int]:
        """Return how much of each was looked at."""
        return {name: value for name, value in vars(self).items() if name != "problems"}


def checkup(path: Path) -> Checkup:
    """Look through a season folder; SeasonBusyError while another command writes in it."""
    season, why = open_season(path)
    folder = season.folder if season else SeasonFolder(path)
    problems = [*(season.problems if season else why)]
    with ExitStack() as held:
        try:
            held.enter_context(season_turn(folder, wait_s=_WAIT_S))
        except OSError as fault:  # a folder that can't be written can be looked at all the same
            params = {"folder": str(path), "detail": fault.strerror or "?"}
            problems.append(problem("not-writable", **params))
        kept = [*kept_problems(folder), *_misplaced(folder)]
        whole = not any(found.code.startswith("kept-event") for found in kept)
        rows, differing = _ledger(folder) if whole else (0, [])
        problems += [*kept, *differing, *_spare_originals(folder), *_spare_photos(folder)]
        problems += [*_identities(folder), *(_names(season) if season and whole else ())]
        problems += [*_leftovers(folder), *_incoming(folder)]
    return Checkup(
        originals=len(_files(folder.originals)),
        photos=len(_files(folder.photos)),
        events=len(event_paths(folder)),
        ledger_rows=rows,
        books_known=len(_files(folder.identities)),
        problems=tuple(problems),
    )


def checkup_line(found: Checkup) -> str:
    """Say what was looked at, in one line."""
    return (
        f"Looked at kept originals ({found.originals}), photos ({found.photos}), "
        f"events ({found.events}), rows of the ledger ({found.ledger_rows}), "
        f"written books ({found.books_known}): {len(found.problems) or 'nothing'} to tell."
    )


def _files(place: Path) -> list[Path]:
    """Return the files of a folder that are not hidden."""
    return [path for path in sorted(place.glob("[!.]*")) if path.is_file()]


def _misplaced(folder: SeasonFolder) -> Iterator[Problem]:
    """Find events that lie under another number than their own."""
    try:
        numbers = [event.sequence for event in read_events(folder)]
    except DamagedEventError:  # told already, by its own code
        return
    for path, number in zip(event_paths(folder), numbers, strict=True):
        if int(path.stem) != number:
            yield problem("kept-event-misplaced", event=path.name, typed=number)


def _spare_originals(folder: SeasonFolder) -> Iterator[Problem]:
    """Find originals of no event; those of an event are looked at with it."""
    try:
        known = {event.sha256 for event in book_events(folder)}
    except DamagedEventError:
        return
    for path in _files(folder.originals):
        if path.stem in known:
            continue
        is_right = digest(path.read_bytes()) == path.stem
        code = "kept-original-spare" if is_right else "kept-original-misnamed"
        yield problem(code, file=one_line(path.name))


def _spare_photos(folder: SeasonFolder) -> Iterator[Problem]:
    """Find photos of no event: one kept just before a command was killed, or another file."""
    try:
        known = {photo.sha256 for event in book_events(folder) for photo in event.verdict.photos}
    except DamagedEventError:
        return
    for path in _files(folder.photos):
        if path.stem not in known:
            yield problem("kept-photo-spare", file=one_line(path.name))


def _identities(folder: SeasonFolder) -> Iterator[Problem]:
    for path in _files(folder.identities):
        try:
            identity = identity_from_json(path.read_text("utf-8"))
        except (OSError, UnicodeDecodeError):
            identity = None
        if identity is None or identity.book_id != path.stem:
            yield problem("kept-identity-damaged", file=one_line(path.name))


def _names(season: Season) -> Iterator[Problem]:
    """Hold the names that kept books were printed with against the roster."""
    slips = {
        slip.visit_id: slip
        for event in book_events(season.folder)
        for slip in event.identity.visits
        if slip.visit_id in event.verdict.visits
    }
    return printed_problems(slips.values(), season.roster)


# ---- the ledger against a replay -----------------------------------------------------------


def _ledger(folder: SeasonFolder) -> tuple[int, list[Problem]]:
    """Compare the ledger with a fresh replay; return how many rows it has, and what differs."""
    with tempfile.TemporaryDirectory(prefix="silkbook-") as scratch:
        try:
            fresh, _ = _replayed(folder, Path(scratch) / "fresh.db")
        except SQLAlchemyError as fault:
            return 0, [problem("kept-replay-fails", detail=type(fault).__name__)]
        copy = Path(scratch) / folder.ledger.name
        try:
            if not _copied(folder, copy):
                events = len(event_paths(folder))
                return 0, [problem("ledger-behind", count=events)] if events else []
            _check_pages(copy)
            found, behind = _replayed(folder, copy)
        except OtherVersionError:
            return 0, [problem("ledger-of-other-version")]
        except (SQLAlchemyError, sqlite3.DatabaseError):
            return 0, [problem("ledger-damaged")]
    if found and not event_paths(folder):
        return len(found), [problem("kept-empty")]
    told = [problem("ledger-behind", count=behind)] if behind else []
    return len(found), [*told, *_differing(found, fresh)]


def _copied(folder: SeasonFolder, copy: Path) -> bool:
    """Copy the ledger into a file of its own; False where there is none yet."""
    if folder.database is not None:
        return _copied_out(folder, folder.database, copy)
    for ending in ("", "-journal"):
        part = folder.ledger.with_name(folder.ledger.name + ending)
        if part.is_file():
            shutil.copyfile(part, copy.with_name(part.name))
    return copy.is_file()


def _copied_out(folder: SeasonFolder, database: Database, path: Path) -> bool:
    """Copy a database's ledger into a new file as it is; False where there is none yet."""
    engine, copy = ledger_engine(folder, None), file_engine(path)
    try:
        with engine.connect() as connection, copy.begin() as into:
            if not sa.inspect(connection).has_table(EVENTS.name, database.schema):
                return False
            METADATA.create_all(into)
            for table in METADATA.sorted_tables:
                for rows in connection.execute(sa.select(table)).mappings().partitions(_AT_ONCE):
                    into.execute(table.insert(), [dict(row) for row in rows])
            return True
    finally:
        engine.dispose()
        copy.dispose()


def _replayed(folder: SeasonFolder, path: Path) -> tuple[list[str], int]:
    """Bring a ledger up to the events; return its rows, and how many events it lacked."""
    with Ledger(folder, path=path) as ledger:
        return list(ledger.dump()), ledger.caught_up


def _check_pages(path: Path) -> None:
    """Let the database look through its own pages and indexes; DatabaseError where not sound."""
    with closing(sqlite3.connect(path)) as connection:
        (said,) = connection.execute("PRAGMA integrity_check(1)").fetchone()
    if said != "ok":
        raise sqlite3.DatabaseError(said)


def _differing(found: list[str], fresh: list[str]) -> Iterator[Problem]:
    """Tell, in a line a table, how many rows differ, with one of them."""
    lacking, extra = Counter(fresh) - Counter(found), Counter(found) - Counter(fresh)
    for table in dict.fromkeys(row.partition(": ")[0] for row in [*lacking, *extra]):
        missed, more = _of_table(lacking, table), _of_table(extra, table)
        example = one_line([*missed, *more][0])[:_MOST_LETTERS]
        counts = {"lacking": len(missed), "extra": len(more)}
        yield problem("ledger-differs", table=table, example=example, **counts)


def _of_table(rows: Counter[str], table: str) -> list[str]:
    start = f"{table}: "
    return [row.removeprefix(start) for row in rows.elements() if row.startswith(start)]


# ---- what lies about -----------------------------------------------------------------------


def _leftovers(folder: SeasonFolder) -> Iterator[Problem]:
    for path in unfinished(folder):
        name = path.relative_to(folder.path).as_posix()
        yield problem("unfinished-write", file=one_line(name))


def _incoming(folder: SeasonFolder) -> Iterator[Problem]:
    for path in without_reason(folder):
        yield problem("aside-without-reason", file=one_line(path.name))
    for path in lone_reasons(folder):
        yield problem("aside-reason-alone", file=one_line(path.name))
    waiting = set(book_files([folder.incoming])) if folder.incoming.is_dir() else set()
    if waiting:
        yield problem("incoming-waiting", count=len(waiting))
    for path in sorted(folder.incoming.glob("*")):
        if not path.is_dir() and path not in waiting:
            yield problem("incoming-unseen", file=one_line(path.name))
