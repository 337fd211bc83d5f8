"""The field in a few sentences, in the grower's words; what to do stands in the list beneath."""

from collections.abc import Iterable

from fieldbook.agronomy.wilson import ABOVE
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.cutwords import cut_headline
from fieldbook.report.failurewords import has_failed, pollination_headline
from fieldbook.report.stagewords import next_stage, when_words
from fieldbook.report.words import of_ten, stage_words
from fieldbook.report.yieldwords import not_counted
from fieldbook.results.result import FieldResult
from fieldbook.results.yield_result import EarsResult, YieldResult
from fieldbook.units import YIELD
from fieldbook.words import say

TIP_FIGURES = ("ears.tip_allowance_in", "ears.rings_per_in")


def headline(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say in a few sentences how the field does; a field that nobody saw has its next date only."""
    language = amounts.language
    if not result.visits:
        text = "Nobody has looked at this field yet."
        if result.has_left_out:
            text = "It is not settled yet which visits are of this field, so none is counted here."
        return (say(text, language), *_next(result, amounts))
    if result.is_harvested:
        return (*cut_headline(result, amounts, figures), *_pollinated(result, amounts, figures))
    return tuple(
        sentence
        for part in (
            pollination_headline(result, amounts, figures),
            _kernels(result.ears, language),
            _tip(result.ears, amounts, figures),
            (_yield_headline(result, amounts),),
            _stalks(result, language),
        )
        for sentence in part
    )


def _pollinated(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterable[str]:
    """Say of a harvested field how pollination went; whom to call is no question any more."""
    if not has_failed(result, figures):
        yield from pollination_headline(result, amounts, figures)


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
    inches = round(places / figures.number("ears.rings_per_in"), 1)
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
    if found.interval_95_bu_ac is None:
        text = (
            "Yield now looks like {span} {unit} by kernel weight alone{own}; {stops} can't say how "
            "far off the count may be."
        )
    stops = say("one stop" if found.stops_used == 1 else "two stops", amounts.language)
    return say(text, amounts.language, span=span, unit=unit, own=own, stops=stops)


def _against_own(result: FieldResult, found: YieldResult, amounts: Amounts) -> str:
    own = result.own_average_bu_ac
    if own is None:
        return ""
    # Held against the range as it is printed, so that the sentence never contradicts itself.
    low, high = amounts.rough_ends(found.range_bu_ac)
    text = "; the field's own average, {own}, lies within that"
    shown = YIELD.shown(own, amounts.units)
    if shown < low:
        text = ", above the field's own average of {own}"
    elif shown > high:
        text = ", below the field's own average of {own}"
    return say(text, amounts.language, own=amounts.yield_number(own))


def _stalks(result: FieldResult, language: str) -> Iterable[str]:
    """Say in the first lines where stalks fail beyond the published line."""
    walked = result.ripe.stalks if result.ripe else None
    if walked is None or walked.share.pct <= walked.lines[0].line_pct:
        return
    text = "About {share} in 100 stalks gave way, so this field is among the first to harvest."
    if walked.lines[0].side != ABOVE:
        text = (
            "About {share} in 100 stalks gave way, from too few to be sure; keep this field among "
            "the first to harvest."
        )
    yield say(text, language, share=round(walked.share.pct))


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
