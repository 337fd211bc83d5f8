"""Letters to growers: the packet of their fields as PDF, and a few lines of what it says."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from fieldbook.ledger.folder import digest
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.safely import write_safely
from fieldbook.mail.answers import page_text
from fieldbook.mail.draft import Letter, draft
from fieldbook.mail.outbox import LETTER_START
from fieldbook.problems import Problem, problem
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import report_context
from fieldbook.report.growers import grower_name, report_name
from fieldbook.report.headline import headline
from fieldbook.results.result import FieldResult
from fieldbook.results.results import season_results
from fieldbook.season.blank import own_name
from fieldbook.season.mailbook import mail_book
from fieldbook.season.season import Season
from fieldbook.words import say


@dataclass(frozen=True, kw_only=True)
class LetterField:
    """What a letter says of one field."""

    name: str
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LetterPage:
    """What a letter says."""

    grower: str
    season: str
    fields: tuple[LetterField, ...]
    signature: str | None


@dataclass(frozen=True, kw_only=True)
class WrittenLetter:
    """A grower's letter: where its draft lies, whether it is new, or why there is none."""

    grower: str
    path: Path | None = None
    is_new: bool = False
    problem: Problem | None = None


def write_letters(
    season: Season,
    *,
    as_of: date,
    now: datetime,
    grower_id: str | None = None,
    templates: Path | None = None,
) -> Iterator[WrittenLetter]:
    """Write a letter to every grower with an address, or to one; the same reports make no new one.

    The letter's name holds the hash of its reports, so that a grower never gets the same twice.
    """
    with Ledger(season.folder) as ledger:
        begun = set(mail_book(ledger).deliveries)
    mails = {one.grower_id: one.mail for one in season.settings.growers if one.mail}
    by_grower: dict[str, list[FieldResult]] = {}
    for found in season_results(season, as_of=as_of).fields:
        owner = season.roster.fields[found.field_id].grower_id
        if grower_id in (None, owner):
            by_grower.setdefault(owner, []).append(found)
    for owner, results in by_grower.items():
        grower = season.roster.fields[results[0].field_id].grower
        if owner not in mails:
            params = {"grower": grower, "grower_id": owner}
            yield WrittenLetter(grower=grower, problem=problem("letter-no-address", **params))
            continue
        pages = _pages(season, owner, grower, results)
        if not pages:
            why = problem("letter-no-report", grower=grower)
            yield WrittenLetter(grower=grower, problem=why)
            continue
        letter = _letter(season, grower, mails[owner], results, pages, templates)
        yield _write(season, owner, grower, letter, begun, now)


def _pages(season: Season, owner: str, grower: str, results: list[FieldResult]) -> tuple[Path, ...]:
    """Return the grower's packet, which holds all reports; without one what reports there are."""
    folder = season.folder.reports
    packet = folder / f"packet.{grower_name(owner, grower)}.pdf"
    if packet.is_file():
        return (packet,)
    reports = (folder / f"{report_name(found)}.pdf" for found in results)
    return tuple(path for path in reports if path.is_file())


def _letter(
    season: Season,
    grower: str,
    mail: str,
    results: list[FieldResult],
    pages: tuple[Path, ...],
    templates: Path | None,
) -> Letter:
    language = season.settings.language_for(results[0].grower_id)
    context = replace(report_context(season), language=language)
    amounts = Amounts(units=context.units, language=context.language)
    page = LetterPage(
        grower=grower,
        season=season.settings.name,
        fields=tuple(
            LetterField(name=found.field, lines=headline(found, amounts, context.figures))
            for found in results
        ),
        signature=season.settings.sender,
    )
    names = ", ".join(found.field for found in results)
    return Letter(
        recipient=mail,
        subject=say("Your corn: {fields}", context.language, fields=names)[:150],
        text=page_text("mail/letter", page, context.language, templates),
        about="\n".join((mail, *(digest(path.read_bytes()) for path in pages))),
        attachments=pages,
    )


def _write(
    season: Season, owner: str, grower: str, letter: Letter, begun: set[str], now: datetime
) -> WrittenLetter:
    """Write a letter that is new; it takes the place of an older one that nobody has sent."""
    start = f"{LETTER_START}{own_name(owner)}-"
    path = season.folder.outbox / f"{start}{digest(letter.about.encode('utf-8'))[:16]}.eml"
    if path.name in begun or path.exists():
        return WrittenLetter(grower=grower, path=path)
    sender = season.settings.mail.from_address
    write_safely(path, draft(letter, sender=sender, now=now))
    for older in season.folder.outbox.glob(f"{start}*.eml"):
        is_same_grower = len(older.name) == len(path.name)
        if older != path and is_same_grower and older.name not in begun:
            older.unlink()
    return WrittenLetter(grower=grower, path=path, is_new=True)
