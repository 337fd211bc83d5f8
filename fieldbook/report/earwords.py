"""What the ears say: the caption of their picture, the pattern, and where kernels are missing."""

from collections.abc import Iterable, Sequence

from fieldbook.report.amounts import Amounts, count_words
from fieldbook.season.result import EarsResult, YieldResult
from fieldbook.words import say

_HALF = 0.5

_PATTERNS = {
    "base": "At least a third of the ears lack kernels at the base: the usual cause is trouble "
    "when pollination began, or early silks that were lost.",
    "scattered": "At least a third of the ears have gaps among their kernels: clipped silks or too "
    "little pollen are the usual causes.",
    "tip-unset": "Most of what is missing lies at the tip, never set, or lost in the first days: "
    "the last silks came too late for pollen, or growing stopped early.",
    "tip-aborted": "Most of what is missing is shrunken kernels at the tip. They were pollinated; "
    "look for stress in the weeks after.",
    "mixed": "What is missing follows no single pattern.",
    "none": "Nothing is missing beyond what is common.",
}


def ear_caption(ears: EarsResult, language: str) -> str:
    """Say what the picture of the ear shows, in one or two sentences."""
    places = len(ears.share_set)
    filled = [at for at, share in enumerate(ears.share_set, start=1) if share >= _HALF]
    if not filled:
        return say("At no place do half of the ears hold a kernel.", language)
    text = "At least half of the {ears} ears hold a kernel from place {first} to {last} of {places}"
    first, last = filled[0], filled[-1]
    said = say(text, language, ears=ears.complete_ears, first=first, last=last, places=places)
    beyond = places - last
    if beyond == 0:
        return said + "."
    kind = _tip_kind(ears, last, language)
    one = "; the last one mostly {kind}."
    more = "; the last {beyond} mostly {kind}."
    return said + say(one if beyond == 1 else more, language, beyond=beyond, kind=kind)


def _tip_kind(ears: EarsResult, last: int, language: str) -> str:
    """Name what the last places mostly are."""
    unset, aborted = sum(ears.share_unset[last:]), sum(ears.share_aborted[last:])
    if aborted > unset:
        return say("shrunken, set first and lost later", language)
    return say("never set, or lost in the first days", language)


def ear_sentences(
    ears: EarsResult, yield_: YieldResult | None, amounts: Amounts
) -> tuple[str, ...]:
    """Say the pattern, and what a place around the ear is worth."""
    return tuple(_ear_sentences(ears, yield_, amounts))


def _ear_sentences(ears: EarsResult, yield_: YieldResult | None, amounts: Amounts) -> Iterable[str]:
    language = amounts.language
    if ears.pattern in _PATTERNS:
        yield say(_PATTERNS[ears.pattern], language)
    if ears.bare_cobs:
        text = "{count} of {ears} ears pulled were bare cobs; they are not in the picture."
        yield say(text, language, count=ears.bare_cobs, ears=ears.ears)
    if yield_ and yield_.ring_worth_bu_ac is not None:
        text = "One place lost all around every ear is worth {worth} {unit} at most."
        worth = amounts.yield_number(yield_.ring_worth_bu_ac)
        yield say(text, language, worth=worth, unit=amounts.yield_unit)


def ear_about(ears: EarsResult, language: str) -> str:
    """Describe the picture of the ear for who can't see it."""
    loss = [
        say("{name} {places}", language, name=row[0], places=row[1])
        for row in losses(ears, language)
    ]
    start = say("Average ear, butt left, tip right.", language)
    missing = say("Kernel places missing along a row: {list}.", language, list="; ".join(loss))
    return f"{start} {ear_caption(ears, language)} {missing}"


def losses(ears: EarsResult, language: str) -> Sequence[tuple[str, str, str]]:
    """Return where kernels are missing: the place, how many along a row, from how many ears."""
    loss = ears.loss
    rows = (
        ("Base", loss.base_rings, loss.base_ears),
        ("Between kernels", loss.inside_rings, loss.inside_ears),
        ("Tip, never set, or lost in the first days", loss.tip_unset_rings, loss.tip_unset_ears),
        ("Tip, shrunken", loss.tip_aborted_rings, loss.tip_aborted_ears),
    )
    not_looked = say("not looked at", language)
    return [
        (
            say(name, language),
            not_looked if rings is None else count_words(rings, 1),
            str(count) if count else "–",
        )
        for name, rings, count in rows
    ]
