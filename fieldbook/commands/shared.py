"""What commands share: options, words, exit codes. The only place that asks for today's date."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, time
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

if TYPE_CHECKING:
    from fieldbook.problems import Problem
    from fieldbook.season.season import Season

LOOK_CODE, USE_CODE = 1, 2
_WORTH_A_BAR = 4
_FIRST_YEAR, _LAST_YEAR = 2000, 2099


def season_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command its season folder."""
    return click.argument("folder", type=click.Path(path_type=Path), default=Path())(command)


def season_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command whose argument is something else its season folder."""
    return click.option(
        "--season",
        "folder",
        type=click.Path(path_type=Path),
        default=Path(),
        help="The season folder, if it is not the current one.",
    )(command)


def templates_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command templates of the user's own."""
    return click.option(
        "--templates",
        type=click.Path(path_type=Path, exists=True, file_okay=False, resolve_path=True),
        help="A folder with your own templates.",
    )(command)


def _sane_day(_: click.Context, __: click.Parameter, typed: str | None) -> datetime | None:
    if typed is None:
        return None
    try:
        day = datetime.strptime(typed, "%Y-%m-%d")
    except ValueError:
        raise click.BadParameter(f"'{typed}' is no day; type it like 2027-08-20") from None
    if not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise click.BadParameter(f"a day of the years {_FIRST_YEAR} to {_LAST_YEAR}, please")
    return day


def as_of_option(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the day to work from."""
    return click.option(
        "--as-of",
        metavar="DAY",
        callback=_sane_day,
        help="The day to work from, instead of today, such as 2027-08-20.",
    )(command)


def engine_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the choice of where its batch work runs; put it next to the function."""

    @wraps(command)
    def run(*args: Any, workers: int | None, scheduler: str | None, **params: Any) -> Any:
        from fieldbook.engines import using

        if workers and scheduler:
            raise click.UsageError("Choose one of --workers and --scheduler.")
        with using(workers=workers, scheduler=scheduler):
            return command(*args, **params)

    workers = click.option(
        "--workers",
        type=click.IntRange(1, 512),
        help="How many processes share long work; 1 does it all in one.",
    )
    scheduler = click.option(
        "--scheduler",
        metavar="ADDRESS",
        help="The address of a Dask scheduler whose workers share long work, on many computers.",
    )
    return workers(scheduler(run))


def day_of(as_of: datetime | None) -> date:
    """Return the day to work from: today if none was named."""
    return as_of.date() if as_of else datetime.now().astimezone().date()


def moment_of(as_of: datetime | None) -> datetime:
    """Return the moment to work from: now, or the evening of the day that was named."""
    return datetime.combine(as_of.date(), time(20), UTC) if as_of else datetime.now(UTC)


def opened(folder: Path) -> Season:
    """Open a season, or say what is wrong with it and end."""
    from fieldbook.engines import current, share
    from fieldbook.season.season import open_season

    season, problems = open_season(folder.resolve() if current().cluster else folder)
    if season is None:
        say_problems(problems)
        sys.exit(LOOK_CODE)
    share(season.folder.settings)
    return season


def tell(text: str) -> None:
    """Print a line that holds what people typed: it can't steer a terminal or fake a line."""
    from fieldbook.words import one_line

    click.echo(one_line(text))


def say_problems(problems: Iterable[Problem], language: str = "en") -> None:
    """Print problems, a line each."""
    from fieldbook.problems import line
    from fieldbook.words import say

    for found in problems:
        click.echo(f"{say(str(found.weight), language).upper():5}  {line(found, language)}")


def are_heavy(problems: Iterable[Problem]) -> bool:
    """Say whether any problem is more than a note."""
    return any(found.weight != "note" for found in problems)


def fail(code: str, **params: str | int) -> NoReturn:
    """Say one problem and end: wrong use."""
    from fieldbook.problems import line, problem

    click.echo(line(problem(code, **params)), err=True)
    sys.exit(USE_CODE)


def end(*, clean: bool) -> None:
    """End the command: something to look at, or clean."""
    sys.exit(0 if clean else LOOK_CODE)


def must_know(what: str, typed: str | None, known: Iterable[str]) -> None:
    """End with wrong use for a name that is not known; None stands for all."""
    names = list(known)
    if typed is not None and typed not in names:
        near = _nearest_words(typed, names)
        fail("no-such-choice", what=what, typed=typed, suggestion=near)


def must_know_field(season: Season, field_id: str | None) -> None:
    """End with wrong use for a field that the roster does not have."""
    must_know("field", field_id, season.roster.fields)


def _nearest_words(typed: str, names: list[str]) -> str:
    """Suggest what may have been meant by a name that is not known."""
    import difflib

    folded = {name.casefold(): name for name in names}
    near = difflib.get_close_matches(typed.casefold(), folded, n=1)
    return f"Did you mean '{folded[near[0]]}'?" if near else f"There is: {', '.join(names[:12])}."


def with_progress(steps: Iterable[Any], count: int) -> Iterable[Any]:
    """Show a bar with counts and time left for long work on a terminal."""
    if count < _WORTH_A_BAR or not sys.stderr.isatty():
        yield from steps
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(steps, total=count, console=Console(stderr=True), description="")
