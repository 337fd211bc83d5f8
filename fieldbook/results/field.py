"""Every figure of one field, worked out of what is known of it on one day."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from fieldbook.agronomy.ranges import DayRange
from fieldbook.check.roster import Field, Planting
from fieldbook.check.verdict import State
from fieldbook.figures import Figures
from fieldbook.forms.rounds import KERNEL_COUNT, RIPENING
from fieldbook.forms.stops import INTERIOR
from fieldbook.ledger.stored import StoredVisit, read_by, seen_by, visit_day, visit_stage
from fieldbook.problems import Problem, Weight
from fieldbook.results.ahead import Ahead, look_ahead
from fieldbook.results.counts import CountedVisit, counted_visit
from fieldbook.results.gaps import gaps
from fieldbook.results.heat_curve import heat_curve
from fieldbook.results.leaves import fungicide, leaves
from fieldbook.results.looks_result import GapsResult, PollinationResult
from fieldbook.results.notes import left_out_questions, planting_notes, sampling_notes, width_notes
from fieldbook.results.outlook import outlook
from fieldbook.results.photos import field_photos
from fieldbook.results.places import with_places
from fieldbook.results.pollination import (
    days_around,
    has_late_silks,
    likeliest_silking,
    looks_at_flowering,
    pollination,
    silked_within,
)
from fieldbook.results.result import FieldResult, PlantingResult, StageResult, VisitResult
from fieldbook.results.ripe import ripe
from fieldbook.results.used_figures import used_figures
from fieldbook.results.weighed import beside, weighed_yield
from fieldbook.results.yield_result import WeighedYield
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
    counted = _latest_count(seen, field, figures, settings)
    ahead = look_ahead(field, seen, weather, figures, as_of)
    flowered = pollination(seen, figures)
    silked = silked_within(flowered, ahead.stages)
    missing = _gaps(seen, counted, flowered, silked, ahead, figures)
    sick = leaves(field, seen, settings, ahead.weather, figures)
    ripened = ripe(seen, figures)
    weighed = _latest_weighed(seen, field, figures)
    coming = outlook(
        ahead.stages,
        as_of=as_of,
        silked=likeliest_silking(flowered, silked),
        late_silks=has_late_silks(flowered),
        measured=ripened,
        weather=ahead.weather,
        own=ahead.own,
        years=ahead.years,
        figures=figures,
    )
    told = {stage.basis for stage in _told(ahead.stages)}
    planting = field.main_planting
    asked, confirmed = (
        _by_then(known.questions[state], seen, known.visits)
        for state in (State.OPEN, State.CONFIRMED)
    )
    notes = [found for found in asked if found.weight is Weight.NOTE]
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
        forecast_planting=_planting(planting),
        own_average_bu_ac=field.own_average_bu_ac,
        visits=tuple(_visit(visit, settings) for visit in seen),
        yield_=counted.yield_ if counted else None,
        weighed=weighed,
        methods=beside(weighed, counted.yield_) if weighed and counted and counted.yield_ else None,
        stops=with_places(counted.stops, seen, field, settings) if counted else (),
        ears=counted.ears if counted else None,
        heat=ahead.heat,
        stages=ahead.stages,
        pollination=flowered,
        gaps=missing,
        leaves=sick,
        fungicide=fungicide(
            field,
            ahead.stages,
            _stage_seen(seen),
            sick,
            coming,
            settings,
            as_of=as_of,
            figures=figures,
        ),
        ripe=ripened,
        outlook=coming,
        may_enter=may_enter(field),
        use=field.use,
        around_silking=days_around(silked, ahead.weather),
        heat_curve=heat_curve(planting.planted, ahead.own, ahead.years, ahead.stages, figures),
        photos=field_photos(seen, {one.scout_id: one.name for one in settings.scouts}),
        questions=(
            *left_out_questions(field, known.left_out, as_of),
            *(found for found in asked if found.weight is not Weight.NOTE),
        ),
        notes=(
            *notes,
            *width_notes(field, seen, settings.units),
            *planting_notes(field),
            *sampling_notes(field, counted, figures, settings.units),
            *ahead.notes,
        ),
        confirmed=tuple(confirmed),
        figures=used_figures(
            counted=counted.yield_ if counted else None,
            heat=ahead.heat is not None,
            ahead="heat units" in told,
            by_maturity=ahead.by_maturity and "heat units" in told,
            by_milk_line=ahead.by_milk_line and "heat units" in told,
            by_days="days after silking" in told,
            pollination=flowered,
            gaps=missing,
            outlook=coming,
        ),
    )


def _by_then(
    questions: Iterable[Problem], seen: Iterable[StoredVisit], visits: Iterable[StoredVisit]
) -> list[Problem]:
    """Leave out what is asked of visits that lie after the day of the report."""
    later = {visit.visit_id for visit in visits} - {visit.visit_id for visit in seen}
    return [found for found in questions if found.place.visit_id not in later]


def _latest_count(
    visits: list[StoredVisit], field: Field, figures: Figures, settings: Settings
) -> CountedVisit | None:
    counted = [visit for visit in visits if visit.round == KERNEL_COUNT.name]
    if not counted:
        return None
    return counted_visit(
        counted[-1],
        field,
        figures,
        wanted_half_width_bu_ac=settings.wanted_half_width_bu_ac,
        own_counts=settings.own_counts,
    )


def _latest_weighed(
    visits: list[StoredVisit], field: Field, figures: Figures
) -> WeighedYield | None:
    ripe_visits = (visit for visit in reversed(visits) if visit.round == RIPENING.name)
    found = (weighed_yield(visit, field, figures) for visit in ripe_visits)
    return next((one for one in found if one is not None), None)


def _stage_seen(visits: Iterable[StoredVisit]) -> str | None:
    """Return the stage that the latest visit with one saw."""
    return next((stage for visit in reversed([*visits]) if (stage := visit_stage(visit))), None)


def _gaps(
    visits: Sequence[StoredVisit],
    counted: CountedVisit | None,
    flowered: PollinationResult | None,
    silked: DayRange | None,
    ahead: Ahead,
    figures: Figures,
) -> GapsResult | None:
    if counted is None:
        return None
    latest = [visit for visit in visits if visit.round == KERNEL_COUNT.name][-1]
    used = [stop for stop in counted.stops if stop.left_out is None]
    stands = [stop.ears_per_ac for stop in used if stop.ears_per_ac is not None]
    inside = {stop.stop for stop in counted.stops if stop.place == INTERIOR}
    return gaps(
        [ear for ear in latest.records["ears"] if ear.stop in inside],
        ears_per_ac=sum(stands) / len(stands) if stands else None,
        yield_=counted.yield_,
        silked=silked,
        looks=looks_at_flowering(visits),
        plant_spread_days=(flowered.silking.spread_days if flowered and flowered.silking else None),
        weather=ahead.weather,
        figures=figures,
    )


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
