"""What a careful reader should be told of a field beside its figures."""

from collections.abc import Iterable
from datetime import date

from fieldbook.agronomy.sampling import stops_wanted
from fieldbook.check.roster import Field
from fieldbook.check.visit import ROW_WIDTH_SLACK_IN, row_width_differs
from fieldbook.figures import Figures
from fieldbook.ledger.stored import StoredVisit, seen_by, visit_day
from fieldbook.problems import Place, Problem, problem
from fieldbook.results.counts import CountedVisit
from fieldbook.results.result import LEFT_OUT
from fieldbook.units import AREA, System


def sampling_notes(
    field: Field, counted: CountedVisit | None, figures: Figures, units: System
) -> tuple[Problem, ...]:
    """Tell where fewer stops were counted than is usual for the field's area."""
    if counted is None or counted.yield_ is None:
        return ()
    wanted = stops_wanted(field.acres, figures=figures)
    if counted.yield_.stops_used >= wanted:
        return ()
    found = problem(
        "few-stops",
        Place(field_id=field.field_id),
        field=f"{field.field_id} {field.field}",
        stops=counted.yield_.stops_used,
        area=AREA.amount(f"{AREA.shown(field.acres, units):.0f}", units),
        wanted=wanted,
    )
    return (found,)


def short_count_notes(field: Field, later: Iterable[CountedVisit]) -> tuple[Problem, ...]:
    """Tell of each later count that had too few stops to take the place of the one used."""
    return tuple(
        problem(
            "later-count-short",
            Place(field_id=field.field_id),
            field=f"{field.field_id} {field.field}",
            day=visit_day(one.visit) or "?",
            stops=one.yield_.stops_used if one.yield_ else 0,
        )
        for one in later
    )


def width_notes(field: Field, visits: Iterable[StoredVisit], units: System) -> tuple[Problem, ...]:
    """Tell when a book was printed for another row width than the roster has now."""
    widths = dict.fromkeys(visit.row_width_in for visit in visits)
    return tuple(
        row_width_differs(f"{field.field_id} {field.field}", width, field.row_width_in, units)
        for width in widths
        if abs(width - field.row_width_in) > ROW_WIDTH_SLACK_IN
    )


def left_out_questions(
    field: Field, left_out: Iterable[StoredVisit], as_of: date
) -> tuple[Problem, ...]:
    """Ask whose the visits are whose books have the field's ID and other names, without these."""
    place = Place(field_id=field.field_id)
    return tuple(
        problem(LEFT_OUT, place, typed=visit.visit_id) for visit in seen_by(left_out, as_of)
    )


def planting_notes(field: Field) -> tuple[Problem, ...]:
    """Tell of which planting the dates ahead are, where a field has several."""
    if len(field.plantings) == 1:
        return ()
    main = field.main_planting
    found = problem(
        "dates-of-one-planting",
        Place(field_id=field.field_id),
        field=f"{field.field_id} {field.field}",
        count=len(field.plantings),
        hybrid=main.hybrid or "?",
        planted=main.planted,
    )
    return (found,)
