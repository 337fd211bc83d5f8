"""Look after what is kept."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldbook.commands.shared import (
    are_heavy,
    counted,
    day_of,
    end,
    engine_options,
    fail,
    opened,
    say_problems,
    season_argument,
)

if TYPE_CHECKING:
    from fieldbook.season.season import Season


@click.command()
@season_argument
@click.option(
    "--recheck",
    is_flag=True,
    help="Change nothing; judge every kept original anew and list what would be said differently.",
)
@click.option(
    "--ledger",
    metavar="PLACE",
    help="Move the season: the URL of a PostgreSQL database, or season.db for the folder's own.",
)
@engine_options
def rebuild(folder: Path, recheck: bool, ledger: str | None) -> None:
    """Throw the ledger away and replay it from the kept books.

    Verdicts are replayed, never judged again. --recheck judges again, by the rules, the roster and
    the settings of today, each book as of the day it came in and by what was known then.

    --ledger replays it into another place and says what to write into season.toml; until then
    the season goes on with the one that it has. The database's password is never part of the URL:
    keep it in the environment as PGPASSWORD, or in PostgreSQL's own file pgpass.

    Example: silkbook rebuild season-2027 --recheck

    Example: silkbook rebuild season-2027 --ledger postgresql://ana@db.example.org/corn
    """
    from fieldbook.season.rebuild import moved
    from fieldbook.season.rebuild import rebuild as replay

    season = opened(folder)
    if recheck:
        _recheck(season)
        return
    to = moved(season, ledger) if ledger else season.folder
    if to is None:
        fail("ledger-place-unfit")
    count, problems = replay(season.folder, to=to)
    say_problems(problems)
    if not count and problems:
        click.echo("The ledger was left as it is.")
    else:
        click.echo(f"Replayed {counted(count, 'book')}.")
        if to != season.folder:
            _say_move(ledger if to.database else None)
    end(clean=not problems)


def _say_move(url: str | None) -> None:
    """Say which line makes a move hold."""
    if url:
        click.echo("Now write this into season.toml, so that every command uses the database:")
        click.echo(f'[ledger]\nurl = "{url}"')
    else:
        click.echo("Now take the url under [ledger] out of season.toml, so that season.db is used.")


def _recheck(season: Season) -> None:
    from fieldbook.season.recheck import recheck, recheck_lines

    found = recheck(season)
    for text in recheck_lines(found, season.language):
        click.echo(text)
    say_problems((*season.problems, *found.problems), season.language)
    end(clean=not found.changes and not are_heavy((*season.problems, *found.problems)))


@click.command()
@season_argument
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
def doctor(folder: Path, as_json: bool) -> None:
    """Look whether all that is kept is whole, and change nothing.

    Checks every kept original, every event, the ledger against a replay, what is known of written
    books, and what lies about; says what is wrong and how to mend it.

    Example: silkbook doctor season-2027
    """
    from fieldbook.export.as_json import records_json
    from fieldbook.season.doctor import checkup, checkup_line

    if not (folder / "season.toml").is_file():
        opened(folder)  # says so and ends
    found = checkup(folder)
    if as_json:
        records = {"checked": found.counts}
        click.echo(records_json(records, found.problems, as_of=day_of(None), language="en"))
    else:
        say_problems(found.problems)
        click.echo(checkup_line(found))
    end(clean=not are_heavy(found.problems))
