"""Take books in, or check one."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldbook.commands.mailing import in_mail, mail_option, out_mail
from fieldbook.commands.shared import (
    as_of_option,
    counted,
    day_of,
    end,
    engine_options,
    fail,
    home_of,
    moment_of,
    opened,
    say_problems,
    season_option,
    tell,
    templates_option,
    with_progress,
    without_season,
)

if TYPE_CHECKING:
    from fieldbook.season.season import Season


@click.command()
@click.argument("paths", type=click.Path(path_type=Path), nargs=-1)
@season_option()
@mail_option
@click.option("--send", is_flag=True, help="Send the drafts in outbox/ by the season's server.")
@click.option(
    "--send-again",
    metavar="DRAFT",
    help="Send a draft that may have gone out once more; implies --send.",
)
@templates_option
@as_of_option
@engine_options
def intake(
    paths: tuple[Path, ...],
    folder: Path | None,
    mail: str | None,
    send: bool,
    send_again: str | None,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Take filled books in and check them.

    Name files or folders; else it takes all that lies in incoming/, or what came by mail. A book in
    incoming/ moves to incoming/taken/ once it is kept. A file there that can't be taken in moves to
    incoming/set-aside/, with the reason beside it. Files from elsewhere stay. A book that was
    taken in before changes nothing, and the exit code is 1: it may still have open questions.

    With --mail, the messages of listed senders are read, each once; none is deleted. Answers are
    written into outbox/ as drafts, and only --send sends them. Passwords come from the environment
    (SILKBOOK_MAIL_PASSWORD, SILKBOOK_SMTP_PASSWORD) or from the system's keyring, where they stand
    as silkbook, USER@SERVER.

    Example: silkbook intake --season season-2027 ana.xlsx

    Example: silkbook intake --season season-2027 --mail --send
    """
    paths, folder = without_season(paths, folder)
    if mail is not None and paths:
        raise click.UsageError("Name files, or take in --mail; not both at once.")
    season = opened(folder or home_of(paths, Path()))
    say_problems(season.problems, season.language)
    season.folder.make()
    moment = moment_of(as_of)
    sends = send or send_again is not None
    clean = True
    if mail is not None:
        clean = in_mail(season, mail, moment, templates)
    elif paths or not sends:
        clean = _take_files(season, paths, moment)
    if sends:
        clean = out_mail(season, moment, send_again) and clean
    end(clean=clean)


def _take_files(season: Season, paths: tuple[Path, ...], moment: datetime) -> bool:
    """Take files in and say what became of each; return whether all was clean."""
    from fieldbook.ledger.folder import book_files
    from fieldbook.season.intake import take_in

    files = list(book_files(list(paths) or [season.folder.incoming]))
    clean, asked = True, 0
    for taken in with_progress(take_in(season, files, now=moment), len(files)):
        clean = clean and not taken.needs_a_look
        tell(taken.said(season.language))
        say_problems(taken.open_problems, season.language)
        asked += len(taken.verdict.open_questions) if taken.accepted and taken.verdict else 0
    if asked:
        tell(f"Write correction books for what is asked: silkbook ask {season.folder.path}")
    if not files:
        click.echo("No files to take in.")
    return clean


@click.command()
@click.argument("named", metavar="FILE [FOLDER]", type=click.Path(path_type=Path), nargs=-1)
@season_option()
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
@click.option(
    "--explain",
    metavar="[CODE]",
    is_flag=False,
    flag_value="",
    help="Say what every check looks for instead, or what one does, with an example.",
)
@as_of_option
def check(
    named: tuple[Path, ...],
    folder: Path | None,
    as_json: bool,
    explain: str | None,
    as_of: datetime | None,
) -> None:
    """Check one book and change nothing.

    With --explain it says what every check looks for.

    Example: silkbook check ana.xlsx --season season-2027

    Example: silkbook check --explain rows-odd
    """
    files, folder = without_season(named, folder)
    if explain is not None:
        _explain(explain, folder or Path())
        return
    if len(files) != 1:
        raise click.UsageError("Name one book to check, or ask for --explain.")
    from fieldbook.season.checking import check_file

    season = opened(folder or home_of(files, _season_above(files[0])))
    taken = check_file(season, files[0], now=moment_of(as_of))
    if as_json:
        from fieldbook.export.as_json import check_json

        click.echo(check_json(taken, as_of=day_of(as_of), language=season.language))
    else:
        say_problems(taken.open_problems, season.language)
        readings = len(taken.verdict.readings) if taken.verdict else 0
        looks = f"{len(taken.open_problems)} to look at"
        tell(f"{taken.name}: {counted(readings, 'reading')}, {looks}")
    end(clean=not taken.needs_a_look)


def _explain(code: str, folder: Path) -> None:
    """Print what the catalogue says of one problem, or of all, in the season's language if any."""
    from fieldbook.explain import all_lines, near_code, one_lines
    from fieldbook.problems import catalogue

    if code and code not in catalogue():
        fail("no-such-choice", what="check", typed=code, suggestion=near_code(code))
    from fieldbook.settings.read import read_settings

    settings, _ = read_settings(folder / "season.toml")
    language = settings.language if settings else "en"
    for text in one_lines(code, language) if code else all_lines(language):
        click.echo(text)


def _season_above(file: Path) -> Path:
    """Find the season that a file lies in; the current folder where there is none."""
    above = (parent for parent in file.resolve().parents if (parent / "season.toml").is_file())
    return next(above, Path())
