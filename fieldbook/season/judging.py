"""Judge a book by the roster, the settings, the weather and earlier visits; it needs no ledger."""

from collections.abc import Mapping
from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from fieldbook.check.book import check_book
from fieldbook.check.history import PastVisit
from fieldbook.check.verdict import CheckedBook
from fieldbook.entries import BookEntries
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.weather.temps import SeasonTemps


def judge(
    season: Season,
    book: BookEntries,
    day: date,
    *,
    past: Mapping[str, tuple[PastVisit, ...]] | None = None,
    temps: SeasonTemps | None = None,
    sent_by: str | None = None,
) -> CheckedBook:
    """Judge a book that came in on this day.

    `past` are earlier visits by field, `temps` saves reading the weather anew for every book, and
    `sent_by` is the scout who mailed it.
    """
    known = {} if past is None else past  # to ask whether there are any would count them all
    context = season.context(known, today=day, received=day, temps=temps, sent_by=sent_by)
    return check_book(book, context)


def foreseen(season: Season, path: Path, book: BookEntries, now: datetime) -> Taken:
    """Tell what would become of a book now, where nothing was taken in before."""
    verdict = judge(season, book, local(season, now).date())
    return Taken(path=path, accepted=True, verdict=verdict, problems=(), visits=verdict.visits)


def local(season: Season, moment: datetime) -> datetime:
    """Return a moment in the season's time zone."""
    return moment.astimezone(ZoneInfo(season.settings.time_zone))
