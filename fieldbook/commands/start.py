"""Begin a season, or see an invented one."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from fieldbook.commands.shared import (
    USE_CODE,
    day_of,
    end,
    must_know,
    say_problems,
)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--year", type=click.IntRange(2000, 2099), help="The season's year.")
@click.option("--name", help="What the season is called on books and reports.")
@click.option("--units", type=click.Choice(["us", "metric"]), default="us", show_default=True)
@click.option("--language", default="en", help="The language of its pages: en, es.")
def new(folder: Path, year: int | None, name: str | None, units: str, language: str) -> None:
    """Make a season folder with a roster to fill.

    Its books bear an id made of the folder's name and the year: those of one season are refused by
    every other.

    Example: silkbook new season-2027 --year 2027

    Example: silkbook new ensayo --year 2027 --units metric --language es
    """
    from fieldbook.season.start import new_season
    from fieldbook.units import System
    from fieldbook.words import SHIPPED_LANGUAGES

    must_know("language", language, SHIPPED_LANGUAGES)
    wanted = year or day_of(None).year
    problem = new_season(folder, year=wanted, name=name, units=System(units), language=language)
    if problem:
        say_problems([problem])
        end(clean=False)
    click.echo(f"Made {folder}. Next: fill {folder / 'roster.xlsx'}, put weather files into")
    click.echo(f"{folder / 'weather'}, look into {folder / 'season.toml'}, then write books:")
    click.echo(f"  silkbook blank {folder} --round kernel-count")
    click.echo(
        f"Its units are {units} and its language is {language}. For others make it anew, with"
    )
    click.echo("--units metric for hectares, tonnes and C, or --language es for Spanish.")


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--no-pdf", is_flag=True, help="Write the HTML pages only.")
def demo(folder: Path, no_pdf: bool) -> None:
    """Make an invented season and run the whole round on it.

    From roster and blank books to reports and scale tickets.

    Example: silkbook demo demo-season
    """
    from fieldbook.demo import DemoRefusedError, run_demo

    try:
        for text in run_demo(folder, pdf=not no_pdf):
            click.echo(text)
    except DemoRefusedError as refused:
        click.echo(str(refused), err=True)
        sys.exit(USE_CODE)
