"""Stages in words: where the field stands today, what comes next, and on what that rests."""

from collections.abc import Iterable

from fieldbook.agronomy.stage_dates import SILKS
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.words import stage_words
from fieldbook.results.result import FieldResult, StageResult, VisitResult
from fieldbook.words import say


def next_stage(stages: Iterable[StageResult]) -> StageResult | None:
    """Return the first stage that is still ahead and has any date."""
    ahead = (stage for stage in stages if not stage.passed and (stage.date or stage.earliest))
    return next(ahead, None)


def when_words(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's date with its spread, for example ``about Thu 20 August (17 to 24 August)``."""
    day, span = day_words(stage, amounts), span_words(stage, amounts)
    if day and span:
        return f"{day} ({span})"
    return day or span or say("no date yet", amounts.language)


def day_words(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's day, seen or likely, or nothing where only a range is known."""
    if stage.date is None:
        return ""
    text = "seen {day}" if stage.basis == "seen" else "about {day}"
    return say(text, amounts.language, day=amounts.day(stage.date))


def span_words(stage: StageResult, amounts: Amounts, *, month: str = "MMMM") -> str:
    """Say a stage's range of days, or nothing where there is none; ``MMM`` for short months."""
    if stage.earliest is None or stage.latest is None or stage.earliest == stage.latest:
        return ""
    return amounts.days(stage.earliest, stage.latest, month=month)


def stage_today(result: FieldResult, amounts: Amounts) -> str:
    """Say which stage the field is at today, and on what that rests."""
    language = amounts.language
    passed = [stage for stage in result.stages if stage.passed]
    if not passed:
        return say("No stage is known yet.", language)
    last = passed[-1]
    name = stage_words(last.stage, language)
    seen = last_seen(result.visits)
    if seen and seen.date and seen.stage == last.stage:
        return say("Seen at {stage} on {day}.", language, stage=name, day=amounts.day(seen.date))
    text = "By now the field should be at {stage}, reached {when}."
    if last.basis == SILKS:
        text = "By counts of silks the field reached {stage} {when}."
    return say(text, language, stage=name, when=when_words(last, amounts))


def last_seen(visits: Iterable[VisitResult]) -> VisitResult | None:
    """Return the last visit that read a stage."""
    read = [visit for visit in visits if visit.stage and visit.date]
    return read[-1] if read else None


def forecast_basis(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say from what the dates ahead are worked out, and what their ranges hold."""
    ahead = next_stage(stage for stage in result.stages if stage.basis != SILKS)
    if ahead is None:
        is_ripe = bool(result.stages) and result.stages[-1].passed
        return () if is_ripe else (say("Dates ahead: none yet.", amounts.language),)
    return (_anchor(ahead, amounts), _years(ahead, amounts, figures))


def _anchor(ahead: StageResult, amounts: Amounts) -> str:
    language = amounts.language
    by_heat = ahead.basis == "heat units"
    method = say("by heat" if by_heat else "by days after silking", language)
    if ahead.anchor_date is None:
        return say("Dates ahead are worked out {method}.", language, method=method)
    text = "Dates ahead are worked out {method} from {stage} on {day}."
    start = stage_words(ahead.anchor_stage, language) if ahead.anchor_stage else ""
    if not start:
        text = "Dates ahead are worked out {method} from planting on {day}."
    return say(text, language, method=method, stage=start, day=amounts.day(ahead.anchor_date))


def _years(ahead: StageResult, amounts: Amounts, figures: Figures) -> str:
    if ahead.basis != "heat units":
        return say("Such ranges are wide: every year runs differently.", amounts.language)
    if ahead.years == 0:
        return say("There is no past weather, so their ranges are unknown.", amounts.language)
    first, last = figures.numbers("forecast.percentiles")
    text = "Their ranges hold {tenths} in 10 of the {years} past years on file."
    if ahead.years < figures.number("forecast.least_years"):
        text = "Their ranges hold all {years} past years on file, which are few."
    tenths = round((last - first) / 10)
    return say(text, amounts.language, tenths=tenths, years=ahead.years)
