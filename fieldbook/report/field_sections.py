"""The sections of a field's report, each with its heading, sentences, table and drawing."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from fieldbook.agronomy.fungicide import BEFORE, LAST, OPEN
from fieldbook.figures import Figures
from fieldbook.report.aheadwords import ahead_sentences
from fieldbook.report.amounts import Amounts
from fieldbook.report.cutwords import cut_sentences
from fieldbook.report.doubts import doubts, questions
from fieldbook.report.earwords import bare_cobs, ear_caption, left_out
from fieldbook.report.failurewords import failure_lines
from fieldbook.report.fungicidewords import fungicide_sentences, price_table
from fieldbook.report.gapwords import gaps_table, pattern_sentences, when_lines
from fieldbook.report.leafwords import leaf_sentences
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
from fieldbook.report.ripewords import mould_sentences, stalk_sentences
from fieldbook.report.stagewords import forecast_basis, stage_today
from fieldbook.report.tables import Table
from fieldbook.report.weighedwords import weighed_words
from fieldbook.report.yieldwords import not_counted, yield_sentences
from fieldbook.results.looks_result import LeavesResult
from fieldbook.results.result import FieldResult
from fieldbook.words import say

ASKED = "asked"
"""The name of the open questions within a report."""

_FEW_LINES = 4
POLLINATION = "Pollination"


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


def is_sick(found: LeavesResult) -> bool:
    """Say whether a leaf that was looked at showed a disease."""
    return any(one.reading.incidence and one.reading.incidence.hits for one in found.judged)


def sections(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[Section, ...]:
    """Tell what a grower reads first, on the first sheet."""
    if not result.visits:
        return (_dates_section(result, amounts, figures),)
    return (
        *_failure_section(result, amounts, figures),
        _dates_section(result, amounts, figures),
        *_pollination_section(result, amounts, figures),
        _ears_section(result, amounts),
        _yield_section(result, amounts),
    )


def details(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[Section, ...]:
    """Tell what stands behind it, part by part."""
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
    found = result.pollination
    if found is None:
        return
    if result.is_harvested:
        found = replace(found, clipping=())  # which asks for a spray or not
    # The day line stands where the gaps are dated, and before the first count here.
    picture = None if result.gaps else dayline_picture(result, amounts, figures)
    yield Section(
        heading=say(POLLINATION, amounts.language),
        sentences=pollination_sentences(found, amounts, figures),
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
    said = leaf_sentences(result, amounts, figures)
    spray = fungicide_sentences(result, amounts)
    if said or spray:
        heading = say("Leaf disease", amounts.language)
        window = result.fungicide.window
        is_question = window is not None and window.state in (BEFORE, OPEN, LAST)
        table = price_table(result, amounts) if is_question else None
        picture = ladder_picture(result.leaves, amounts) if result.leaves else None
        yield Section(heading=heading, sentences=said, lines=spray, table=table, picture=picture)


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
        heading = "Weather for ear mould" if result.is_harvested else "Ahead"
        yield Section(heading=say(heading, amounts.language), sentences=said)


def _dates_section(result: FieldResult, amounts: Amounts, figures: Figures) -> Section:
    """Tell where the field stands and what lies ahead of it; nothing does once it is cut."""
    if result.is_harvested:
        heading = say("The harvest", amounts.language)
        return Section(heading=heading, sentences=cut_sentences(result, amounts))
    return Section(
        heading=say("Today, and dates ahead", amounts.language),
        sentences=(stage_today(result, amounts), *forecast_basis(result, amounts, figures)),
        picture=strip_picture(result, amounts),
    )


def _ears_section(result: FieldResult, amounts: Amounts) -> Section:
    heading = say("The ears", amounts.language)
    if result.ears is None:
        text = "Kernels: not counted." if result.is_harvested else "Kernels: not counted yet."
        nothing = say(text, amounts.language)
        return Section(heading=heading, sentences=(nothing,))
    picture = ear_picture(result.ears, amounts)
    said = [*left_out(result.ears, amounts.language), *bare_cobs(result.ears, amounts.language)]
    if picture is None:
        said.insert(
            0, say("No ear was looked at in every part, so there is no picture.", amounts.language)
        )
    else:
        said.insert(0, ear_caption(result.ears, amounts.language))
    return Section(heading=heading, sentences=tuple(said), picture=picture)


def _yield_section(result: FieldResult, amounts: Amounts) -> Section:
    heading = say("The count before" if result.is_harvested else "Yield", amounts.language)
    if result.yield_ is None:
        said: tuple[str, ...] = (not_counted(result, amounts.language),)
    else:
        said = yield_sentences(result, result.yield_, amounts)
    return Section(
        heading=heading,
        sentences=tuple(part for part in said if part),
        picture=stops_picture(result, amounts),
    )


def lists(result: FieldResult, amounts: Amounts) -> tuple[ListSection, ...]:
    """Tell how sure the figures are, and what is still asked."""
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
