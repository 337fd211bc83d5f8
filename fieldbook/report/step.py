"""One thing to do in a field, and how its day is told."""

from dataclasses import dataclass
from datetime import date

from fieldbook.report.amounts import Amounts
from fieldbook.results.result import FieldResult, StageResult
from fieldbook.words import say

YOU = "You"
YOU_OR_SCOUT = "You or your scout"


@dataclass(frozen=True, kw_only=True)
class Step:
    """One thing to do; ``by`` is the day that it is sorted by, None for as soon as can be."""

    what: str
    when: str
    who: str
    by: date | None = None


def due_day(step: Step, result: FieldResult) -> date:
    """Return the day that a step is sorted by; what has none is for today."""
    return step.by or result.as_of


def step_of(language: str, what: str, when: str, who: str, by: date | None = None) -> Step:
    """Make a step whose words are still to be put into the reader's language."""
    return Step(what=say(what, language), when=say(when, language), who=say(who, language), by=by)


def likely_day(stage: StageResult) -> date | None:
    """Return the likely day of a stage, or the first on which it may be."""
    return stage.date or stage.earliest


def reached_words(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's likely day and its spread, or only that."""
    if stage.date:
        return day_words((stage.date, stage.earliest, stage.latest), amounts)
    if stage.earliest and stage.latest:
        return amounts.days(stage.earliest, stage.latest, month="MMM")
    return ""


def day_words(days: tuple[date, date | None, date | None], amounts: Amounts) -> str:
    """Say a likely day and its spread, in few letters; a late end that is open has no day."""
    likely, first, last = days
    when = say("about {day}", amounts.language, day=amounts.short_day(likely))
    if first and last and first != last:
        return f"{when} ({amounts.days(first, last, month='MMM')})"
    if first and not last and first != likely:
        text = "{when}, not before {day}"
        return say(text, amounts.language, when=when, day=amounts.short_day(first))
    return when


def about_day(day: date, result: FieldResult, amounts: Amounts) -> str:
    """Say the best day for something, or that it is past."""
    text = "now; the best day was about {day}" if day < result.as_of else "about {day}"
    return say(text, amounts.language, day=amounts.short_day(day))
