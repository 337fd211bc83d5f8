"""The plan as a workbook: the walks by day, the dates of every round, and what is not reached."""

from collections.abc import Iterable, Iterator, Sequence

from fieldbook.export.plan_words import RULE, entry_words, mould_words, round_words
from fieldbook.problems import sentence
from fieldbook.results.due import LikelyDay
from fieldbook.results.planning import PlannedRound, SeasonPlan
from fieldbook.settings.settings import Settings
from fieldbook.units import DISTANCE, System
from fieldbook.words import day_words, say
from fieldbook.workbook.table_book import TableColumn, TableSheet, TableValue, write_tables

Row = Sequence[TableValue]
# Widths in letters. A table is printed as wide as its paper, so that narrow columns print larger; a
# column alone is printed as wide as it is, and would be cut off.
_DAY, _SENTENCE = 17, 90
_MOULD = ("Open ears for mould", 36)
_FIELD = (("Field ID", 11), ("Field", 24), ("Grower", 22), ("Scout", 16), ("Round", 16))
_WALKS = (("Day", _DAY), ("No.", 6), *_FIELD, ("Closes", _DAY), ("Before you walk in", 30))
_WAY = {System.US: "Way from last, miles", System.METRIC: "Way from last, km"}
_DATES = (
    *_FIELD,
    ("In the plan", 22),
    ("Planned day", _DAY),
    ("Opens, likely", _DAY),
    ("Opens, early", _DAY),
    ("Opens, late", _DAY),
    ("Closes, likely", _DAY),
    ("Closes, early", _DAY),
    ("Closes, late", _DAY),
    _MOULD,
)


def plan_book(settings: Settings, plan: SeasonPlan) -> bytes:
    """Make the workbook of a plan."""
    day = day_words(plan.as_of, settings.language)
    title = say("{season}, plan of {day}", settings.language, season=plan.season_name, day=day)
    return write_tables(_sheets(plan, settings), title=title, year=plan.year, paper=settings.paper)


def _sheets(plan: SeasonPlan, settings: Settings) -> Iterator[TableSheet]:
    language, units = settings.language, settings.units
    first, last = (day_words(day, language) for day in (plan.as_of, plan.through))
    walks = [one for scout in plan.fields_a_day for one in plan.walks(scout)]
    walks.sort(key=lambda one: (one.day or plan.as_of, one.scout, one.number or 0))
    way = (_WAY[units], 12)
    yield _sheet(
        "Walks",
        say("Walks from {first} to {last}", language, first=first, last=last),
        (*_WALKS, way, _MOULD),
        (_walk(one, plan, language, units) for one in walks),
        language,
    )
    rounds = (_dates(one, plan, language) for one in plan.rounds)
    yield _sheet("Dates", say("Rounds still to walk", language), _DATES, rounds, language)
    said = [(one.place.field_id, sentence(one, language)) for one in plan.problems]
    heads = (("Field ID", 11), ("What", _SENTENCE))
    yield _sheet("To look at", say("What to look at", language), heads, said, language)
    rule = [(say(text, language),) for text in RULE]
    yield _sheet("How", say("How it is planned", language), (("Rule", _SENTENCE),), rule, language)


def _sheet(
    title: str, heading: str, columns: Sequence[tuple[str, int]], rows: Iterable[Row], language: str
) -> TableSheet:
    return TableSheet(
        title=say(title, language),
        heading=heading,
        columns=[TableColumn(head=say(head, language), width=width) for head, width in columns],
        rows=rows,
    )


def _field(one: PlannedRound, plan: SeasonPlan, language: str) -> Row:
    scout = plan.scout_names[one.scout]
    return (one.field_id, one.field, one.grower, scout, round_words(one, language))


def _walk(one: PlannedRound, plan: SeasonPlan, language: str, units: System) -> Row:
    way = None if one.miles is None else round(DISTANCE.shown(one.miles, units), 1)
    closes, entry = one.window.closes.day, entry_words(one, plan, language)
    field = _field(one, plan, language)
    return (one.day, one.number, *field, closes, entry, way, mould_words(one, language) or None)


def _dates(one: PlannedRound, plan: SeasonPlan, language: str) -> Row:
    window = one.window
    state = say(str(one.state), language)
    field = _field(one, plan, language)
    mould = mould_words(one, language) or None
    return (*field, state, one.day, *_likely(window.opens), *_likely(window.closes), mould)


def _likely(likely: LikelyDay) -> Row:
    return (likely.day, likely.earliest, likely.latest)
