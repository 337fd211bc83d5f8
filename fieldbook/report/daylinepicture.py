"""The day line of a field: what is drawn, from results to days, and its words."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from fieldbook.agronomy.ears import SCATTERED, TIP_ABORTED
from fieldbook.agronomy.ranges import Span, Triple
from fieldbook.agronomy.timing import (
    EARLY_LOSS,
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SIDE_STRESS,
    SILKS_DRAPED,
    SILKS_LOST,
    SILKS_STOPPED,
    STRESS_FIRST,
    STRESS_LATER,
    silk_out_days,
    silk_out_range,
)
from fieldbook.agronomy.windows import WeatherDay
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.drawings.dayline import DayLine, DayMarks, GapBar, MarkNames, SilksOut
from fieldbook.report.gapwords import when_lines
from fieldbook.results.pollination import likeliest_silking, silked_within
from fieldbook.results.result import FieldResult
from fieldbook.words import say

_BEFORE, _AFTER = timedelta(7), timedelta(3)
_PLACES = 20
_GAPS = {
    POLLEN_LATE: "good pollen starts",
    SILKS_LOST: "early silks lost",
    POLLEN_ENDED: "good pollen ends",
    SILKS_STOPPED: "silks stop growing",
    EARLY_LOSS: "lost in first days",
    STRESS_FIRST: "two weeks after",
    STRESS_LATER: "up to four weeks",
    POLLEN_BROKEN: "silks, pollen cut",
    SIDE_STRESS: "stress after",
    SILKS_DRAPED: "silks draped",
}
_TEXTURES = {TIP_ABORTED: "gap-aborted", SCATTERED: "gap-scattered"}


def day_line(result: FieldResult, amounts: Amounts, figures: Figures) -> DayLine | None:
    """Return the days around first silk; None where silking has no date at both ends."""
    silked = silked_within(result.pollination, result.stages)
    likely = likeliest_silking(result.pollination, silked)
    if silked is None or likely is None or not (silked.earliest and silked.latest):
        return None
    shed = result.pollination.shed if result.pollination else None
    silks = tuple(_silks_out(silked.earliest, likely, silked.latest, figures))
    gaps = _gaps(result, amounts)
    last = date.fromordinal(round(max(one.latest for one in silks)))
    ends = [last, *(gap.within.latest for gap in gaps), shed.end.latest if shed else None]
    return DayLine(
        first=silked.earliest - _BEFORE,
        last=max(end for end in ends if end) + _AFTER,
        today=result.as_of,
        days=[_marks(one, figures) for one in result.around_silking],
        names=_mark_names(amounts, figures),
        shed=(shed.start, shed.end) if shed else None,
        silks=silks,
        gaps=gaps,
        visits=[visit.date for visit in result.visits if visit.date],
    )


def day_line_about(result: FieldResult, amounts: Amounts, figures: Figures) -> str:
    """Describe the day line for who can't see it: when silks came out, and when gaps arose."""
    language = amounts.language
    silked = silked_within(result.pollination, result.stages)
    when = amounts.within(silked) if silked else ""
    counted = result.pollination is not None and result.pollination.silking is not None
    text = (
        "Days around silking. Half of the plants had silks {when}."
        if counted
        else "Days around silking. By the forecast half of the plants had silks {when}."
    )
    start = say(text, language, when=when)
    return " ".join((start, *when_lines(result, amounts, figures)))


def _silks_out(earliest: date, likely: date, latest: date, figures: Figures) -> Iterator[SilksOut]:
    """Yield when silks come out along the ear, from butt to tip.

    The band holds the range of the silking date and of every figure behind the timeline.
    """
    span, first, lag = (
        Triple.of(f"silk.{key}", figures).typical
        for key in ("span_days", "first_position", "base_lag_days")
    )
    for place in range(_PLACES + 1):
        at = place / _PLACES
        days = silk_out_range(Span(low=at, high=at), figures=figures)
        typical = silk_out_days(at, span_days=span, first_position=first, base_lag_days=lag)
        yield SilksOut(
            position=at,
            earliest=earliest.toordinal() + days.low,
            likely=likely.toordinal() + typical,
            latest=latest.toordinal() + days.high,
        )


def _gaps(result: FieldResult, amounts: Amounts) -> Sequence[GapBar]:
    return [
        GapBar(
            name=say(_GAPS[dated.reading.reading], amounts.language),
            within=dated.days,
            role=_TEXTURES.get(dated.reading.place, "gap-unset"),
        )
        for dated in (result.gaps.dated if result.gaps else ())
    ]


def _marks(one: WeatherDay, figures: Figures) -> DayMarks:
    rain = one.rain_in or 0.0
    return DayMarks(
        day=one.day,
        hot=(one.tmax_f or 0.0) > figures.number("weather.hot_day_f"),
        warm=(one.tmin_f or 0.0) > figures.number("weather.warm_night_f"),
        rain_in=rain if rain >= figures.number("weather.wet_day_in") else 0.0,
    )


def _mark_names(amounts: Amounts, figures: Figures) -> MarkNames:
    language = amounts.language
    hot = amounts.temperature(figures.number("weather.hot_day_f"))
    warm = amounts.temperature(figures.number("weather.warm_night_f"))
    return MarkNames(
        hot=say("day over {hot}", language, hot=hot),
        warm=say("night over {warm}", language, warm=warm),
        rain=say("rain", language),
    )
