"""Every figure of one field, worked out of what is known of it on one day."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fieldbook.check.roster import Field, Planting
from fieldbook.check.verdict import State
from fieldbook.figures import Figures
from fieldbook.ledger.stored import StoredVisit, read_by, seen_by, visit_day
from fieldbook.problems import Problem, Weight
from fieldbook.results.ahead import Ahead
from fieldbook.results.harvest import field_harvest
from fieldbook.results.heat_curve import heat_curve
from fieldbook.results.notes import (
    left_out_questions,
    planting_notes,
    sampling_notes,
    short_count_notes,
    width_notes,
)
from fieldbook.results.parts import FieldParts, field_parts
from fieldbook.results.photos import field_photos
from fieldbook.results.places import with_places
from fieldbook.results.pollination import days_around
from fieldbook.results.result import (
    FieldResult,
    HeatCurve,
    PlantingResult,
    StageResult,
    VisitResult,
)
from fieldbook.results.used_figures import used_figures
from fieldbook.results.weighed import beside
from fieldbook.season.blank import may_enter
from fieldbook.season.known import FieldKnown
from fieldbook.settings.settings import Settings
from fieldbook.weather.weather import StationWeather


@dataclass(frozen=True, kw_only=True)
class FieldWork:
    """All that one field's results are made of, as sent to a worker."""

    field: Field
    known: FieldKnown
    weather: StationWeather | None
    settings: Settings
    figures: Figures
    as_of: date


def field_result(
    field: Field,
    known: FieldKnown,
    weather: StationWeather | None,
    settings: Settings,
    figures: Figures,
    as_of: date,
) -> FieldResult:
    """Work out everything of one field as known on `as_of`; later visits are left out."""
    seen = seen_by(known.visits, as_of)
    parts = field_parts(field, seen, weather, settings, figures, as_of)
    found = _record(field, parts, settings, figures, as_of)
    asked, confirmed = (
        _by_then(known.questions[state], seen, known.visits)
        for state in (State.OPEN, State.CONFIRMED)
    )
    return replace(
        found,
        harvest=field_harvest(field, seen, known.questions, figures, settings.units),
        questions=(
            *left_out_questions(field, known.left_out, as_of),
            *(one for one in asked if one.weight is not Weight.NOTE),
        ),
        notes=(
            *(one for one in asked if one.weight is Weight.NOTE),
            *_notes(field, parts, settings, figures),
        ),
        confirmed=tuple(confirmed),
    )


def _record(
    field: Field, parts: FieldParts, settings: Settings, figures: Figures, as_of: date
) -> FieldResult:
    """Put the parts together; what is asked is not among them."""
    counted, weighed, ahead, seen = parts.counted, parts.weighed, parts.ahead, parts.seen
    return FieldResult(
        season_name=settings.name,
        year=settings.year,
        as_of=as_of,
        units=str(settings.units),
        field_id=field.field_id,
        field=field.field,
        grower_id=field.grower_id,
        grower=field.grower,
        acres=field.acres,
        row_width_in=field.row_width_in,
        plantings=tuple(_planting(planting) for planting in field.plantings),
        forecast_planting=_planting(field.main_planting),
        own_average_bu_ac=field.own_average_bu_ac,
        visits=tuple(_visit(visit, settings) for visit in seen),
        yield_=counted.yield_ if counted else None,
        weighed=weighed,
        methods=beside(weighed, counted.yield_) if weighed and counted and counted.yield_ else None,
        stops=with_places(counted.stops, counted.visit, field, settings) if counted else (),
        count_visit=counted.visit.visit_id if counted else None,
        ears=counted.ears if counted else None,
        heat=ahead.heat,
        stages=ahead.stages,
        pollination=parts.flowered,
        gaps=parts.missing,
        leaves=parts.sick,
        fungicide=parts.spray,
        ripe=parts.ripened,
        outlook=parts.coming,
        may_enter=may_enter(field),
        use=field.use,
        around_silking=days_around(parts.silked, ahead.weather),
        heat_curve=_curve(field.main_planting, ahead, figures),
        photos=field_photos(seen, {one.scout_id: one.name for one in settings.scouts}),
        figures=_used(parts),
    )


def _curve(planting: Planting, ahead: Ahead, figures: Figures) -> HeatCurve | None:
    return heat_curve(planting.planted, ahead.own, ahead.years, ahead.stages, figures)


def _notes(
    field: Field, parts: FieldParts, settings: Settings, figures: Figures
) -> tuple[Problem, ...]:
    """Return what the results themselves have to tell."""
    return (
        *width_notes(field, parts.seen, settings.units),
        *planting_notes(field),
        *sampling_notes(field, parts.counted, figures, settings.units),
        *short_count_notes(field, parts.short_counts),
        *parts.ahead.notes,
    )


def _used(parts: FieldParts) -> tuple[str, ...]:
    """Name the figures that the results rest on."""
    counted, ahead = parts.counted, parts.ahead
    told = {stage.basis for stage in _told(ahead.stages)}
    return used_figures(
        counted=counted.yield_ if counted else None,
        heat=ahead.heat is not None,
        ahead="heat units" in told,
        by_maturity=ahead.by_maturity and "heat units" in told,
        by_milk_line=ahead.by_milk_line and "heat units" in told,
        by_days="days after silking" in told,
        pollination=parts.flowered,
        gaps=parts.missing,
        outlook=parts.coming,
    )


def _by_then(
    questions: Iterable[Problem], seen: Iterable[StoredVisit], visits: Iterable[StoredVisit]
) -> list[Problem]:
    """Leave out what is asked of visits that lie after the day of the report."""
    later = {visit.visit_id for visit in visits} - {visit.visit_id for visit in seen}
    return [found for found in questions if found.place.visit_id not in later]


def _told(stages: Sequence[StageResult]) -> Iterable[StageResult]:
    """Return the stages that a report tells: the last one reached and those ahead."""
    reached = [stage for stage in stages if stage.passed]
    return (*reached[-1:], *(stage for stage in stages if not stage.passed))


def _planting(planting: Planting) -> PlantingResult:
    return PlantingResult(hybrid=planting.hybrid, planted=planting.planted, acres=planting.acres)


def _visit(visit: StoredVisit, settings: Settings) -> VisitResult:
    names = {scout.scout_id: scout.name for scout in settings.scouts}
    head = next(iter(visit.records["fields"]), None)
    return VisitResult(
        visit_id=visit.visit_id,
        round=visit.round,
        date=visit_day(visit),
        scout=read_by(visit, names),
        stage=head.stage if head else None,
        grain_fill=head.grain_fill if head else None,
        remark=head.remark if head else None,
        stops=len(visit.records["stops"]),
        ears=len(visit.records["ears"]),
    )
