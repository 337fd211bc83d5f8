"""Every field's results on one day, from the ledger, the roster and the weather."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from fieldbook.agronomy.ranges import DayRange
from fieldbook.check.book import State
from fieldbook.check.roster import Field, Planting
from fieldbook.engines import current
from fieldbook.figures import Figures
from fieldbook.forms.rounds import KERNEL_COUNT, RIPENING
from fieldbook.forms.stops import INTERIOR
from fieldbook.jobs import many
from fieldbook.ledger.stored import StoredVisit, read_by, seen_by, visit_day, visit_stage
from fieldbook.problems import Problem, Weight, problem
from fieldbook.results.ahead import Ahead, look_ahead
from fieldbook.results.counts import CountedVisit, counted_visit
from fieldbook.results.gaps import gaps
from fieldbook.results.heat_curve import heat_curve
from fieldbook.results.leaves import fungicide, leaves
from fieldbook.results.notes import planting_notes, sampling_notes, width_notes
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
from fieldbook.results.result import (
    FieldResult,
    GapsResult,
    PlantingResult,
    PollinationResult,
    StageResult,
    VisitResult,
    WeighedYield,
)
from fieldbook.results.ripe import ripe
from fieldbook.results.used_figures import used_figures
from fieldbook.results.weighed import beside, weighed_yield
from fieldbook.season.blank import may_enter
from fieldbook.season.known import FieldKnown, Known, read_known
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.settings.settings import Settings
from fieldbook.weather.weather import StationWeather, read_station

_STALE_DAYS = 7
_WORTH_A_POOL = 100  # fields; a process takes as long to start as 30 of them to be worked out
_TOGETHER = 10  # fields of a bundle, with the weather that they share
_WEATHER_KEPT = 32  # stations up to a day; fields near one another were often seen on one


@dataclass(frozen=True, kw_only=True)
class SeasonResults:
    """All fields' results, and what is to say of the weather files."""

    fields: tuple[FieldResult, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, kw_only=True)
class _FieldWork:
    """All that one field's results are made of, as sent to a worker."""

    field: Field
    known: FieldKnown
    weather: StationWeather | None
    settings: Settings
    figures: Figures
    as_of: date


def season_results(season: Season, *, as_of: date, field_id: str | None = None) -> SeasonResults:
    """Work out every field of the roster, or one, as known on `as_of`; later visits are left out.

    All are in memory at once; `each_result` gives one after the other.
    """
    known = read_known(season)
    wanted = [one for one in season.roster.fields if field_id in (None, one)]
    fields = each_result(season, dict.fromkeys(wanted, (as_of,)), known=known)
    return SeasonResults(
        fields=tuple(fields), problems=season_problems(season, as_of=as_of, known=known)
    )


def season_problems(season: Season, *, as_of: date, known: Known) -> tuple[Problem, ...]:
    """Return what is to say of the roster and the weather files, whatever the fields show."""
    lost = [field_id for field_id in known.seen if field_id not in season.roster.fields]
    strangers = [problem("field-unknown", field=field_id) for field_id in lost]
    return (*strangers, *_weather_problems(season, as_of))


def each_result(
    season: Season, days: Mapping[str, Sequence[date]], *, known: Known
) -> Iterator[FieldResult]:
    """Work out one field after the other, each on days of its own; few are in memory at once.

    `days` has the days by field ID, `known` the ledger as it stands: what was corrected after such
    a day is taken as corrected.
    """
    work = _works(season, days, known)
    is_much = sum(map(len, days.values())) >= _WORTH_A_POOL
    workers = None if current().is_chosen or is_much else 1
    return many(_worked_out, work, workers=workers, together=_TOGETHER)


def _works(
    season: Season, days: Mapping[str, Sequence[date]], known: Known
) -> Iterator[_FieldWork]:
    figures = season_figures(season.settings)

    @lru_cache(maxsize=_WEATHER_KEPT)
    def weather(name: str | None, day: date) -> StationWeather | None:
        return _station_weather(season, name, day)[0]

    for field_id, found in known.fields(days):
        field = season.roster.fields[field_id]
        for day in days[field_id]:
            yield _FieldWork(
                field=field,
                known=found,
                weather=weather(field.station, day),
                settings=season.settings,
                figures=figures,
                as_of=day,
            )


def _station_weather(
    season: Season, name: str | None, as_of: date
) -> tuple[StationWeather | None, Sequence[Problem]]:
    station = season.settings.stations.get(name or "")
    if name is None or station is None:
        return None, ()
    return read_station(station, season.folder.weather, through=as_of, language=season.language)


def _weather_problems(season: Season, as_of: date) -> Iterator[Problem]:
    for name in dict.fromkeys(field.station for field in season.roster.fields.values()):
        weather, problems = _station_weather(season, name, as_of)
        yield from problems
        if weather is not None:
            yield from _thin_weather(weather, season.settings.year, as_of)


def _thin_weather(weather: StationWeather, year: int, as_of: date) -> list[Problem]:
    """Tell what keeps dates ahead from being made: old weather, or no past year."""
    problems = []
    behind = (as_of - weather.last_day).days
    if behind > _STALE_DAYS and as_of.year == year:
        day = weather.last_day.isoformat()
        problems.append(problem("weather-stale", station=weather.station, day=day, days=behind))
    if not weather.past_years(year, date(year, 1, 1), date(year, 12, 31)):
        problems.append(problem("weather-no-past-years", station=weather.station))
    return problems


def _worked_out(work: _FieldWork) -> FieldResult:
    return _field(**vars(work))


def _field(
    field: Field,
    known: FieldKnown,
    weather: StationWeather | None,
    settings: Settings,
    figures: Figures,
    as_of: date,
) -> FieldResult:
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
        questions=tuple(found for found in asked if found.weight is not Weight.NOTE),
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
