"""Where kernels are missing on a field's ears, and when that happened. Pure."""

from collections.abc import Iterable, Sequence

from fieldbook.agronomy.ears import FieldPattern
from fieldbook.agronomy.gap_causes import causes
from fieldbook.agronomy.gap_looks import StopLook, flower_looks
from fieldbook.agronomy.gap_signs import signs
from fieldbook.agronomy.gaps import ONE_SIDED, WHOLE_EAR, SeenEar, field_gaps
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.timing import DatedReading, side_and_scatter_readings
from fieldbook.agronomy.windows import WeatherDay, WindowWeather, weather_between
from fieldbook.figures import Figures
from fieldbook.forms.ears import Ear
from fieldbook.results.ears import ear_rings
from fieldbook.results.looks_result import DatedGap, GapsResult
from fieldbook.results.yield_result import YieldResult


def gaps(
    ears: Sequence[Ear],
    *,
    ears_per_ac: float | None,
    yield_: YieldResult | None,
    silked: DayRange | None,
    plant_spread_days: float | None,
    looks: Iterable[StopLook],
    weather: Sequence[WeatherDay],
    figures: Figures,
) -> GapsResult | None:
    """Say where kernels are missing and, for what stands out, when that may have happened.

    `silked` is when half of the plants had silked; None: no gap can be dated. `looks` are what
    visits saw at the stops while the field flowered.
    """
    seen = [seen_ear(ear) for ear in ears]
    per_bu = yield_.thousand_kernels_per_bu[1] if yield_ else None
    found = field_gaps(
        seen, ears_per_ac=ears_per_ac, thousand_kernels_per_bu=per_bu, figures=figures
    )
    if found is None:
        return None
    days = silked or DayRange()
    saw = flower_looks(looks, days, figures=figures)
    named = causes(seen, days, plant_spread_days=plant_spread_days, saw=saw, figures=figures)
    dated = [one for cause in named for one in cause.readings]
    beside = _beside(found.pattern, figures)
    if silked and ONE_SIDED in beside:
        dated += side_and_scatter_readings(
            ONE_SIDED, silked, plant_spread_days=plant_spread_days, figures=figures
        )
    told = tuple(_dated(one, weather, figures) for one in dated) if silked else ()
    return GapsResult(
        found=found,
        standing_out=(*(cause.pattern for cause in named), *beside),
        causes={cause.pattern: cause.key for cause in named},
        dated=told,
        saw=saw,
        signs=tuple(sign for one in told for sign in signs(one.reading.reading, one.days, saw)),
    )


def _beside(pattern: FieldPattern | None, figures: Figures) -> list[str]:
    """Return the patterns without an edge along the ear that enough ears show."""
    least = figures.number("ears.pattern_least_share")
    shares = pattern.shares if pattern else {}
    return [place for place in (ONE_SIDED, WHOLE_EAR) if shares.get(place, 0.0) >= least]


def seen_ear(ear: Ear) -> SeenEar:
    """Return an ear as the agronomy of gaps looks at it."""
    return SeenEar(
        stop=ear.stop,
        rings=ear_rings(ear),
        rows_around=ear.rows_around,
        lost_rows=ear.lost_rows or 0,
        opposite_set=ear.opposite_set,
        one_sided=None if ear.pattern is None else ear.pattern == ONE_SIDED,
        bare_cob=ear.bare_cob is not None,
        length_in=ear.ear_length_in,
    )


def _dated(reading: DatedReading, weather: Sequence[WeatherDay], figures: Figures) -> DatedGap:
    """Set the weather of its days beside a reading: the likely days where they are told."""
    days = reading.likely or reading.within
    return DatedGap(reading=reading, days=days, weather=_weather(days, weather, figures))


def _weather(
    within: DayRange, weather: Sequence[WeatherDay], figures: Figures
) -> WindowWeather | None:
    first, last = within.earliest, within.latest
    if first is None or last is None or not weather or last < weather[0].day:
        return None
    return weather_between(weather, first, min(last, weather[-1].day), figures=figures)
