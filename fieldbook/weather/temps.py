"""The temperatures of a field's season, read from its station's files when first asked for."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.check.roster import Field
from fieldbook.settings.settings import Station

if TYPE_CHECKING:
    from fieldbook.agronomy.heat import DailyTemps
    from fieldbook.weather.weather import Daily, StationWeather


class SeasonTemps:
    """Gives every field's temperatures from its first planting through a day.

    A station's files are read once, and only if a field of it is asked for. Fields that were
    planted on one day share their temperatures.
    """

    def __init__(self, stations: Mapping[str, Station], folder: Path, *, through: date) -> None:
        self._stations, self._folder, self._through = stations, folder, through
        self._weather = cache(self._read)
        self._since = cache(self._season)

    def __call__(self, field: Field) -> DailyTemps | None:
        """Return them; None without a station, from planting on, or with a long gap."""
        planted = min(planting.planted for planting in field.plantings)
        return self._since(field.station, planted) if field.station in self._stations else None

    def _season(self, station: str, planted: date) -> DailyTemps | None:
        weather = self._weather(station)
        own = weather.season_through(planted, self._through) if weather else None
        return daily_temps(own) if own is not None and len(own) else None

    def _read(self, name: str) -> StationWeather | None:
        from fieldbook.weather.read import read_station

        weather, _ = read_station(self._stations[name], self._folder, through=self._through)
        return weather


def daily_temps(daily: Daily) -> DailyTemps:
    """Return the temperatures of days without a gap."""
    from fieldbook.agronomy.heat import DailyTemps

    return DailyTemps(first=daily.days[0].item(), tmax_f=daily.tmax_f, tmin_f=daily.tmin_f)
