"""The view of one report: results in, ready sections out. Templates only lay them out."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.cutwords import CUT_FIGURES
from fieldbook.report.doubts import cautions
from fieldbook.report.facts import Fact, facts_of
from fieldbook.report.failurewords import verdict_figures
from fieldbook.report.field_sections import (
    POLLINATION,
    ListSection,
    Section,
    details,
    is_sick,
    lists,
    sections,
)
from fieldbook.report.fit import first_page_holds, side_holds
from fieldbook.report.fungicidewords import FUNGICIDE_FIGURES
from fieldbook.report.headline import TIP_FIGURES, bare_tip, headline
from fieldbook.report.leafwords import LEAF_FIGURES
from fieldbook.report.photos import PhotoSection, photo_section
from fieldbook.report.ripewords import RIPE_FIGURES
from fieldbook.report.sources import Sources, sources_of
from fieldbook.report.step import Step
from fieldbook.report.steps import nothing_due, steps
from fieldbook.report.tables import Table, tables
from fieldbook.results.result import FieldResult
from fieldbook.season.blank import own_name
from fieldbook.words import say


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
        lists=lists(result, amounts),
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
        *(LEAF_FIGURES if result.leaves and is_sick(result.leaves) else ()),
        *(FUNGICIDE_FIGURES if result.fungicide.break_even_bu_ac else ()),
        *(RIPE_FIGURES if result.ripe else ()),
        *(CUT_FIGURES if result.harvest else ()),
    )
    return (*result.figures, *tip, *verdict_figures(result, figures), *decided)


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
        sections(result, amounts, context.figures),
        details(result, amounts, context.figures),
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
    heading = say(POLLINATION, language)
    moved = tuple(one for one in front if one.heading == heading)
    return tuple(one for one in front if one not in moved), (*moved, *behind)
