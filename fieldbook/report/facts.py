"""The narrow column beside the reading: dates ahead, who looked, what stands in the field."""

from dataclasses import dataclass

from fieldbook.report.amounts import Amounts
from fieldbook.report.stagewords import day_words, span_words
from fieldbook.report.words import stage_words, visit_words
from fieldbook.season.result import FieldResult
from fieldbook.words import say

_LETTERS_A_LINE = 24
_MOST_LINES = 26


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A short term and the lines that belong to it."""

    term: str
    lines: tuple[str, ...]


def facts_of(result: FieldResult, amounts: Amounts) -> tuple[Fact, ...]:
    """Collect the facts in their order."""
    language = amounts.language
    facts = [
        *_dates(result, amounts),
        Fact(term=say("Walking in", language), lines=(result.may_enter,)),
        Fact(term=say("Looked at", language), lines=_looked(result, amounts)),
        Fact(term=say("Planted", language), lines=_planted(result, amounts)),
    ]
    if result.heat and result.heat.gdd_since_planting_f is not None:
        line = amounts.heat(result.heat.gdd_since_planting_f)
        facts.append(Fact(term=say("Heat since planting", language), lines=(line,)))
    ground = (result.field_id, amounts.area(result.acres))
    facts.append(Fact(term=say("Field", language), lines=(", ".join(ground),)))
    rows = (amounts.row_width(result.row_width_in),)
    facts.append(Fact(term=say("Row width", language), lines=rows))
    return tuple(facts)


def is_crowded(facts: tuple[Fact, ...]) -> bool:
    """Guess whether the cautions still fit under the facts."""
    lines = sum(1 + len(line) // _LETTERS_A_LINE for fact in facts for line in fact.lines)
    return len(facts) + lines > _MOST_LINES


def _planted(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    several = len(result.plantings) > 1
    lines = []
    for planting in result.plantings:
        day = amounts.day(planting.planted)
        parts = [day, planting.hybrid or say("hybrid unknown", amounts.language)]
        if several:
            parts.append(amounts.area(planting.acres))
        lines.append(", ".join(parts))
    return tuple(lines)


def _looked(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    if not result.visits:
        return (say("not yet", amounts.language),)
    return tuple(visit_words(visit, amounts) for visit in result.visits[-3:])


def _dates(result: FieldResult, amounts: Amounts) -> list[Fact]:
    ahead = [stage for stage in result.stages if not stage.passed]
    return [
        Fact(
            term=stage_words(stage.stage, amounts.language),
            lines=tuple(
                part for part in (day_words(stage, amounts), span_words(stage, amounts)) if part
            ),
        )
        for stage in ahead
    ]
