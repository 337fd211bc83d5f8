"""The commands: parse, call one function, print, exit.

Exit codes: 0 clean, 1 something to look at, 2 wrong use. This is the only place that asks for
today's date. Heavy parts are imported by the command that needs them.
"""

from __future__ import annotations

import errno
import io
import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import click

from fieldbook import __version__

if TYPE_CHECKING:
    from fieldbook.problems import Problem
    from fieldbook.season.conflicts import Conflict
    from fieldbook.season.results import SeasonResults
    from fieldbook.season.season import Season

LOOK_CODE, USE_CODE = 1, 2
_WORTH_A_BAR = 4
_FIRST_YEAR, _LAST_YEAR = 2000, 2099


class _Commands(click.Group):
    """The group of commands; what a folder or a disk refuses ends in one clear line."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; turn the operating system's refusals into a sentence."""
        _speak_anywhere()
        try:
            return super().invoke(ctx)
        except Exception as fault:
            told = _told(fault)
            if told is None:
                raise
            _complain(*told)
            ctx.exit(LOOK_CODE)


def _speak_anywhere() -> None:
    """Let a console that can't show a letter show a mark instead of ending the command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def _told(fault: Exception) -> tuple[str, dict[str, str]] | None:
    """Say what a folder's or a disk's fault is, as a code and its parameters; None for others."""
    if isinstance(fault, BrokenPipeError):  # the reader of our output has seen enough
        return None
    kind, room = type(fault).__name__, type(fault).__module__.partition(".")[0]
    if kind == "SeasonBusyError":
        return "season-busy", {}
    if kind == "DamagedEventError":
        return "kept-event-damaged", {"event": str(fault)}
    if room == "sqlalchemy":
        return _told_of_ledger(str(fault))
    return _told_of_system(fault) if isinstance(fault, OSError) else None


def _told_of_system(fault: OSError) -> tuple[str, dict[str, str]]:
    if fault.errno in (errno.ENOSPC, errno.EDQUOT):
        return "disk-full", {}
    detail = fault.strerror or type(fault).__name__
    return "not-writable", {"folder": str(fault.filename or "."), "detail": detail}


def _told_of_ledger(said: str) -> tuple[str, dict[str, str]]:
    """Tell by the database's own words what it met."""
    if "locked" in said:
        return "season-busy", {}
    if "full" in said or "disk I/O" in said:
        return "disk-full", {}
    if "readonly" in said or "unable to open" in said:
        return "not-writable", {"folder": "season.db", "detail": "no right to write"}
    return "ledger-damaged", {}


def _complain(code: str, params: dict[str, str]) -> None:
    from fieldbook.problems import line, problem

    click.echo(line(problem(code, **params)), err=True)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="silkbook")
def main() -> None:
    """Scouting workbooks out, checked counts in, grower reports back.

    Example: silkbook demo demo-season
    """


def _season_argument(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.argument("folder", type=click.Path(path_type=Path), default=Path())(command)


def _season_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--season",
        "folder",
        type=click.Path(path_type=Path),
        default=Path(),
        help="The season folder, if it is not the current one.",
    )(command)


def _templates_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--templates",
        type=click.Path(path_type=Path, exists=True, file_okay=False),
        help="A folder with your own templates.",
    )(command)


def _sane_day(_: click.Context, __: click.Parameter, day: datetime | None) -> datetime | None:
    if day is not None and not _FIRST_YEAR <= day.year <= _LAST_YEAR:
        raise click.BadParameter(f"a day of the years {_FIRST_YEAR} to {_LAST_YEAR}, please")
    return day


def _as_of_option(command: Callable[..., Any]) -> Callable[..., Any]:
    return click.option(
        "--as-of",
        type=click.DateTime(["%Y-%m-%d"]),
        callback=_sane_day,
        help="The day to work from, instead of today.",
    )(command)


def _day(as_of: datetime | None) -> date:
    return as_of.date() if as_of else datetime.now().astimezone().date()


def _now(as_of: datetime | None) -> datetime:
    return datetime.combine(as_of.date(), time(20), UTC) if as_of else datetime.now(UTC)


def _open(folder: Path) -> Season:
    from fieldbook.season.season import open_season

    season, problems = open_season(folder)
    if season is None:
        _say(problems)
        sys.exit(LOOK_CODE)
    return season


def _tell(text: str) -> None:
    """Print a line that holds what people typed: it can't steer a terminal or fake a line."""
    from fieldbook.words import one_line

    click.echo(one_line(text))


def _say(problems: Iterable[Problem], language: str = "en") -> None:
    from fieldbook.problems import line

    for found in problems:
        click.echo(f"{found.weight.upper():5}  {line(found, language)}")


def _heavy(problems: Iterable[Problem]) -> bool:
    """Say whether any problem is more than a note."""
    return any(found.weight != "note" for found in problems)


def _fail(code: str, **params: str | int) -> NoReturn:
    from fieldbook.problems import line, problem

    click.echo(line(problem(code, **params)), err=True)
    sys.exit(USE_CODE)


def _end(*, clean: bool) -> None:
    sys.exit(0 if clean else LOOK_CODE)


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--year", type=click.IntRange(2000, 2099), help="The season's year.")
@click.option("--name", help="What the season is called on books and reports.")
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True)
def new(folder: Path, year: int | None, name: str | None, units: str) -> None:
    """Make a season folder with a roster to fill.

    Example: silkbook new season-2027 --year 2027
    """
    from fieldbook.season.start import new_season
    from fieldbook.units import System

    wanted = year or _day(None).year
    problem = new_season(folder, year=wanted, name=name, units=System(units))
    if problem:
        _say([problem])
        _end(clean=False)
    click.echo(f"Made {folder}. Next: fill {folder / 'roster.xlsx'}, put weather files into")
    click.echo(f"{folder / 'weather'}, look into {folder / 'season.toml'}, then write books:")
    click.echo(f"  silkbook blank {folder} --round kernel-count")


@main.command()
@_season_argument
@click.option("--scout", help="Show only this scout's walks.")
@click.option(
    "--days",
    type=click.IntRange(1, 60),
    default=14,
    show_default=True,
    help="How many days to lay out.",
)
@click.option("--no-pdf", is_flag=True, help="Write the workbook only, no pages for scouts.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
@_templates_option
@_as_of_option
def plan(
    folder: Path,
    scout: str | None,
    days: int,
    no_pdf: bool,
    as_json: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Lay out the walks of the coming days, and say what can't be reached in time.

    Each day begins with the open field whose window closes first; from there it goes to the
    nearest open field, unless that would cost another field its window. Limits are fields_a_day
    in season.toml and the end of re-entry intervals in the roster. Writes plan/plan.xlsx, a page
    for each scout and week, and plan/plan.json, which 'blank --follow-plan' reads.

    Example: silkbook plan season-2027 --days 14
    """
    from fieldbook.report.plan_build import write_plan
    from fieldbook.season.plan_file import plan_json
    from fieldbook.season.plan_words import plan_lines
    from fieldbook.season.planning import season_plan

    season = _open(folder)
    made = season_plan(season, as_of=_day(as_of), days=days)
    if scout is not None and scout not in made.fields_a_day:
        known = made.fields_a_day
        _fail("no-such-choice", what="scout", typed=scout, suggestion=_near(scout, known))
    paths, missing = write_plan(season, made, pdf=not no_pdf, templates=templates)
    problems = (*season.problems, *made.problems, *missing)
    if as_json:
        click.echo(plan_json(made, language=season.language, scout=scout))
    else:
        for text in (*plan_lines(made, season.language, scout), *map(str, paths)):
            _tell(text)
        _say(problems, season.language)
    _end(clean=not _heavy(problems))


@main.command()
@_season_argument
@click.option("--round", "round_name", required=True, help="Which round, e.g. kernel-count.")
@click.option("--scout", help="Only this scout's fields.")
@click.option("--field", "field_id", help="Only this field, by its field ID.")
@click.option("--one-field", is_flag=True, help="A book of its own for each field.")
@click.option("--full", is_flag=True, help="The full form instead of the quick one.")
@click.option("--stops", type=click.IntRange(3, 40), help="Stops in each field.")
@click.option(
    "--follow-plan",
    is_flag=True,
    help="Only the fields that the last 'silkbook plan' lays out for this round, in walking order.",
)
def blank(
    folder: Path,
    round_name: str,
    scout: str | None,
    field_id: str | None,
    one_field: bool,
    full: bool,
    stops: int | None,
    follow_plan: bool,
) -> None:
    """Write blank books for a round: of all fields, or of those that the plan gives a day.

    Example: silkbook blank season-2027 --round kernel-count --scout ana
    """
    from fieldbook.forms.rounds import ROUNDS
    from fieldbook.season.blank import Order, write_books

    if round_name not in ROUNDS:
        _fail(
            "no-such-choice", what="round", typed=round_name, suggestion=_near(round_name, ROUNDS)
        )
    season = _open(folder)
    _known_field(season, field_id)
    order = Order(
        round_=ROUNDS[round_name],
        full=full,
        scout=scout,
        field_id=field_id,
        one_field=one_field,
        stops=stops,
        walked=_walked(season, round_name) if follow_plan else None,
    )
    _say(season.problems, season.language)
    written, refused = 0, []
    for path, fields, problem in write_books(season, order):
        if problem:
            refused.append(problem)
            continue
        written += 1
        _tell(f"{path}  {', '.join(fields)}")
    _say(refused, season.language)
    if not written and not refused:
        _fail("nothing-to-do", detail=_no_fields(season, scout, order.walked))
    _end(clean=not refused and not _heavy(season.problems))


def _walked(season: Season, round_name: str) -> tuple[str, ...]:
    from fieldbook.season.plan_file import fields_in_walking_order

    walked = fields_in_walking_order(season.folder, round_name)
    if walked is None:
        _fail("plan-missing")
    return walked


def _known_field(season: Season, field_id: str | None) -> None:
    fields = season.roster.fields
    if field_id is not None and field_id not in fields:
        _fail("no-such-choice", what="field", typed=field_id, suggestion=_near(field_id, fields))


def _no_fields(season: Season, scout: str | None, walked: tuple[str, ...] | None) -> str:
    if walked is not None:
        return "The plan gives no day to such a field."
    scouts = sorted({field.scout or "anyone" for field in season.roster.fields.values()})
    return f"No field of the roster is given to scout '{scout}'. It knows: {', '.join(scouts)}."


def _near(typed: str, known: Iterable[str]) -> str:
    import difflib

    names = list(known)
    near = difflib.get_close_matches(typed, names, n=1)
    return f"Did you mean '{near[0]}'?" if near else f"There is: {', '.join(names[:12])}."


@main.command()
@click.argument("paths", type=click.Path(path_type=Path), nargs=-1)
@_season_option
@_as_of_option
def intake(paths: tuple[Path, ...], folder: Path, as_of: datetime | None) -> None:
    """Take filled books in: files, folders, or all that lies in incoming/.

    A book in incoming/ moves to incoming/taken/ once it is kept. A file there that can't be taken
    in moves to incoming/set-aside/, with the reason beside it. Files from elsewhere stay.

    Example: silkbook intake --season season-2027 ana.xlsx
    """
    from fieldbook.season.folder import book_files
    from fieldbook.season.intake import take_in

    season = _open(folder)
    _say(season.problems, season.language)
    season.folder.make()
    files = list(book_files(list(paths) or [season.folder.incoming]))
    clean = True
    for taken in _progress(take_in(season, files, now=_now(as_of)), len(files)):
        clean = clean and not taken.needs_a_look
        done = f"taken in: {', '.join(taken.visits)}" if taken.accepted else "not taken in"
        moved = f"; set aside as {taken.aside}" if taken.aside else ""
        _tell(f"{taken.name}: {done}{moved}")
        _say(taken.open_problems, season.language)
    if not files:
        click.echo("No files to take in.")
    _end(clean=clean)


def _progress(steps: Iterable[Any], count: int) -> Iterable[Any]:
    """Show a bar with counts and time left for long work on a terminal."""
    if count < _WORTH_A_BAR or not sys.stderr.isatty():
        yield from steps
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(steps, total=count, console=Console(stderr=True), description="")


@main.command()
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--season", "folder", type=click.Path(path_type=Path), help="The season folder.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
@click.option(
    "--explain",
    metavar="[CODE]",
    is_flag=False,
    flag_value="",
    help="Say what every check looks for instead, or what one does, with an example.",
)
@_as_of_option
def check(
    file: Path | None,
    folder: Path | None,
    as_json: bool,
    explain: str | None,
    as_of: datetime | None,
) -> None:
    """Check one book and change nothing; or say what every check looks for.

    Example: silkbook check ana.xlsx --season season-2027

    Example: silkbook check --explain rows-odd
    """
    if explain is not None:
        _explain(explain)
        return
    if file is None:
        raise click.UsageError("Name the book to check, or ask for --explain.")
    from fieldbook.season.intake import check_file

    season = _open(folder or _season_above(file))
    taken = check_file(season, file, now=_now(as_of))
    if as_json:
        from fieldbook.season.as_json import check_json

        click.echo(check_json(taken, as_of=_day(as_of), language=season.language))
    else:
        _say(taken.open_problems, season.language)
        readings = len(taken.verdict.readings) if taken.verdict else 0
        _tell(f"{taken.name}: {readings} readings, {len(taken.open_problems)} to look at")
    _end(clean=not taken.needs_a_look)


def _explain(code: str) -> None:
    """Print what the catalogue says of one problem, or of all."""
    from fieldbook.explain import all_lines, near_code, one_lines
    from fieldbook.problems import catalogue

    if code and code not in catalogue():
        _fail("no-such-choice", what="check", typed=code, suggestion=near_code(code))
    for text in one_lines(code) if code else all_lines():
        click.echo(text)


@main.command()
@_season_argument
@click.option("--scout", help="Only this scout's books.")
def ask(folder: Path, scout: str | None) -> None:
    """Write correction books: what was entered, with the questioned cells marked.

    Example: silkbook ask season-2027 --scout ana
    """
    from fieldbook.season.ask import write_corrections

    count = 0
    for asked in write_corrections(_open(folder), scout=scout):
        count += 1
        _tell(f"{asked.path}  {asked.questions} questions for {asked.scout}")
        _tell(f"{asked.reply}  the words to send with it")
    if not count:
        click.echo("Nothing is asked.")


@main.command()
@click.argument("field_id")
@_season_option
@click.option("--changed", is_flag=True, help="Only readings that something replaced.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
@_as_of_option
def history(
    field_id: str, folder: Path, changed: bool, as_json: bool, as_of: datetime | None
) -> None:
    """Show who read what in a field, when, from which file, and what replaced it.

    Corrections that differ stand side by side at the end, and how they were settled.

    Example: silkbook history D14 --season season-2027 --changed
    """
    from fieldbook.season.history import changed_only, field_history, history_lines
    from fieldbook.season.ledger import Ledger

    season = _open(folder)
    _known_field(season, field_id)
    with Ledger(season.folder) as ledger:
        found = field_history(ledger, field_id)
    shown = changed_only(found) if changed else found.readings
    if as_json:
        from fieldbook.season.as_json import records_json

        whole = {"history": replace(found, readings=shown)}
        click.echo(records_json(whole, (), as_of=_day(as_of), language=season.language))
        return
    for text in history_lines(shown, found):
        _tell(text)
    if not found.readings:
        click.echo(f"Nothing was taken in for field {field_id} yet.")


@main.command()
@click.argument("field_id")
@_season_option
@click.option("--conflict", "number", type=click.IntRange(min=1), help="Which one, by its number.")
@click.option("--keep", help="The reading that counts: first, second, or the name of its file.")
@click.option("--value", help="What counts instead, as it would be typed into the book.")
@click.option("--none", "lost", is_flag=True, help="Nobody can count again: none of them counts.")
@click.option("--by", "who", help="Who decides, if not the user of this computer.")
@click.option("--reason", default="", help="Why, for the history.")
@click.option("--json", "as_json", is_flag=True, help="The conflicts for machines.")
@_as_of_option
def decide(
    field_id: str,
    folder: Path,
    number: int | None,
    keep: str | None,
    value: str | None,
    lost: bool,
    who: str | None,
    reason: str,
    as_json: bool,
    as_of: datetime | None,
) -> None:
    """Show a field's corrections that differ, side by side, or settle one of them.

    Until then none of them is used. The decision is kept with who made it, when and why.

    Example: silkbook decide D14 --season season-2027 --keep second --reason "Ana was there again"
    """
    from fieldbook.problems import Problem
    from fieldbook.season.decide import Choice, field_conflicts
    from fieldbook.season.decide import decide as settle_conflict

    season = _open(folder)
    _known_field(season, field_id)
    if sum((keep is not None, value is not None, lost)) > 1:
        raise click.UsageError("Choose one of --keep, --value and --none.")
    if keep is None and value is None and not lost:
        _show_conflicts(season, field_conflicts(season, field_id), field_id, as_json, as_of)
        return
    choice = Choice(keep=keep, value=value, who=who or _user(), reason=reason)
    settled = settle_conflict(season, field_id, choice, number=number, now=_now(as_of))
    if isinstance(settled, Problem):
        _say([settled], season.language)
        _end(clean=False)
    else:
        _tell(f"{settled.conflict.visit_id}  {settled.conflict.what}: {settled.words}")


def _show_conflicts(
    season: Season,
    found: tuple[Conflict, ...],
    field_id: str,
    as_json: bool,
    as_of: datetime | None,
) -> None:
    from fieldbook.season.conflicts import conflict_lines

    if as_json:
        from fieldbook.season.as_json import records_json

        records = {"conflicts": found}
        click.echo(records_json(records, (), as_of=_day(as_of), language=season.language))
    else:
        for text in conflict_lines(found):
            _tell(text)
        if not found:
            click.echo(f"Field {field_id} has no corrections that differ.")
    _end(clean=not found)


def _user() -> str:
    import getpass

    try:
        return getpass.getuser()
    except (OSError, KeyError):  # nobody is logged in, as in a service
        return "?"


def _season_above(file: Path) -> Path:
    """Find the season that a file lies in; the current folder where there is none."""
    above = (parent for parent in file.resolve().parents if (parent / "season.toml").is_file())
    return next(above, Path())


@main.command()
@_season_argument
@click.option("--json", "as_json", is_flag=True, help="Every computed figure for machines.")
@click.option("--book", is_flag=True, help="Write all tables as a workbook, reports/results.xlsx.")
@click.option(
    "--export",
    "wanted",
    type=click.Choice(["csv", "parquet"]),
    help="Write the same tables as files, into reports/tables/.",
)
@click.option(
    "--to",
    "place",
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder for --book and --export, instead of reports/.",
)
@_as_of_option
def results(
    folder: Path,
    as_json: bool,
    book: bool,
    wanted: str | None,
    place: Path | None,
    as_of: datetime | None,
) -> None:
    """Show every computed figure, or write all tables for other programs.

    As JSON also the harvest order, the trials and the settling.

    The tables are fields, plantings, stages, visits, stops, ears, leaves, stalks, harvest,
    photos, questions and figures, and a dictionary of every column.

    Example: silkbook results season-2027 --book --export csv
    """
    from fieldbook.season.results import season_results

    if place and not (book or wanted):
        raise click.UsageError("--to says where; add --book or --export.")
    season = _open(folder)
    found = season_results(season, as_of=_day(as_of))
    if book or wanted:
        written = _write_tables(season, found, _day(as_of), book, wanted, place)
        for path in written:
            click.echo(path, err=as_json)
    if as_json:
        from fieldbook.season.as_json import results_json
        from fieldbook.season.figures import season_figures
        from fieldbook.season.ripe import order_of_harvest
        from fieldbook.season.settle import settle as settled
        from fieldbook.season.trials import trial_results

        told = results_json(
            found.fields,
            as_of=_day(as_of),
            language=season.language,
            order=order_of_harvest(found.fields, figures=season_figures(season.settings)),
            trials=trial_results(season, as_of=_day(as_of))[0],
            settled=settled(season, as_of=_day(as_of)),
        )
        click.echo(told)
    else:
        if not (book or wanted):
            from fieldbook.season.as_text import results_lines

            for text in results_lines(found.fields, season.settings.units, season.language):
                _tell(text)
        _say((*season.problems, *found.problems), season.language)
    questions = any(field.questions for field in found.fields)
    _end(clean=not questions and not _heavy((*season.problems, *found.problems)))


def _write_tables(
    season: Season,
    found: SeasonResults,
    day: date,
    book: bool,
    wanted: str | None,
    place: Path | None,
) -> Iterable[Path]:
    from fieldbook.season.export_files import Format, can_write, write_tables

    kind = Format(wanted) if wanted else None
    if kind and not can_write(kind):
        _fail("parquet-missing")
    return write_tables(season, found, as_of=day, book=book, wanted=kind, place=place)


@main.command()
@_season_argument
@click.option("--field", "field_id", help="Only this field, by its field ID.")
@click.option("--no-pdf", is_flag=True, help="Write the HTML pages only.")
@_templates_option
@_as_of_option
def report(
    folder: Path,
    field_id: str | None,
    no_pdf: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Write a report for every field, as HTML and PDF, and the board of the season.

    Example: silkbook report season-2027 --field D14
    """
    from fieldbook.report.build import write_reports

    season = _open(folder)
    _known_field(season, field_id)
    _say(season.problems, season.language)
    count = 1 if field_id is not None else len(season.roster.fields) + 1
    written = write_reports(
        season, as_of=_day(as_of), field_id=field_id, pdf=not no_pdf, templates=templates
    )
    problems: list[Problem] = []
    for step in _progress(written, count):
        problems += step.problems
        click.echo("  ".join(str(path) for path in step.paths))
    _say(dict.fromkeys(problems), season.language)
    _end(clean=not problems and not _heavy(season.problems))


@main.command()
@_season_argument
@_templates_option
@_as_of_option
def board(folder: Path, templates: Path | None, as_of: datetime | None) -> None:
    """Write the board alone: one page for the team, a row a field; 'report' writes it too.

    What is due, which windows close, what is asked; sorts, filters and searches without a network.
    It links to the reports that lie beside it.

    Example: silkbook board season-2027
    """
    from fieldbook.report.build import write_board

    season = _open(folder)
    written = write_board(season, as_of=_day(as_of), templates=templates)
    click.echo(str(written.paths[0]))
    problems = (*season.problems, *written.problems)
    _say(problems, season.language)
    _end(clean=not _heavy(problems))


@main.command()
@_season_argument
@click.option("--trial", help="Only this trial, by its name in the roster.")
@click.option(
    "--level",
    type=click.FloatRange(0, 50, min_open=True),
    help="Level in % at which a difference counts, instead of the season's own.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines; no pages.")
@click.option("--no-pdf", is_flag=True, help="Write the HTML pages only.")
@_as_of_option
def compare(
    folder: Path,
    trial: str | None,
    level: float | None,
    as_json: bool,
    no_pdf: bool,
    as_of: datetime | None,
) -> None:
    """Compare the strips of trials: means, least difference that counts, pairs.

    Example: silkbook compare season-2027 --trial "Hybrids north"
    """
    from fieldbook.season.trials import trial_names, trial_results

    season = _open(folder)
    names = trial_names(season)
    if not names:
        _fail("nothing-to-do", detail="No field of the roster has a Trial.")
    if trial is not None and trial not in names:
        _fail("no-such-choice", what="trial", typed=trial, suggestion=_near(trial, names))
    found, problems = trial_results(season, as_of=_day(as_of), trial=trial, level_pct=level)
    told = [*problems, *(said for one in found for said in one.problems)]
    if as_json:
        from fieldbook.season.as_json import records_json

        records = {"trials": [one.without_problems for one in found]}
        click.echo(records_json(records, told, as_of=_day(as_of), language=season.language))
    else:
        from fieldbook.report.trial_page import trial_pages

        views = trial_pages(season, found, as_of=_day(as_of), level_pct=level)
        told += _write_plain(season, views, pdf=not no_pdf)
        _say((*season.problems, *problems), season.language)
    _end(clean=not _heavy((*season.problems, *told)))


def _write_plain(season: Season, views: Mapping[str, Any], *, pdf: bool) -> list[Problem]:
    """Print pages as text, write them into reports/, and return what could not be written."""
    from fieldbook.report.plain import plain_lines, write_plain

    problems: list[Problem] = []
    for name, view in views.items():
        for text in plain_lines(view):
            _tell(text)
        written = write_plain(season, view, name, pdf=pdf)
        click.echo("  ".join(str(path) for path in written.paths))
        problems += written.problems
    _say(dict.fromkeys(problems), season.language)
    return problems


@main.command()
@_season_argument
@click.option(
    "--with",
    "others",
    type=click.Path(path_type=Path),
    multiple=True,
    help="The folder of another season that the suggestion may rest on; can be repeated.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines; no pages.")
@click.option("--no-pdf", is_flag=True, help="Write the HTML page only.")
@_as_of_option
def settle(
    folder: Path, others: tuple[Path, ...], as_json: bool, no_pdf: bool, as_of: datetime | None
) -> None:
    """Hold every yield estimate against the harvest, and suggest for next season.

    A suggestion is how many kernels make a bushel, for all fields and for each hybrid. It takes
    at least 3 fields in 2 years, so name earlier seasons with --with; the page says what is
    missing. It is written to reports/settle-next-season.toml: copy its [figures] and [hybrids]
    lines into next season's season.toml if you agree.

    Example: silkbook settle season-2027 --with season-2026
    """
    from fieldbook.season.settle import settle as settled

    season = _open(folder)
    found = settled(season, as_of=_day(as_of), others=[_open(other) for other in others])
    if not found.harvests and not found.problems:
        _fail("nothing-to-do", detail="No harvest was taken in. Write books: blank --round harvest")
    told = list(found.problems)
    if as_json:
        from fieldbook.season.as_json import records_json

        records = {"settled": replace(found, problems=())}
        click.echo(records_json(records, told, as_of=_day(as_of), language=season.language))
    else:
        from fieldbook.report.settle_page import keep_suggestion, settle_pages

        told += _write_plain(season, settle_pages(season, found), pdf=not no_pdf)
        kept = keep_suggestion(season, found)
        if kept:
            click.echo(f"{kept}  (for next season)")
        _say(season.problems, season.language)
    _end(clean=not _heavy((*season.problems, *told)))


@main.command()
@_season_argument
@click.option(
    "--recheck",
    is_flag=True,
    help="Change nothing; judge every kept original anew and list what would be said differently.",
)
def rebuild(folder: Path, recheck: bool) -> None:
    """Throw the ledger away and replay it from the kept books.

    Verdicts are replayed, never judged again. --recheck judges again, by the rules, the roster and
    the settings of today, each book as of the day it came in and by what was known then.

    Example: silkbook rebuild season-2027 --recheck
    """
    from fieldbook.season.intake import rebuild as replay

    season = _open(folder)
    if recheck:
        _recheck(season)
        return
    count, problems = replay(season.folder)
    _say(problems)
    if not count and problems:
        click.echo("The ledger was left as it is.")
    else:
        click.echo(f"Replayed {count} books.")
    _end(clean=not problems)


def _recheck(season: Season) -> None:
    from fieldbook.season.recheck import recheck, recheck_lines

    found = recheck(season)
    for text in recheck_lines(found, season.language):
        click.echo(text)
    _say((*season.problems, *found.problems), season.language)
    _end(clean=not found.changes and not _heavy((*season.problems, *found.problems)))


@main.command()
@_season_argument
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
def doctor(folder: Path, as_json: bool) -> None:
    """Look whether all that is kept is whole, and change nothing.

    Checks every kept original, every event, the ledger against a replay, what is known of written
    books, and what lies about; says what is wrong and how to mend it.

    Example: silkbook doctor season-2027
    """
    from fieldbook.season.as_json import records_json
    from fieldbook.season.doctor import checkup, checkup_line

    if not (folder / "season.toml").is_file():
        _open(folder)  # says so and ends
    found = checkup(folder)
    if as_json:
        records = {"checked": found.counts}
        click.echo(records_json(records, found.problems, as_of=_day(None), language="en"))
    else:
        _say(found.problems)
        click.echo(checkup_line(found))
    _end(clean=not _heavy(found.problems))


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--no-pdf", is_flag=True, help="Write the HTML pages only.")
def demo(folder: Path, no_pdf: bool) -> None:
    """Make an invented season and run the whole round on it, to the scale tickets.

    Example: silkbook demo demo-season
    """
    from fieldbook.demo import DemoRefusedError, run_demo

    try:
        for text in run_demo(folder, pdf=not no_pdf):
            click.echo(text)
    except DemoRefusedError as refused:
        click.echo(str(refused), err=True)
        sys.exit(USE_CODE)
