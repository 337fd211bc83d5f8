"""Heat since planting and the dates of the stages ahead, from weather and what visits saw."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from math import isnan

from fieldbook.agronomy.forecast import HEAT, StageDate, forecast
from fieldbook.agronomy.heat import DailyTemps, gdd_since_planting_f
from fieldbook.agronomy.stages import Needs
from fieldbook.agronomy.windows import WeatherDay
from fieldbook.check.roster import Field, Planting
from fieldbook.figures import Figures
from fieldbook.forms.stages import MILK_LINE_SHARES
from fieldbook.ledger.stored import StoredVisit
from fieldbook.problems import Problem
from fieldbook.results.result import HeatResult, StageResult
from fieldbook.weather.temps import daily_temps
from fieldbook.weather.weather import Daily, StationWeather

# Without any heat the forecast counts days alone and never looks at what a hybrid needs.
_DENT = "R5"
_UNUSED_NEEDS = Needs(silk_f=1.0, black_layer_f=2.0)


@dataclass(frozen=True, kw_only=True)
class Ahead:
    """What heat and sightings say of a field, and the weather that it rests on.

    ``own`` are the temperatures since planting, ``years`` whole past years; ``weather`` is every
    day of the season on file, its gaps left open.
    """

    heat: HeatResult | None
    stages: tuple[StageResult, ...]
    by_maturity: bool
    by_milk_line: bool
    notes: tuple[Problem, ...]
    own: DailyTemps | None
    years: Mapping[int, DailyTemps]
    weather: tuple[WeatherDay, ...]


def look_ahead(
    field: Field,
    visits: Iterable[StoredVisit],
    weather: StationWeather | None,
    figures: Figures,
    as_of: date,
) -> Ahead:
    """Date the stages of a field's main planting as known on `as_of`."""
    planting = field.main_planting
    needs = planting.needs(figures)
    own = weather.season_through(planting.planted, as_of) if weather else None
    years = _years(weather, planting.planted.year) if weather else {}
    by_heat = needs is not None and own is not None
    visits = list(visits)
    milk = _milk_lines(visits)
    dated = forecast(
        planted=planting.planted,
        needs=needs or _UNUSED_NEEDS,
        as_of=as_of,
        own=daily_temps(own) if by_heat and own else None,
        years=years if by_heat else {},
        seen=_seen(visits),
        milk_lines=milk,
        figures=figures,
    )
    stages = tuple(_stage(found, as_of) for found in dated)
    rated = needs is None or (needs.silk_rated and needs.black_layer_rated)
    return Ahead(
        heat=_heat(weather, own, planting, years, figures) if weather else None,
        stages=stages,
        by_maturity=not rated and any(stage.basis == HEAT for stage in stages),
        by_milk_line=by_heat and any(_is_dent_on(stage, milk) for stage in stages),
        notes=weather.problems if weather else (),
        own=daily_temps(own) if own is not None and len(own) else None,
        years=years,
        weather=_days(weather, planting.planted, as_of) if weather else (),
    )


@lru_cache(maxsize=64)
def _days(weather: StationWeather, first: date, last: date) -> tuple[WeatherDay, ...]:
    """Return days one by one; what is not on file is None, and what was filled in counts.

    Fields that were planted on one day share them.
    """
    daily = weather.between(first, last)
    days: list[date] = daily.days.tolist()
    columns = (
        map(_known, column.tolist()) for column in (daily.tmax_f, daily.tmin_f, daily.rain_in)
    )
    return tuple(
        WeatherDay(day=day, tmax_f=high, tmin_f=low, rain_in=rain)
        for day, high, low, rain in zip(days, *columns, strict=True)
    )


def _known(value: float) -> float | None:
    return None if isnan(value) else value


@lru_cache(maxsize=8)
def _years(weather: StationWeather, before: int) -> Mapping[int, DailyTemps]:
    """Return a station's whole past years: the same for all of its fields."""
    whole = weather.past_years(before, date(before, 1, 1), date(before, 12, 31))
    return {year: daily_temps(daily) for year, daily in whole.items()}


def _seen(visits: Iterable[StoredVisit]) -> list[tuple[date, str]]:
    return [
        (record.visit_date, record.stage)
        for visit in visits
        for record in visit.records["fields"]
        if record.visit_date and record.stage
    ]


def _milk_lines(visits: Iterable[StoredVisit]) -> dict[date, float]:
    """Return how far the milk line had come, by the day of the visit that read it."""
    return {
        record.visit_date: MILK_LINE_SHARES[record.milk_line]
        for visit in visits
        for record in visit.records["fields"]
        if record.visit_date and record.milk_line
    }


def _is_dent_on(stage: StageResult, milk: Mapping[date, float]) -> bool:
    """Say whether a date rests on a sighting of dent whose milk line was read."""
    return stage.anchor_stage == _DENT and stage.anchor_date in milk


def _heat(
    weather: StationWeather,
    own: Daily | None,
    planting: Planting,
    years: Mapping[int, DailyTemps],
    figures: Figures,
) -> HeatResult:
    gdd = None
    if own is not None and len(own):
        gdd = float(gdd_since_planting_f(planting.planted, daily_temps(own), figures=figures)[-1])
    missing = sum((last - first).days + 1 for first, last in weather.gaps)
    return HeatResult(
        station=weather.station,
        gdd_since_planting_f=gdd,
        weather_through=own.days[-1].item() if own is not None and len(own) else None,
        past_years=len(years),
        days_filled=int(own.filled.sum()) if own is not None else 0,
        days_missing=missing,
    )


def _stage(found: StageDate, as_of: date) -> StageResult:
    return StageResult(
        stage=found.stage,
        date=found.date,
        earliest=found.earliest,
        latest=found.latest,
        basis=found.basis.kind,
        years=found.basis.years,
        anchor_stage=found.basis.anchor_stage,
        anchor_date=found.basis.anchor_date,
        passed=found.date is not None and found.date <= as_of,
    )
