"""The view of one report: results in, ready sections out. Templates only lay them out."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from fieldbook.agronomy.fungicide import BEFORE, LAST, OPEN
from fieldbook.figures import Figures
from fieldbook.report.aheadwords import ahead_sentences
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.doubts import cautions, doubts, questions
from fieldbook.report.earwords import bare_cobs, ear_caption
from fieldbook.report.facts import Fact, facts_of
from fieldbook.report.failurewords import failure_lines, verdict_figures
from fieldbook.report.fit import first_page_holds, side_holds
from fieldbook.report.fungicidewords import FUNGICIDE_FIGURES, fungicide_sentences, price_table
from fieldbook.report.gapwords import gaps_table, pattern_sentences, when_lines
from fieldbook.report.headline import TIP_FIGURES, bare_tip, headline
from fieldbook.report.leafwords import LEAF_FIGURES, leaf_sentences
from fieldbook.report.photos import PhotoSection, photo_section
from fieldbook.report.pictures import (
    Picture,
    dayline_picture,
    ear_picture,
    heat_picture,
    ladder_picture,
    standing_picture,
    stops_picture,
    strip_picture,
)
from fieldbook.report.pollenwords import pollination_sentences
from fieldbook.report.ripewords import RIPE_FIGURES, mould_sentences, stalk_sentences
from fieldbook.report.sources import Sources, sources_of
from fieldbook.report.stagewords import forecast_basis, stage_today
from fieldbook.report.steps import Step, nothing_due, steps
from fieldbook.report.tables import Table, tables
from fieldbook.report.weighedwords import weighed_words
from fieldbook.report.yieldwords import not_counted, yield_sentences
from fieldbook.results.result import FieldResult, LeavesResult
from fieldbook.season.blank import own_name
from fieldbook.words import say

ASKED = "asked"
"""The name of the open questions within a report."""

_FEW_LINES = 4
_POLLINATION = "Pollination"


@dataclass(frozen=True, kw_only=True)
class Section:
    """A heading, its sentences as one paragraph, and beneath them lines, a table and a picture."""

    heading: str
    sentences: tuple[str, ...]
    lines: tuple[str, ...] = ()
    table: Table | None = None
    picture: Picture | None = None


@dataclass(frozen=True, kw_only=True)
class ListSection:
    """A heading and lines beneath it; ``name`` is what a link leads to it by."""

    heading: str
    lines: tuple[str, ...]
    name: str = ""

    @property
    def is_brief(self) -> bool:
        """Whether the lines stay together in one column."""
        return len(self.lines) <= _FEW_LINES


@dataclass(frozen=True, kw_only=True)
class StepTable:
    """What to do next; ``nothing`` stands in its place where no step is due."""

    heading: str
    heads: tuple[str, str, str]
    steps: tuple[Step, ...]
    nothing: str


@dataclass(frozen=True, kw_only=True)
class Page:
    """Everything that the template of a field's report lays out.

    ``key`` is the field's address within a page, and what all others of its parts begin with.
    ``sections`` stand on the first page and ``behind`` them, in two columns, those that say why.
    Where ``is_crowded``, the column of facts is full, and the cautions stand on the second page.
    Where ``is_tight``, two sheets can't hold it all otherwise.
    """

    key: str
    language: str
    paper: str
    title: str
    field: str
    owner: str
    day: str
    lead: tuple[str, ...]
    to_do: StepTable
    facts: tuple[Fact, ...]
    sections: tuple[Section, ...]
    behind: tuple[Section, ...]
    photos: PhotoSection | None
    cautions: ListSection
    is_crowded: bool
    is_tight: bool
    saw: str
    tables: tuple[Table, ...]
    lists: tuple[ListSection, ...]
    sources: Sources
    signature: str


def address(field_id: str, part: str = "") -> str:
    """Return where a field, or a part of what is told of it, stands in a page of one or many.

    No dot is in a name that a file can have, so no two addresses are the same.
    """
    return f"{own_name(field_id)}.{part}" if part else own_name(field_id)


def field_view(result: FieldResult, context: ReportContext) -> Page:
    """Turn the results of one field into the sections of its report."""
    amounts = Amounts(units=context.units, language=context.language)
    language = context.language
    facts = facts_of(result, amounts)
    lead, notes = headline(result, amounts, context.figures), cautions(language)
    to_do = _to_do(result, amounts, context.figures)
    front, behind = _pages(result, amounts, context, (lead, to_do.steps))
    return Page(
        key=address(result.field_id),
        language=language,
        paper=context.paper,
        title=f"{result.field}, {result.grower}, {amounts.full_day(result.as_of)}",
        field=result.field,
        owner=f"{result.grower}, {amounts.area(result.acres)}",
        day=amounts.full_day(result.as_of),
        lead=lead,
        to_do=to_do,
        facts=facts,
        sections=front,
        behind=behind,
        photos=photo_section(result, amounts, context.photos),
        saw=say("What we saw", language),
        tables=tables(result, amounts),
        cautions=ListSection(heading=say("Please note", language), lines=notes),
        is_crowded=not side_holds(
            lead, to_do.steps, [fact.lines for fact in facts], notes, context.paper
        ),
        is_tight=context.is_tight,
        lists=_lists(result, amounts),
        sources=sources_of(_keys(result, context.figures), context.figures, language),
        signature=_signature(context),
    )


def _to_do(result: FieldResult, amounts: Amounts, figures: Figures) -> StepTable:
    language = amounts.language
    heads = tuple(say(head, language) for head in ("What", "By when", "Who decides"))
    return StepTable(
        heading=say("What to do", language),
        heads=(heads[0], heads[1], heads[2]),
        steps=steps(result, amounts, figures),
        nothing=nothing_due(language),
    )


def _signature(context: ReportContext) -> str:
    if not context.signature:
        return ""
    return say("Sent by {name}", context.language, name=context.signature)


def _keys(result: FieldResult, figures: Figures) -> tuple[str, ...]:
    tip = TIP_FIGURES if bare_tip(result.ears) is not None else ()
    decided = (
        *(LEAF_FIGURES if result.leaves and _is_sick(result.leaves) else ()),
        *(FUNGICIDE_FIGURES if result.fungicide.break_even_bu_ac else ()),
        *(RIPE_FIGURES if result.ripe else ()),
    )
    return (*result.figures, *tip, *verdict_figures(result, figures), *decided)


def _is_sick(found: LeavesResult) -> bool:
    return any(one.reading.incidence and one.reading.incidence.hits for one in found.judged)


# ---- the column of reading -----------------------------------------------------------------


def _pages(
    result: FieldResult,
    amounts: Amounts,
    context: ReportContext,
    opening: tuple[Sequence[str], Sequence[Step]],
) -> tuple[tuple[Section, ...], tuple[Section, ...]]:
    """Return the sections of the first page and those behind it.

    Where the first page is too full, how pollination went stands behind it, or the picture of its
    last section, or both.
    """
    language = amounts.language
    whole = (
        _sections(result, amounts, context.figures),
        _behind(result, amounts, context.figures),
    )
    less = _picture_behind(*whole, language)
    least = _pollination_behind(*less, language)
    for front, behind in (whole, _pollination_behind(*whole, language), less):
        drawn = [(one.sentences, one.picture.wide if one.picture else None) for one in front]
        if first_page_holds(*opening, drawn, context.paper):
            return front, behind
    return least


_Sections = tuple[Section, ...]


def _picture_behind(
    front: _Sections, behind: _Sections, language: str
) -> tuple[_Sections, _Sections]:
    """Move the picture of the last section behind the first words there.

    Words first: they fill what is left of the first page, which a picture cannot.
    """
    last = front[-1]
    if last.picture is None:
        return front, behind
    moved = Section(heading=say("Yield by stop", language), sentences=(), picture=last.picture)
    return (*front[:-1], replace(last, picture=None)), (*behind[:1], moved, *behind[1:])


def _pollination_behind(
    front: _Sections, behind: _Sections, language: str
) -> tuple[_Sections, _Sections]:
    """Move how pollination went behind; the first lines sum it up, and it may have a picture."""
    heading = say(_POLLINATION, language)
    moved = tuple(one for one in front if one.heading == heading)
    return tuple(one for one in front if one not in moved), (*moved, *behind)


def _sections(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[Section, ...]:
    if not result.visits:
        return (_dates_section(result, amounts, figures),)
    return (
        *_failure_section(result, amounts, figures),
        _dates_section(result, amounts, figures),
        *_pollination_section(result, amounts, figures),
        _ears_section(result, amounts),
        _yield_section(result, amounts),
    )


def _behind(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[Section, ...]:
    if not result.visits:
        return ()
    return (
        *_ahead_section(result, amounts, figures),
        *_gaps_section(result, amounts, figures),
        *_leaves_section(result, amounts, figures),
        *_ripe_section(result, amounts, figures),
        *_where_section(result, amounts),
        *_heat_section(result, amounts),
    )


def _failure_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Section]:
    lines = failure_lines(result, amounts, figures)
    if lines:
        heading = say("Before anything is chopped", amounts.language)
        yield Section(heading=heading, sentences=lines)


def _pollination_section(
    result: FieldResult, amounts: Amounts, figures: Figures
) -> Iterator[Section]:
    if result.pollination is None:
        return
    # The day line stands where the gaps are dated, and before the first count here.
    picture = None if result.gaps else dayline_picture(result, amounts, figures)
    yield Section(
        heading=say(_POLLINATION, amounts.language),
        sentences=pollination_sentences(result.pollination, amounts, figures),
        picture=picture,
    )


def _gaps_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Section]:
    if result.gaps is None:
        return
    yield Section(
        heading=say("Where kernels are missing, and when that arose", amounts.language),
        sentences=tuple(pattern_sentences(result.gaps, amounts)),
        lines=when_lines(result, amounts, figures),
        table=gaps_table(result.gaps.found, amounts),
        picture=dayline_picture(result, amounts, figures) if result.gaps.dated else None,
    )


def _leaves_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Section]:
    said = (
        *leaf_sentences(result, amounts, figures),
        *fungicide_sentences(result, amounts),
    )
    if said:
        heading = say("Leaf disease", amounts.language)
        window = result.fungicide.window
        is_question = window is not None and window.state in (BEFORE, OPEN, LAST)
        table = price_table(result, amounts) if is_question else None
        picture = ladder_picture(result.leaves, amounts) if result.leaves else None
        yield Section(heading=heading, sentences=said, table=table, picture=picture)


def _ripe_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Section]:
    said = (*stalk_sentences(result, amounts), *mould_sentences(result, amounts, figures))
    if said:
        yield Section(heading=say("Stalks and ear mould", amounts.language), sentences=said)
    if result.weighed:
        words = weighed_words(result.weighed, result.methods, amounts)
        yield Section(heading=say("Grain weighed", amounts.language), sentences=(words,))


def _heat_section(result: FieldResult, amounts: Amounts) -> Iterator[Section]:
    if result.heat_curve:
        picture = heat_picture(result.heat_curve, result, amounts)
        heading = say("Heat since planting", amounts.language)
        yield Section(heading=heading, sentences=(), picture=picture)


def _where_section(result: FieldResult, amounts: Amounts) -> Iterator[Section]:
    picture = standing_picture(result, amounts)
    if picture:
        heading = say("Where we stood", amounts.language)
        yield Section(heading=heading, sentences=(), picture=picture)


def _ahead_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Section]:
    said = ahead_sentences(result, amounts, figures)
    if said:
        yield Section(heading=say("Ahead", amounts.language), sentences=said)


def _dates_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Section:
    return Section(
        heading=say("Today, and dates ahead", amounts.language),
        sentences=(stage_today(result, amounts), *forecast_basis(result, amounts, figures)),
        picture=strip_picture(result, amounts),
    )


def _ears_section(result: FieldResult, amounts: Amounts) -> Section:
    heading = say("The ears", amounts.language)
    if result.ears is None:
        nothing = say("Ears: not looked at yet.", amounts.language)
        return Section(heading=heading, sentences=(nothing,))
    picture = ear_picture(result.ears, amounts)
    said = list(bare_cobs(result.ears, amounts.language))
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
        ("How sure this is", "", doubts(result, amounts)),
        ("Still asked", ASKED, questions(result, language)),
    )
    return tuple(
        ListSection(heading=say(heading, language), lines=lines, name=name)
        for heading, name, lines in made
        if lines
    )
