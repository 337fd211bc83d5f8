"""The weather inside a range of days, and what it says of Gibberella.

A count beside a range of days coincides with what happened in it; it does not prove a cause. Days
without a value are counted, and a run of dry days ends at them.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from statistics import fmean

from fieldbook.figures import Figures, shipped_figures

RAISED, SOME, NO_SIGNAL, UNKNOWN = "raised", "some", "no-signal", "unknown"


@dataclass(frozen=True, kw_only=True)
class WeatherDay:
    """One day's high and low [degF] and rain [in]; None is missing."""

    day: datetime.date
    tmax_f: float | None = None
    tmin_f: float | None = None
    rain_in: float | None = None

    @property
    def mean_f(self) -> float | None:
        """The middle of high and low [degF]."""
        if self.tmax_f is None or self.tmin_f is None:
            return None
        return (self.tmax_f + self.tmin_f) / 2


@dataclass(frozen=True, kw_only=True)
class WindowWeather:
    """What the weather was from ``first`` to ``last``, both included.

    Counts are over the days that have the value and None where no day has it. ``temps_missing``
    and ``rain_missing`` are the days without.
    """

    first: datetime.date
    last: datetime.date
    days: int
    hot_days: int | None
    warm_nights: int | None
    mean_f: float | None
    wet_days: int | None
    longest_dry_run: int | None
    rain_in: float | None
    temps_missing: int
    rain_missing: int


@dataclass(frozen=True, kw_only=True)
class GibberellaWatch:
    """The level of the watch and what it rests on; None: too many days are missing to tell.

    ``raised``: wet and cool; ``some``: one of them, or silks still open late at the tip; ``no-
    signal``: none, other moulds not ruled out; ``unknown``: none that is known, but days are
    missing. A level asks for a second look on ``follow_up``; it is never a verdict.
    """

    level: str
    wet: bool | None
    cool: bool | None
    late_silks: bool
    weather: WindowWeather
    follow_up: datetime.date


def weather_between(
    days: Iterable[WeatherDay],
    first: datetime.date,
    last: datetime.date,
    *,
    figures: Figures | None = None,
) -> WindowWeather:
    """Sum up the weather of a range of days, both ends included.

    Hot days are over 95 degF, warm nights over 70 degF, wet days have 0.1 in or more.

    Raises
    ------
    ValueError
        If the last day comes before the first.
    """
    if last < first:
        raise ValueError("a range of days cannot end before it begins")
    known = figures or shipped_figures()
    window = _filled({one.day: one for one in days}, first, last)
    highs = [one.tmax_f for one in window if one.tmax_f is not None]
    lows = [one.tmin_f for one in window if one.tmin_f is not None]
    means = [one.mean_f for one in window if one.mean_f is not None]
    rain = [one.rain_in for one in window if one.rain_in is not None]
    hot, warm = known.number("weather.hot_day_f"), known.number("weather.warm_night_f")
    wet = known.number("weather.wet_day_in")
    return WindowWeather(
        first=first,
        last=last,
        days=len(window),
        hot_days=sum(high > hot for high in highs) if highs else None,
        warm_nights=sum(low > warm for low in lows) if lows else None,
        mean_f=fmean(means) if means else None,
        wet_days=sum(one >= wet for one in rain) if rain else None,
        longest_dry_run=_longest_dry_run(window, wet) if rain else None,
        rain_in=sum(rain) if rain else None,
        temps_missing=len(window) - len(means),
        rain_missing=len(window) - len(rain),
    )


def gibberella_watch(
    days: Iterable[WeatherDay],
    silked: datetime.date,
    *,
    late_silks: bool = False,
    figures: Figures | None = None,
) -> GibberellaWatch:
    """Return the Gibberella watch of the three weeks from silking, source `ohio-state-gibberella`.

    Seven or more rain days, and a mean under 72 degF. Days that are missing, or still ahead, can
    turn a dry window wet, so it is dry only if they could not; the mean needs two days in three.

    Parameters
    ----------
    late_silks
        Green or pale silks seen late at the tip, which are still open to the fungus.
    """
    known = figures or shipped_figures()
    start, end = (
        silked + datetime.timedelta(days=int(number))
        for number in known.numbers("gibberella.window_days")
    )
    weather = weather_between(days, start, end, figures=known)
    wet = _reached(weather, known.number("gibberella.wet_days"))
    mean = weather.mean_f
    most_missing = known.number("weather.most_missing_share") * weather.days
    told = mean is not None and weather.temps_missing <= most_missing
    cool = mean < known.number("gibberella.mean_f") if mean is not None and told else None
    return GibberellaWatch(
        level=_level(wet, cool, late_silks),
        wet=wet,
        cool=cool,
        late_silks=late_silks,
        weather=weather,
        follow_up=silked + datetime.timedelta(days=int(known.number("gibberella.follow_up_days"))),
    )


def _filled(
    by_day: Mapping[datetime.date, WeatherDay], first: datetime.date, last: datetime.date
) -> list[WeatherDay]:
    every = (first + datetime.timedelta(days=n) for n in range((last - first).days + 1))
    return [by_day.get(day, WeatherDay(day=day)) for day in every]


def _longest_dry_run(window: Iterable[WeatherDay], wet: float) -> int:
    dry = (one.rain_in is not None and one.rain_in < wet for one in window)
    return max((len(list(run)) for is_dry, run in groupby(dry) if is_dry), default=0)


def _reached(weather: WindowWeather, line: float) -> bool | None:
    wet_days = weather.wet_days or 0
    if wet_days >= line:
        return True
    return None if wet_days + weather.rain_missing >= line else False


def _level(wet: bool | None, cool: bool | None, late_silks: bool) -> str:
    if wet and cool:
        return RAISED
    if wet or cool or late_silks:
        return SOME
    return UNKNOWN if wet is None or cool is None else NO_SIGNAL


def is_hot_and_dry(weather: WindowWeather, *, figures: Figures | None = None) -> bool | None:
    """Tell whether the weather of grain fill was of the kind that Aspergillus likes.

    Warm on the mean, and too little rain a week (both lines assumed, after source
    `iowa-state-aflatoxin`). None where too many days are missing to tell.
    """
    known = figures or shipped_figures()
    most_missing = known.number("weather.most_missing_share") * weather.days
    missing = max(weather.temps_missing, weather.rain_missing)
    if weather.mean_f is None or weather.rain_in is None or missing > most_missing:
        return None
    a_week = 7 * weather.rain_in / (weather.days - weather.rain_missing)
    is_dry = a_week < known.number("aspergillus.rain_in_per_week")
    return weather.mean_f >= known.number("aspergillus.mean_f") and is_dry


def is_warm_and_wet(weather: WindowWeather, *, figures: Figures | None = None) -> bool | None:
    """Tell whether the weather of a window was of the kind that leaf blights like.

    Warm on the mean, and wet on a good share of days (both lines assumed). None where too many
    days are missing to tell.
    """
    known = figures or shipped_figures()
    most_missing = known.number("weather.most_missing_share") * weather.days
    missing = max(weather.temps_missing, weather.rain_missing)
    if weather.mean_f is None or weather.wet_days is None or missing > most_missing:
        return None
    wet_share = weather.wet_days / (weather.days - weather.rain_missing)
    is_wet = wet_share >= known.number("leaf_rule.wet_days_share")
    return weather.mean_f >= known.number("leaf_rule.warm_mean_f") and is_wet
