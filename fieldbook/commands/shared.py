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


_NAMED_TWICE = "Name the season folder once, with --season or without."


def season_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command its season folder, by itself or as --season."""

    @wraps(command)
    def run(*args: Any, folder: Path | None, season: Path | None, **params: Any) -> Any:
        if folder and season:
            raise click.UsageError(_NAMED_TWICE)
        return command(*args, folder=folder or season or Path(), **params)

    run = season_option("season")(run)
    return click.argument("folder", type=click.Path(path_type=Path), required=False)(run)


def season_option(name: str = "folder") -> Callable[..., Any]:
    """Give a command --season; None is the current folder."""
    return click.option(
        "--season",
        name,
        type=click.Path(path_type=Path),
        help="The season folder, if it is not the current one.",
    )


def without_season(
    named: Iterable[Path], folder: Path | None
) -> tuple[tuple[Path, ...], Path | None]:
    """Take the season folder out of what was named; --season names it as well."""
    words = tuple(named)
    homes = [word for word in words if _is_season(word)]
    if len(homes) + (folder is not None) > 1:
        raise click.UsageError(_NAMED_TWICE)
    return tuple(word for word in words if word not in homes), folder or next(iter(homes), None)


def home_of(files: Iterable[Path], home: Path) -> Path:
    """Return the season folder; where it is none, end if something was named that is not there."""
    missing = [] if _is_season(home) else [file for file in files if not _is_there(file)]
    if missing:
        fail("path-missing", path=str(missing[0]))
    return home


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except OSError:
        return False


def _is_season(path: Path) -> bool:
    try:
        return (path / "season.toml").is_file()
    except OSError:  # a name that no file can have
        return False


def field_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command a field and its season folder, in any order, or that as --season."""

    @wraps(command)
    def run(*args: Any, named: tuple[str, ...], folder: Path | None, **params: Any) -> Any:
        left, home = without_season(map(Path, named), folder)
        fields = [word for word in named if Path(word) in left]
        if len(fields) > 1:
            raise click.UsageError(f"Name one field; '{fields[-1]}' holds no season.toml.")
        if not fields:
            raise click.UsageError("Name a field as well, by its field ID.")
        return command(*args, field_id=fields[0], folder=home or Path(), **params)

    run = season_option()(run)
    return click.argument("named", metavar="FIELD_ID [FOLDER]", nargs=-1, required=True)(run)


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


def counted(count: int, thing: str) -> str:
    """Name how many things there are, such as 1 book or 2 books."""
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"


def say_problems(problems: Iterable[Problem], language: str = "en") -> None:
    """Print problems, a line each; those that differ in their cell alone share one."""
    from fieldbook.problems import Weight, lines
    from fieldbook.words import say

    words = {weight: say(str(weight), language).upper() for weight in Weight}
    wide = max(map(len, words.values()))
    for weight, text in lines(problems, language):
        click.echo(f"{words[weight]:{wide}}  {text}")


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
    """End with wrong use for a field that the roster does not have, or that is left out."""
    told = [found for found in season.problems if found.place.field_id == field_id]
    if field_id in season.roster.left_out and told:
        say_problems(told, season.language)
        sys.exit(USE_CODE)
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
