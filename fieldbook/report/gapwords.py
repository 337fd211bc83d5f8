"""Where kernels are missing and when that arose, in a grower's words.

A reading of a gap is one way in which it may have come about, never the cause.
"""

from collections.abc import Iterator, Sequence

from fieldbook.agronomy.ears import BASE, MIXED, NONE, SCATTERED, TIP_ABORTED, TIP_UNSET
from fieldbook.agronomy.gap_signs import (
    MANY_BEETLES,
    NOT_YET_SHEDDING,
    SHED_AT_SILKING,
    SHED_OVER,
    SILKS_CLIPPED,
    SILKS_WHOLE,
    STILL_SHEDDING,
)
from fieldbook.agronomy.gaps import ONE_SIDED, WHOLE_EAR, Gaps, PlaceLoss
from fieldbook.agronomy.ranges import DayRange
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
)
from fieldbook.agronomy.windows import WindowWeather
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts, count_words
from fieldbook.report.tables import Table
from fieldbook.report.words import joined
from fieldbook.results.looks_result import DatedGap, GapsResult
from fieldbook.results.result import FieldResult
from fieldbook.words import say

_PLACES = {
    BASE: "Base (butt end), never set, or lost in the first days",
    SCATTERED: "Between kernels",
    TIP_UNSET: "Tip, never set, or lost in the first days",
    TIP_ABORTED: "Tip, shrunken: set first, lost later",
    ONE_SIDED: "One side of the ear",
    WHOLE_EAR: "Bare cobs",
}
_ALONG = {
    BASE: "the base",
    SCATTERED: "between kernels",
    TIP_UNSET: "the tip",
    TIP_ABORTED: "shrunken kernels at the tip",
}
_AT_STAKE = {  # by whether the page is metric
    False: "At stake: at the most about {bushels} {unit}; heavier kernels partly make up, and "
    "the first inch of bare tip is not priced.",
    True: "At stake: at the most about {bushels} {unit}; heavier kernels partly make up, "
    "and the first 2.5 cm of bare tip are not priced.",
}
_PATTERNS = {
    BASE: "At least a third of the ears lack kernels at the base (the butt end): usually trouble "
    "at the start of pollination.",
    SCATTERED: "At least a third of the ears have gaps among their kernels: usually silks were "
    "clipped, or pollen was short.",
    TIP_UNSET: "At least a third of the ears have a longer bare tip than is common, never set, or "
    "lost in the first days: usually trouble at the end of pollination.",
    TIP_ABORTED: "At least a third of the ears have a longer bare tip than is common, with "
    "shrunken kernels in it: kernels were pollinated and lost later.",
    ONE_SIDED: "At least a third of the ears are filled on one side only.",
    WHOLE_EAR: "At least a third of the ears are bare cobs.",
    MIXED: "What is missing follows no single pattern.",
    NONE: "Nothing is missing beyond what is common.",
}
_READINGS = {
    POLLEN_LATE: "If pollen came late, the first good pollen fell {when}",
    SILKS_LOST: "If early silks were lost to heat, drying or clipping, that was {when}",
    POLLEN_ENDED: "If pollen ran out, the last good pollen fell {when}",
    SILKS_STOPPED: "If silks stopped growing, that was {when}",
    EARLY_LOSS: "If kernels were lost in their first days, that was {when}",
    STRESS_FIRST: "Look for stress in the two weeks after pollination, {when}",
    STRESS_LATER: "Under hard stress it may be up to four weeks, {when}",
    POLLEN_BROKEN: "If silks were clipped or pollen was short, that was {when}",
    SIDE_STRESS: "If it was hard stress after pollination, that was {when}",
    SILKS_DRAPED: "If silks lay over others and shaded them, that was {when}",
}
_SEEN = {
    NOT_YET_SHEDDING: "most tassels did not shed yet on {day}",
    SHED_AT_SILKING: "most tassels already shed on {day}",
    SHED_OVER: "most tassels were finished on {day}",
    STILL_SHEDDING: "most tassels still shed on {day}",
    SILKS_CLIPPED: "silks were clipped short on {day}",
    MANY_BEETLES: "many beetles sat on the silks on {day}",
    SILKS_WHOLE: "silks were not clipped short on {day}",
}
_SIGN_FOR = {
    POLLEN_LATE: "late pollen",
    POLLEN_ENDED: "pollen that ran out",
    POLLEN_BROKEN: "clipped silks",
    SILKS_LOST: "early silks lost",
}
_LEAST_BU_AC = 0.5  # less prints as 0
_LEAST_PLACES = 0.05  # less prints as 0.0
_WEEKS = (STRESS_FIRST, STRESS_LATER, SIDE_STRESS)
"""Readings that stand for weeks, not for one day."""


def pattern_sentences(found: GapsResult, amounts: Amounts) -> Iterator[str]:
    """Say which patterns stand out, and what is at stake at the most."""
    language, unseen = amounts.language, _not_looked_at(found.found, amounts.language)
    name = found.found.pattern.name if found.found.pattern else None
    named = found.standing_out or ((name,) if name else ())
    for place in named:
        if place == NONE and unseen:
            yield say("Where it was looked at, nothing is missing beyond what is common.", language)
        elif place == MIXED and _is_tip_alone(found.found):
            yield from _without_pattern(found.found, language)
        else:
            yield pattern_words(place, language)
    if unseen:
        yield say("Not looked at: {places}.", language, places=unseen)
    bushels = found.found.bu_ac
    if bushels is not None and amounts.yield_number(bushels).strip("0."):
        text, number = _AT_STAKE[amounts.metric], amounts.yield_number(bushels)
        yield say(text, language, bushels=number, unit=amounts.yield_unit)


def _not_looked_at(found: Gaps, language: str) -> str:
    """Name the places along the ear that nobody looked at; empty where there is none."""
    unseen = [place for place in _ALONG if found.field[place].rings is None]
    if TIP_UNSET in unseen:
        unseen = [place for place in unseen if place != TIP_ABORTED]  # the tip is named by then
    return joined([say(_ALONG[one], language) for one in unseen], language) if unseen else ""


def _is_tip_alone(found: Gaps) -> bool:
    """Say whether only tips were looked at, so that nothing can follow or break a pattern."""
    others = {found.field[place].rings for place in (BASE, SCATTERED)}
    return others == {None} and not _share(found, ONE_SIDED)


def _without_pattern(found: Gaps, language: str) -> Iterator[str]:
    if _share(found, TIP_UNSET, TIP_ABORTED):
        yield say("Some ears have a longer bare tip than is common.", language)
    if _share(found, WHOLE_EAR):
        yield say("Some ears are bare cobs.", language)


def _share(found: Gaps, *places: str) -> float:
    shares = found.pattern.shares if found.pattern else {}
    return sum(shares.get(place, 0.0) for place in places)


def pattern_words(place: str, language: str) -> str:
    """Say that missing kernels stand out at a place of the ear, and what that usually means."""
    return say(_PATTERNS[place], language)


def gaps_table(gaps: Gaps, amounts: Amounts) -> Table | None:
    """Return the table of where kernels are missing, and what that is worth at the most.

    Places that nobody looked at, and those where none are missing, have no row. Where all were
    looked at, neither have those where none that count are missing. None where no row is left.
    """
    language = amounts.language
    is_whole = all(gaps.field[place].rings is not None for place in _ALONG)
    shown = [
        (place, loss, loss.rings)
        for place, loss in gaps.field.items()
        if loss.rings is not None and loss.rings >= _LEAST_PLACES
        if not (is_whole and _is_worth_nothing(loss))
    ]
    if not shown:
        return None
    return Table(
        caption=say("Kernel places missing along one row, on average", language),
        heads=(
            say("Where", language),
            say("Places", language),
            say("At most {unit}", language, unit=amounts.yield_unit),
            say("Ears", language),
        ),
        rows=tuple(
            (
                say(_PLACES[place], language),
                count_words(rings, 1),
                "–" if loss.bu_ac is None else amounts.yield_number(loss.bu_ac),
                str(loss.ears) if loss.ears else "–",
            )
            for place, loss, rings in shown
        ),
        numbers=(False, True, True, True),
    )


def _is_worth_nothing(loss: PlaceLoss) -> bool:
    return loss.bu_ac is not None and loss.bu_ac < _LEAST_BU_AC


# ---- when ----------------------------------------------------------------------------------


def when_lines(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say when the gaps that stand out may have arisen, one line a reading, or why no day is known.

    The last line holds what must stand beside every such date.
    """
    found = result.gaps
    if found is None or not found.standing_out:
        return ()
    language = amounts.language
    if not found.dated:
        return (say(_undated(found), language),)
    lines = [_reading(dated, amounts, figures) for dated in found.dated]
    if any(_is_undated(dated, figures) for dated in found.dated):
        days = f"{figures.number('gaps.widest_date_days'):.0f}"
        text = "* Cannot be told to within {days} days."
        lines.append(say(text, language, days=days))
    lines += _signs(found, amounts)
    if not (result.pollination and result.pollination.silking):
        lines.append(say("Silks were not counted, so these days start from a forecast.", language))
    text = (
        "Days are worked out by a method that is tested on simulated ears only; what coincides "
        "need not be the cause."
    )
    return (*lines, say(text, language))


def _signs(found: GapsResult, amounts: Amounts) -> Iterator[str]:
    """Say in one sentence what visits saw that fits a reading, or speaks against it."""
    language = amounts.language
    parts = [
        say(
            "{seen}, which fits {cause}" if one.fits else "{seen}, which speaks against {cause}",
            language,
            seen=say(_SEEN[one.seen], language, day=amounts.day(one.day)),
            cause=say(_SIGN_FOR[one.reading], language),
        )
        for one in found.signs
    ]
    if parts:
        yield say("What visits saw: {parts}.", language, parts="; ".join(parts))


def _undated(found: GapsResult) -> str:
    if found.standing_out == (WHOLE_EAR,):
        return "When cannot be told: a bare cob shows no place to count from."
    return "When cannot be told: no silking date is known."


def _reading(dated: DatedGap, amounts: Amounts, figures: Figures) -> str:
    language, reading = amounts.language, dated.reading
    when = _when(dated.days, amounts, is_weeks=reading.reading in _WEEKS)
    if _is_undated(dated, figures):
        when = f"{when} *"
    said = say(_READINGS[reading.reading], language, when=when)
    weather = weather_words(dated.weather, amounts, figures)
    if not weather:
        return f"{said}."
    return say("{said}; coincides with {weather}.", language, said=said, weather=weather)


def _is_undated(dated: DatedGap, figures: Figures) -> bool:
    """Say whether a reading means one day, and that day is not known well enough."""
    reading = dated.reading
    return reading.reading not in _WEEKS and is_wide(dated.days, figures)


def _when(within: DayRange, amounts: Amounts, *, is_weeks: bool) -> str:
    if is_weeks and within.earliest and within.latest:
        return amounts.days(within.earliest, within.latest)
    return amounts.within(within)


def is_wide(within: DayRange, figures: Figures) -> bool:
    """Say whether a range is too wide to be called a date."""
    if within.earliest is None or within.latest is None:
        return True
    return (within.latest - within.earliest).days > figures.number("gaps.widest_date_days")


def weather_words(weather: WindowWeather | None, amounts: Amounts, figures: Figures) -> str:
    """Say what was unusual in a range of days; empty where there is no weather on file."""
    if weather is None:
        return ""
    language = amounts.language
    hot = amounts.temperature(figures.number("weather.hot_day_f"))
    warm = amounts.temperature(figures.number("weather.warm_night_f"))
    counted: Sequence[tuple[int | None, str, str]] = (
        (weather.hot_days, "one day over {hot}", "{count} days over {hot}"),
        (weather.warm_nights, "one night over {warm}", "{count} nights over {warm}"),
        (weather.wet_days, "one wet day", "{count} wet days"),
        (weather.longest_dry_run, "one dry day", "{count} dry days on end"),
    )
    parts = [
        say(one if count == 1 else several, language, count=count, hot=hot, warm=warm)
        for count, one, several in counted
        if count
    ]
    return joined(parts, language)
