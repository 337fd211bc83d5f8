"""Mail in and out: what `intake --mail` does, letters to growers, and the watch."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fieldbook.commands.shared import (
    LOOK_CODE,
    are_heavy,
    as_of_option,
    day_of,
    end,
    moment_of,
    must_know,
    opened,
    say_problems,
    season_argument,
    tell,
    templates_option,
    with_progress,
)

if TYPE_CHECKING:
    from fieldbook.problems import Problem
    from fieldbook.season.season import Season


def mail_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the place that messages come from."""
    return click.option(
        "--mail",
        metavar="[PLACE]",
        is_flag=False,
        flag_value="",
        help="Take in messages: of the mailbox that season.toml names, or of a folder of .eml "
        "files, an .eml file, an mbox file.",
    )(command)


def in_mail(season: Season, place: str, moment: datetime, templates: Path | None) -> bool:
    """Take in messages and say what became of each; return whether all was clean."""
    from fieldbook.mail.intake import mail_lock, take_mail
    from fieldbook.mail.open import opened_source
    from fieldbook.mail.refusal import MailRefusal
    from fieldbook.mail.words import handled_line, handled_problems

    clean, handled = True, 0
    try:
        with mail_lock(season.folder), opened_source(season, _path(place)) as source:
            count, messages = take_mail(season, source, now=moment, templates=templates)
            for found in with_progress(messages, count):
                handled += found is not None
                if found is None:
                    continue
                clean = clean and not found.needs_a_look
                tell(handled_line(found, season.language))
                say_problems(handled_problems(found), season.language)
            clean = _told(source.problems, season) and clean
    except MailRefusal as refused:
        return _told([refused.why], season)
    if not handled:
        click.echo("No new messages.")
    return clean


def _path(place: str) -> Path | None:
    return Path(place) if place else None


def _told(problems: Iterable[Problem], season: Season) -> bool:
    told = list(problems)
    say_problems(told, season.language)
    return not are_heavy(told)


def out_mail(season: Season, moment: datetime, again: str | None) -> bool:
    """Send the drafts that wait and say what became of each; return whether all was clean."""
    from fieldbook.mail.intake import mail_lock
    from fieldbook.mail.outbox import release
    from fieldbook.mail.refusal import MailRefusal
    from fieldbook.mail.send import send_drafts
    from fieldbook.mail.words import sent_line

    clean = True
    try:
        with mail_lock(season.folder):
            why = release(season, again, now=moment) if again is not None else None
            clean = _told([why] if why else [], season)
            for sent in send_drafts(season, now=moment):
                tell(sent_line(sent, season.language))
                clean = _told([sent.problem] if sent.problem else [], season) and clean
    except MailRefusal as refused:
        return _told([refused.why], season)
    return clean


@click.command()
@season_argument
@click.option("--grower", help="Only this grower, by the grower ID of the roster.")
@click.option("--send", is_flag=True, help="Send the drafts in outbox/ by the season's server.")
@templates_option
@as_of_option
def letters(
    folder: Path,
    grower: str | None,
    send: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Write a letter to every grower, with the reports as PDF.

    Their first lines are its text. Addresses stand in season.toml under [growers.ID]. Letters are
    drafts in outbox/, and only --send sends them; the same reports make no second letter. Run
    'silkbook report' first.

    Example: silkbook letters season-2027 --grower G1
    """
    from fieldbook.mail.letters import write_letters

    season = opened(folder)
    must_know("grower", grower, {one.grower_id for one in season.roster.fields.values()})
    say_problems(season.problems, season.language)
    moment = moment_of(as_of)
    clean = not are_heavy(season.problems)
    for letter in write_letters(
        season, as_of=day_of(as_of), now=moment, grower_id=grower, templates=templates
    ):
        if letter.path is not None:
            tell(f"{letter.grower}: {letter.path}{'' if letter.is_new else ' (as before)'}")
        clean = _told([letter.problem] if letter.problem else [], season) and clean
    if send:
        clean = out_mail(season, moment, None) and clean
    end(clean=clean)


@click.command()
@season_argument
@click.option(
    "--every",
    type=click.FloatRange(0.01, 1440),
    default=10.0,
    show_default=True,
    help="Minutes from one round to the next.",
)
@mail_option
@click.option("--send", is_flag=True, help="Send answers, instead of leaving them as drafts.")
@click.option("--no-pdf", is_flag=True, help="Renew the HTML pages only.")
@as_of_option
def watch(
    folder: Path,
    every: float,
    mail: str | None,
    send: bool,
    no_pdf: bool,
    as_of: datetime | None,
) -> None:
    """Look after a season: take in, answer, renew reports.

    It looks into incoming/ and the mailbox every few minutes. The mailbox is read where season.toml
    names one, or where --mail names a place. Every round looks at the settings and the roster anew.
    One line for each thing that happens; Ctrl-C ends it.

    Example: silkbook watch season-2027 --every 10 --send
    """
    from fieldbook.mail.refusal import MailRefusal
    from fieldbook.mail.watch import Stop, Wish
    from fieldbook.mail.watch import watch as look_after

    language = opened(folder).language
    stop = Stop()
    for kind in (signal.SIGINT, signal.SIGTERM):
        signal.signal(kind, lambda *_: stop.set())
    wish = Wish(
        every_minutes=every,
        mail=_path(mail) if mail else None,
        asks_mail=mail is not None,
        sends=send,
        pdf=not no_pdf,
        clock=lambda: moment_of(as_of),
        day=lambda: day_of(as_of),
    )
    try:
        look_after(folder, wish, stop, _log)
    except MailRefusal as refused:
        say_problems([refused.why], language)
        sys.exit(LOOK_CODE)


def _log(text: str) -> None:
    """Write a line of the watch's log, at once, with the time of this machine."""
    tell(f"{datetime.now().astimezone():%Y-%m-%d %H:%M:%S} {text}")
    sys.stdout.flush()
