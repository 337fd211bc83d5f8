"""Plan walks and write books: blank ones, and correction books."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldbook.commands.shared import (
    are_heavy,
    as_of_option,
    counted,
    day_of,
    end,
    fail,
    must_know,
    must_know_field,
    opened,
    say_problems,
    season_argument,
    tell,
    templates_option,
)

if TYPE_CHECKING:
    from fieldbook.season.season import Season


@click.command()
@season_argument
@click.option("--scout", help="Show only this scout's walks.")
@click.option(
    "--days",
    type=click.IntRange(1, 60),
    help="How many days to lay out; 14 unless the plan before had another number.",
)
@click.option("--no-pdf", is_flag=True, help="Write the workbook only, no pages for scouts.")
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines.")
@templates_option
@as_of_option
def plan(
    folder: Path,
    scout: str | None,
    days: int | None,
    no_pdf: bool,
    as_json: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Lay out the walks of the coming days for every scout.

    It says what can't be reached in time. Each day begins with the open field whose window closes
    first; from there it goes to the nearest open field, unless that would cost another field its
    window. Limits are fields_a_day in season.toml and the end of re-entry intervals in the roster.
    Writes plan/plan.xlsx, a page for each scout and week, and plan/plan.json, which 'blank
    --follow-plan' reads. 'report' lays it out anew where something changed.

    Example: silkbook plan season-2027 --days 14
    """
    from fieldbook.export.plan_file import plan_json, planned_span
    from fieldbook.export.plan_words import plan_lines
    from fieldbook.report.plan_build import write_plan
    from fieldbook.results.planning import season_plan

    season = opened(folder)
    days = days or planned_span(season.folder)
    made = season_plan(season, as_of=day_of(as_of), days=days)
    must_know("scout", scout, made.fields_a_day)
    paths, missing = write_plan(season, made, pdf=not no_pdf, templates=templates)
    problems = (*season.problems, *made.problems, *missing)
    if as_json:
        click.echo(plan_json(made, language=season.language, scout=scout))
    else:
        for text in (*plan_lines(made, season.language, scout), *map(str, paths)):
            tell(text)
        say_problems(problems, season.language)
    end(clean=not are_heavy(problems))


@click.command()
@season_argument
@click.option(
    "--round",
    "round_name",
    required=True,
    help="Which round: roadside, pollination, kernel-count, ripening or harvest.",
)
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
    """Write blank books for a round, one for each scout.

    They hold all fields, or with --follow-plan those that the plan gives a day.

    Example: silkbook blank season-2027 --round kernel-count --scout ana
    """
    from fieldbook.forms.rounds import ROUNDS
    from fieldbook.season.blank import Order, write_books
    from fieldbook.season.known import read_known

    must_know("round", round_name, ROUNDS)
    season = opened(folder)
    must_know_field(season, field_id)
    order = Order(
        round_=ROUNDS[round_name],
        full=full,
        scout=scout,
        field_id=field_id,
        one_field=one_field,
        stops=stops,
        walked=_walked(season, round_name) if follow_plan else None,
    )
    told = (*season.problems, *read_known(season).name_problems)
    say_problems(told, season.language)
    written, refused = 0, []
    for path, fields, problem in write_books(season, order):
        if problem:
            refused.append(problem)
            continue
        written += 1
        tell(f"{path}  {', '.join(fields)}")
    say_problems(refused, season.language)
    if not written and not refused:
        fail("nothing-to-do", detail=_no_fields(season, scout, order.walked))
    end(clean=not refused and not are_heavy(told))


def _walked(season: Season, round_name: str) -> tuple[str, ...]:
    from fieldbook.export.plan_file import fields_in_walking_order

    walked = fields_in_walking_order(season.folder, round_name)
    if walked is None:
        fail("plan-missing")
    return walked


def _no_fields(season: Season, scout: str | None, walked: tuple[str, ...] | None) -> str:
    if walked is not None:
        return "The plan gives no day to such a field."
    scouts = sorted({field.scout or "anyone" for field in season.roster.fields.values()})
    return f"No field of the roster is given to scout '{scout}'. It knows: {', '.join(scouts)}."


@click.command()
@season_argument
@click.option("--scout", help="Only this scout's books.")
def ask(folder: Path, scout: str | None) -> None:
    """Write correction books, with the questioned cells marked.

    Each shows all that was entered. Books in blank/ask/ that ask nothing any more are removed, as
    long as nobody worked in them.

    Example: silkbook ask season-2027 --scout ana
    """
    from fieldbook.problems import Weight
    from fieldbook.season.ask import clear_answered, write_corrections
    from fieldbook.season.known import read_known

    count, season = 0, opened(folder)
    left_out = [one for one in read_known(season).name_problems if one.weight is Weight.ERROR]
    say_problems(left_out, season.language)
    for asked in write_corrections(season, scout=scout):
        count += 1
        tell(f"{asked.path}  {counted(asked.questions, 'question')} for {asked.scout}")
        tell(f"{asked.reply}  the words to send with it")
    if not count:
        click.echo("Nothing is asked.")
    cleared = clear_answered(season)
    for path in cleared.removed:
        tell(f"{path}  removed, it asks nothing any more")
    say_problems(cleared.kept, season.language)
    end(clean=not left_out)
