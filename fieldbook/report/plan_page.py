"""A scout's week on one page: where to go on which day, what to mind, what is asked back."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from fieldbook.export.plan_words import (
    by_day,
    entry_words,
    mould_words,
    round_words,
    spread_words,
)
from fieldbook.problems import Problem, Weight, sentence
from fieldbook.render import environment
from fieldbook.report.page import font_addresses
from fieldbook.report.words import joined
from fieldbook.results.planning import UNREACHED_CODES, PlannedRound, SeasonPlan
from fieldbook.season.ask import where_asked
from fieldbook.settings.settings import Settings
from fieldbook.units import DISTANCE, System
from fieldbook.words import day_words, say

DAYS_A_PAGE = 7
# From so many rows on the page is set smaller and without spreads: 56 fields fit on one.
_CROWDED = 34
_MOST_ASKED, _MOST_NOTES, _MOST_UNREACHED = 6, 3, 40
_ROUNDED_FROM, _LEAST_TOLD = 10, 0.1  # miles or kilometres
_MORE_ASKED = "And {count} more: the correction books from 'silkbook ask' have them all."
_MORE_NOTES = "And {count} more; they ask for nothing and stand in the reports of their fields."
_MORE_UNREACHED = "And {count} more, which stand in the plan's workbook."
_MARK = "*"  # a walk on which ears are opened for mould
_MASK = (
    "Wear an N95 mask around the dust of mouldy ears. Mould seen does not prove a toxin, and clean "
    "ears do not rule it out."
)
_MIND = (
    "Call the grower before you walk in where it says so. Never walk in before a re-entry interval "
    "ends; the label decides.",
    "Leave at once if a plane or a sprayer comes.",
    "Tell somebody when you will be back, and mind heat and lightning.",
)


@dataclass(frozen=True, kw_only=True)
class DayView:
    """One day: its heading and a row a field."""

    heading: str
    rows: Sequence[Sequence[str]]


@dataclass(frozen=True, kw_only=True)
class WeekView:
    """What a scout's page shows."""

    title: str
    scout: str
    week: str
    language: str
    paper: str
    lead: str
    heads: Sequence[str]
    days: Sequence[DayView]
    unreached: Sequence[str]
    asked: Sequence[str]
    notes: Sequence[str]
    mould: Sequence[str]
    mind: Sequence[str]
    crowded: bool


def week_pages(
    plan: SeasonPlan,
    settings: Settings,
    scout: str,
    templates: Path | None = None,
    *,
    asked: Sequence[Problem] = (),
) -> Iterator[tuple[date, str]]:
    """Write a scout's weeks as HTML pages; yields the first day of each week with its page.

    A week without a walk has no page. What cannot be reached stands on the first, as does what is
    `asked` back of the scout's books and told of them.
    """
    walks, first = plan.walks(scout), plan.as_of
    unreached = plan.unreached(scout)
    page = environment(templates).get_template("plan/week.html.j2")
    while first <= plan.through:
        last = min(first + timedelta(days=DAYS_A_PAGE - 1), plan.through)
        week = [one for one in walks if one.day and first <= one.day <= last]
        if week or unreached or asked:
            view = _week(plan, settings, scout, (first, last), week, unreached, asked)
            yield first, page.render(page=view, fonts=font_addresses())
        unreached, asked, first = (), (), last + timedelta(days=1)


def _week(
    plan: SeasonPlan,
    settings: Settings,
    scout: str,
    span: tuple[date, date],
    week: Sequence[PlannedRound],
    unreached: Sequence[PlannedRound],
    asked: Sequence[Problem],
) -> WeekView:
    language, name = settings.language_of(scout), plan.scout_names.get(scout, scout)
    first, last = (day_words(day, language) for day in span)
    heads = ("", "Field", "Grower", "Round", "Window closes", "Before you walk in")
    crowded = len(week) + len(unreached) > _CROWDED
    questions = [one for one in asked if one.weight is not Weight.NOTE]
    notes = [one for one in asked if one.weight is Weight.NOTE]
    return WeekView(
        title=f"{name}, {first}",
        scout=name,
        week=say(
            "{first} to {last}. {season}", language, first=first, last=last, season=plan.season_name
        ),
        language=language,
        paper=settings.paper,
        lead=_lead(week, len(unreached), len(questions), language),
        heads=[say(head, language) for head in heads],
        days=[
            _day(day, some, plan, settings.units, crowded, language) for day, some in by_day(week)
        ],
        unreached=_unreached(plan, {one.field_id for one in unreached}, language),
        asked=[] if crowded else _asked(questions, _MOST_ASKED, _MORE_ASKED, language),
        notes=[] if crowded else _asked(notes, _MOST_NOTES, _MORE_NOTES, language),
        mould=list(_mould(week, language)),
        mind=[say(text, language) for text in _MIND],
        crowded=crowded,
    )


def _unreached(plan: SeasonPlan, lost: Collection[str], language: str) -> list[str]:
    """Say why fields can't be reached in time, of the first few: a page must stay a page."""
    told = [
        sentence(found, language)
        for found in plan.problems
        if found.place.field_id in lost and found.code in UNREACHED_CODES
    ]
    return _first_few(told, _MOST_UNREACHED, _MORE_UNREACHED, language)


def _asked(asked: Sequence[Problem], most: int, more: str, language: str) -> list[str]:
    """Say what is asked or told of a scout's books, the first few in full."""
    lines = [f"{where_asked(one, language)}: {sentence(one, language)}" for one in asked]
    return _first_few(lines, most, more, language)


def _first_few(lines: Sequence[str], most: int, more: str, language: str) -> list[str]:
    """Return the first lines, and how many more there are."""
    left = len(lines) - most
    return [*lines[:most], *([say(more, language, count=left)] if left > 0 else [])]


def _mould(week: Sequence[PlannedRound], language: str) -> Iterator[str]:
    """Say in which fields ears are to be opened for mould, one line a reason."""
    words = dict.fromkeys(text for one in week if (text := mould_words(one, language)))
    for text in words:
        names = [one.name for one in week if mould_words(one, language) == text]
        yield say("{fields}: {why}", language, fields=joined(names, language), why=text)
    if words:
        yield say(_MASK, language)


def _lead(week: Sequence[PlannedRound], lost: int, asked: int, language: str) -> str:
    named = {one.field_id for one in week}
    fields = _count(len(named), "field", language)
    days = _count(len({one.day for one in week}), "day", language)
    said = say("{fields} to walk on {days}.", language, fields=fields, days=days)
    if not week:
        said = say("Nothing to walk.", language)
    calls = len({one.field_id for one in week if one.call_first})
    if len(named) == calls == 1:
        said += " " + say("Call the grower before you walk in.", language)
    elif len(named) == calls > 0:
        said += " " + say("Call the grower before each of them.", language)
    elif calls:
        said += " " + say("Call the grower before {count} of them.", language, count=calls)
    if lost:
        said += " " + say(
            "{rounds} can't be reached in time: see below.",
            language,
            rounds=_count(lost, "round", language),
        )
    if asked:
        text = "{questions} asked back from your books."
        said += " " + say(text, language, questions=_count(asked, "question", language))
    return said


_COUNTS = {
    "field": ("{count} field", "{count} fields"),
    "day": ("{count} day", "{count} days"),
    "round": ("{count} round", "{count} rounds"),
    "question": ("{count} question", "{count} questions"),
}


def _count(count: int, what: str, language: str) -> str:
    one, many = _COUNTS[what]
    return say(one if count == 1 else many, language, count=count)


def _day(
    day: date,
    walks: Sequence[PlannedRound],
    plan: SeasonPlan,
    units: System,
    crowded: bool,
    language: str,
) -> DayView:
    fields = _count(len({one.field_id for one in walks}), "field", language)
    heading = f"{day_words(day, language)}: {fields}"
    ways = [one.miles for one in walks[1:]]
    known = [way for way in ways if way is not None]
    length = DISTANCE.shown(sum(known), units)
    if len(known) == len(ways) and length >= _LEAST_TOLD:
        way = f"{length:.{0 if length >= _ROUNDED_FROM else 1}f} {DISTANCE.label(units, language)}"
        heading += ", " + say("about {way} between them", language, way=way)
    return DayView(heading=heading, rows=[_row(one, plan, language, crowded) for one in walks])


def _row(one: PlannedRound, plan: SeasonPlan, language: str, crowded: bool) -> tuple[str, ...]:
    closes = one.window.closes
    return (
        str(one.number),
        one.name,
        one.grower,
        round_words(one, language) + (f" {_MARK}" if one.window.mould else ""),
        day_words(closes.day, language) if crowded else spread_words(closes, language),
        entry_words(one, plan, language),
    )
