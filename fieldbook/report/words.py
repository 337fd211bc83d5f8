"""The sentences of a report, in the grower's words.

Each takes results in stored units and gives ready text; every text passes through `say`.
"""

from collections.abc import Iterable, Sequence

from fieldbook.figures import Figures
from fieldbook.forms.rounds import ROUNDS
from fieldbook.forms.stages import STAGES
from fieldbook.report.amounts import Amounts
from fieldbook.season.result import (
    EarsResult,
    FieldResult,
    StageResult,
    StopResult,
    VisitResult,
    YieldResult,
)
from fieldbook.words import say

TIP_FIGURES = ("ears.tip_allowance_in", "ears.rings_per_in")
LEAST_STOPS = 3
FEW_YEARS = 5

REASONS = {
    "end-rows": "end rows",
    "edge": "edge",
    "low-ground": "low ground",
    "replant": "replanted",
    "no-count": "ears in the row not counted",
    "no-kernels": "no kernels counted",
}
_STAGE_NAMES = {choice.key: choice.label for choice in STAGES}


def stage_words(stage: str, language: str) -> str:
    """Name a stage, for example ``R5 dent``; one that we have no name for stands as it is."""
    return say(_STAGE_NAMES.get(stage, stage), language)


def round_words(round_: str, language: str) -> str:
    """Name a round, for example ``Kernel count``."""
    return say(ROUNDS[round_].label if round_ in ROUNDS else round_, language)


def joined(parts: Sequence[str], language: str) -> str:
    """Join words as in ``4, 5 and 9``."""
    if len(parts) < 2:  # noqa: PLR2004  (a list of two is the first that needs an "and")
        return "".join(parts)
    return say("{some} and {last}", language, some=", ".join(parts[:-1]), last=parts[-1])


def small_number(count: int, language: str) -> str:
    """Write a small number as a word, as it is spoken."""
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
    return say(words[count], language) if 0 <= count < len(words) else f"{count:,}"


def of_ten(pct: float, language: str) -> str:
    """Say a share as so many of 10."""
    tenths = int(pct // 10)
    if pct >= 99.5:  # noqa: PLR2004  (prints as 100 %)
        return say("all", language)
    if tenths == 9 and pct >= 95:  # noqa: PLR2004  (nearer to ten of ten, which would be a lie)
        return say("more than 9 of 10", language)
    return say("about {tenths} of 10", language, tenths=max(1, round(pct / 10)))


# ---- headline ------------------------------------------------------------------------------


def headline(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say the whole report in three or four sentences."""
    language = amounts.language
    if not result.visits:
        return (say("Nobody has looked at this field yet.", language), *_next(result, amounts))
    return tuple(
        sentence
        for part in (
            _kernels(result.ears, language),
            _tip(result.ears, amounts, figures),
            (_yield_headline(result, amounts),),
            _next(result, amounts),
        )
        for sentence in part
    )


def _kernels(ears: EarsResult | None, language: str) -> Iterable[str]:
    if ears is None or ears.kernels_per_ear is None:
        return
    count = f"{10 * round(ears.kernels_per_ear / 10):,}"
    if ears.kernel_set_pct is None:
        yield say("Ears hold about {count} kernels.", language, count=count)
        return
    share = of_ten(ears.kernel_set_pct, language)
    yield say(
        "Ears hold about {count} kernels, and {share} kernel places are filled.",
        language,
        count=count,
        share=share,
    )


def bare_tip(ears: EarsResult | None) -> float | None:
    """Return the missing places at the tip along one row, of both kinds, as far as counted."""
    if ears is None:
        return None
    parts = (ears.loss.tip_unset_rings, ears.loss.tip_aborted_rings)
    known = [part for part in parts if part is not None]
    return sum(known) if known else None


def _tip(ears: EarsResult | None, amounts: Amounts, figures: Figures) -> Iterable[str]:
    places = bare_tip(ears)
    if places is None:
        return
    allowed_in = figures.number("ears.tip_allowance_in")
    inches = places / figures.number("ears.rings_per_in")
    allowed = amounts.length(allowed_in)
    if inches < allowed_in / 10:
        yield say("Tips are filled to the end.", amounts.language)
        return
    text = (
        "About {inches} of the tip is bare; up to about {allowed} is common and is not priced."
        if inches <= allowed_in
        else "About {inches} of the tip is bare, more than the {allowed} that is common."
    )
    yield say(text, amounts.language, inches=amounts.length(inches), allowed=allowed)


def _yield_headline(result: FieldResult, amounts: Amounts) -> str:
    found = result.yield_
    if found is None:
        return not_counted(result, amounts.language)
    unit = amounts.yield_words
    span = amounts.rough_range(found.range_bu_ac)
    own = _against_own(result, found, amounts)
    text = "Yield now looks like {span} {unit}{own}."
    return say(text, amounts.language, span=span, unit=unit, own=own)


def _against_own(result: FieldResult, found: YieldResult, amounts: Amounts) -> str:
    own = result.own_average_bu_ac
    if own is None:
        return ""
    low, high = found.range_bu_ac
    text = "; the field's own average, {own}, lies within that"
    if own < low:
        text = ", above the field's own average of {own}"
    elif own > high:
        text = ", below the field's own average of {own}"
    return say(text, amounts.language, own=amounts.yield_number(own))


def not_counted(result: FieldResult, language: str) -> str:
    """Say in one line why there is no yield."""
    if not result.stops:
        return say("Yield: not counted yet.", language)
    if all(stop.left_out for stop in result.stops):
        return say("Yield: no figure for the field, since no stop inside it counts.", language)
    return say("Yield: not counted yet.", language)


def _next(result: FieldResult, amounts: Amounts) -> Iterable[str]:
    ahead = next_stage(result.stages)
    if ahead is None:
        return
    text = "Next comes {stage}, {when}."
    yield say(
        text,
        amounts.language,
        stage=stage_words(ahead.stage, amounts.language),
        when=when_words(ahead, amounts),
    )


def next_stage(stages: Iterable[StageResult]) -> StageResult | None:
    """Return the first stage that is still ahead and has any date."""
    ahead = (stage for stage in stages if not stage.passed and (stage.date or stage.earliest))
    return next(ahead, None)


# ---- stages --------------------------------------------------------------------------------


def when_words(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's date with its spread, for example ``about Thu 20 August (17 to 24 August)``."""
    span = span_words(stage, amounts)
    if stage.date is None:
        return span or say("no date yet", amounts.language)
    if stage.basis == "seen":
        return say("seen {day}", amounts.language, day=amounts.day(stage.date))
    about = say("about {day}", amounts.language, day=amounts.day(stage.date))
    return f"{about} ({span})" if span else about


def span_words(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's range of days, or nothing where there is none."""
    if stage.earliest is None or stage.latest is None or stage.earliest == stage.latest:
        return ""
    return amounts.days(stage.earliest, stage.latest)


def stage_today(result: FieldResult, amounts: Amounts) -> str:
    """Say which stage the field is at today, and on what that rests."""
    language = amounts.language
    passed = [stage for stage in result.stages if stage.passed]
    if not passed:
        return say("No stage is known yet.", language)
    last = passed[-1]
    name = stage_words(last.stage, language)
    if last.basis == "seen" and last.date:
        return say("Seen at {stage} on {day}.", language, stage=name, day=amounts.day(last.date))
    text = "By now the field should be at {stage}, reached {when}."
    return say(text, language, stage=name, when=when_words(last, amounts))


def forecast_basis(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say from what the dates ahead are worked out, and what their ranges hold."""
    ahead = next_stage(result.stages)
    if ahead is None:
        return (say("Dates ahead: none yet.", amounts.language),)
    return tuple(part for part in (_anchor(ahead, amounts), _years(ahead, amounts)) if part)


def _anchor(ahead: StageResult, amounts: Amounts) -> str:
    language = amounts.language
    by_heat = ahead.basis == "heat units"
    method = say("by heat" if by_heat else "by days after silking", language)
    if ahead.anchor_date is None:
        return say("Dates ahead are worked out {method}.", language, method=method)
    text = "Dates ahead are worked out {method} from {stage} on {day}."
    start = stage_words(ahead.anchor_stage, language) if ahead.anchor_stage else ""
    if not start:
        text = "Dates ahead are worked out {method} from planting on {day}."
    return say(text, language, method=method, stage=start, day=amounts.day(ahead.anchor_date))


def _years(ahead: StageResult, amounts: Amounts) -> str:
    if ahead.basis != "heat units":
        return say("Such ranges are wide: every year runs differently.", amounts.language)
    if ahead.years == 0:
        return say("There is no past weather, so their ranges are unknown.", amounts.language)
    text = "Their ranges hold 8 in 10 of the {years} past years on file."
    if ahead.years < FEW_YEARS:
        text = "Their ranges hold all {years} past years on file, which are few."
    return say(text, amounts.language, years=ahead.years)


# ---- yield ---------------------------------------------------------------------------------


def yield_sentences(result: FieldResult, found: YieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say the yield, what it makes on the field, what explains the range, and what would help."""
    parts = (_likely(found, amounts), _on_field(result, found, amounts))
    return (
        *parts,
        *_explained(found, amounts),
        _fill(found, amounts),
        _still_needed(found, amounts),
    )


def _likely(found: YieldResult, amounts: Amounts) -> str:
    low, high = map(amounts.yield_number, found.range_bu_ac)
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


def _fill(found: YieldResult, amounts: Amounts) -> str:
    text = (
        "Kernels fill {fill}, as the scout saw it: {weights}."
        if found.grain_fill_stated
        else "Nobody said how kernels fill, so {fill} is taken: {weights}."
    )
    fill = {"good": "well", "poor": "poorly"}.get(found.grain_fill, "about as usual")
    if not found.grain_fill_stated:
        fill = found.grain_fill
    weights = amounts.kernel_weights(found.thousand_kernels_per_bu)
    return say(text, amounts.language, fill=say(fill, amounts.language), weights=weights)


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
    text = "{more} more stop would bring" if one else "{more} more stops would bring"
    return say(text + " the count to about {half}.", language, more=more, half=half)


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


# ---- visits --------------------------------------------------------------------------------


def visit_words(visit: VisitResult, amounts: Amounts) -> str:
    """Say who looked, when and at what."""
    day = amounts.day(visit.date) if visit.date else say("day unknown", amounts.language)
    return f"{day}, {visit.scout}"
