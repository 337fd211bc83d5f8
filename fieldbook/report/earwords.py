"""What the ears say: the caption of their picture, bare cobs, and the words of the picture."""

from collections.abc import Iterator, Sequence

from fieldbook.report.amounts import Amounts, count_words
from fieldbook.results.yield_result import EarsResult, YieldResult
from fieldbook.words import say

_HALF = 0.5


def ear_caption(ears: EarsResult, language: str) -> str:
    """Say what the picture of the ear shows, in one or two sentences."""
    places = len(ears.share_set)
    filled = [at for at, share in enumerate(ears.share_set, start=1) if share >= _HALF]
    if not filled:
        return say("At no place do half of the ears hold a kernel.", language)
    last = filled[-1]
    said = say(
        _caption_text(ears, filled),
        language,
        ears=ears.complete_ears,
        count=len(filled),
        first=filled[0],
        last=last,
        places=places,
    )
    if last == places:
        return said
    text = "Beyond it, mostly: {kind}."
    return f"{said} {say(text, language, kind=_tip_kind(ears, last, language))}"


def _caption_text(ears: EarsResult, filled: Sequence[int]) -> str:
    """Return the sentence for the filled places; a gap between them is not told as filled."""
    is_whole = len(filled) == filled[-1] - filled[0] + 1
    if ears.complete_ears == 1:
        return (
            "The one ear holds a kernel from place {first} to {last} of {places}."
            if is_whole
            else "The one ear holds a kernel at {count} of the places {first} to {last}, of "
            "{places} in all."
        )
    return (
        "At least half of the {ears} ears hold a kernel from place {first} to {last} of {places}."
        if is_whole
        else "At least half of the {ears} ears hold a kernel at {count} of the places {first} to "
        "{last}, of {places} in all."
    )


def _tip_kind(ears: EarsResult, last: int, language: str) -> str:
    """Name what the last places mostly are."""
    unset, aborted = sum(ears.share_unset[last:]), sum(ears.share_aborted[last:])
    if aborted > unset:
        return say("shrunken, set first and lost later", language)
    return say("never set, or lost in the first days", language)


def left_out(ears: EarsResult, language: str) -> Iterator[str]:
    """Say how many ears the picture holds where it does not hold all that had kernels."""
    whole = ears.ears - ears.bare_cobs
    if 0 < ears.complete_ears < whole:
        text = "The picture holds {count} of {ears} ears: those looked at in every part."
        if ears.complete_ears == 1:
            text = "The picture holds one of {ears} ears: the only one looked at in every part."
        yield say(text, language, count=ears.complete_ears, ears=whole)


def bare_cobs(ears: EarsResult, language: str) -> Iterator[str]:
    """Say how many cobs were bare, and so are not in the picture."""
    if ears.bare_cobs:
        text = "{count} of {ears} ears pulled were bare cobs; they are not in the picture."
        if ears.bare_cobs == 1:
            text = "One of {ears} ears pulled was a bare cob; it is not in the picture."
        if ears.ears == 1:
            text = "The one ear pulled was a bare cob."
        yield say(text, language, count=ears.bare_cobs, ears=ears.ears)


def place_worth(found: YieldResult, amounts: Amounts) -> Iterator[str]:
    """Say what one kernel place around the ear is worth, as an upper side."""
    if found.ring_worth_bu_ac is not None:
        text = "One kernel place lost all around every ear costs at most about {worth} {unit}."
        worth = amounts.yield_number(found.ring_worth_bu_ac)
        yield say(text, amounts.language, worth=worth, unit=amounts.yield_unit)


def ear_about(ears: EarsResult, language: str) -> str:
    """Describe the picture of the ear for who can't see it."""
    loss = ears.loss
    rows = (
        ("Base", loss.base_rings),
        ("Between kernels", loss.inside_rings),
        ("Tip, never set, or lost in the first days", loss.tip_unset_rings),
        ("Tip, shrunken", loss.tip_aborted_rings),
    )
    not_looked = say("not looked at", language)
    parts = [
        say(
            "{name} {places}",
            language,
            name=say(name, language),
            places=not_looked if rings is None else count_words(rings, 1),
        )
        for name, rings in rows
    ]
    start = say("Average ear, butt left, tip right.", language)
    missing = say("Kernel places missing along a row: {list}.", language, list="; ".join(parts))
    return f"{start} {ear_caption(ears, language)} {missing}"
