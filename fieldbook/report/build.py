"""Write the pages of a season: for every field and every grower, and for the team.

Only what changed is made again: every output is noted with a hash of all that it is made of.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache, partial
from pathlib import Path

from fieldbook.jobs import many
from fieldbook.problems import Problem, problem
from fieldbook.report import pdf_missing
from fieldbook.report.board_page import board_page
from fieldbook.report.context import ReportContext
from fieldbook.report.duewords import BoardField
from fieldbook.report.growers import GrowerJob, report_name, write_grower
from fieldbook.report.harvest_page import write_harvest_order
from fieldbook.report.letterwords import Compared
from fieldbook.report.look import Looks, season_looks
from fieldbook.report.made import Made, Output
from fieldbook.report.order import BOARD, Grower, Order, order_of
from fieldbook.report.plan_build import write_plan
from fieldbook.season.due import field_rounds
from fieldbook.season.figures import season_figures
from fieldbook.season.folder import write_safely
from fieldbook.season.known import Known, read_known, visit_days
from fieldbook.season.plan_file import planned_days, planned_span
from fieldbook.season.planning import season_plan
from fieldbook.season.result import FieldResult
from fieldbook.season.results import SeasonResults, results_on, season_results
from fieldbook.season.season import Season

_WORTH_A_POOL = 4
_FEW_NAMES = 6


@dataclass(frozen=True, kw_only=True)
class Written:
    """The files of one output, what is to say of it, and how many others stand unchanged."""

    paths: tuple[Path, ...] = ()
    problems: tuple[Problem, ...] = ()
    unchanged: int = 0


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
class _Run:
    """One run: how to write, and which of the ordered pages are due."""

    season: Season
    known: Known
    looks: Looks
    as_of: date
    templates: Path | None
    pdf: bool
    order: Order
    due: frozenset[Output]


def write_reports(
    season: Season,
    *,
    as_of: date,
    field_id: str | None,
    pdf: bool,
    templates: Path | None,
    everything: bool = False,
) -> Iterator[Written]:
    """Write the pages of a season that changed, or the report of one field if it did.

    One step an output: the plan, of which the board speaks; for each grower the reports of his
    fields, his packet and his letter; then the board and the order of harvest. A last step counts
    what stands unchanged.

    Parameters
    ----------
    everything
        Write unchanged pages too.
    """
    known, made, looks = read_known(season), Made(season.folder.reports), season_looks(season)

    def run_for(*, pdf: bool) -> _Run:
        order = order_of(season, known, looks, as_of=as_of, templates=templates, pdf=pdf)
        wanted = _wanted(order, field_id)
        due = frozenset(one for one in wanted if everything or not made.is_current(one))
        return _Run(
            season=season,
            known=known,
            looks=looks,
            as_of=as_of,
            templates=templates,
            pdf=pdf,
            order=order,
            due=due,
        )

    @cache
    def results() -> SeasonResults:
        return season_results(season, as_of=as_of, field_id=field_id, known=known)

    run = run_for(pdf=pdf)
    missing = pdf_missing() if pdf and run.due else None
    if missing:
        run = run_for(pdf=False)
    wanted = _wanted(run.order, field_id)
    count = 0
    season.folder.reports.mkdir(parents=True, exist_ok=True)  # or fail before anything is written
    with made:
        for output, paths in _written(run, results, again=partial(run_for, pdf=run.pdf)):
            made.keep(output, paths)
            count += 1
            yield Written(paths=paths)
    said = [*looks.problems]
    if missing:
        said.append(problem("pdf-missing", detail=missing))
    if field_id is None:
        said += _left(made.left(wanted))
    yield Written(problems=tuple(said), unchanged=len(wanted) - count)


def _wanted(order: Order, field_id: str | None) -> tuple[Output, ...]:
    if field_id is None:
        return order.outputs
    return tuple(grower.reports[field_id] for grower in order.growers if field_id in grower.reports)


def _left(names: tuple[str, ...]) -> Iterator[Problem]:
    """Tell of pages that nothing makes any more; they are left where they are."""
    if names:
        shown = ", ".join(names[:_FEW_NAMES])
        if len(names) > _FEW_NAMES:
            shown += ", ..."
        yield problem("report-left", count=len(names), files=shown)


def _written(
    run: _Run, results: Callable[[], SeasonResults], *, again: Callable[[], _Run]
) -> Iterator[tuple[Output, tuple[Path, ...]]]:
    """Write what is due; yields each output with its files.

    The plan comes first, and then it is asked `again` what is due, since the board speaks of it.
    """
    if run.order.plan in run.due:
        yield run.order.plan, _write_plan(run, results())
        run = again()
    by_name = {one.name: one for one in run.due}
    jobs = list(_jobs(run, results))
    workers = None if sum(len(job.fields) for job in jobs) >= _WORTH_A_POOL else 1
    for written in many(write_grower, jobs, workers=workers):
        yield from ((by_name[name], paths) for name, paths in written.items())
    if run.order.board in run.due:
        yield run.order.board, (_write_board(run.season, results(), run.templates),)
    if run.order.harvest in run.due:
        yield run.order.harvest, _write_harvest(run, results())


# ---- for growers ---------------------------------------------------------------------------


def _jobs(run: _Run, worked_out: Callable[[], SeasonResults]) -> Iterator[GrowerJob]:
    """Say what is to be written for each grower of whom anything is due."""
    context = report_context(run.season, run.looks)
    language_for = run.season.settings.language_for
    growers = [one for one in run.order.growers if run.due.intersection(one.outputs)]
    results = {one.field_id: one for one in worked_out().fields} if growers else {}
    compared = _compared(run, growers, results)
    for grower in growers:
        reports = {
            field: output.name for field, output in grower.reports.items() if output in run.due
        }
        is_whole = bool(run.due & {grower.packet, grower.letter})
        needed = [one.field_id for one in grower.fields if is_whole or one.field_id in reports]
        yield GrowerJob(
            folder=run.season.folder.reports,
            fields=tuple(results[one] for one in needed),
            compared=tuple(compared[one] for one in needed if one in compared),
            reports=reports,
            packet=grower.packet.name if grower.packet in run.due else None,
            letter=grower.letter.name if grower.letter and grower.letter in run.due else None,
            context=replace(
                context,
                language=language_for(grower.grower_id),
                look=run.looks.of(grower.grower_id),
            ),
            templates=run.templates,
            pdf=run.pdf,
        )


def _compared(
    run: _Run, growers: Iterable[Grower], results: Mapping[str, FieldResult]
) -> dict[str, Compared]:
    """Hold each field of a letter that is due against the day of the visit before the last."""
    fields = [
        field.field_id for grower in growers if grower.letter in run.due for field in grower.fields
    ]
    days = {one: visit_days(run.known.visits.get(one, ()), run.as_of) for one in fields}
    before = {one: seen[-2] for one, seen in days.items() if len(seen) > 1}
    then = results_on(run.season, before, known=run.known)
    return {
        one: Compared(now=results[one], then=then.get(one), day=seen[-1])
        for one, seen in days.items()
        if seen
    }


# ---- for the team --------------------------------------------------------------------------


def _write_plan(run: _Run, results: SeasonResults) -> tuple[Path, ...]:
    """Lay the walks out anew, for as many days as the plan before."""
    days = planned_span(run.season.folder)
    plan = season_plan(run.season, as_of=run.as_of, days=days, results=results)
    paths, _ = write_plan(run.season, plan, pdf=run.pdf, templates=run.templates, known=run.known)
    return paths


def _write_harvest(run: _Run, results: SeasonResults) -> tuple[Path, ...]:
    return write_harvest_order(
        run.season.folder.reports,
        results.fields,
        report_context(run.season, run.looks),
        reports=_pages(results),
        scouts=_scouts(run.season),
        pdf=run.pdf,
        templates=run.templates,
    )


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
    path = folder / f"{BOARD}.html"
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
