"""Judge every kept original again by today's rules, and say what would be said differently.

Nothing changes: verdicts stand as they were given. Each book is judged as of the day it came in and
by the visits that were in the season before it, with the rules, roster and settings of today.
"""

import tempfile
from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from pathlib import Path

from fieldbook.check.verdict import CheckedBook
from fieldbook.entries import row_text
from fieldbook.jobs import isolated
from fieldbook.ledger.event_parts import value_out
from fieldbook.ledger.events import BookEvent, book_events, event_name, read_events
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.kept import BESIDE_THE_LEDGER, kept_problems
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.names import cell_words
from fieldbook.problems import Place, Problem, line, problem
from fieldbook.season.foresight import judge_by_ledger
from fieldbook.season.judging import local
from fieldbook.season.loading import Loaded, read_loaded
from fieldbook.season.season import Season
from fieldbook.weather.temps import SeasonTemps
from fieldbook.words import say
from fieldbook.workbook.read import ReadBook

# Said by intake of what stood before, not by rules.
_OF_INTAKE = (
    *("value-kept", "value-replaced", "value-cleared", "value-older"),
    "visit-of-another-day",
)


@dataclass(frozen=True, kw_only=True)
class Change:
    """One thing that today's rules would say differently of a book.

    ``what`` names it: a problem by its line, or a reading by its place. ``before`` and ``now`` are
    None where it was not there.
    """

    event: int
    file: str
    visit_id: str | None
    what: str
    before: str | None
    now: str | None


@dataclass(frozen=True, kw_only=True)
class Rechecked:
    """How many books were judged again, what would change, and what could not be judged."""

    books: int
    changes: tuple[Change, ...]
    problems: tuple[Problem, ...]


def recheck(season: Season) -> Rechecked:
    """Judge every kept original again; nothing below the season folder changes."""
    problems = kept_problems(season.folder)
    if any(found.code not in BESIDE_THE_LEDGER for found in problems):
        return Rechecked(books=0, changes=(), problems=tuple(problems))
    changes: list[Change] = []
    count = 0
    for event, verdict in _judged(season, _damaged(season, problems)):
        count += 1
        changes += _changes(event, verdict, season.language)
    return Rechecked(books=count, changes=tuple(changes), problems=tuple(problems))


def recheck_lines(found: Rechecked, language: str) -> Iterator[str]:
    """Say what would change, a line each, and on what that rests."""
    for change in found.changes:
        before = change.before or say("not said", language)
        now = change.now or say("not said", language)
        where = " ".join(part for part in (change.file, change.visit_id) if part)
        yield f"{change.event:06d} {where}: {change.what}: {before} -> {now}"
    yield (
        f"Judged {found.books} kept books again by the rules, the roster and the settings of "
        "today, each as of the day it came in and by the visits taken in before it. "
        f"{len(found.changes) or 'Nothing'} would be said differently. Nothing was changed."
    )


def _judged(season: Season, damaged: set[str]) -> Iterator[tuple[BookEvent, CheckedBook]]:
    """Replay the events in a ledger of its own; judge each book by what that holds before it."""
    whole = _books(season, damaged)
    temps = cache(season.temps)  # the weather is read once for each day that books came in
    outcomes = isolated(read_loaded, (_loaded(season, event) for event in _books(season, damaged)))
    with tempfile.TemporaryDirectory(prefix="silkbook-") as scratch, _empty(scratch) as ledger:
        waiting = next(whole, None)
        for event in read_events(season.folder):
            if waiting is not None and event.sequence == waiting.sequence:
                day = local(season, _received(waiting)).date()
                read = next(outcomes).value
                yield waiting, _verdict(season, ledger, waiting, read, temps(day))
                waiting = next(whole, None)
            ledger.apply(event)


def _damaged(season: Season, problems: list[Problem]) -> set[str]:
    """Return the hashes of originals that are gone or changed: their books can't be judged."""
    gone = (found for found in problems if found.code == "kept-original-damaged")
    names = {str(dict(found.params)["event"]) for found in gone}
    return {
        event.sha256 for event in book_events(season.folder) if event_name(event.sequence) in names
    }


def _empty(scratch: str) -> Ledger:
    """Open a ledger without any event."""
    return Ledger(SeasonFolder(Path(scratch)))


def _books(season: Season, damaged: set[str]) -> Iterator[BookEvent]:
    """Return the books whose originals are whole, in the order they came."""
    for event in book_events(season.folder):
        if event.sha256 not in damaged:
            yield event


def _loaded(season: Season, event: BookEvent) -> Loaded:
    original = next(season.folder.originals.glob(f"{event.sha256}.*"))
    return Loaded(name=event.file, data=original.read_bytes(), identities=season.folder.identities)


def _verdict(
    season: Season,
    ledger: Ledger,
    event: BookEvent,
    read: ReadBook | None,
    temps: SeasonTemps,
) -> CheckedBook:
    """Judge a book as of the day it came in; one that can't be read now has no readings."""
    if read is None or read.book is None:
        died = problem("file-reader-died", Place(file=event.file))
        found = read.problems if read else (died,)
        return CheckedBook(readings=(), questions=(), problems=found)
    day = local(season, _received(event)).date()
    book = replace(read.book, identity=event.identity)  # with the visits that its walks became
    return judge_by_ledger(season, ledger, book, day, temps, event.sent_by)


def _received(event: BookEvent) -> datetime:
    return datetime.fromisoformat(event.received)


# ---- the two verdicts side by side ---------------------------------------------------------


def _changes(event: BookEvent, now: CheckedBook, language: str) -> Iterator[Change]:
    """Compare what was said with what would be said: refusal, readings, questions, the file."""
    before = event.verdict

    def change(visit_id: str | None, what: str, was: str | None, then: str | None) -> Change:
        return Change(
            event=event.sequence,
            file=event.file,
            visit_id=visit_id,
            what=what,
            before=was,
            now=then,
        )

    if not now.readings:
        why = " ".join(line(found, language) for found in now.problems)
        yield change(None, "the whole book", "taken in", f"refused: {why}")
        return
    yield from _differing(_readings(before), _readings(now), change)
    yield from _differing(_questions(before, language), _questions(now, language), change)
    yield from _differing(_of_file(before, language), _of_file(now, language), change)


Said = Mapping[Hashable, tuple[str | None, str, str]]


def _differing(
    before: Said, now: Said, change: Callable[[str | None, str, str | None, str | None], Change]
) -> Iterator[Change]:
    """Yield what is said in one way before and in another now, in the order of the book."""
    for key in dict.fromkeys((*before, *now)):
        visit_id, what, _ = now.get(key) or before[key]
        was, then = (said[key][2] if key in said else None for said in (before, now))
        if was != then:
            yield change(visit_id, what, was, then)


def _readings(verdict: CheckedBook) -> Said:
    """Return each reading's status and, since rules may read it otherwise, its value."""
    return {
        (one.visit_id, one.sheet, one.row, one.column): (
            one.visit_id,
            f"{cell_words((one.sheet, row_text(one.row), one.column))} ({one.cell})",
            f"{one.status} as {value_out(one.value)}",
        )
        for one in verdict.readings
    }


def _questions(verdict: CheckedBook, language: str) -> Said:
    found: dict[Hashable, tuple[str | None, str, str]] = {}
    for question in verdict.questions:
        said = question.problem
        place = said.place
        key = (question.visit_id, said.code, place.table, place.row, place.column, place.cell)
        found[key] = (question.visit_id, _what(said, language), f"asked, {question.state}")
    return found


def _of_file(verdict: CheckedBook, language: str) -> Said:
    rules = (found for found in verdict.problems if found.code not in _OF_INTAKE)
    return {
        (found.code, found.place.sheet, found.place.cell): (None, _what(found, language), "told")
        for found in rules
    }


def _what(found: Problem, language: str) -> str:
    return f"{found.code}, {line(found.in_file(''), language)}"
