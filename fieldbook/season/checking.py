"""Check one file and change nothing.

What judging needs takes longer to load than a book to read: it is loaded while the worker reads,
and the ledger's part of it only where a visit may have been taken in.
"""

from collections.abc import Callable
from datetime import datetime
from importlib import import_module
from pathlib import Path

from fieldbook.entries import BookEntries
from fieldbook.season.loading import load, read_loaded, refused
from fieldbook.season.season import Season
from fieldbook.season.taken import FOLDER, Taken
from fieldbook.worker import Worker


def check_file(season: Season, path: Path, *, now: datetime) -> Taken:
    """Tell what taking this file in would say of it; `now` carries a time zone."""
    name = FOLDER.name_of(path)
    with Worker(read_loaded) as reader:
        reader.begin(load(path, season, name))
        judged = _judging(season)
        read = reader.finish().value or refused("file-reader-died", name)
    if read.book is None:
        return Taken(path=path, accepted=False, verdict=None, problems=read.problems)
    return judged(season, path, read.book, now)


def _judging(season: Season) -> Callable[[Season, Path, BookEntries, datetime], Taken]:
    """Load what judges a book of this season."""
    if season.settings.stations:
        import_module("fieldbook.weather.read")
    if season.folder.may_hold_visits:
        from fieldbook.season.foresight import foreseen
    else:
        from fieldbook.season.judging import foreseen
    return foreseen
