"""Write the plan of a season: plan.json, the workbook, and a PDF for each scout and week."""

from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from itertools import count
from pathlib import Path

from fieldbook.export.plan_book import plan_book
from fieldbook.export.plan_file import is_kept, is_workbook_of_ours, keep_plan
from fieldbook.jobs import many
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem, problem
from fieldbook.report.pdf import page_pdf, pdf_missing
from fieldbook.report.plan_page import week_pages
from fieldbook.results.planning import SeasonPlan
from fieldbook.season.blank import own_name
from fieldbook.season.known import read_known
from fieldbook.season.season import Season

_BOOK = "plan.xlsx"
_WORTH_A_POOL = 8  # pages; one takes a quarter of a second, a process twice that to start


def write_plan(
    season: Season, plan: SeasonPlan, *, pdf: bool, templates: Path | None
) -> tuple[tuple[Path, ...], tuple[Problem, ...]]:
    """Write a plan's files over those of the plan before; returns them and what was not written.

    Pages of an older plan are taken away: nobody shall walk by them.
    """
    if pdf or not is_kept(season.folder, plan, language=season.language):
        for old in season.folder.plan.glob("*-week-of-????-??-??.pdf"):
            old.unlink()
    changed = tuple(_set_changed_aside(season.folder))
    book, kept = _write_book(season, plan)
    missing = pdf_missing() if pdf else None
    if missing:
        return (book, kept), (*changed, problem("pdf-missing", detail=missing))
    asked = read_known(season).asked_of_scouts(season.roster.fields)
    pages = tuple(_write_pages(season, plan, templates, asked)) if pdf else ()
    return (book, *pages, kept), changed


def _write_book(season: Season, plan: SeasonPlan) -> tuple[Path, Path]:
    """Write the workbook and plan.json; killed between the two, either workbook is ours."""
    keep = partial(keep_plan, season.folder, plan, language=season.language)
    made, book = plan_book(season.settings, plan), season.folder.plan / _BOOK
    if book.is_file():
        keep(workbooks=(book.read_bytes(), made))
    write_safely(book, made)
    return book, keep(workbooks=(made,))


def _set_changed_aside(folder: SeasonFolder) -> Iterator[Problem]:
    """Give a workbook that somebody wrote into another name, so that nothing of it is lost."""
    book = folder.plan / _BOOK
    if not book.is_file() or is_workbook_of_ours(folder, book.read_bytes()):
        return
    names = (f"plan-changed-{number}.xlsx" for number in count(1))
    aside = next(folder.plan / name for name in names if not (folder.plan / name).exists())
    book.rename(aside)
    yield problem("plan-changed", kept=f"plan/{aside.name}")


def _write_pages(
    season: Season,
    plan: SeasonPlan,
    templates: Path | None,
    asked: Mapping[str, Sequence[Problem]],
) -> Iterator[Path]:
    pages = {
        season.folder.plan / f"{own_name(scout)}-week-of-{first.isoformat()}.pdf": html
        for scout in dict.fromkeys([*plan.fields_a_day, *asked])
        for first, html in week_pages(
            plan, season.settings, scout, templates, asked=asked.get(scout, ())
        )
    }
    workers = None if len(pages) >= _WORTH_A_POOL else 1
    for path, made in zip(pages, many(page_pdf, pages.values(), workers=workers), strict=True):
        write_safely(path, made)
        yield path
