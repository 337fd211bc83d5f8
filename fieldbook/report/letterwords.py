"""What changed in a field since the visit before, in a few sentences; the plain rule of it.

Both sides are whole results: of today, and of the day of the visit before as all that was taken in
tells them today. A sentence that stood already then is not news. Where only one visit was made,
the same sentences say what was seen the first time.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from fieldbook.agronomy.leaves import LeafReading
from fieldbook.agronomy.windows import RAISED, SOME
from fieldbook.figures import Figures
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.report.amounts import Amounts
from fieldbook.report.cutwords import cut_headline
from fieldbook.report.failurewords import has_failed, pollination_headline
from fieldbook.report.gapwords import pattern_words
from fieldbook.report.harvestwords import harvest_row
from fieldbook.report.leafwords import MOVED, is_seen, seen_diseases
from fieldbook.report.rulewords import disease_words
from fieldbook.report.sharewords import of_plants
from fieldbook.report.words import joined, stage_words
from fieldbook.results.result import FieldResult, VisitResult
from fieldbook.results.ripe import turn_alone
from fieldbook.results.yield_result import YieldResult
from fieldbook.words import say

_WATCHED = {
    RAISED: "The weather since silking raises the watch for Gibberella ear mould.",
    SOME: "Conditions since silking suited Gibberella ear mould somewhat.",
}


@dataclass(frozen=True, kw_only=True)
class Compared:
    """A field now, and as of the visit before; ``then`` is None where there was only one visit.

    ``day`` is that of the last visit.
    """

    now: FieldResult
    then: FieldResult | None
    day: date


def visited(compared: Compared, amounts: Amounts) -> str:
    """Say when and by whom the field was seen, and when before that."""
    then, language = compared.then, amounts.language
    scouts = dict.fromkeys(visit.scout for visit in _last_visits(compared) if visit.scout)
    day, who = amounts.day(compared.day), joined([*scouts], language)
    if then is None:
        return say("First seen {day} by {who}.", language, day=day, who=who)
    before = amounts.day(then.as_of)
    text = "Seen {day} by {who}; before that {before}."
    return say(text, language, day=day, who=who, before=before)


def news(compared: Compared, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say what the last visit showed beside the one before, or at all if it was the first.

    Of a harvested field it is the harvest, and nothing that lay ahead before.
    """
    now, then = compared.now, compared.then
    if now.is_harvested:
        return tuple(_of_harvest(compared, amounts, figures))
    parts: tuple[Iterable[str], ...] = (
        _stage(compared, amounts.language),
        _pollination(now, then, amounts, figures),
        _yield(compared, amounts),
        _gaps(now, then, amounts.language),
        _leaves(compared, amounts),
        _ripe(compared, amounts, figures),
        _watch(now, then, amounts.language),
    )
    return tuple(sentence for part in parts for sentence in part)


def _of_harvest(compared: Compared, amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say what was weighed against what was counted, and what the last look before it found."""
    now, then = compared.now, compared.then
    yield from cut_headline(now, amounts, figures)
    if not has_failed(now, figures):
        yield from _pollination(now, then, amounts, figures)
    yield from _gaps(now, then, amounts.language)
    yield from _leaves(compared, amounts)
    yield from _ripe(compared, amounts, figures)


def do_ranges_meet(one: tuple[float, float], other: tuple[float, float]) -> bool:
    """Say whether two ranges have a value in common: then no change between them is clear."""
    return one[0] <= other[1] and other[0] <= one[1]


def _last_visits(compared: Compared) -> list[VisitResult]:
    return [visit for visit in compared.now.visits if visit.date == compared.day]


def _stage(compared: Compared, language: str) -> Iterator[str]:
    read = [visit.stage for visit in _last_visits(compared) if visit.stage]
    if not read:
        return
    earlier = compared.then.visits if compared.then else ()
    before = [visit.stage for visit in earlier if visit.stage and visit.date]
    text = "The field is at {stage}."
    if before:
        text = "The field went from {before} to {stage}."
    if before and before[-1] == read[-1]:
        text = "The field is still at {stage}."
    named = stage_words(before[-1], language) if before else ""
    yield say(text, language, stage=stage_words(read[-1], language), before=named)


def _pollination(
    now: FieldResult, then: FieldResult | None, amounts: Amounts, figures: Figures
) -> Iterator[str]:
    """Say how pollination went, where that was not said before."""
    said = set(pollination_headline(then, amounts, figures)) if then else set()
    yield from (one for one in pollination_headline(now, amounts, figures) if one not in said)


def _is_short(compared: Compared) -> bool:
    """Say whether the last visit made a count that had too few stops to be used."""
    used = compared.now.count_visit
    others = [one for one in _last_visits(compared) if one.visit_id != used]
    return used is not None and any(one.round == KERNEL_COUNT.name for one in others)


def _yield(compared: Compared, amounts: Amounts) -> Iterator[str]:
    """Hold two estimates against each other: there is a change where their ranges do not meet."""
    made, old = compared.now.yield_, compared.then.yield_ if compared.then else None
    if made is None:
        return
    yield say(
        _yield_text(compared, made, old, amounts),
        amounts.language,
        likely=amounts.yield_number(made.likely_bu_ac),
        span=f"{amounts.rough_range(made.range_bu_ac)} {amounts.yield_unit}",
        before=amounts.rough_range(old.range_bu_ac) if old else "",
    )


def _yield_text(
    compared: Compared, now: YieldResult, then: YieldResult | None, amounts: Amounts
) -> str:
    """Choose the sentence; of a count that has no day nobody knows what came before it."""
    counts = (visit for visit in compared.now.visits if visit.round == KERNEL_COUNT.name)
    if any(visit.date is None for visit in counts):
        return "Yield: {span}, likely {likely}; the day of a count is still asked for."
    if then is None:
        return "First yield estimate: {span}, likely {likely}."
    if then == now:
        if _is_short(compared):
            return "Yield: the new count had too few stops, so it stays at {span}, likely {likely}."
        return "Yield: no new count, so it stays at {span}, likely {likely}."
    return _change_text(now, then, amounts)


def _change_text(now: YieldResult, then: YieldResult, amounts: Amounts) -> str:
    """Say how two counts differ.

    Under three stops a range says nothing of how far off the count is, so no change is told.
    """
    if now.interval_95_bu_ac is None or then.interval_95_bu_ac is None:
        return "Yield: {span} now, {before} before; too few stops to say whether it changed."
    if do_ranges_meet(amounts.rough_ends(now.range_bu_ac), amounts.rough_ends(then.range_bu_ac)):
        return "Yield: {span} now, {before} before: no clear change."
    if now.likely_bu_ac > then.likely_bu_ac:
        return "Yield has risen: {span} now, {before} before."
    return "Yield has fallen: {span} now, {before} before."


def _gaps(now: FieldResult, then: FieldResult | None, language: str) -> Iterator[str]:
    """Say which gaps stand out that did not before."""
    known = then.gaps.standing_out if then and then.gaps else ()
    for place in now.gaps.standing_out if now.gaps else ():
        if place not in known:
            yield pattern_words(place, language)


def _leaves(compared: Compared, amounts: Amounts) -> Iterator[str]:
    """Say what this visit saw on leaves, beside the look before."""
    found, language = compared.now.leaves, amounts.language
    fresh = [one for one in found.readings if one.visit_date == compared.day] if found else []
    if found is None or not fresh:
        return
    seen = [one for one in fresh if one.disease in seen_diseases(found)]
    if not seen:
        yield say("Leaf disease: none seen.", language)
    for one in seen:
        earlier = [
            reading
            for reading in found.readings
            if reading.disease == one.disease and reading.visit_date < one.visit_date
        ]
        yield _disease(one, earlier[-1] if earlier else None, amounts)
        if one.disease in found.trends and earlier:
            yield say(MOVED[found.trends[one.disease].told], language)


def _disease(now: LeafReading, then: LeafReading | None, amounts: Amounts) -> str:
    language = amounts.language
    name = disease_words(now.disease, language, first=True)
    text = "{name}: {now}, before that {then}." if then else "{name}: {now}."
    before = _on_plants(then, amounts) if then else ""
    return say(text, language, name=name, now=_on_plants(now, amounts), then=before)


def _on_plants(reading: LeafReading, amounts: Amounts) -> str:
    language = amounts.language
    if reading.incidence is None:
        return say("seen, plants not counted" if is_seen(reading) else "not seen", language)
    return say("on {plants}", language, plants=of_plants(reading.incidence, amounts))


def _ripe(compared: Compared, amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say how stalks stood and how many ears had mould, where this visit looked."""
    now = compared.now
    if now.ripe is None or now.ripe.day != compared.day:
        return
    for turn in turn_alone(now, figures=figures):
        yield from harvest_row(turn, now, now.ripe, amounts, link="", scout="").reasons
    if now.ripe.moisture_pct is not None:
        text = "Grain was at {pct} % moisture."
        yield say(text, amounts.language, pct=f"{now.ripe.moisture_pct:.1f}")


def _watch(now: FieldResult, then: FieldResult | None, language: str) -> Iterator[str]:
    """Say where the weather has come to ask for a look at ears since the visit before."""
    watch, before = now.outlook.gibberella, then.outlook.gibberella if then else None
    if watch and watch.level in _WATCHED and (before is None or before.level != watch.level):
        yield say(_WATCHED[watch.level], language)
