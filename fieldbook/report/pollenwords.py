"""How pollination went, in a grower's words: silks, pollen, the shaken ears."""

from collections.abc import Iterator
from math import isfinite

from fieldbook.agronomy.shake import EARLY, EARS, LATE, MAIN, TOO_EARLY
from fieldbook.agronomy.silking import FALLING, SilkConflict
from fieldbook.agronomy.tassel import ShedWindow, TasselConflict
from fieldbook.figures import Figures
from fieldbook.forms.stops import TASSELS
from fieldbook.report.amounts import Amounts, pct_range
from fieldbook.report.clippingwords import clipping_sentences
from fieldbook.report.failurewords import GOOD_PCT
from fieldbook.report.words import of_ten, small_number
from fieldbook.results.looks_result import PollinationResult, ShakenResult
from fieldbook.words import say

_MOST_CONFLICTS = 2
_LEAST_LEAD_DAYS = 3
_TIMES = {
    TOO_EARLY: "That was {days} after silking, too early to go by: silks hang on whatever "
    "happened. Only a later shake can tell.",
    EARLY: "That was {days} after silking, still early, so it reads low.",
    MAIN: "That was {days} after silking, the time to go by.",
    LATE: "That was {days} after silking, late: dead silks break off, so it may read high.",
}
_NOT_AFTER = (
    "That was no later than silking, too early to go by: silks hang on whatever happened. Only a "
    "later shake can tell."
)
_EARLY_BUT_GOOD = "That was {days} after silking, very early, so it reads low."
_NOT_AFTER_BUT_GOOD = "That was no later than silking, very early, so it reads low."
_TASSELS = {choice.key: choice.label for choice in TASSELS}


def pollination_sentences(
    found: PollinationResult, amounts: Amounts, figures: Figures
) -> tuple[str, ...]:
    """Say where pollination stands; what nobody looked at is left out."""
    parts = (
        _silking(found, amounts),
        _pollen(found.shed, amounts),
        _lead(found, amounts, figures),
        _shaken(found.shaken, amounts, figures),
        clipping_sentences(found.clipping, amounts, figures),
    )
    return tuple(sentence for part in parts for sentence in part if sentence)


# ---- silks and pollen ----------------------------------------------------------------------


def _silking(found: PollinationResult, amounts: Amounts) -> Iterator[str]:
    silking = found.silking
    if silking is None:
        return
    language = amounts.language
    when = amounts.within(silking.within)
    if silking.day and silking.within.earliest and silking.within.latest:
        days = amounts.days(silking.within.earliest, silking.within.latest)
        day = amounts.day(silking.day)
        when = say("about {day} ({days})", language, day=day, days=days)
    looks = len({count.day for count in found.silk_counts})
    text = (
        "Half of the plants had silks {when}, from one look."
        if looks == 1
        else "Half of the plants had silks {when}, from {looks} looks."
    )
    if when:
        yield say(text, language, when=when, looks=small_number(looks, language))
    for conflict in silking.conflicts[:_MOST_CONFLICTS]:
        yield _silk_conflict(conflict, amounts)


def _silk_conflict(conflict: SilkConflict, amounts: Amounts) -> str:
    text = (
        "Two looks contradict each other: {some} of {of} plants had silks on {day}, but only "
        "{fewer} of {then} on {later}; the days given hold both."
        if conflict.kind == FALLING
        else "Two looks do not fit: {some} of {of} plants had silks on {day} and {fewer} of {then} "
        "on {later}; the days given hold both."
    )
    first, second = conflict.first, conflict.second
    return say(
        text,
        amounts.language,
        some=first.silked,
        of=first.of,
        day=amounts.day(first.day),
        fewer=second.silked,
        then=second.of,
        later=amounts.day(second.day),
    )


def _pollen(shed: ShedWindow | None, amounts: Amounts) -> Iterator[str]:
    if shed is None:
        return
    first, last = amounts.within(shed.start), amounts.within(shed.end)
    if first and last:
        text = "The first pollen fell {first}, the last {last}."
    else:
        text = "The first pollen fell {first}." if first else "The last pollen fell {last}."
    if first or last:
        yield say(text, amounts.language, first=first, last=last)
    for conflict in shed.conflicts[:_MOST_CONFLICTS]:
        yield _tassel_conflict(conflict, amounts)


def _tassel_conflict(conflict: TasselConflict, amounts: Amounts) -> str:
    language = amounts.language
    first, second = conflict.first, conflict.second
    text = (
        "At stop {stop} tassels read '{before}' on {day} and '{after}' on {later}, which do not go "
        "together; the days given hold both."
    )
    return say(
        text,
        language,
        stop=first.stop,
        before=say(_TASSELS[first.reading], language),
        day=amounts.day(first.day),
        after=say(_TASSELS[second.reading], language),
        later=amounts.day(second.day),
    )


def _lead(found: PollinationResult, amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say how silks and pollen met, where it says anything."""
    gap, language = found.gap_days, amounts.language
    if gap is None:
        return
    if found.gap_points_to_stress:
        line = figures.number("tassel.silk_gap_stress_days")
        text = (
            "Silks came at least {days} days after pollen; more than {line} days point to stress."
        )
        yield say(text, language, days=f"{gap.low:.0f}", line=f"{line:.0f}")
    elif gap.high <= -_LEAST_LEAD_DAYS:
        waits = figures.numbers("silk.receptive_days")[1]
        text = (
            "Silks were out at least {days} days before the pollen; a silk waits about {waits} "
            "days."
        )
        yield say(text, language, days=f"{-gap.high:.0f}", waits=f"{waits:.0f}")
    elif found.gap_points_to_stress is False and isfinite(gap.low):
        yield say("Pollen and silks came together, as is common.", language)


# ---- the shaken ears -----------------------------------------------------------------------


def _shaken(shaken: ShakenResult | None, amounts: Amounts, figures: Figures) -> Iterator[str]:
    if shaken is None:
        return
    language, ears = amounts.language, shaken.ears
    text = "On {day} {share} silks let go when {ears} ears of {stops} stops were shaken{range}."
    if ears.units == EARS:
        text = "On {day} {share} silks let go when {ears} ears of one stop were shaken{range}."
    if ears.ears == 1:
        text = "On {day} {share} silks let go when one ear was shaken{range}."
    yield say(
        text,
        language,
        day=amounts.day(shaken.day),
        share=of_ten(ears.mean.mean, language),
        ears=ears.ears,
        stops=small_number(ears.stops, language),
        range=_range(shaken, language),
    )
    is_good = ears.mean.mean >= figures.number(GOOD_PCT)
    yield from _time(shaken, language, is_good=is_good)
    if not ears.enough:
        places, each = (f"{figures.number(f'shake.least_{one}'):.0f}" for one in ("stops", "ears"))
        text = "That is less than {each} ears at each of {places} stops, so take it as rough."
        yield say(text, language, each=each, places=places)
    yield from _open_silks(shaken, language)


def _range(shaken: ShakenResult, language: str) -> str:
    """Say how far the share may lie off, by the spread between stops and what a tick leaves."""
    ears = shaken.ears
    if ears.mean.low is None or ears.mean.high is None:
        return ""
    low, high = min(ears.mean.low, ears.bounds.low), max(ears.mean.high, ears.bounds.high)
    return f" ({pct_range(low, high, language)})"


def _time(shaken: ShakenResult, language: str, *, is_good: bool) -> Iterator[str]:
    """Say what the time of the shake makes of it; a share that is good already is no doubt."""
    time = shaken.time
    if time is None or time.kind is None or time.days is None:
        yield say(
            "Without a silking date it is not known whether that was the right time.", language
        )
        return
    low, high = max(0, round(time.days.low)), round(time.days.high)
    if high <= 0:
        yield say(_NOT_AFTER_BUT_GOOD if is_good else _NOT_AFTER, language)
        return
    text = "{low} to {high} days"
    if low == high:
        text = "one day" if low == 1 else "{low} days"
    days = say(text, language, low=low, high=high)
    is_early = time.kind == TOO_EARLY
    said = _EARLY_BUT_GOOD if is_good and is_early else _TIMES[time.kind]
    yield say(said, language, days=days)


def _open_silks(shaken: ShakenResult, language: str) -> Iterator[str]:
    share = shaken.ears.receptive_pct
    if share is None:
        return
    if share < 1:
        yield say("Hardly a silk was still pale and open at the tip.", language)
        return
    text = "About {pct} % of silks were still pale and open at the tip."
    yield say(text, language, pct=f"{share:.0f}")
