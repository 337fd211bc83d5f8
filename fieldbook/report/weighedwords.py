"""The weighed yield beside the counted one, in a grower's words."""

from fieldbook.report.amounts import Amounts
from fieldbook.results.yield_result import Methods, WeighedYield
from fieldbook.words import say

_ALIKE_PCT = 2.0


def weighed_words(weighed: WeighedYield, methods: Methods | None, amounts: Amounts) -> str:
    """Say what the bags give, and why that differs from the count.

    Parameters
    ----------
    weighed
        The yield from weighed grain.
    methods
        The bags beside the count; None where nothing was counted.
    """
    parts = [_weighed(weighed, amounts)]
    if methods:
        parts += _difference(methods, amounts)
    return " ".join(parts)


def _weighed(weighed: WeighedYield, amounts: Amounts) -> str:
    used = weighed.stops_used
    words = "Grain weighed from {stops} stops gives {mean} {unit}"
    if used == 1:
        words = "Grain weighed from one stop gives {mean} {unit}"
    mean, unit = amounts.yield_number(weighed.mean_bu_ac), amounts.yield_words
    said = say(words, amounts.language, stops=used, mean=mean, unit=unit)
    if weighed.interval_95_bu_ac is None:
        few = say("too few stops to say how far off that may be", amounts.language)
        return f"{said}; {few}."
    ends = amounts.yield_range(weighed.interval_95_bu_ac)
    return f"{said} ({ends})."


def _difference(methods: Methods, amounts: Amounts) -> list[str]:
    language = amounts.language
    counted = amounts.yield_number(methods.counted_bu_ac)
    lighter_pct = 100 * (1 - methods.assumed_thousand / methods.fitting_thousand)
    if abs(lighter_pct) < _ALIKE_PCT:
        words = "The count gave {counted}: the kernels weigh what the count took them to weigh."
        return [say(words, language, counted=counted)]
    if methods.may_be_chance:
        words = (
            "The count gave {counted}; other ears were counted than weighed, so the difference may "
            "be chance."
        )
        return [say(words, language, counted=counted)]
    words = (
        "The count gave {counted}. A count takes kernels to weigh as usual for how they filled; "
        "these weigh about {pct} % {less}."
    )
    less = say("less" if lighter_pct > 0 else "more", language)
    return [say(words, language, counted=counted, pct=f"{abs(lighter_pct):.0f}", less=less)]
