"""The plan in words: what a scout must know before walking in, and the lines for the terminal."""

from collections.abc import Iterable, Iterator
from datetime import date
from itertools import groupby

from fieldbook.agronomy.windows import RAISED, SOME
from fieldbook.forms.rounds import ROUNDS
from fieldbook.results.due import HOT_AND_DRY, LikelyDay
from fieldbook.results.planning import PlannedRound, SeasonPlan
from fieldbook.words import day_words, say

RULE = (
    "Each day begins with the open field whose window closes first.",
    "From there the way goes to the nearest open field, unless that would cost another field its "
    "window; then to the nearest that costs none.",
    "A day holds no more fields than fields_a_day in season.toml says.",
    "No walk is planned before a re-entry interval ends, even if the spraying is still ahead. "
    "Where that day is not known, call the grower first.",
    "A window reaches from one likely day to another. In half of the years they come earlier, in "
    "half later: plan again every week, and when a visit has been taken in.",
    "Where the weather or late silks raise the watch for ear mould, or grain filled hot and dry, "
    "the ripening round is a look at ears about six weeks after silking.",
)
_MOULD = {
    RAISED: "The mould watch is raised: open 20 ears at each of 5 stops.",
    SOME: "The mould watch has some signal: open 20 ears at each of 5 stops.",
    HOT_AND_DRY: "Grain filled hot and dry: open 20 ears at each of 5 stops, look for olive-green "
    "powder.",
}


def round_words(one: PlannedRound, language: str) -> str:
    """Name the round."""
    return say(ROUNDS[one.round].label, language)


def mould_words(one: PlannedRound, language: str) -> str:
    """Say why ears are to be opened for mould on a walk, and how many; else nothing."""
    if one.window.mould is None:
        return ""
    return say(_MOULD[one.window.mould], language)


def entry_words(one: PlannedRound, plan: SeasonPlan, language: str) -> str:
    """Say what to do before walking in; nothing where the re-entry interval has ended."""
    if one.is_before_spray and one.sprayed_on:
        day = day_words(one.sprayed_on, language)
        return say("Spray planned {day}: call the grower first", language, day=day)
    if one.call_first and one.sprayed_on:
        day = day_words(one.sprayed_on, language)
        return say("Sprayed {day}: call the grower first", language, day=day)
    if one.call_first:
        return say("Call the grower first", language)
    if one.may_walk_from and one.may_walk_from > plan.as_of:
        return say("From {day}", language, day=day_words(one.may_walk_from, language))
    return ""


def spread_words(likely: LikelyDay, language: str) -> str:
    """Say a likely day with its spread, for example "Tue 14 July (10 to 18 July)"."""
    said = day_words(likely.day, language)
    if likely.earliest is None or likely.latest is None:
        return said
    if likely.earliest == likely.latest:
        return said
    first, last = (_short(day, language) for day in (likely.earliest, likely.latest))
    return say("{day} ({first} to {last})", language, day=said, first=first, last=last)


def _short(day: date, language: str) -> str:
    return day_words(day, language, "d MMM")


def by_day(walks: Iterable[PlannedRound]) -> Iterator[tuple[date, list[PlannedRound]]]:
    """Gather planned walks, in walking order, by their days."""
    for day, some in groupby(walks, key=lambda one: one.day):
        if day is not None:
            yield day, list(some)


def plan_lines(plan: SeasonPlan, language: str, scout: str | None = None) -> Iterator[str]:
    """Say the plan by scout and day, one line a field."""
    for who in plan.fields_a_day:
        if scout not in (None, who):
            continue
        walks = plan.walks(who)
        if not walks:
            yield say("{scout}: nothing to walk", language, scout=plan.scout_names[who])
        for day, some in by_day(walks):
            yield f"{plan.scout_names[who]}, {day_words(day, language)}"
            for one in some:
                yield _line(one, plan, language)


def _line(one: PlannedRound, plan: SeasonPlan, language: str) -> str:
    closes = say("closes {day}", language, day=spread_words(one.window.closes, language))
    entry = entry_words(one, plan, language)
    mould = mould_words(one, language).rstrip(".")
    parts = [round_words(one, language), closes, *(text for text in (entry, mould) if text)]
    return f"  {one.number:2} {one.name[:32]:32} {', '.join(parts)}"
