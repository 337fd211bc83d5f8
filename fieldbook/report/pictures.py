"""The pictures of a report: each in two widths, with a caption for every reader."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.daylinepicture import day_line, day_line_about
from fieldbook.report.drawings import (
    NARROW,
    WIDE,
    Drawing,
    StageRow,
    draw_dayline,
    draw_ear,
    draw_heat,
    draw_ladder,
    draw_standing,
    draw_stops,
    draw_strip,
)
from fieldbook.report.earwords import ear_about
from fieldbook.report.heatpicture import heat_caption, heat_factor, heat_marks, month_starts
from fieldbook.report.leafwords import ladder_about, ladder_caption, ladder_rows
from fieldbook.report.stagewords import next_stage, span_words, when_words
from fieldbook.report.standingpicture import spots, standing_caption
from fieldbook.report.words import REASONS, stage_words
from fieldbook.report.yieldwords import stops_caption
from fieldbook.results.looks_result import LeavesResult
from fieldbook.results.result import FieldResult, HeatCurve, StageResult
from fieldbook.results.yield_result import EarsResult
from fieldbook.words import say

_BEFORE = timedelta(10)  # a visit longer before all that is drawn would only squeeze the rest


@dataclass(frozen=True, kw_only=True)
class Picture:
    """One drawing for paper and wide screens, and the same for a phone."""

    wide: Drawing
    narrow: Drawing
    caption: str


def _both(draw: Callable[[float], Drawing | None], caption: str) -> Picture | None:
    wide, narrow = draw(WIDE), draw(NARROW)
    if wide is None or narrow is None:
        return None
    return Picture(wide=wide, narrow=narrow, caption=caption)


def ear_picture(ears: EarsResult, amounts: Amounts) -> Picture | None:
    """Draw the average ear, or nothing where no ear was looked at in every part."""
    language = amounts.language
    title = say("The average ear", language)
    about = ear_about(ears, language)
    return _both(
        lambda width: draw_ear(ears, width=width, title=title, about=about, language=language),
        say("The height of a slice is the share of ears with a kernel at that place.", language),
    )


def dayline_picture(result: FieldResult, amounts: Amounts, figures: Figures) -> Picture | None:
    """Draw the days around first silk, or nothing where silking has no date."""
    language = amounts.language
    line = day_line(result, amounts, figures)
    if line is None:
        return None
    title = say("The days around silking", language)
    about = day_line_about(result, amounts, figures)
    return _both(
        lambda width: draw_dayline(line, width=width, title=title, about=about, language=language),
        say(
            "A bar covers the days on which it may have been; the slanting band is when silks came "
            "out, from base to tip.",
            language,
        ),
    )


def ladder_picture(found: LeavesResult, amounts: Amounts) -> Picture | None:
    """Draw how high diseases reached, or nothing where none has a highest leaf."""
    language = amounts.language
    rows = ladder_rows(found, amounts)
    title = say("Leaves with disease", language)
    about = ladder_about(rows, language)
    return _both(
        lambda width: draw_ladder(rows, width=width, title=title, about=about, language=language),
        ladder_caption(found, amounts),
    )


def stops_picture(result: FieldResult, amounts: Amounts) -> Picture | None:
    """Draw the yield of every stop, or nothing where none has a yield."""
    language = amounts.language
    caption = stops_caption(result, amounts)
    reasons = {key: say(words, language) for key, words in REASONS.items()}
    return _both(
        lambda width: draw_stops(
            result.stops,
            result.yield_,
            result.own_average_bu_ac,
            reasons,
            units=amounts.units,
            width=width,
            title=say("Yield by stop", language),
            about=caption,
            language=language,
        ),
        caption,
    )


def heat_picture(curve: HeatCurve, result: FieldResult, amounts: Amounts) -> Picture | None:
    """Draw heat since planting against past years."""
    language = amounts.language
    caption = heat_caption(result, curve, amounts)
    return _both(
        lambda width: draw_heat(
            curve,
            heat_marks(result),
            month_starts(curve, language),
            factor=heat_factor(amounts),
            width=width,
            title=say("Heat since planting", language),
            about=caption,
        ),
        caption,
    )


def standing_picture(result: FieldResult, amounts: Amounts) -> Picture | None:
    """Draw where the stops were, or nothing where fewer than three have a place."""
    language = amounts.language
    caption = standing_caption(result, language)
    return _both(
        lambda width: draw_standing(
            spots(result),
            units=amounts.units,
            width=width,
            title=say("Where we stood", language),
            about=caption,
            language=language,
        ),
        caption,
    )


def strip_picture(result: FieldResult, amounts: Amounts) -> Picture | None:
    """Draw stages on one scale of dates, or nothing where none with a date is ahead."""
    language = amounts.language
    if next_stage(result.stages) is None:
        return None
    stages = _worth_drawing(result.stages)
    rows = [_stage_row(stage, amounts) for stage in stages]
    since = min(day for stage in stages for day in _days(stage)) if stages else result.as_of
    visits = [day for visit in result.visits if (day := visit.date) and day >= since - _BEFORE]
    named = [f"{row.name}: {when_words(row.stage, amounts)}" for row in rows]
    return _both(
        lambda width: draw_strip(
            rows,
            visits,
            result.as_of,
            width=width,
            title=say("Stages on one scale of dates", language),
            about="; ".join(named) + ".",
            language=language,
        ),
        say("A dot is the likely day, a bar the days it may fall on.", language),
    )


def _worth_drawing(stages: Sequence[StageResult]) -> list[StageResult]:
    """Leave out what is long past: of the passed stages only the last one is drawn."""
    dated = [stage for stage in stages if _days(stage)]
    passed = [stage for stage in dated if stage.passed]
    return passed[-1:] + [stage for stage in dated if not stage.passed]


def _days(stage: StageResult) -> list[date]:
    return [day for day in (stage.date, stage.earliest, stage.latest) if day]


def _stage_row(stage: StageResult, amounts: Amounts) -> StageRow:
    span = span_words(stage, amounts, month="MMM")
    day = amounts.day(stage.date) if stage.date else ""
    return StageRow(name=stage_words(stage.stage, amounts.language), stage=stage, when=span or day)
