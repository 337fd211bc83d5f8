"""Every computed figure, for people, machines and other programs."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fieldbook.commands.shared import (
    are_heavy,
    as_of_option,
    day_of,
    end,
    engine_options,
    fail,
    opened,
    say_problems,
    season_argument,
    tell,
)

if TYPE_CHECKING:
    from fieldbook.results.results import SeasonResults
    from fieldbook.season.season import Season


@click.command()
@season_argument
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
@as_of_option
@engine_options
def results(
    folder: Path,
    as_json: bool,
    book: bool,
    wanted: str | None,
    place: Path | None,
    as_of: datetime | None,
) -> None:
    """Show every computed figure, or write all tables.

    As JSON also the harvest order, the trials and the settling.

    The tables are fields, plantings, stages, visits, stops, ears, leaves, stalks, harvest,
    photos, questions and figures, and a dictionary of every column.

    Example: silkbook results season-2027 --book --export csv
    """
    from fieldbook.results.results import season_results

    if place and not (book or wanted):
        raise click.UsageError("--to says where; add --book or --export.")
    season = opened(folder)
    found = season_results(season, as_of=day_of(as_of))
    if book or wanted:
        written = _write_tables(season, found, day_of(as_of), book, wanted, place)
        for path in written:
            click.echo(path, err=as_json)
    if as_json:
        click.echo(_as_json(season, found, day_of(as_of)))
    else:
        if not (book or wanted):
            from fieldbook.export.as_text import results_lines

            for text in results_lines(found.fields, season.settings.units, season.language):
                tell(text)
        say_problems((*season.problems, *found.problems), season.language)
    questions = any(field.questions for field in found.fields)
    end(clean=not questions and not are_heavy((*season.problems, *found.problems)))


def _as_json(season: Season, found: SeasonResults, day: date) -> str:
    """Write every figure, with what speaks of all fields."""
    from fieldbook.export.as_json import results_json
    from fieldbook.results.ripe import order_of_harvest
    from fieldbook.results.settle import settle as settled
    from fieldbook.results.trials import trial_results
    from fieldbook.settings.figures import season_figures

    return results_json(
        found.fields,
        as_of=day,
        language=season.language,
        order=order_of_harvest(found.fields, figures=season_figures(season.settings)),
        trials=trial_results(season, as_of=day)[0],
        settled=settled(season, as_of=day),
    )


def _write_tables(
    season: Season,
    found: SeasonResults,
    day: date,
    book: bool,
    wanted: str | None,
    place: Path | None,
) -> Iterable[Path]:
    from fieldbook.export.files import Format, can_write, write_tables

    kind = Format(wanted) if wanted else None
    if kind and not can_write(kind):
        fail("parquet-missing")
    return write_tables(season, found, as_of=day, book=book, wanted=kind, place=place)
