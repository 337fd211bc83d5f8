"""A harvested field in words: what was weighed, and what the count had said before."""

from collections.abc import Iterator

from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.results.harvest import HarvestResult
from fieldbook.results.result import FieldResult
from fieldbook.results.yield_result import YieldResult
from fieldbook.units import YIELD
from fieldbook.words import number_words, say, say_count

CUT_FIGURES = ("bushel.weight_lb", "bushel.moisture_pct")
"""Figures that a harvest at market moisture rests on."""


def cut_on(result: FieldResult, amounts: Amounts) -> str:
    """Say in few letters that a field is harvested, and when."""
    if result.harvested_on is None:
        return say("harvested", amounts.language)
    return say("harvested {day}", amounts.language, day=amounts.short_day(result.harvested_on))


def cut_headline(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say what a harvested field gave, and how that lies to what the count had said."""
    language, cut = amounts.language, result.harvest
    day = amounts.day(result.harvested_on) if result.harvested_on else ""
    if cut is None:
        text = "Harvested {day}; what was weighed is not settled yet."
        if not day:
            text = "Harvested, on a day that is not known; what was weighed is not settled yet."
        yield say(text, language, day=day)
    else:
        text = "Harvested {day}: {yield_} {unit} were weighed, brought to {pct} % moisture."
        if not day:
            text = (
                "Harvested, on a day that is not known: {yield_} {unit} were weighed, brought to "
                "{pct} % moisture."
            )
        pct = number_words(figures.number("bushel.moisture_pct"))
        number = amounts.yield_number(cut.yield_bu_ac)
        yield say(text, language, day=day, yield_=number, unit=amounts.yield_words, pct=pct)
    if result.yield_:
        yield _had_said(result.yield_, cut, amounts)


def _had_said(counted: YieldResult, cut: HarvestResult | None, amounts: Amounts) -> str:
    """Hold a harvest against the range as it was printed, so that both read alike."""
    text = "The count had said {span} {unit}, likely {likely}."
    if cut:
        low, high = amounts.rough_ends(counted.range_bu_ac)
        shown = YIELD.shown(cut.yield_bu_ac, amounts.units)
        text = "The count had said {span} {unit}, likely {likely}: the harvest lies within that."
        if shown < low:
            text = "The count had said {span} {unit}, likely {likely}: the harvest lies below that."
        elif shown > high:
            text = "The count had said {span} {unit}, likely {likely}: the harvest lies above that."
    return say(
        text,
        amounts.language,
        span=amounts.rough_range(counted.range_bu_ac),
        unit=amounts.yield_unit,
        likely=amounts.yield_number(counted.likely_bu_ac),
    )


def cut_sentences(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say what lies behind the yield that was weighed: loads, area, moisture as it came."""
    cut, language = result.harvest, amounts.language
    if cut is None:
        text = "Its yield is told once no load, area or day of the harvest is in question."
        return (say(text, language),)
    said = [
        say_count(
            cut.loads,
            "One load from {area}, {grain} {unit} at market moisture; it came at {wet} % moisture.",
            "{count} loads from {area}, {grain} {unit} at market moisture; they came at {wet} % "
            "moisture on average.",
            language,
            area=amounts.area(cut.acres),
            grain=amounts.grain(cut.yield_bu_ac * cut.acres),
            unit=amounts.grain_unit,
            wet=f"{cut.moisture_pct:.1f}",
        )
    ]
    if not cut.acres_typed:
        text = "Nobody typed the area that was cut, so the whole field is taken."
        said.append(say(text, language))
    return tuple(said)
