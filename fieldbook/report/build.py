"""Write the pages of a season: for every field and every grower, and for the team.

Only what changed is made again: every output is noted with a hash of all that it is made of.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from pathlib import Path

from fieldbook.jobs import many
from fieldbook.problems import Problem, problem
from fieldbook.report import pdf_missing
from fieldbook.report.context import ReportContext, report_context
from fieldbook.report.growers import GrowerJob, write_grower
from fieldbook.report.letterwords import Compared
from fieldbook.report.look import Looks, season_looks
from fieldbook.report.made import Made, Output, Written
from fieldbook.report.order import Grower, Order, order_of
from fieldbook.report.team import renew_board, renew_harvest_order, renew_plan
from fieldbook.results.put_away import PutAway
from fieldbook.results.result import FieldResult, for_team
from fieldbook.results.results import SeasonResults, each_result, season_problems
from fieldbook.season.known import FieldState, Known, field_states, read_known
from fieldbook.season.season import Season

_WORTH_A_POOL = 4
_FEW_NAMES = 6


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

    @property
    def is_for_team(self) -> bool:
        """Say whether a page that speaks of all fields is due."""
        return not self.due.isdisjoint(self.order.of_team)


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

    One step an output: for each grower the reports of his fields, his packet and his letter; then
    the plan, the board, which speaks of it, and the order of harvest. A last step counts what
    stands unchanged.

    Parameters
    ----------
    everything
        Write unchanged pages too.
    """
    known, made, looks = read_known(season), Made(season.folder.reports), season_looks(season)
    run_for = partial(
        _run_for,
        season,
        known,
        looks,
        made,
        states=field_states(season, known, as_of),
        as_of=as_of,
        field_id=field_id,
        templates=templates,
        everything=everything,
    )
    run = run_for(pdf=pdf)
    missing = pdf_missing() if pdf and run.due else None
    if missing:
        run = run_for(pdf=False)
    wanted = _wanted(run.order, field_id)
    count = 0
    season.folder.reports.mkdir(parents=True, exist_ok=True)  # or fail before anything is written
    with made:
        for output, written in _written(run, again=partial(run_for, pdf=run.pdf)):
            made.keep(output, written.paths)
            count += 1
            yield written
    absent = (problem("pdf-missing", detail=missing),) if missing else ()
    said = (*looks.problems, *absent, *_told(run, field_id, made.left(wanted)))
    yield Written(problems=said, unchanged=len(wanted) - count)


def _run_for(
    season: Season,
    known: Known,
    looks: Looks,
    made: Made,
    *,
    states: Mapping[str, FieldState],
    as_of: date,
    field_id: str | None,
    templates: Path | None,
    everything: bool,
    pdf: bool,
) -> _Run:
    """Ask what is due as things are now."""
    strangers = [one for one in known.seen if not season.roster.names(one)]
    order = order_of(season, states, looks, strangers=strangers, templates=templates, pdf=pdf)
    wanted = _wanted(order, field_id)
    return _Run(
        season=season,
        known=known,
        looks=looks,
        as_of=as_of,
        templates=templates,
        pdf=pdf,
        order=order,
        due=frozenset(one for one in wanted if everything or not made.is_current(one)),
    )


def _told(run: _Run, field_id: str | None, left: tuple[str, ...]) -> Iterator[Problem]:
    """Tell what is amiss with the season, or with the names of one field."""
    if field_id is None:
        yield from season_problems(run.season, as_of=run.as_of, known=run.known)
        yield from () if run.season.roster.left_out else _left(left)
    else:
        yield from (one for one in run.known.name_problems if one.place.field_id == field_id)


def _wanted(order: Order, field_id: str | None) -> tuple[Output, ...]:
    if field_id is None:
        return order.outputs
    return tuple(grower.reports[field_id] for grower in order.growers if field_id in grower.reports)


def _left(names: tuple[str, ...]) -> Iterator[Problem]:
    """Tell of pages that nothing makes any more; they are left where they are.

    While a field is left out, nobody can say so: its pages come again once the roster is mended.
    """
    if names:
        shown = ", ".join(names[:_FEW_NAMES])
        if len(names) > _FEW_NAMES:
            shown += ", ..."
        yield problem("report-left", count=len(names), files=shown)


def _written(run: _Run, *, again: Callable[[], _Run]) -> Iterator[tuple[Output, Written]]:
    """Write what is due; yields each output with its files and what is to say of them.

    After the plan it is asked `again` what is due, since the board speaks of it.
    """
    by_name = {one.name: one for one in run.due}
    needed = _needed(run)
    workers = None if sum(map(len, needed.values())) >= _WORTH_A_POOL else 1
    with PutAway() as team:
        for written in many(write_grower, _jobs(run, needed, team), workers=workers):
            yield from ((by_name[name], Written(paths=paths)) for name, paths in written.items())
        if run.is_for_team:
            yield from _written_for_team(run, _team_results(run, team), again)


def _written_for_team(
    run: _Run, results: SeasonResults, again: Callable[[], _Run]
) -> Iterator[tuple[Output, Written]]:
    if run.order.plan in run.due:
        plan = renew_plan(
            run.season, results, as_of=run.as_of, pdf=run.pdf, templates=run.templates
        )
        yield run.order.plan, plan
        run = again()
    if run.order.board in run.due:
        yield run.order.board, renew_board(run.season, results, run.templates)
    if run.order.harvest in run.due:
        order = renew_harvest_order(
            run.season, results, run.looks, pdf=run.pdf, templates=run.templates
        )
        yield run.order.harvest, order


# ---- for growers ---------------------------------------------------------------------------


def _needed(run: _Run) -> dict[str, tuple[str, ...]]:
    """Return the fields whose pages take part in what is due for a grower, by grower's packet."""
    needed = {}
    for grower in run.order.growers:
        is_whole = bool(run.due & {grower.packet, grower.letter})
        fields = tuple(one for one, made in grower.reports.items() if is_whole or made in run.due)
        if fields:
            needed[grower.packet.name] = fields
    return needed


def _days(run: _Run, needed: Mapping[str, Sequence[str]]) -> dict[str, tuple[date, ...]]:
    """Return by field the days that its results are wanted of, the growers in their order.

    That is today, and for a letter that is due the day of the visit before the last.
    """
    wanted = {}
    for grower in run.order.growers:
        is_told = grower.letter in run.due
        fields = grower.reports if run.is_for_team else needed.get(grower.packet.name, ())
        for one in fields:
            before = grower.days[one][-2:-1] if is_told else ()
            wanted[one] = (run.as_of, *before)
    return wanted


def _jobs(run: _Run, needed: Mapping[str, Sequence[str]], team: PutAway) -> Iterator[GrowerJob]:
    """Say what is to be written for each grower of whom anything is due.

    Results are worked out when a grower's turn is near, and what the team's pages show of them is
    put away in `team`.
    """
    context = report_context(run.season, run.looks)
    days = _days(run, needed)
    results = each_result(run.season, days, known=run.known)
    for grower in run.order.growers:
        found = {one: [next(results) for _ in days[one]] for one in grower.reports if one in days}
        if run.is_for_team:
            for now, *_ in found.values():
                team.put(for_team(now))
        if grower.packet.name in needed:
            yield _job(run, grower, [found[one] for one in needed[grower.packet.name]], context)


def _job(
    run: _Run, grower: Grower, found: Sequence[Sequence[FieldResult]], context: ReportContext
) -> GrowerJob:
    letter = grower.letter if grower.letter in run.due else None
    return GrowerJob(
        folder=run.season.folder.reports,
        fields=tuple(now for now, *_ in found),
        compared=tuple(_compared(grower, found)) if letter else (),
        reports={one: made.name for one, made in grower.reports.items() if made in run.due},
        packet=grower.packet.name if grower.packet in run.due else None,
        letter=letter.name if letter else None,
        context=replace(
            context,
            language=run.season.settings.language_for(grower.grower_id),
            look=run.looks.of(grower.grower_id),
        ),
        templates=run.templates,
        pdf=run.pdf,
    )


def _compared(grower: Grower, found: Iterable[Sequence[FieldResult]]) -> Iterator[Compared]:
    """Hold each field that was seen against the day of the visit before the last."""
    for now, *then in found:
        days = grower.days[now.field_id]
        if days:
            yield Compared(now=now, then=then[0] if then else None, day=days[-1])


# ---- for the team --------------------------------------------------------------------------


def _team_results(run: _Run, team: PutAway) -> SeasonResults:
    """Put what was gathered of the fields into the order of the roster."""
    return SeasonResults(
        fields=team.in_order(run.season.roster.fields),
        problems=season_problems(run.season, as_of=run.as_of, known=run.known),
    )
