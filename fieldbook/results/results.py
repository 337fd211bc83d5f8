"""Every field's results on one day, from the ledger, the roster and the weather."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache

from fieldbook.engines import current
from fieldbook.jobs import many
from fieldbook.problems import Problem, problem
from fieldbook.results.field import FieldWork, field_result
from fieldbook.results.result import FieldResult
from fieldbook.season.known import Known, read_known
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.weather.read import read_station
from fieldbook.weather.weather import StationWeather

_STALE_DAYS = 7
_WORTH_A_POOL = 100  # fields; a process takes as long to start as 30 of them to be worked out
_TOGETHER = 10  # fields of a bundle, with the weather that they share
_WEATHER_KEPT = 32  # stations up to a day; fields near one another were often seen on one


@dataclass(frozen=True, kw_only=True)
class SeasonResults:
    """All fields' results, and what is to say of the weather files."""

    fields: Sequence[FieldResult]
    problems: tuple[Problem, ...]


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
    """Return what is to say of the roster, its names and the weather files."""
    lost = [field_id for field_id in known.seen if not season.roster.names(field_id)]
    strangers = [problem("field-unknown", field=field_id) for field_id in lost]
    return (*strangers, *known.name_problems, *_weather_problems(season, as_of))


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


def _works(season: Season, days: Mapping[str, Sequence[date]], known: Known) -> Iterator[FieldWork]:
    figures = season_figures(season.settings)

    @lru_cache(maxsize=_WEATHER_KEPT)
    def weather(name: str | None, day: date) -> StationWeather | None:
        return _station_weather(season, name, day)[0]

    for field_id, found in known.fields(days):
        field = season.roster.fields[field_id]
        for day in days[field_id]:
            yield FieldWork(
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


def _worked_out(work: FieldWork) -> FieldResult:
    return field_result(**vars(work))
