"""The season folder: where each thing lies, and who may write in it."""

import hashlib
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from fieldbook.ledger.database import Database
from fieldbook.ledger.safely import UNFINISHED

ROSTER_NAMES = ("roster.xlsx", "roster.ods")
_OPEN_IN_AN_APP = ("~$", ".~lock")
LOCK_WAIT_S = 30.0
_TAKEN = "taken"
_ASIDE = "set-aside"
_REASON = ".why.txt"


class SeasonBusyError(Exception):
    """Another process works in the season folder and did not end in time."""


@dataclass(frozen=True)
class SeasonFolder:
    """The paths of one season; ``database`` is where its ledger is, if that is not a file here."""

    path: Path
    database: Database | None = None

    @property
    def settings(self) -> Path:
        """Where season.toml is."""
        return self.path / "season.toml"

    @property
    def roster(self) -> Path | None:
        """Where the roster is; None where there is none."""
        found = (self.path / name for name in ROSTER_NAMES)
        return next((path for path in found if path.is_file()), None)

    @property
    def weather(self) -> Path:
        """Where weather files are."""
        return self.path / "weather"

    @property
    def blank(self) -> Path:
        """Where blank books are written."""
        return self.path / "blank"

    @property
    def incoming(self) -> Path:
        """Where returned books are dropped."""
        return self.path / "incoming"

    @property
    def taken(self) -> Path:
        """Where books from the incoming folder go once they are kept."""
        return self.incoming / _TAKEN

    @property
    def aside(self) -> Path:
        """Where files from the incoming folder go that can't be taken in, each with its reason."""
        return self.incoming / _ASIDE

    @property
    def mailed(self) -> Path:
        """Where attachments lie while they are taken in; hidden from the usual intake."""
        return self.incoming / ".mail"

    @property
    def outbox(self) -> Path:
        """Where answers and letters are written, ready for any mail program."""
        return self.path / "outbox"

    @property
    def sent(self) -> Path:
        """Where a draft goes once it was sent."""
        return self.outbox / "sent"

    @property
    def originals(self) -> Path:
        """Where accepted originals are kept, named by their hash."""
        return self.path / "kept" / "originals"

    @property
    def photos(self) -> Path:
        """Where photos out of books are kept, named by their hash."""
        return self.path / "kept" / "photos"

    @property
    def events(self) -> Path:
        """Where events are kept, one file each."""
        return self.path / "kept" / "events"

    @property
    def identities(self) -> Path:
        """Where the identity of every written book is kept, by its name."""
        return self.path / "kept" / "books"

    @property
    def ledger(self) -> Path:
        """Where the ledger is, unless a database has it."""
        return self.path / "season.db"

    @property
    def rebuilt(self) -> Path:
        """Where a rebuild makes the new ledger before it takes the old one's place."""
        return self.path / "season.rebuilt"

    @property
    def reports(self) -> Path:
        """Where reports are written."""
        return self.path / "reports"

    @property
    def plan(self) -> Path:
        """Where the plan of walks is written: a workbook, pages for scouts, and plan.json."""
        return self.path / "plan"

    @property
    def may_hold_visits(self) -> bool:
        """Say whether anything was ever taken in here, as far as the folder tells."""
        return self.database is not None or any(self.events.glob("*.json"))

    def make(self) -> None:
        """Make all folders."""
        places = (self.weather, self.blank, self.incoming, self.originals, self.events)
        for place in (*places, self.reports):
            place.mkdir(parents=True, exist_ok=True)


def digest(data: bytes) -> str:
    """Return the SHA-256 of bytes, as hexadecimal text."""
    return hashlib.sha256(data).hexdigest()


def sweep(folder: SeasonFolder) -> None:
    """Remove what a killed writer left half written; call it with the season's lock held."""
    places = (folder.originals, folder.photos, folder.events, folder.aside)
    written = (folder.identities, folder.blank / "ask", folder.mailed, folder.outbox)
    for place in (*places, *written):
        for left in place.glob(f"{UNFINISHED}*"):
            left.unlink(missing_ok=True)


def unfinished(folder: SeasonFolder) -> list[Path]:
    """Find what killed writers left half written, anywhere in the season folder."""
    rebuilt = folder.rebuilt.parent.glob(f"{folder.rebuilt.name}*")
    return sorted([*folder.path.rglob(f"{UNFINISHED}*"), *rebuilt])


def reason_of(path: Path) -> Path:
    """Return where the reason of a file that was set aside stands: beside it."""
    return path.with_name(path.name + _REASON)


def is_reason(path: Path) -> bool:
    """Say whether this is the reason of a file that was set aside, and no such file itself."""
    return path.parent.name == _ASIDE and path.name.endswith(_REASON)


def book_files(places: list[Path]) -> Iterator[Path]:
    """Find the files that a person means by these paths, in a stable order.

    A named file counts whatever it is called; in a folder and its sub-folders, all files but
    hidden ones, those that a spreadsheet app keeps while a book is open, and books taken before or
    set aside. A folder of files set aside can be named itself; their reasons are no books.
    """
    for place in places:
        if not place.is_dir():
            yield place
            continue
        for path in sorted(place.rglob("*")):
            parts = path.relative_to(place).parts
            hidden = any(part.startswith((".", *_OPEN_IN_AN_APP)) for part in parts)
            done = parts[0] in (_TAKEN, _ASIDE) or is_reason(path)
            if path.is_file() and not hidden and not done:
                yield path


@contextmanager
def season_lock(
    folder: SeasonFolder, *, wait_s: float = LOCK_WAIT_S, name: str = ".lock"
) -> Iterator[None]:
    """Hold the season folder for one process; SeasonBusyError after `wait_s` seconds.

    `name` is another lock of the same season, for one kind of work alone.
    """
    path = folder.path / name
    with path.open("a+b") as stream:
        until = time.monotonic() + wait_s
        while not _try_lock(stream.fileno()):
            if time.monotonic() >= until:
                raise SeasonBusyError(str(folder.path))
            time.sleep(0.05)
        yield


def _try_lock(handle: int) -> bool:
    try:
        if os.name == "posix":
            import fcntl

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        else:  # pragma: no cover - exercised on Windows only
            import msvcrt

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
    except OSError:
        return False
    return True
