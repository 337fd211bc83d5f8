"""Write the pages that speak of all fields: the plan, the board and the order of harvest."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

from fieldbook.export.plan_file import planned_days, planned_span
from fieldbook.ledger.safely import write_safely
from fieldbook.report.board_page import board_page
from fieldbook.report.context import ReportContext, report_context
from fieldbook.report.duewords import BoardField
from fieldbook.report.growers import report_name
from fieldbook.report.harvest_page import write_harvest_order
from fieldbook.report.look import Looks
from fieldbook.report.made import Written
from fieldbook.report.order import BOARD
from fieldbook.report.plan_build import write_plan
from fieldbook.results.due import field_rounds
from fieldbook.results.planning import season_plan
from fieldbook.results.put_away import PutAway
from fieldbook.results.result import FieldResult, for_team
from fieldbook.results.results import SeasonResults, each_result, season_problems
from fieldbook.season.known import read_known
from fieldbook.season.season import Season


def renew_plan(
    season: Season, results: SeasonResults, *, as_of: date, pdf: bool, templates: Path | None
) -> Written:
    """Lay the walks out anew, for as many days as the plan before."""
    days = planned_span(season.folder)
    plan = season_plan(season, as_of=as_of, days=days, results=results)
    paths, problems = write_plan(season, plan, pdf=pdf, templates=templates)
    return Written(paths=paths, problems=problems)


def renew_harvest_order(
    season: Season, results: SeasonResults, looks: Looks, *, pdf: bool, templates: Path | None
) -> Written:
    """Write the order of harvest."""
    paths = write_harvest_order(
        season.folder.reports,
        results.fields,
        report_context(season, looks),
        reports={found.field_id: _page(found) for found in results.fields},
        scouts=_scouts(season),
        pdf=pdf,
        templates=templates,
    )
    return Written(paths=paths)


def write_board(season: Season, *, as_of: date, templates: Path | None) -> Written:
    """Write the board alone; a field whose report was never written gets no link."""
    known = read_known(season)
    found = each_result(season, dict.fromkeys(season.roster.fields, (as_of,)), known=known)
    problems = season_problems(season, as_of=as_of, known=known)
    with PutAway() as place:
        for one in found:
            place.put(for_team(one))
        results = SeasonResults(fields=place.in_order(season.roster.fields), problems=problems)
        return replace(renew_board(season, results, templates), problems=problems)


def renew_board(season: Season, results: SeasonResults, templates: Path | None) -> Written:
    """Write the board of results that are known already."""
    folder, context = season.folder.reports, report_context(season)
    pieces = board_page(
        on_board(season, results, context),
        context,
        problems=results.problems,
        templates=templates,
    )
    path = folder / f"{BOARD}.html"
    write_safely(path, (piece.encode("utf-8") for piece in pieces))
    return Written(paths=(path,))


def on_board(
    season: Season, results: SeasonResults, context: ReportContext
) -> Iterator[BoardField]:
    """Return what the board shows of each field."""
    scouts = _scouts(season)
    planned: dict[str, dict[str, date]] = {}
    for (field_id, round_), day in planned_days(season.folder).items():
        planned.setdefault(field_id, {})[round_] = day
    for found in results.fields:
        field, page = season.roster.fields[found.field_id], _page(found)
        yield BoardField(
            result=found,
            report=page if (season.folder.reports / page).is_file() else "",
            scout=scouts.get(found.field_id),
            rounds=field_rounds(field, found, context.figures),
            planned=planned.get(found.field_id, {}),
            sprayed_on=field.sprayed_on,
            reentry_ends=field.reentry_ends,
        )


def _page(result: FieldResult) -> str:
    """Return the file of a field's page."""
    return f"{report_name(result)}.html"


def _scouts(season: Season) -> dict[str, str]:
    """Return the name of every field's scout."""
    names = {scout.scout_id: scout.name for scout in season.settings.scouts}
    fields = season.roster.fields.values()
    return {field.field_id: names.get(field.scout, field.scout) for field in fields if field.scout}
