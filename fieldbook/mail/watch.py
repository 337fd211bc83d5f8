"""Look after a season: take in folder and mailbox, answer, renew reports, every few minutes.

A round that is broken off leaves nothing half done: each file and each message is kept by itself.
"""

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from fieldbook.ledger.events import event_paths
from fieldbook.ledger.folder import SeasonBusyError, SeasonFolder, book_files, season_lock
from fieldbook.mail.intake import mail_lock, take_mail
from fieldbook.mail.open import opened_source
from fieldbook.mail.refusal import MailRefusal, refusal
from fieldbook.mail.send import send_drafts
from fieldbook.mail.words import handled_line, handled_problems, sent_line
from fieldbook.problems import Problem, Weight, line, problem
from fieldbook.report.build import write_reports
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.words import say, say_count

_LOCK = ".watch-lock"
_GRAVE = (Weight.ERROR, Weight.ASK)
_NAP_S = 0.5


class Stop:
    """The wish that a watch ends, which a signal may bring at any moment.

    A `threading.Event` would not do: a handler that sets it while its own thread is about to wait
    for it waits for ever. And a signal that comes just before a long sleep begins is handled when
    that ends, so the sleeps are short.
    """

    def __init__(self) -> None:
        self._is_set = False

    def set(self) -> None:
        """Wish it."""
        self._is_set = True

    def is_set(self) -> bool:
        """Say whether it is wished."""
        return self._is_set

    def wait(self, seconds: float) -> None:
        """Wait so long, or until soon after it is wished."""
        until = time.monotonic() + seconds
        while not self._is_set and (left := until - time.monotonic()) > 0:
            time.sleep(min(left, _NAP_S))


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What a watch does each round, and how it knows the time."""

    every_minutes: float
    mail: Path | None
    asks_mail: bool
    sends: bool
    pdf: bool
    clock: Callable[[], datetime]
    day: Callable[[], date]


def watch(path: Path, wish: Wish, stop: Stop, log: Callable[[str], None]) -> None:
    """Go round until `stop` is set; `log` takes one line an event.

    Raises
    ------
    MailRefusal
        Where another watch looks after this season.
    """
    with ExitStack() as held:
        try:
            held.enter_context(season_lock(SeasonFolder(path), wait_s=0, name=_LOCK))
        except SeasonBusyError:
            raise refusal("watch-running") from None
        log(
            say(
                "watching {folder}, every minute"
                if wish.every_minutes == 1
                else "watching {folder}, every {minutes:g} minutes",
                folder=path,
                minutes=wish.every_minutes,
            )
        )
        reported: object = None
        while not stop.is_set():
            reported = _round(path, wish, stop, log, reported)
            stop.wait(wish.every_minutes * 60)
        log(say("stopped"))


def _round(
    path: Path, wish: Wish, stop: Stop, log: Callable[[str], None], reported: object
) -> object:
    """Do one round; return what its reports rest on."""
    season, problems = open_season(path)
    if season is None:
        _tell(log, problems, "en")
        return reported
    season.folder.make()
    try:
        for text in _lines(season, wish):
            log(text)
            if stop.is_set():
                return reported
        return _renewed(season, wish, stop, log, reported)
    except MailRefusal as refused:
        _tell(log, [refused.why], season.language)
    except SeasonBusyError:
        _tell(log, [problem("season-busy")], season.language)
    except OSError as fault:
        detail = fault.strerror or type(fault).__name__
        place = str(fault.filename or path)
        _tell(log, [problem("not-writable", folder=place, detail=detail)], season.language)
    return reported


def _lines(season: Season, wish: Wish) -> Iterator[str]:
    """Take in and answer; a line for everything that happens."""
    language = season.language
    files = list(book_files([season.folder.incoming]))
    for taken in take_in(season, files, now=wish.clock()):
        yield taken.said(language)
        yield from _grave(taken.open_problems, language)
    try:
        yield from _mail_lines(season, wish)
    except MailRefusal as refused:
        yield from _grave([refused.why], language)
    if wish.sends:
        yield from _sent_lines(season, wish)


def _mail_lines(season: Season, wish: Wish) -> Iterator[str]:
    if not wish.asks_mail and season.settings.mail.server is None:
        return
    with mail_lock(season.folder), opened_source(season, wish.mail) as source:
        _, messages = take_mail(season, source, now=wish.clock())
        for found in filter(None, messages):
            yield handled_line(found, season.language)
            yield from _grave(handled_problems(found), season.language)
        yield from _grave(source.problems, season.language)


def _sent_lines(season: Season, wish: Wish) -> Iterator[str]:
    with mail_lock(season.folder):
        for sent in send_drafts(season, now=wish.clock()):
            yield sent_line(sent, season.language)
            yield from _grave([sent.problem] if sent.problem else [], season.language)


def _renewed(
    season: Season, wish: Wish, stop: Stop, log: Callable[[str], None], reported: object
) -> object:
    """Write the reports anew where something that they rest on has changed since the last time."""
    rests_on = (len(event_paths(season.folder)), season.hashes(), wish.day())
    if rests_on == reported:
        return reported
    count = 0
    for written in write_reports(
        season, as_of=wish.day(), field_id=None, pdf=wish.pdf, templates=None
    ):
        count += len(written.paths)
        if stop.is_set():
            return reported
    if count:
        one, many = "reports renewed: one file", "reports renewed: {count} files"
        log(say_count(count, one, many, season.language))
    return rests_on


def _grave(problems: Iterable[Problem], language: str) -> Iterator[str]:
    """Say what a person should look at; notes would only fill a log."""
    for one in problems:
        if one.weight in _GRAVE:
            yield f"{one.weight.upper()} {line(one, language)}"


def _tell(log: Callable[[str], None], problems: Iterable[Problem], language: str) -> None:
    for text in _grave(problems, language):
        log(text)
