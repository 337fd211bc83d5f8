"""Leaf disease in words: how many plants, how high, whether it rises, and what the rule says."""

from collections.abc import Iterator, Sequence
from datetime import date

from fieldbook.agronomy.fungicide import CLOSED, LATE
from fieldbook.agronomy.leafrules import RULED
from fieldbook.agronomy.leaves import UNKNOWN, LeafReading
from fieldbook.agronomy.wilson import ABOVE, BELOW, CANNOT_TELL, Change
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.drawings.ladder import Reached
from fieldbook.report.rulewords import (
    disease_words,
    first_upper,
    height_words,
    rule_sentences,
)
from fieldbook.report.sharewords import of_plants, short_share
from fieldbook.report.stagewords import next_stage, when_words
from fieldbook.report.words import joined
from fieldbook.results.looks_result import LeavesResult
from fieldbook.results.result import FieldResult
from fieldbook.words import number_words, say

LEAF_FIGURES = (
    "leaf_rule.high_plants_pct",
    "leaf_rule.residue_pct",
    "leaf_rule.severity_pct",
    "leaf_rule.warm_mean_f",
    "leaf_rule.wet_days_share",
    "sampling.confidence_pct",
    "share.least_places",
)
"""Figures that the rules and the ranges of shares rest on."""

_AROUND_TASSEL = ("VT", "R1")
MOVED = {
    ABOVE: "It has risen.",
    BELOW: "It has fallen.",
    CANNOT_TELL: "Whether it rises cannot be told.",
}
"""What a disease did between two looks."""


def leaf_sentences(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say what was seen on leaves, by disease, and what the season's rule makes of it.

    Once the window for a fungicide is closed there is nothing left for a rule to say.
    """
    found = result.leaves
    if found is None:
        return (_not_looked(result, amounts),)
    seen = seen_diseases(found)
    if not seen:
        return (_none_seen(result, found, amounts),)
    window = result.fungicide.window
    is_closed = result.is_harvested or (window is not None and window.state == CLOSED)
    return (
        *(sentence for one in seen for sentence in _disease(one, found, amounts)),
        *_clean(seen, amounts.language),
        *(() if is_closed else rule_sentences(found, amounts, figures)),
        *(() if result.is_harvested else _unnamed(found, seen, amounts)),
    )


def seen_diseases(found: LeavesResult) -> tuple[str, ...]:
    """Return the diseases that any visit saw: those with a rule, the others, those unnamed."""
    seen = dict.fromkeys(one.disease for one in found.readings if is_seen(one))
    return tuple(sorted(seen, key=lambda one: (one not in RULED, one == UNKNOWN, one)))


def is_seen(reading: LeafReading) -> bool:
    """Say whether a disease was there; one that was written down without a count was."""
    return reading.incidence is None or reading.incidence.hits > 0


def ladder_rows(found: LeavesResult, amounts: Amounts) -> tuple[Reached, ...]:
    """Return for the leaf ladder how high each disease reached when last looked at."""
    last = (_readings(found, disease)[-1] for disease in seen_diseases(found))
    return tuple(
        Reached(
            name=disease_words(one.disease, amounts.language),
            leaf=one.highest_leaf,
            share=one.incidence,
            words=short_share(one.incidence, amounts) if one.incidence else "",
        )
        for one in last
        if one.highest_leaf and is_seen(one)
    )


def ladder_about(rows: Sequence[Reached], language: str) -> str:
    """Say in one sentence what the leaf ladder shows, for who cannot see it."""
    several = (
        f"{row.name} {height_words(row.leaf, language)}" + (f", {row.words}" if row.words else "")
        for row in rows
    )
    return first_upper("; ".join(several)) + "."


def ladder_caption(found: LeavesResult, amounts: Amounts) -> str:
    """Say what the leaf ladder shows."""
    text = (
        "A disease stands at the highest leaf with it. Filled: the share of plants; thin line: the "
        "range of that. Looked at on {day}."
    )
    return say(text, amounts.language, day=amounts.day(_last_look(found)))


def _readings(found: LeavesResult, disease: str) -> Sequence[LeafReading]:
    own = [one for one in found.readings if one.disease == disease]
    return sorted(own, key=lambda one: one.visit_date)


def _last_look(found: LeavesResult) -> date:
    return max([found.day, *(one.visit_date for one in found.readings)])


# ---- nothing seen --------------------------------------------------------------------------


def _not_looked(result: FieldResult, amounts: Amounts) -> str:
    """Say that nobody looked, and when to: around tassel, where that is still ahead."""
    if result.is_harvested:
        return say("Leaf disease: not looked at.", amounts.language)
    ahead = next_stage([one for one in result.stages if one.stage in _AROUND_TASSEL])
    if ahead is None:
        return say("Leaf disease: not looked at yet.", amounts.language)
    text = "Leaf disease: not looked at yet; due around tassel, {when}."
    return say(text, amounts.language, when=when_words(ahead, amounts))


def _none_seen(result: FieldResult, found: LeavesResult, amounts: Amounts) -> str:
    window = result.fungicide.window
    text = "Leaf disease: none seen on {day}."
    if window and window.state in (LATE, CLOSED) and not result.is_harvested:
        text = "Leaf disease: none seen on {day}; the window is closed."
    return say(text, amounts.language, day=amounts.day(_last_look(found)))


def _clean(seen: Sequence[str], language: str) -> Iterator[str]:
    """Name the diseases with a rule that were looked for and not seen."""
    names = [disease_words(one, language) for one in RULED if one not in seen]
    if names:
        yield say("Not seen: {names}.", language, names=joined(names, language))


# ---- one disease ---------------------------------------------------------------------------


def _disease(disease: str, found: LeavesResult, amounts: Amounts) -> Iterator[str]:
    language = amounts.language
    readings = _readings(found, disease)
    last = readings[-1]
    parts = [joined([_on_plants(one, amounts) for one in readings[-2:]], language)]
    if last.highest_leaf and is_seen(last):
        parts.append(height_words(last.highest_leaf, language))
    name = disease_words(disease, language, first=True)
    yield f"{name}: {', '.join(parts)}."
    yield from _moved(found.trends.get(disease), language)
    if is_seen(last):
        yield from _how_bad(last, language)


def _on_plants(reading: LeafReading, amounts: Amounts) -> str:
    day = amounts.day(reading.visit_date)
    if reading.incidence is None:
        return say("seen on {day}, plants not counted", amounts.language, day=day)
    plants = of_plants(reading.incidence, amounts)
    return say("on {plants} on {day}", amounts.language, plants=plants, day=day)


def _moved(change: Change | None, language: str) -> Iterator[str]:
    if change is not None:
        yield say(MOVED[change.told], language)


def _how_bad(reading: LeafReading, language: str) -> Iterator[str]:
    """Say how much of the ear leaf is diseased, and how much more at the worst stop."""
    if reading.severity_pct is None or reading.worst_pct is None:
        text = "How much of the ear leaf is diseased was not looked at."
        if reading.severity_stops:
            text = "How much of the ear leaf is diseased on average is not known."
        yield say(text, language)
        return
    mean, worst = (_pct(pct) for pct in (reading.severity_pct, reading.worst_pct))
    text = "On average {mean} % of the ear leaf is diseased, {worst} % at the worst stop."
    if mean == worst:
        text = "About {mean} % of the ear leaf is diseased."
    yield say(text, language, mean=mean, worst=worst)


def _pct(pct: float) -> str:
    """Write a share of a leaf: whole, but in tenths under one, where half a percent matters."""
    return number_words(round(pct, 1 if pct < 1 else 0))


def _unnamed(found: LeavesResult, seen: Sequence[str], amounts: Amounts) -> Iterator[str]:
    if found.unknown or UNKNOWN in seen:
        yield say(
            "Nobody could name some of the lesions: send leaves to a plant clinic before deciding.",
            amounts.language,
        )
