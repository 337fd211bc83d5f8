"""Where kernels are missing on a field's ears, and when that happened. Pure."""

from collections.abc import Sequence

from fieldbook.agronomy.ears import BASE, SCATTERED, TIP_ABORTED, TIP_UNSET
from fieldbook.agronomy.gaps import ONE_SIDED, SeenEar, field_gaps
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.timing import (
    DatedReading,
    edge,
    readings,
    side_and_scatter_readings,
)
from fieldbook.agronomy.windows import WeatherDay, WindowWeather, weather_between
from fieldbook.figures import Figures
from fieldbook.forms.ears import Ear
from fieldbook.season.counts import ear_rings
from fieldbook.season.result import DatedGap, GapsResult, YieldResult


def gaps(
    ears: Sequence[Ear],
    *,
    ears_per_ac: float | None,
    yield_: YieldResult | None,
    silked: DayRange | None,
    plant_spread_days: float | None,
    weather: Sequence[WeatherDay],
    figures: Figures,
) -> GapsResult | None:
    """Say where kernels are missing and, for what stands out, when that may have happened.

    `silked` is when half of the plants had silked; None: no gap can be dated.
    """
    seen = [seen_ear(ear) for ear in ears]
    per_bu = yield_.thousand_kernels_per_bu[1] if yield_ else None
    found = field_gaps(
        seen, ears_per_ac=ears_per_ac, thousand_kernels_per_bu=per_bu, figures=figures
    )
    if found is None:
        return None
    least = figures.number("ears.pattern_least_share")
    shares = found.pattern.shares if found.pattern else {}
    standing_out = [place for place, share in shares.items() if share >= least]
    dated: list[DatedGap] = []
    for place in standing_out if silked else ():
        assert silked is not None
        for one in _dated(seen, place, silked, plant_spread_days, figures):
            dated.append(DatedGap(reading=one, weather=_weather(one.within, weather, figures)))
    return GapsResult(found=found, standing_out=tuple(standing_out), dated=tuple(dated))


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


def _dated(
    ears: Sequence[SeenEar],
    place: str,
    silked: DayRange,
    plant_spread_days: float | None,
    figures: Figures,
) -> tuple[DatedReading, ...]:
    if place in (SCATTERED, ONE_SIDED):
        return side_and_scatter_readings(
            place, silked, plant_spread_days=plant_spread_days, figures=figures
        )
    if place not in (BASE, TIP_UNSET, TIP_ABORTED):
        return ()
    found = edge([ear.rings for ear in ears if not ear.bare_cob], place)
    if found is None:
        return ()
    return readings(found, silked, plant_spread_days=plant_spread_days, figures=figures)


def _weather(
    within: DayRange, weather: Sequence[WeatherDay], figures: Figures
) -> WindowWeather | None:
    first, last = within.earliest, within.latest
    if first is None or last is None or not weather or last < weather[0].day:
        return None
    return weather_between(weather, first, min(last, weather[-1].day), figures=figures)
