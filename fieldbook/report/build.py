"""Write the reports of a season: one HTML page and one PDF a field."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fieldbook.problems import Problem, problem
from fieldbook.report import field_page, field_pdf, pdf_missing
from fieldbook.report.context import ReportContext
from fieldbook.season.blank import safe_name
from fieldbook.season.figures import season_figures
from fieldbook.season.folder import write_safely
from fieldbook.season.result import FieldResult
from fieldbook.season.results import season_results
from fieldbook.season.season import Season


@dataclass(frozen=True, kw_only=True)
class Written:
    """The files of one field's report, and what could not be written."""

    paths: tuple[Path, ...]
    problems: tuple[Problem, ...] = ()


def report_context(season: Season) -> ReportContext:
    """Return what the pages need beside a field's results."""
    settings = season.settings
    return ReportContext(
        paper=settings.paper,
        language=settings.language,
        units=settings.units,
        price_per_bu=settings.price_per_bu,
        signature=settings.sender,
        figures=season_figures(settings),
    )


def write_reports(
    season: Season, *, as_of: date, field_id: str | None, pdf: bool, templates: Path | None
) -> Iterator[Written]:
    """Write the reports of all fields, or of one; one step a field."""
    results = season_results(season, as_of=as_of)
    context = report_context(season)
    missing = pdf_missing() if pdf else None
    for result in results.fields:
        if field_id and result.field_id != field_id:
            continue
        stem = season.folder.reports / report_name(result)
        html = field_page(result, context, templates)
        page = stem.with_suffix(".html")
        write_safely(page, html.encode("utf-8"))
        if not pdf or missing:
            lacking = (problem("pdf-missing", detail=missing),) if missing else ()
            yield Written(paths=(page,), problems=lacking)
            continue
        sheet = stem.with_suffix(".pdf")
        write_safely(sheet, field_pdf(html, context))
        yield Written(paths=(page, sheet))


def report_name(result: FieldResult) -> str:
    """Return a report's file name without its ending, the same every time."""
    words = safe_name(result.field.lower().replace(" ", "-"))
    return f"{safe_name(result.field_id)}-{words}"
