"""Pages for growers and the team."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from fieldbook.commands.shared import (
    are_heavy,
    as_of_option,
    day_of,
    end,
    engine_options,
    fail,
    must_know,
    must_know_field,
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


@click.command()
@season_argument
@click.option("--field", "field_id", help="Only this field, by its field ID.")
@click.option("--all", "everything", is_flag=True, help="Write unchanged pages anew, too.")
@click.option("--no-pdf", is_flag=True, help="Write the HTML pages only.")
@templates_option
@as_of_option
@engine_options
def report(
    folder: Path,
    field_id: str | None,
    everything: bool,
    no_pdf: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Write all pages of a season into reports/, as HTML and PDF.

    For every field a report; for every grower a packet (all fields on one page, their reports
    behind it) and a letter (what changed since the visit before, on one page); for the team the
    board, the plan with a page for each scout and week, and the order of harvest once a ripening
    visit was made.

    Only what changed is written again: new readings, the roster, settings, weather, templates, and
    the day, since every page speaks of its day. A page that was changed or deleted by hand is
    written anew. With --field only the report of that field.

    Example: silkbook report season-2027 --field D14
    """
    from fieldbook.report.build import write_reports

    season = opened(folder)
    must_know_field(season, field_id)
    say_problems(season.problems, season.language)
    written = write_reports(
        season,
        as_of=day_of(as_of),
        field_id=field_id,
        pdf=not no_pdf,
        templates=templates,
        everything=everything,
    )
    problems: list[Problem] = []
    unchanged = 0
    for step in with_progress(written, 1 if field_id is not None else len(season.roster.fields)):
        problems += step.problems
        unchanged += step.unchanged
        if step.paths:
            click.echo("  ".join(str(path) for path in step.paths))
    if unchanged:
        click.echo(f"{unchanged} unchanged")
    say_problems(problems, season.language)
    end(clean=not are_heavy((*season.problems, *problems)))


@click.command()
@season_argument
@templates_option
@as_of_option
def board(folder: Path, templates: Path | None, as_of: datetime | None) -> None:
    """Write the board alone, the team's page with a row a field.

    'report' writes it too. It shows what is due, which windows close, what is asked; it sorts,
    filters and searches without a network. It links to the reports that lie beside it.

    Example: silkbook board season-2027
    """
    from fieldbook.report.team import write_board

    season = opened(folder)
    written = write_board(season, as_of=day_of(as_of), templates=templates)
    click.echo(str(written.paths[0]))
    problems = (*season.problems, *written.problems)
    say_problems(problems, season.language)
    end(clean=not are_heavy(problems))


@click.command()
@season_argument
@click.option("--trial", help="Only this trial, by its name in the roster.")
@click.option(
    "--level",
    type=click.FloatRange(0, 50, min_open=True),
    help="Level in % at which a difference counts, instead of the season's own.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines; no pages.")
@click.option("--no-pdf", is_flag=True, help="Write the HTML pages only.")
@templates_option
@as_of_option
def compare(
    folder: Path,
    trial: str | None,
    level: float | None,
    as_json: bool,
    no_pdf: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Compare the strips of trials.

    It gives their means, the least difference that counts, and which pairs differ by it.

    Example: silkbook compare season-2027 --trial "Hybrids north"
    """
    from fieldbook.results.trials import trial_names, trial_results

    season = opened(folder)
    names = trial_names(season)
    if not names:
        fail("nothing-to-do", detail="No field of the roster has a Trial.")
    must_know("trial", trial, names)
    found, problems = trial_results(season, as_of=day_of(as_of), trial=trial, level_pct=level)
    told = [*problems, *(said for one in found for said in one.problems)]
    if as_json:
        from fieldbook.export.as_json import records_json

        records = {"trials": [one.without_problems for one in found]}
        click.echo(records_json(records, told, as_of=day_of(as_of), language=season.language))
    else:
        from fieldbook.report.trial_page import trial_pages

        views = trial_pages(season, found, as_of=day_of(as_of), level_pct=level)
        told += _write_plain(season, views, pdf=not no_pdf, templates=templates)
        say_problems((*season.problems, *problems), season.language)
    end(clean=not are_heavy((*season.problems, *told)))


@click.command()
@season_argument
@click.option(
    "--with",
    "others",
    type=click.Path(path_type=Path),
    multiple=True,
    help="The folder of another season that the suggestion may rest on; can be repeated.",
)
@click.option("--json", "as_json", is_flag=True, help="The same facts for machines; no pages.")
@click.option("--no-pdf", is_flag=True, help="Write the HTML page only.")
@templates_option
@as_of_option
def settle(
    folder: Path,
    others: tuple[Path, ...],
    as_json: bool,
    no_pdf: bool,
    templates: Path | None,
    as_of: datetime | None,
) -> None:
    """Hold every yield estimate against the harvest.

    It suggests for next season how many kernels make a bushel, for all fields and for each hybrid.
    That takes at least 3 fields in 2 years, so name earlier seasons with --with; the page says what
    is missing. It is written to reports/settle-next-season.toml: copy its [figures] and [hybrids]
    lines into next season's season.toml if you agree.

    Example: silkbook settle season-2027 --with season-2026
    """
    from fieldbook.results.settle import settle as settled

    season = opened(folder)
    found = settled(season, as_of=day_of(as_of), others=[opened(other) for other in others])
    if not found.harvests and not found.problems:
        fail("nothing-to-do", detail="No harvest was taken in. Write books: blank --round harvest")
    told = list(found.problems)
    if as_json:
        from fieldbook.export.as_json import records_json

        records = {"settled": replace(found, problems=())}
        click.echo(records_json(records, told, as_of=day_of(as_of), language=season.language))
    else:
        from fieldbook.report.next_season import keep_suggestion
        from fieldbook.report.settle_page import settle_pages

        told += _write_plain(
            season, settle_pages(season, found), pdf=not no_pdf, templates=templates
        )
        kept = keep_suggestion(season, found)
        if kept:
            click.echo(f"{kept}  (for next season)")
        say_problems(season.problems, season.language)
    end(clean=not are_heavy((*season.problems, *told)))


def _write_plain(
    season: Season, views: Mapping[str, Any], *, pdf: bool, templates: Path | None
) -> list[Problem]:
    """Print pages as text, write them into reports/, and return what could not be written."""
    from fieldbook.report.plain import plain_lines, write_plain

    problems: list[Problem] = []
    for name, view in views.items():
        for text in plain_lines(view):
            tell(text)
        written = write_plain(season, view, name, pdf=pdf, templates=templates)
        click.echo("  ".join(str(path) for path in written.paths))
        problems += written.problems
    say_problems(dict.fromkeys(problems), season.language)
    return problems
