"""A grower's letter after a round: what changed in his fields since the visit before, on a page.

One letter a grower, not one a field: it is read at one sitting, and what is due next is seen over
all fields. The fields seen last come first.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.doubts import cautions
from fieldbook.report.letterwords import Compared, news, visited
from fieldbook.report.packet_page import some_fields
from fieldbook.report.page import rendered
from fieldbook.report.step import YOU, YOU_OR_SCOUT, Step
from fieldbook.report.steps import nothing_due, steps
from fieldbook.results.result import FieldResult
from fieldbook.words import say

_STYLES = (
    ("all", "report/page"),
    ("all", "letter/page"),
    ("screen", "report/screen"),
    ("screen", "letter/screen"),
    ("print", "report/print"),
    ("print", "letter/print"),
)
_STEPS = 2
_FEWER = (16, 12, 10, 8, 6, 4)
"""How many fields a letter tells where it would not fit on its page."""


@dataclass(frozen=True, kw_only=True)
class LetterField:
    """One field of a letter."""

    field: str
    ground: str
    visited: str
    news: tuple[str, ...]
    steps: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LetterView:
    """Everything that the template of a letter lays out; ``rest`` names the fields left out."""

    language: str
    title: str
    grower: str
    season: str
    day: str
    lead: str
    fields: tuple[LetterField, ...]
    rest: tuple[str, ...]
    nothing: str
    cautions: tuple[str, ...]
    signature: str | None
    is_crowded: bool = False


def letter_html(view: LetterView, context: ReportContext, templates: Path | None = None) -> str:
    """Write the page of a view: one whole HTML file that fetches nothing."""
    return rendered("letter/page", view, _STYLES, context, templates)


def letter_views(
    compared: Sequence[Compared], others: Sequence[FieldResult], context: ReportContext
) -> Iterator[LetterView]:
    """Turn what changed in one grower's fields into a letter, each of them taking less room.

    Set smaller first; then the fields that were seen longest ago are only named.

    Parameters
    ----------
    compared
        The fields that a dated visit saw, at least one.
    others
        The grower's other fields.
    """
    amounts = Amounts(units=context.units, language=context.language)
    ordered = sorted(compared, key=lambda one: one.day, reverse=True)
    told = [_field(one, amounts, context) for one in ordered]
    whole = _view(ordered, told, others, context, amounts)
    yield whole
    yield replace(whole, is_crowded=True)
    for count in (count for count in _FEWER if count < len(told)):
        older = [one.field for one in told[count:]]
        rest = (*_older(older, context.language), *whole.rest)
        yield replace(whole, is_crowded=True, fields=tuple(told[:count]), rest=rest)


def _view(
    compared: Sequence[Compared],
    told: Sequence[LetterField],
    others: Sequence[FieldResult],
    context: ReportContext,
    amounts: Amounts,
) -> LetterView:
    first, language = compared[0].now, context.language
    day = amounts.full_day(first.as_of)
    notes = (_rule(language),) if any(one.then for one in compared) else ()
    return LetterView(
        language=language,
        title=say("Letter to {grower}, {day}", language, grower=first.grower, day=day),
        grower=first.grower,
        season=first.season_name,
        day=day,
        lead=_lead(compared, language),
        fields=tuple(told),
        rest=tuple(_unseen(others, language)),
        nothing=nothing_due(language),
        cautions=(*notes, *cautions(language)),
        signature=context.signature,
    )


def _field(one: Compared, amounts: Amounts, context: ReportContext) -> LetterField:
    language, now = context.language, one.now
    due = steps(now, amounts, context.figures)
    silent = (say("Nothing that we tell of was read this time.", language),)
    return LetterField(
        field=now.field,
        ground=f"{now.field_id}, {amounts.area(now.acres)}",
        visited=visited(one, amounts),
        news=news(one, amounts, context.figures) or silent,
        steps=tuple(_step(each, language) for each in due[:_STEPS]),
    )


def _step(step: Step, language: str) -> str:
    """Say what is due and when, and who it is due from unless that is the reader or his scout."""
    text = "{what}, {when}."
    if step.who not in (say(YOU, language), say(YOU_OR_SCOUT, language)):
        text = "{what} ({who}), {when}."
    return say(text, language, what=step.what, who=step.who, when=step.when)


def _lead(compared: Sequence[Compared], language: str) -> str:
    again = sum(one.then is not None for one in compared)
    text = "This is what was seen at the first visit to each field."
    if again == 1:
        text = "This is what changed in one field between the last visit and the one before."
    elif again:
        text = "This is what changed in {count} fields between the last visit and the one before."
    lead = say(text, language, count=again)
    if not 0 < again < len(compared):
        return lead
    return f"{lead} {say('Fields that were seen once only have what was seen.', language)}"


def _rule(language: str) -> str:
    return say(
        "We say that yield has changed only where the two ranges do not overlap. The earlier one "
        "is worked out from what was read up to that visit, with all corrections since.",
        language,
    )


def _unseen(others: Sequence[FieldResult], language: str) -> Iterator[str]:
    """Name the fields that nobody looked at, those apart that are cut already."""
    for is_cut, text in (
        (False, "Not looked at yet: {fields}."),
        (True, "Harvested, and never looked at before: {fields}."),
    ):
        names = [one.field for one in others if one.is_harvested == is_cut]
        if names:
            yield say(text, language, fields=some_fields(names, language))


def _older(names: Sequence[str], language: str) -> Iterator[str]:
    text = "Seen longer ago, and told in their reports: {fields}."
    yield say(text, language, fields=some_fields(names, language))
