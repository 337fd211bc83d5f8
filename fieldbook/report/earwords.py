"""What the ears say: the caption of their picture, the pattern, and where kernels are missing."""

from collections.abc import Iterator, Sequence

from fieldbook.report.amounts import Amounts, count_words
from fieldbook.season.result import EarsResult, YieldResult
from fieldbook.words import say

_HALF = 0.5

_PATTERNS = {
    "base": "At least a third of the ears lack kernels at the base: usually pollen came late, or "
    "early silks were lost.",
    "scattered": "At least a third of the ears have gaps among their kernels: usually silks were "
    "clipped, or pollen was short.",
    "tip-unset": "At least a third of the ears have a longer bare tip than is common, never set, "
    "or lost in the first days: the last silks usually came too late for pollen, or growth stopped "
    "early.",
    "tip-aborted": "At least a third of the ears have a longer bare tip than is common, mostly of "
    "shrunken kernels: they were pollinated and lost later; look for stress in the weeks after.",
    "mixed": "What is missing follows no single pattern.",
    "none": "Nothing is missing beyond what is common.",
}


def ear_caption(ears: EarsResult, language: str) -> str:
    """Say what the picture of the ear shows, in one or two sentences."""
    places = len(ears.share_set)
    filled = [at for at, share in enumerate(ears.share_set, start=1) if share >= _HALF]
    if not filled:
        return say("At no place do half of the ears hold a kernel.", language)
    text = (
        "At least half of the {ears} ears hold a kernel from place {first} to {last} of {places}."
    )
    first, last = filled[0], filled[-1]
    said = say(text, language, ears=ears.complete_ears, first=first, last=last, places=places)
    beyond = places - last
    if beyond == 0:
        return said
    text = "Beyond it, mostly: {kind}."
    return f"{said} {say(text, language, kind=_tip_kind(ears, last, language))}"


def _tip_kind(ears: EarsResult, last: int, language: str) -> str:
    """Name what the last places mostly are."""
    unset, aborted = sum(ears.share_unset[last:]), sum(ears.share_aborted[last:])
    if aborted > unset:
        return say("shrunken, set first and lost later", language)
    return say("never set, or lost in the first days", language)


def ear_sentences(ears: EarsResult, language: str) -> Iterator[str]:
    """Say the pattern of what is missing, and how many cobs were bare."""
    if ears.pattern in _PATTERNS:
        yield say(_PATTERNS[ears.pattern], language)
    if ears.bare_cobs:
        text = "{count} of {ears} ears pulled were bare cobs; they are not in the picture."
        yield say(text, language, count=ears.bare_cobs, ears=ears.ears)


def place_worth(found: YieldResult, amounts: Amounts) -> Iterator[str]:
    """Say what one kernel place around the ear is worth, as an upper side."""
    if found.ring_worth_bu_ac is not None:
        text = "One kernel place lost all around every ear costs at most about {worth} {unit}."
        worth = amounts.yield_number(found.ring_worth_bu_ac)
        yield say(text, amounts.language, worth=worth, unit=amounts.yield_unit)


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
