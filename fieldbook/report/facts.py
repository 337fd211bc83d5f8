"""The narrow column beside the reading: dates ahead, who looked, what stands in the field."""

from dataclasses import dataclass

from fieldbook.forms.rounds import HARVEST
from fieldbook.report.amounts import Amounts
from fieldbook.report.stagewords import span_words
from fieldbook.report.words import stage_words, visit_words
from fieldbook.results.result import FieldResult, StageResult
from fieldbook.words import say


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A short term and the lines that belong to it."""

    term: str
    lines: tuple[str, ...]


def facts_of(result: FieldResult, amounts: Amounts) -> tuple[Fact, ...]:
    """Collect the facts in their order."""
    language = amounts.language
    facts = [
        *_harvested(result, amounts),
        *_dates(result, amounts),
        Fact(term=say("Walking in", language), lines=(result.may_enter.said(language),)),
        Fact(term=say("Looked at", language), lines=_looked(result, amounts)),
        Fact(term=say("Planted", language), lines=_planted(result, amounts)),
    ]
    if result.heat and result.heat.gdd_since_planting_f is not None:
        line = amounts.heat(result.heat.gdd_since_planting_f)
        facts.append(Fact(term=say("Heat since planting", language), lines=(line,)))
    rows = say("{width} rows", language, width=amounts.row_width(result.row_width_in))
    use = f", {say('Silage', language).lower()}" if result.is_silage else ""
    ground = Fact(term=say("Field", language), lines=(f"{result.field_id}, {rows}{use}",))
    facts.append(ground)
    return tuple(facts)


def _planted(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    several = len(result.plantings) > 1
    lines = []
    for planting in result.plantings:
        day = amounts.short_day(planting.planted)
        parts = [day, planting.hybrid or say("hybrid unknown", amounts.language)]
        if several:
            parts.append(amounts.area(planting.acres))
        lines.append(", ".join(parts))
    return tuple(lines)


def _looked(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    looks = [visit for visit in result.visits if visit.round != HARVEST.name]
    if not looks:
        text = "never" if result.is_harvested else "not yet"
        return (say(text, amounts.language),)
    return tuple(visit_words(visit, amounts) for visit in looks[-3:])


def _harvested(result: FieldResult, amounts: Amounts) -> list[Fact]:
    if not result.is_harvested:
        return []
    day = result.harvested_on
    when = amounts.short_day(day) if day else say("day unknown", amounts.language)
    return [Fact(term=say("Harvested", amounts.language), lines=(when,))]


def _dates(result: FieldResult, amounts: Amounts) -> list[Fact]:
    ahead = [one for one in result.stages if not one.passed and not result.is_harvested]
    return [
        Fact(
            term=stage_words(stage.stage, amounts.language),
            lines=(_stage_dates(stage, amounts),),
        )
        for stage in ahead
    ]


def _stage_dates(stage: StageResult, amounts: Amounts) -> str:
    """Write the likely day and its spread in few letters, for the narrow column."""
    span = span_words(stage, amounts, month="MMM")
    day = amounts.short_day(stage.date) if stage.date else ""
    return f"{day} ({span})" if day and span else day or span
