"""Write the reports of a season: a page and a PDF for each field, and the board."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from fieldbook.jobs import many
from fieldbook.problems import Problem, problem
from fieldbook.report import field_page, pdf_missing
from fieldbook.report.board_page import board_page
from fieldbook.report.context import ReportContext
from fieldbook.report.duewords import BoardField
from fieldbook.report.fewer import fewer_pictures
from fieldbook.report.harvest_page import write_harvest_order
from fieldbook.report.look import Looks, season_looks
from fieldbook.report.pdf import first_fitting
from fieldbook.season.blank import own_name, safe_name
from fieldbook.season.due import field_rounds
from fieldbook.season.figures import season_figures
from fieldbook.season.folder import write_safely
from fieldbook.season.plan_file import planned_days
from fieldbook.season.result import FieldResult
from fieldbook.season.results import SeasonResults, season_results
from fieldbook.season.season import Season

BOARD = "board.html"
SHEETS = 2
_WORTH_A_POOL = 4


@dataclass(frozen=True, kw_only=True)
class Written:
    """The files of one field's report or the board, and what could not be written."""

    paths: tuple[Path, ...]
    problems: tuple[Problem, ...] = ()


def report_context(season: Season, looks: Looks | None = None) -> ReportContext:
    """Return what the pages need beside a field's results; `looks` saves reading them anew."""
    settings = season.settings
    return ReportContext(
        paper=settings.paper,
        language=settings.language,
        units=settings.units,
        signature=settings.sender,
        look=(looks or season_looks(season)).own,
        photos=season.folder.photos,
        figures=season_figures(settings),
    )


@dataclass(frozen=True, kw_only=True)
class _Job:
    """One field's report to be written, as sent to a worker."""

    result: FieldResult
    context: ReportContext
    stem: Path
    templates: Path | None
    pdf: bool


def write_reports(
    season: Season, *, as_of: date, field_id: str | None, pdf: bool, templates: Path | None
) -> Iterator[Written]:
    """Write the reports of all fields, or of one; one step a field, in the roster's order.

    With all fields comes one step more, the board.
    """
    looks = season_looks(season)
    context = report_context(season, looks)
    results = season_results(season, as_of=as_of, field_id=field_id)
    missing = pdf_missing() if pdf else None
    jobs = [
        _Job(
            result=result,
            context=replace(
                context,
                language=season.settings.language_for(result.grower_id),
                look=looks.of(result.grower_id),
            ),
            stem=season.folder.reports / report_name(result),
            templates=templates,
            pdf=pdf and not missing,
        )
        for result in results.fields
    ]
    lacking = (*((problem("pdf-missing", detail=missing),) if missing else ()), *looks.problems)
    workers = None if len(jobs) >= _WORTH_A_POOL else 1
    for paths in many(_write, jobs, workers=workers):
        yield Written(paths=paths, problems=lacking)
    if field_id is None:
        yield Written(paths=(_write_board(season, results, templates),))
        ordered = write_harvest_order(
            season.folder.reports,
            results.fields,
            context,
            reports=_pages(results),
            scouts=_scouts(season),
            pdf=pdf and not missing,
            templates=templates,
        )
        if ordered:
            yield Written(paths=ordered)


def write_board(season: Season, *, as_of: date, templates: Path | None) -> Written:
    """Write the board alone; a field whose report was never written gets no link."""
    results = season_results(season, as_of=as_of)
    path = _write_board(season, results, templates)
    return Written(paths=(path,), problems=results.problems)


def _write_board(season: Season, results: SeasonResults, templates: Path | None) -> Path:
    folder, context = season.folder.reports, report_context(season)
    html = board_page(
        _on_board(season, results, context),
        context,
        problems=results.problems,
        templates=templates,
    )
    path = folder / BOARD
    write_safely(path, html.encode("utf-8"))
    return path


def _on_board(
    season: Season, results: SeasonResults, context: ReportContext
) -> tuple[BoardField, ...]:
    pages, scouts = _pages(results), _scouts(season)
    planned = planned_days(season.folder)
    made = []
    for found in results.fields:
        field = season.roster.fields[found.field_id]
        page = pages[found.field_id]
        made.append(
            BoardField(
                result=found,
                report=page if (season.folder.reports / page).is_file() else "",
                scout=scouts.get(found.field_id),
                rounds=field_rounds(field, found, context.figures),
                planned={
                    round_: day for (one, round_), day in planned.items() if one == found.field_id
                },
                sprayed_on=field.sprayed_on,
                reentry_ends=field.reentry_ends,
            )
        )
    return tuple(made)


def _pages(results: SeasonResults) -> dict[str, str]:
    """Return the file of every field's page."""
    return {found.field_id: f"{report_name(found)}.html" for found in results.fields}


def _scouts(season: Season) -> dict[str, str]:
    """Return the name of every field's scout."""
    names = {scout.scout_id: scout.name for scout in season.settings.scouts}
    fields = season.roster.fields.values()
    return {field.field_id: names.get(field.scout, field.scout) for field in fields if field.scout}


def _write(job: _Job) -> tuple[Path, ...]:
    page, sheet = (job.stem.with_suffix(ending) for ending in (".html", ".pdf"))
    if not job.pdf:
        html = field_page(job.result, job.context, job.templates)
        write_safely(page, html.encode("utf-8"))
        return (page,)
    html, made = _fitting(job)
    write_safely(page, html.encode("utf-8"))
    write_safely(sheet, made)
    return page, sheet


def _fitting(job: _Job) -> tuple[str, bytes]:
    """Write a page and its PDF; what only explains is left out where two sheets can't hold it."""
    results = fewer_pictures(job.result)
    pages = (field_page(result, job.context, job.templates) for result in results)
    return first_fitting(pages, SHEETS)


def report_name(result: FieldResult) -> str:
    """Return a report's file name without its ending, the same every time and no other's."""
    words = safe_name(result.field.lower().replace(" ", "-"))
    return f"{own_name(result.field_id)}-{words}"
