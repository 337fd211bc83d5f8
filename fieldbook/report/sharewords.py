"""Shares of plants in words, and what it would take to tell a share from a line."""

from fieldbook.agronomy.stalks import AgainstLine
from fieldbook.agronomy.wilson import Share
from fieldbook.report.amounts import Amounts
from fieldbook.words import say

_TEN, _HUNDRED = 10, 100
_MOST_PLANTS = 500  # nobody tries that many more in one field (assumed)


def of_plants(share: Share, amounts: Amounts) -> str:
    """Say a share with its range, for example ``about 6 in 10 plants (5 to 7)``."""
    language = amounts.language
    if share.hits == 0:
        text = "none of {looked} plants (at most about {most} in 100)"
        if share.looked == 1:
            text = "no plant of one looked at (at most about {most} in 100)"
        return say(text, language, looked=share.looked, most=round(share.sure.high_pct))
    if share.hits == share.looked:
        text = "all {looked} plants (at least about {least} in 100)"
        if share.looked == 1:
            text = "the one plant looked at (at least about {least} in 100)"
        return say(text, language, looked=share.looked, least=round(share.sure.low_pct))
    base = _base(share)
    return say(
        "about {count} in {base} plants ({span})",
        language,
        count=_parts(share.pct, base),
        base=base,
        span=_span(share, base, amounts),
    )


def short_share(share: Share, amounts: Amounts) -> str:
    """Say a share in few letters, for example ``6 in 10 plants``."""
    base = _base(share)
    if share.hits == share.looked:
        return say("all plants looked at", amounts.language)
    text = "{count} in {base} plants"
    return say(text, amounts.language, count=_parts(share.pct, base), base=base)


def in_hundred(share: Share, amounts: Amounts) -> str:
    """Say where a share may lie, for example ``7 to 20 in 100``."""
    return say("{span} in 100", amounts.language, span=_span(share, _HUNDRED, amounts))


def chance_words(chance: float, language: str) -> str:
    """Say a chance from 0 to 1 as so many of 10; its ends as fewer or more than."""
    tenths = round(chance * _TEN)
    if tenths == 0:
        return say("fewer than 1 in 10", language)
    if tenths == _TEN:
        return say("more than 9 in 10", language)
    return say("about {tenths} in 10", language, tenths=tenths)


def more_words(line: AgainstLine, language: str) -> str:
    """Say how much more looking would tell a share from a line, or that none would."""
    more = line.more
    if more is None:
        return say("the share lies on the line, so more plants may not tell either", language)
    plants = f"{_up_to_ten(more.plants):,}"
    text = "about {plants} more plants"
    if more.places is not None:
        text = "about {places} more places ({plants} plants)"
    if more.places == 1:
        text = "one more place ({plants} plants)"
    looking = say(text, language, plants=plants, places=more.places)
    text = "{looking} would tell, if the share stays as it is"
    if more.plants > _MOST_PLANTS:
        text = "it would take {looking}, which nobody walks"
    return say(text, language, looking=looking)


def _up_to_ten(plants: int) -> int:
    return plants if plants < 2 * _TEN else -(-plants // _TEN) * _TEN


def _base(share: Share) -> int:
    """Return 10 where tenths say enough: neither end is lost, nor share and range one number."""
    low, at, high = (
        round(pct / _TEN) for pct in (share.sure.low_pct, share.pct, share.sure.high_pct)
    )
    return _TEN if 1 <= low < high and at < _TEN else _HUNDRED


def _parts(pct: float, base: int) -> int:
    """Round a share to parts; one that was seen is never nothing, one with gaps never all."""
    return min(max(round(pct * base / _HUNDRED), 1), base - 1)


def _span(share: Share, base: int, amounts: Amounts) -> str:
    ends = (share.sure.low_pct, share.sure.high_pct)
    low, high = (str(round(pct * base / _HUNDRED)) for pct in ends)
    return amounts.span(low, high)
