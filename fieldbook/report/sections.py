"""The view of one report: results in, ready sections out. Templates only lay them out."""

from dataclasses import dataclass

from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.doubts import cautions, doubts, questions
from fieldbook.report.earwords import ear_caption, ear_sentences
from fieldbook.report.headline import TIP_FIGURES, bare_tip, headline
from fieldbook.report.pictures import Picture, ear_picture, stops_picture, strip_picture
from fieldbook.report.sources import Sources, sources_of
from fieldbook.report.stagewords import day_words, forecast_basis, span_words, stage_today
from fieldbook.report.tables import Table, losses_table, tables
from fieldbook.report.words import stage_words, visit_words
from fieldbook.report.yieldwords import not_counted, yield_sentences
from fieldbook.season.result import FieldResult
from fieldbook.words import say

_FEW_LINES = 4
_FACT_LETTERS = 24
_MOST_FACT_LINES = 26


@dataclass(frozen=True, kw_only=True)
class Section:
    """A heading, its sentences as one paragraph, and a picture beneath."""

    heading: str
    sentences: tuple[str, ...]
    picture: Picture | None = None


@dataclass(frozen=True, kw_only=True)
class Fact:
    """A short term and the lines that belong to it."""

    term: str
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ListSection:
    """A heading and lines beneath it."""

    heading: str
    lines: tuple[str, ...]

    @property
    def is_brief(self) -> bool:
        """Whether the lines stay together in one column."""
        return len(self.lines) <= _FEW_LINES


@dataclass(frozen=True, kw_only=True)
class Page:
    """Everything that the template of a field's report lays out.

    Where ``is_crowded``, the column of facts is full, and the cautions stand on the second page.
    """

    language: str
    paper: str
    title: str
    field: str
    owner: str
    day: str
    lead: tuple[str, ...]
    facts: tuple[Fact, ...]
    sections: tuple[Section, ...]
    cautions: ListSection
    is_crowded: bool
    saw: str
    tables: tuple[Table, ...]
    losses: Table | None
    lists: tuple[ListSection, ...]
    sources_heading: str
    sources: Sources
    signature: str


def field_view(result: FieldResult, context: ReportContext) -> Page:
    """Turn the results of one field into the sections of its report."""
    amounts = Amounts(units=context.units, language=context.language)
    language = context.language
    facts = _facts(result, amounts)
    return Page(
        language=language,
        paper=context.paper,
        title=f"{result.field}, {result.grower}, {amounts.day(result.as_of)} {result.as_of.year}",
        field=result.field,
        owner=f"{result.grower}, {amounts.area(result.acres)}",
        day=f"{amounts.day(result.as_of)} {result.as_of.year}",
        lead=headline(result, amounts, context.figures),
        facts=facts,
        sections=_sections(result, amounts),
        saw=say("What we saw", language),
        tables=tables(result, amounts),
        losses=losses_table(result.ears, amounts) if result.ears else None,
        cautions=ListSection(
            heading=say("Please note", language), lines=cautions(result, language)
        ),
        is_crowded=_is_crowded(facts),
        lists=_lists(result, amounts),
        sources_heading=say("Figures used, and where they come from", language),
        sources=sources_of(_keys(result), context.figures, language),
        signature=_signature(context),
    )


def _signature(context: ReportContext) -> str:
    if not context.signature:
        return ""
    return say("Sent by {name}", context.language, name=context.signature)


def _keys(result: FieldResult) -> tuple[str, ...]:
    tip = TIP_FIGURES if bare_tip(result.ears) is not None else ()
    return (*result.figures, *tip)


# ---- the column of facts -------------------------------------------------------------------


def _facts(result: FieldResult, amounts: Amounts) -> tuple[Fact, ...]:
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


def _is_crowded(facts: tuple[Fact, ...]) -> bool:
    """Guess whether the cautions still fit under the facts."""
    lines = sum(1 + len(line) // _FACT_LETTERS for fact in facts for line in fact.lines)
    return len(facts) + lines > _MOST_FACT_LINES


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


# ---- the column of reading -----------------------------------------------------------------


def _sections(result: FieldResult, amounts: Amounts) -> tuple[Section, ...]:
    if not result.visits:
        return (_dates_section(result, amounts),)
    return (
        _dates_section(result, amounts),
        _ears_section(result, amounts),
        _yield_section(result, amounts),
    )


def _dates_section(result: FieldResult, amounts: Amounts) -> Section:
    return Section(
        heading=say("Today, and dates ahead", amounts.language),
        sentences=(stage_today(result, amounts), *forecast_basis(result, amounts)),
        picture=strip_picture(result, amounts),
    )


def _ears_section(result: FieldResult, amounts: Amounts) -> Section:
    heading = say("The ears", amounts.language)
    if result.ears is None:
        nothing = say("Ears: not looked at yet.", amounts.language)
        return Section(heading=heading, sentences=(nothing,))
    picture = ear_picture(result.ears, amounts)
    said = list(ear_sentences(result.ears, amounts.language))
    if picture is None:
        said.insert(
            0, say("No ear was looked at in every part, so there is no picture.", amounts.language)
        )
    else:
        said.insert(0, ear_caption(result.ears, amounts.language))
    return Section(heading=heading, sentences=tuple(said), picture=picture)


def _yield_section(result: FieldResult, amounts: Amounts) -> Section:
    heading = say("Yield", amounts.language)
    if result.yield_ is None:
        said: tuple[str, ...] = (not_counted(result, amounts.language),)
    else:
        said = yield_sentences(result, result.yield_, amounts)
    return Section(
        heading=heading,
        sentences=tuple(part for part in said if part),
        picture=stops_picture(result, amounts),
    )


def _lists(result: FieldResult, amounts: Amounts) -> tuple[ListSection, ...]:
    language = amounts.language
    made = (
        ("How sure this is", doubts(result, amounts)),
        ("Still asked", questions(result, language)),
    )
    return tuple(
        ListSection(heading=say(heading, language), lines=lines) for heading, lines in made if lines
    )
