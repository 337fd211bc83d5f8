"""Go through messages, take their books in, answer each; one event a message, none handled twice.

The order makes a crash harmless: books first, as from a folder; then the answer's draft; then the
event that the message is handled; then the move in the mailbox. Killed anywhere, the message is
handled again, its books are known by their content, and the draft is written to the same name.
"""

from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path

from fieldbook import __version__
from fieldbook.ledger.event_parts import utc_text
from fieldbook.ledger.events import BookEvent, event_at, write_event
from fieldbook.ledger.folder import SeasonBusyError, SeasonFolder, season_lock, sweep
from fieldbook.ledger.ledger import Ledger, writing
from fieldbook.ledger.mail_events import Ending, MessageEvent
from fieldbook.ledger.safely import write_safely
from fieldbook.ledger.turn import season_turn
from fieldbook.mail.answers import write_answer
from fieldbook.mail.attachments import Attachment
from fieldbook.mail.authentication import Genuine, genuine
from fieldbook.mail.draft import is_own
from fieldbook.mail.message import Message, RawMessage, read_message, unreadable
from fieldbook.mail.refusal import refusal
from fieldbook.mail.sender import Correspondent, let_in
from fieldbook.mail.source import Piece, Source
from fieldbook.problems import Problem, Weight, problem, worst
from fieldbook.season.intake import take_in
from fieldbook.season.loading import Loaded, read_loaded
from fieldbook.season.mailbook import MailBook, mail_book
from fieldbook.season.season import Season
from fieldbook.season.taken import Origin, Taken
from fieldbook.workbook.read import ReadBook
from fieldbook.worker import Worker

MOST_IDLE_ANSWERS_A_DAY = 24
_DAY = timedelta(days=1)
_LOCK = ".mail-lock"
_SAFE_ENDINGS = frozenset({".xls", ".xlsm", ".xlsb", ".csv", ".numbers", ".fods", ".ods"})


@dataclass(frozen=True, kw_only=True)
class Handled:
    """What became of one message; ``answer`` is where its draft lies, if one was written."""

    label: str
    sender: str
    subject: str
    authenticated: Genuine
    ending: Ending
    taken: tuple[Taken, ...] = ()
    problems: tuple[Problem, ...] = ()
    answer: Path | None = None

    @property
    def needs_a_look(self) -> bool:
        """Say whether a person should look at something of it."""
        heavy = worst(self.problems) in (Weight.ERROR, Weight.ASK)
        return heavy or any(one.needs_a_look for one in self.taken)


@dataclass(frozen=True, kw_only=True)
class _Desk:
    """What every message of a run needs: the season, the moment, two workers, what is handled."""

    season: Season
    now: datetime
    templates: Path | None
    book: MailBook
    parser: Worker[RawMessage, Message]
    reader: Worker[Loaded, ReadBook]


def take_mail(
    season: Season, source: Source, *, now: datetime, templates: Path | None = None
) -> tuple[int, Iterator[Handled | None]]:
    """Take in what lies in a source: how many messages to look at, and what became of each.

    None stands for one that was handled before.

    Raises `MailRefusal` where a server refuses or goes away; what was handled stays handled.
    """
    with Ledger(season.folder) as ledger:
        book = mail_book(ledger)
    count, pieces = source.pieces(book.places)
    return count, _each(season, source, pieces, book, now, templates)


def _each(
    season: Season,
    source: Source,
    pieces: Iterator[Piece],
    book: MailBook,
    now: datetime,
    templates: Path | None,
) -> Iterator[Handled | None]:
    apart = partial(Worker, knows_nothing=True)
    with apart(read_message) as parser, apart(read_loaded) as reader:
        desk = _Desk(
            season=season,
            now=now,
            templates=templates,
            book=book,
            parser=parser,
            reader=reader,
        )
        for piece in pieces:
            found = _handle(desk, piece)
            source.put_away(piece)
            yield found


@contextmanager
def mail_lock(folder: SeasonFolder) -> Iterator[None]:
    """Hold a season's mail for one process; refuse at once where another one has it."""
    with ExitStack() as held:
        try:
            held.enter_context(season_lock(folder, wait_s=0, name=_LOCK))
        except SeasonBusyError:
            raise refusal("mail-busy") from None
        with season_turn(folder):
            sweep(folder)
        for left in folder.mailed.glob("*"):  # its message is still there, and comes again
            left.unlink(missing_ok=True)
        yield


def _handle(desk: _Desk, piece: Piece) -> Handled | None:
    """Handle one message; None for one that was handled before, or that is gone."""
    raw = piece.load()
    if raw is None:
        return None
    message = desk.parser.outcome(raw).value or unreadable(raw, "it breaks the reader")
    server = desk.season.settings.mail.authentication_server
    authenticated = genuine(message.results, server=server, sender=message.sender)
    key = message.key(authenticated)
    if key in desk.book.keys:
        return None
    person, why = let_in(desk.season, message, authenticated)
    found = Handled(
        label=piece.label,
        sender=message.sender or "",
        subject=message.subject,
        authenticated=authenticated,
        ending=Ending.ASIDE,
    )
    if person is None or why is not None:
        told = (why,) if why else ()
        passed = why is not None and why.weight is Weight.NOTE
        found = replace(found, problems=told, ending=Ending.PASSED if passed else Ending.ASIDE)
    else:
        found = _let_in(desk, person, message, key, found)
    _keep(desk, message, key, piece, person, found)
    return found


def _let_in(
    desk: _Desk, person: Correspondent, message: Message, key: str, found: Handled
) -> Handled:
    """Take the books of a known sender in, and answer."""
    taken = tuple(_take_books(desk, person, message, key))
    problems = message.problems
    if not message.books and not problems:
        problems = (_no_book(found.sender, message.others),)
    found = replace(found, taken=taken, problems=problems, ending=_ending(taken, message))
    silence = _silence(desk, message, found)
    if silence is not None:
        return replace(found, problems=(*problems, *silence))
    path = write_answer(
        desk.season,
        person,
        message,
        taken,
        problems,
        key=key,
        now=desk.now,
        templates=desk.templates,
    )
    return replace(found, answer=path)


def _no_book(sender: str, others: Sequence[str]) -> Problem:
    """Say that a message holds no book, and what else it holds."""
    if not others:
        return problem("mail-nothing-attached", sender=sender)
    return problem("mail-no-book", sender=sender, others=", ".join(others))


def _ending(taken: tuple[Taken, ...], message: Message) -> Ending:
    if any(one.accepted for one in taken):
        return Ending.TAKEN
    return Ending.ASIDE if message.books or message.problems else Ending.PASSED


def _silence(desk: _Desk, message: Message, found: Handled) -> tuple[Problem, ...] | None:
    """Say why a message gets no answer, perhaps without a word; None for one that gets one.

    Machines are never answered. What holds no book is answered once a day, and not where it
    answers us: thanks end a conversation. What brings nothing new is answered so many times a day.
    """
    if message.automatic is not None:
        return (problem("mail-automatic", head=message.automatic),)
    day_ago = utc_text(desk.now - _DAY)
    idle, empty = (
        sum(moment > day_ago for moment in moments.get(found.sender, ()))
        for moments in (desk.book.idle, desk.book.empty)
    )
    if found.ending is not Ending.TAKEN and idle >= MOST_IDLE_ANSWERS_A_DAY:
        return (problem("mail-many-answers", sender=found.sender, most=MOST_IDLE_ANSWERS_A_DAY),)
    is_empty = not message.books and not message.problems
    return () if is_empty and (empty or is_own(message.references)) else None


# ---- books ---------------------------------------------------------------------------------


def _take_books(desk: _Desk, person: Correspondent, message: Message, key: str) -> Iterator[Taken]:
    """Take the books of a message in, as from a folder, under names that are only hashes."""
    if not message.books:
        return
    folder = desk.season.folder
    paths = {folder.mailed / _file_name(book): book for book in message.books}
    for path, book in paths.items():
        write_safely(path, book.data)
    origin = Origin(
        source="mail",
        sender=person.mail,
        scout=person.scout,
        message=key,
        names={path: book.name for path, book in paths.items()},
    )
    for taken in take_in(desk.season, paths, now=desk.now, origin=origin, reader=desk.reader):
        yield _known_again(folder, taken, key)


def _file_name(book: Attachment) -> str:
    ending = Path(book.name).suffix.lower()
    if book.data.startswith(b"PK"):
        is_ods = b"vnd.oasis.opendocument" in book.data[:200]
        ending = ".ods" if is_ods else ".xlsx"
    return f"mail-{book.sha256[:24]}{ending if ending in (*_SAFE_ENDINGS, '.xlsx') else '.bin'}"


def _known_again(folder: SeasonFolder, taken: Taken, key: str) -> Taken:
    """Tell a book that this very message brought, before a break, from one that came before."""
    if taken.seen_as is None:
        return taken
    event = event_at(folder, taken.seen_as)
    if not isinstance(event, BookEvent) or event.message != key:
        return taken
    return replace(
        taken,
        accepted=True,
        verdict=event.verdict,
        problems=(),
        visits=event.verdict.visits,
        book_id=event.identity.book_id,
    )


# ---- the event -----------------------------------------------------------------------------


def _keep(
    desk: _Desk,
    message: Message,
    key: str,
    piece: Piece,
    person: Correspondent | None,
    found: Handled,
) -> None:
    """Keep for good that a message was handled, and what was said of it."""
    folder, received = desk.season.folder, utc_text(desk.now)
    refused = (why for one in found.taken if not one.accepted for why in one.problems)
    answer = found.answer.name if found.answer else None
    with writing(folder) as ledger, ledger.turn():
        event = MessageEvent(
            sequence=ledger.next_sequence(),
            received=received,
            tool=__version__,
            key=key,
            message_id=message.message_id,
            place=piece.place,
            sender=found.sender,
            scout=person.scout if person else None,
            authenticated=str(found.authenticated),
            ending=found.ending,
            books=tuple(book.sha256 for book in message.books),
            problems=(*found.problems, *refused),
            answer=answer,
        )
        write_event(folder, event)
        ledger.follow()
    desk.book.note(event)
