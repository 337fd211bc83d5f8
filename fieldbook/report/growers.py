"""What one grower gets: the report of each field, his packet and his letter, written in one go.

Every report is laid out once, for its own PDF and for the packet.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Protocol, TypeVar

from fieldbook.ledger.folder import digest
from fieldbook.ledger.safely import write_safely
from fieldbook.report.context import ReportContext
from fieldbook.report.fewer import fewer_pictures
from fieldbook.report.letter_page import letter_html, letter_views
from fieldbook.report.letterwords import Compared
from fieldbook.report.packet_page import packet_html, packet_views, with_reports
from fieldbook.report.page import field_page, field_part
from fieldbook.report.pdf import first_fitting, pdf_of
from fieldbook.results.result import FieldResult
from fieldbook.season.blank import own_name, safe_name, words_name

T = TypeVar("T")

_REPORT_SHEETS, _LETTER_SHEETS = 2, 1


class _Named(Protocol):
    """A field of the roster, or its results."""

    @property
    def field_id(self) -> str: ...

    @property
    def field(self) -> str: ...


def report_name(field: _Named) -> str:
    """Return a report's file name without its ending, the same every time and no other's."""
    return f"{own_name(field.field_id)}-{words_name(field.field)}"


def grower_name(grower_id: str, grower: str) -> str:
    """Return what a grower's files are named after, the same every time and no other grower's.

    Only a plain ID and a plain name do for themselves. Others are told apart from their likes by
    a hash, also where upper and lower case are one. The dot is in no name of a field's report.
    """
    words = words_name(grower)
    named = f"{safe_name(grower_id)}.{words}"
    is_plain = own_name(grower_id) == grower_id == grower_id.upper() and (
        grower == grower.title()
        and grower.replace(" ", "").isalnum()
        and words == grower.lower().replace(" ", "-")
    )
    whole = repr((grower_id, grower)).encode("utf-8", "backslashreplace")
    return named if is_plain else f"{named}-{digest(whole)[:6]}"


@dataclass(frozen=True, kw_only=True)
class GrowerJob:
    """What is to be written for one grower, as sent to a worker.

    ``reports`` has the name of each field's report that is to be written, by field ID; ``packet``
    and ``letter`` are names too, None where they need not be. ``fields`` are those that is needed
    for, ``compared`` those of them that a dated visit saw.
    """

    folder: Path
    fields: tuple[FieldResult, ...]
    compared: tuple[Compared, ...]
    reports: Mapping[str, str]
    packet: str | None
    letter: str | None
    context: ReportContext
    templates: Path | None
    pdf: bool


def write_grower(job: GrowerJob) -> dict[str, tuple[Path, ...]]:
    """Write what is asked for; returns the files by their output's name."""
    fitted = [_fitted(job, _report_pages(job, field), _REPORT_SHEETS) for field in job.fields]
    written = {}
    for (shown, _), html, laid in fitted:
        if shown.field_id in job.reports:
            name = job.reports[shown.field_id]
            written[name] = _write(job, name, html, laid)
    if job.packet:
        view, _, summary = _fitted(
            job,
            (
                (one, packet_html(one, job.context, job.templates))
                for one in packet_views(job.fields, job.context)
            ),
            1,
        )
        parts = (field_part(*shown, job.templates) for shown, _, _ in fitted)
        html = packet_html(with_reports(view, parts), job.context, job.templates)
        written[job.packet] = _write(job, job.packet, html, summary, *(one[2] for one in fitted))
    if job.letter:
        _, html, laid = _fitted(job, _letter_pages(job), _LETTER_SHEETS)
        written[job.letter] = _write(job, job.letter, html, laid)
    return written


def _report_pages(
    job: GrowerJob, field: FieldResult
) -> Iterator[tuple[tuple[FieldResult, ReportContext], str]]:
    """Write a field's page, and then with less where two sheets can't hold it.

    What only explains is left out, and in the end set smaller.
    """
    for result in fewer_pictures(field):
        yield (result, job.context), field_page(result, job.context, job.templates)
    tight = replace(job.context, is_tight=True)
    yield (result, tight), field_page(result, tight, job.templates)


def _letter_pages(job: GrowerJob) -> Iterator[tuple[object, str]]:
    seen = {one.now.field_id for one in job.compared}
    others = [field for field in job.fields if field.field_id not in seen]
    for view in letter_views(job.compared, others, job.context):
        yield view, letter_html(view, job.context, job.templates)


def _fitted(job: GrowerJob, pages: Iterable[tuple[T, str]], sheets: int) -> tuple[T, str, Any]:
    """Return the first page that fits, and it laid out; without PDF just the first."""
    if job.pdf:
        return first_fitting(pages, sheets)
    made_of, html = next(iter(pages))
    return made_of, html, None


def _write(job: GrowerJob, name: str, html: str, *laid: Any) -> tuple[Path, ...]:
    page, sheet = (job.folder / f"{name}.{ending}" for ending in ("html", "pdf"))
    write_safely(page, html.encode("utf-8"))
    if not job.pdf:
        return (page,)
    write_safely(sheet, pdf_of(*laid))
    return page, sheet
