"""Write the plan of a season: plan.json, the workbook, and a PDF for each scout and week."""

from collections.abc import Iterator
from pathlib import Path

from fieldbook.problems import Problem, problem
from fieldbook.report.pdf import page_pdf, pdf_missing
from fieldbook.report.plan_page import week_pages
from fieldbook.season.blank import own_name
from fieldbook.season.folder import write_safely
from fieldbook.season.known import read_known
from fieldbook.season.plan_book import write_plan_book
from fieldbook.season.plan_file import keep_plan
from fieldbook.season.planning import SeasonPlan
from fieldbook.season.season import Season


def write_plan(
    season: Season, plan: SeasonPlan, *, pdf: bool, templates: Path | None
) -> tuple[tuple[Path, ...], tuple[Problem, ...]]:
    """Write a plan's files over those of the plan before; returns them and what was not written.

    Pages of an older plan are taken away: nobody shall walk by them.
    """
    for old in season.folder.plan.glob("*-week-of-????-??-??.pdf"):
        old.unlink()
    kept = keep_plan(season.folder, plan, language=season.language)
    book = write_plan_book(season.folder, season.settings, plan)
    missing = pdf_missing() if pdf else None
    if missing:
        return (book, kept), (problem("pdf-missing", detail=missing),)
    pages = tuple(_write_pages(season, plan, templates)) if pdf else ()
    return (book, *pages, kept), ()


def _write_pages(season: Season, plan: SeasonPlan, templates: Path | None) -> Iterator[Path]:
    asked = read_known(season).asked_of_scouts(season.roster.fields)
    for scout in dict.fromkeys([*plan.fields_a_day, *asked]):
        mine = asked.get(scout, ())
        for first, html in week_pages(plan, season.settings, scout, templates, asked=mine):
            path = season.folder.plan / f"{own_name(scout)}-week-of-{first.isoformat()}.pdf"
            write_safely(path, page_pdf(html))
            yield path
