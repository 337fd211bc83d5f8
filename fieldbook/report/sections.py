"""The view of one report: results in, ready sections out. Templates only lay them out."""

from dataclasses import dataclass

from fieldbook.report.amounts import Amounts, count_words
from fieldbook.report.context import ReportContext
from fieldbook.report.doubts import cautions, doubts, questions
from fieldbook.report.earwords import ear_caption, ear_sentences, losses
from fieldbook.report.pictures import Picture, ear_picture, stops_picture, strip_picture
from fieldbook.report.sources import Sources, sources_of
from fieldbook.report.words import (
    REASONS,
    TIP_FIGURES,
    bare_tip,
    forecast_basis,
    headline,
    not_counted,
    round_words,
    stage_today,
    stage_words,
    visit_words,
    when_words,
    yield_sentences,
)
from fieldbook.season.result import EarsResult, FieldResult, StopResult, VisitResult
from fieldbook.words import say


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
class Table:
    """A small table; the first column names the row, the others hold numbers or words."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[bool, ...]


@dataclass(frozen=True, kw_only=True)
class ListSection:
    """A heading and lines beneath it."""

    heading: str
    lines: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Page:
    """Everything that the template of a field's report lays out."""

    language: str
    paper: str
    title: str
    field: str
    owner: str
    day: str
    lead: tuple[str, ...]
    facts: tuple[Fact, ...]
    sections: tuple[Section, ...]
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
    return Page(
        language=language,
        paper=context.paper,
        title=f"{result.field}, {result.grower}, {amounts.day(result.as_of)} {result.as_of.year}",
        field=result.field,
        owner=f"{result.grower}, {amounts.area(result.acres)}",
        day=f"{amounts.day(result.as_of)} {result.as_of.year}",
        lead=headline(result, amounts, context.figures),
        facts=_facts(result, amounts),
        sections=_sections(result, amounts),
        saw=say("What we saw", language),
        tables=_tables(result, amounts),
        losses=_losses_table(result.ears, amounts) if result.ears else None,
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
            lines=(when_words(stage, amounts),),
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
    said = list(ear_sentences(result.ears, result.yield_, amounts))
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


# ---- what we saw, how sure -----------------------------------------------------------------


def _tables(result: FieldResult, amounts: Amounts) -> tuple[Table, ...]:
    tables = []
    if result.stops:
        tables.append(_stops_table(result.stops, amounts))
    if result.visits:
        tables.append(_visits_table(result.visits, amounts))
    return tuple(tables)


def _stops_table(stops: tuple[StopResult, ...], amounts: Amounts) -> Table:
    language = amounts.language
    heads = (
        say("Stop", language),
        say("Ears {unit}", language, unit=amounts.per_area_unit),
        say("Plants {unit}", language, unit=amounts.per_area_unit),
        say("Kernels an ear", language),
        say("Ears", language),
        amounts.yield_unit,
        say("Remark", language),
    )
    return Table(
        caption=say("Stops", language),
        heads=heads,
        rows=tuple(_stop_row(stop, amounts) for stop in stops),
        numbers=(False, True, True, True, True, True, False),
    )


def _stop_row(stop: StopResult, amounts: Amounts) -> tuple[str, ...]:
    yielded = "–" if stop.yield_bu_ac is None else amounts.yield_number(stop.yield_bu_ac)
    out = say(REASONS.get(stop.left_out, stop.left_out), amounts.language) if stop.left_out else ""
    return (
        str(stop.stop),
        amounts.per_area(stop.ears_per_ac),
        amounts.per_area(stop.plants_per_ac),
        count_words(stop.kernels_per_ear),
        str(stop.ears_used),
        yielded,
        "; ".join(part for part in (out, stop.remark) if part),
    )


def _losses_table(ears: EarsResult, amounts: Amounts) -> Table:
    language = amounts.language
    return Table(
        caption=say("Kernel places missing along one row, on average", language),
        heads=(say("Where", language), say("Places", language), say("Ears looked at", language)),
        rows=tuple(losses(ears, language)),
        numbers=(False, True, True),
    )


def _visits_table(visits: tuple[VisitResult, ...], amounts: Amounts) -> Table:
    language = amounts.language
    return Table(
        caption=say("Visits", language),
        heads=(
            say("Day and scout", language),
            say("Round", language),
            say("Stage", language),
            say("Stops", language),
            say("Ears", language),
            say("Remark", language),
        ),
        rows=tuple(_visit_row(visit, amounts) for visit in visits),
        numbers=(False, False, False, True, True, False),
    )


def _visit_row(visit: VisitResult, amounts: Amounts) -> tuple[str, ...]:
    return (
        visit_words(visit, amounts),
        round_words(visit.round, amounts.language),
        visit.stage or "–",
        str(visit.stops),
        str(visit.ears),
        visit.remark or "",
    )


def _lists(result: FieldResult, amounts: Amounts) -> tuple[ListSection, ...]:
    language = amounts.language
    made = (
        ("How sure this is", doubts(result, amounts)),
        ("Still asked", questions(result, language)),
        ("Please note", cautions(result, language)),
    )
    return tuple(
        ListSection(heading=say(heading, language), lines=lines) for heading, lines in made if lines
    )
