"""Pages of one column for the team: sentences, a picture, tables; the same as lines of text."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem, problem
from fieldbook.report.context import ReportContext, report_context
from fieldbook.report.drawings import NARROW, WIDE, Drawing
from fieldbook.report.made import Written
from fieldbook.report.page import rendered
from fieldbook.report.pdf import page_pdf, pdf_missing
from fieldbook.report.pictures import Picture
from fieldbook.report.sources import Sources
from fieldbook.report.tables import Table
from fieldbook.season.season import Season

_STYLES = (
    ("all", "report/page"),
    ("all", "plain/page"),
    ("screen", "report/screen"),
    ("screen and (max-width: 520px)", "report/phone"),
    ("print", "report/print"),
)


@dataclass(frozen=True, kw_only=True)
class Part:
    """One part of a page: what it says, shows and lists."""

    heading: str
    sentences: tuple[str, ...] = ()
    picture: Picture | None = None
    tables: tuple[Table, ...] = ()
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlainView:
    """Everything that the template of a plain page lays out."""

    language: str
    title: str
    season: str
    day: str
    signature: str | None
    lead: tuple[str, ...]
    parts: tuple[Part, ...]
    sources: Sources


def picture(draw: Callable[[float], Drawing | None], caption: str) -> Picture | None:
    """Draw once for paper and once for a phone; None where there is nothing to draw."""
    wide, narrow = draw(WIDE), draw(NARROW)
    if wide is None or narrow is None:
        return None
    return Picture(wide=wide, narrow=narrow, caption=caption)


def plain_page(view: PlainView, context: ReportContext, templates: Path | None = None) -> str:
    """Write a plain page as one HTML file that needs nothing beside itself."""
    return rendered("plain/page", view, _STYLES, context, templates)


def write_plain(
    season: Season, view: PlainView, name: str, *, pdf: bool, templates: Path | None = None
) -> Written:
    """Write a page into reports/ as HTML and, where it can be made, as PDF."""
    context = report_context(season)
    html = plain_page(view, context, templates)
    stem = season.folder.reports / name
    paths = [stem.with_name(f"{name}.html")]
    write_safely(paths[0], html.encode("utf-8"))
    missing = pdf_missing() if pdf else None
    if pdf and not missing:
        paths.append(stem.with_name(f"{name}.pdf"))
        write_safely(paths[1], page_pdf(html))
    problems: tuple[Problem, ...] = (problem("pdf-missing", detail=missing),) if missing else ()
    return Written(paths=tuple(paths), problems=problems)


# ---- the same for a terminal ---------------------------------------------------------------


def plain_lines(view: PlainView) -> Iterator[str]:
    """Say a page as lines of text, without its pictures and sources."""
    yield view.title
    yield " ".join(view.lead)
    for part in view.parts:
        yield ""
        yield part.heading
        if part.sentences:
            yield " ".join(part.sentences)
        for table in part.tables:
            yield from _table_lines(table)
        yield from (f"- {line}" for line in part.lines)


def _table_lines(table: Table) -> Iterator[str]:
    rows = (table.heads, *table.rows)
    widths = [max(len(row[at]) for row in rows) for at in range(len(table.heads))]
    yield f"  {table.caption}"
    for row in rows:
        yield f"  {_aligned(row, widths, table.numbers)}"


def _aligned(row: Sequence[str], widths: Sequence[int], numbers: Sequence[bool]) -> str:
    cells = (
        cell.rjust(width) if is_number else cell.ljust(width)
        for cell, width, is_number in zip(row, widths, numbers, strict=True)
    )
    return "  ".join(cells).rstrip()
