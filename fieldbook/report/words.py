"""Names and joining words that all sentences of a report share; all text passes through `say`."""

from collections.abc import Sequence

from fieldbook.forms.rounds import ROUNDS
from fieldbook.forms.stages import STAGES
from fieldbook.report.amounts import Amounts
from fieldbook.results.result import VisitResult
from fieldbook.words import say

LEAST_STOPS = 3

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
    """Say a share in percent as so many of 10; what is nearer to none is never called one."""
    if pct >= 99.5:  # noqa: PLR2004  (prints as 100 %)
        return say("all", language)
    if pct >= 95:  # noqa: PLR2004  (nearer to ten of ten, which would be a lie)
        return say("more than 9 of 10", language)
    if pct < 5:  # noqa: PLR2004  (nearer to none of ten)
        return say("less than 1 of 10", language)
    return say("about {tenths} of 10", language, tenths=round(pct / 10))


def years_held(pct: float, language: str) -> str:
    """Say how many of the past years a range holds."""
    if pct >= 100:  # noqa: PLR2004  (a range of all years)
        return say("all of them", language)
    return say("{tenths} in 10 of them", language, tenths=round(pct / 10))


def visit_words(visit: VisitResult, amounts: Amounts) -> str:
    """Say who looked, when and at what."""
    day = amounts.short_day(visit.date) if visit.date else say("day unknown", amounts.language)
    return f"{day}, {visit.scout}"


_LONGEST_REMARK = 160


def short(remark: str | None) -> str:
    """Return a remark as printed: whole up to a few lines, else cut at a word with a mark."""
    import textwrap

    return textwrap.shorten(remark or "", _LONGEST_REMARK, placeholder=" [...]")
