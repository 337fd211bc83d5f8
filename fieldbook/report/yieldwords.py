"""The yield in words: what it may be, what explains the range, and what would narrow it."""

from collections.abc import Iterable

from fieldbook.forms.fields import GRAIN_FILL
from fieldbook.report.amounts import Amounts
from fieldbook.report.words import LEAST_STOPS, small_number
from fieldbook.results.result import FieldResult
from fieldbook.results.yield_result import StopResult, YieldResult
from fieldbook.words import say

_FILLS = {choice.key: choice.label for choice in GRAIN_FILL}


def not_counted(result: FieldResult, language: str) -> str:
    """Say in one line why there is no yield."""
    if result.is_harvested and result.yield_ is None:
        return say("No count before the harvest made a figure for the field.", language)
    if not result.stops:
        return say("Yield: not counted yet.", language)
    if all(stop.left_out for stop in result.stops):
        return say("Yield: no figure for the field, since no stop inside it counts.", language)
    return say("Yield: not counted yet.", language)


def yield_sentences(result: FieldResult, found: YieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say the yield, what it makes on the field, what explains the range, and what would help.

    Of a harvested field only what the count had said and why.
    """
    if result.is_harvested:
        return (_likely(found, amounts), *_explained(found, amounts))
    parts = (_likely(found, amounts), _on_field(result, found, amounts))
    return (
        *parts,
        *_explained(found, amounts),
        _still_needed(found, amounts),
    )


def _likely(found: YieldResult, amounts: Amounts) -> str:
    low, high = amounts.rough_numbers(found.range_bu_ac)
    return say(
        "Likely {likely}, between {low} and {high} {unit}.",
        amounts.language,
        likely=amounts.yield_number(found.likely_bu_ac),
        low=low,
        high=high,
        unit=amounts.yield_unit,
    )


def _on_field(result: FieldResult, found: YieldResult, amounts: Amounts) -> str:
    low, high = (amounts.grain(end * result.acres) for end in found.range_bu_ac)
    return say(
        "On {area} that is about {likely} {unit}, between {low} and {high}.",
        amounts.language,
        area=amounts.area(result.acres),
        likely=amounts.grain(found.likely_bu_ac * result.acres),
        unit=amounts.grain_unit,
        low=low,
        high=high,
    )


def _explained(found: YieldResult, amounts: Amounts) -> Iterable[str]:
    down = amounts.yield_number(found.likely_bu_ac - found.low_bu_ac)
    up = amounts.yield_number(found.high_bu_ac - found.likely_bu_ac)
    if found.counting_half_width_bu_ac is None:
        text = "Kernel weight alone explains {down} down and {up} up."
        yield say(text, amounts.language, down=down, up=up)
        return
    counting = amounts.yield_number(found.counting_half_width_bu_ac)
    text = "Counting explains ±{counting} of that, kernel weight {down} down and {up} up."
    yield say(text, amounts.language, counting=counting, down=down, up=up)


def fill_words(found: YieldResult, amounts: Amounts) -> str:
    """Say how kernels fill, who said so, and which kernel weights that stands for."""
    text = (
        "Kernels fill {fill}, as the scout saw it: {weights}."
        if found.grain_fill_stated
        else "Nobody said how kernels fill, so {fill} is taken: {weights}."
    )
    how = {"good": "well", "poor": "poorly"}.get(found.grain_fill, "about as usual")
    fill = say(how, amounts.language)
    if not found.grain_fill_stated:
        fill = say(_FILLS[found.grain_fill], amounts.language).lower()
    weights = amounts.kernel_weights(found.thousand_kernels_per_bu)
    if found.own_of:
        words = "{weights}, which season.toml has for {hybrid} from earlier harvests"
        weights = say(words, amounts.language, weights=weights, hybrid=found.own_of)
    return say(text, amounts.language, fill=fill, weights=weights)


def _still_needed(found: YieldResult, amounts: Amounts) -> str:
    language = amounts.language
    half = f"±{amounts.yield_number(found.wanted_half_width_bu_ac)} {amounts.yield_unit}"
    if found.stops_used < LEAST_STOPS:
        return too_few(found.stops_used, language)
    if found.stops_still_needed is None:
        return ""
    if found.stops_still_needed == 0:
        return say("The stops are enough to know the count to about {half}.", language, half=half)
    more = small_number(found.stops_still_needed, language).capitalize()
    one = found.stops_still_needed == 1
    text = (
        "{more} more stop would bring the count to about {half}."
        if one
        else "{more} more stops would bring the count to about {half}."
    )
    return say(text, language, more=more, half=half)


def too_few(stops: int, language: str) -> str:
    """Say that one or two stops tell nothing about how far off the count may be."""
    if stops == 1:
        text = "One stop is too few to say how far off the count may be; walk at least two more."
    else:
        text = "Two stops are too few to say how far off the count may be; walk at least one more."
    return say(text, language)


def stops_caption(result: FieldResult, amounts: Amounts) -> str:
    """Say what the picture of the stops shows."""
    language = amounts.language
    used = [stop.yield_bu_ac for stop in result.stops if is_used(stop)]
    known = [value for value in used if value is not None]
    if not known:
        return say("No stop counts for the field; each is shown with the reason.", language)
    span = amounts.yield_range((min(known), max(known)))
    count = len(known)
    unit = amounts.yield_unit
    if count == 1:
        text = "The one stop that counts reads {span} {unit} at the likely kernel weight."
    else:
        text = "The {count} stops that count read {span} {unit} at the likely kernel weight."
    return say(text, language, count=count, span=span, unit=unit)


def is_used(stop: StopResult) -> bool:
    """Say whether a stop is in the field figure."""
    return stop.left_out is None and stop.yield_bu_ac is not None
