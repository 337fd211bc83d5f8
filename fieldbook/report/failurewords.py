"""How pollination went in one sentence, and whom to call where it failed."""

from collections.abc import Iterator

from fieldbook.agronomy.ears import BASE, SCATTERED
from fieldbook.agronomy.gaps import ONE_SIDED, WHOLE_EAR
from fieldbook.agronomy.shake import LATE, MAIN
from fieldbook.figures import Figures
from fieldbook.forms.roster import USES
from fieldbook.report.amounts import Amounts
from fieldbook.report.words import of_ten
from fieldbook.results.looks_result import ShakenResult
from fieldbook.results.result import FieldResult
from fieldbook.words import say

_CALL_FIRST = (
    "Pollination or kernel set failed; call your crop-insurance agent before anything is chopped."
)
GOOD_PCT, _FAILED = "pollination.good_pct", "pollination.failed_pct"
# A bare tip has a sentence of its own.
_MISSING = {
    BASE: "At least a third of the ears lack kernels at the base.",
    SCATTERED: "At least a third of the ears have gaps among their kernels.",
    ONE_SIDED: "At least a third of the ears are filled on one side only.",
    WHOLE_EAR: "At least a third of the ears are bare cobs.",
}
_USES = {choice.key: choice.label for choice in USES}


def has_failed(result: FieldResult, figures: Figures) -> bool:
    """Say whether so little is set, or pollinated when that could be read, that it is a failure.

    Counted kernels go before shaken silks; those are believed only from their main reading on.
    """
    line = figures.number(_FAILED)
    if result.ears and result.ears.kernel_set_pct is not None:
        return result.ears.kernel_set_pct < line
    shaken = _told(result)
    return shaken is not None and shaken.ears.mean.mean < line


def pollination_headline(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say in one sentence how pollination went, or nothing where that is not known yet."""
    language = amounts.language
    if has_failed(result, figures):
        yield say(_CALL_FIRST, language)
    elif result.ears and result.ears.kernel_set_pct is not None:
        yield from _of_ears(result, result.ears.kernel_set_pct, amounts, figures)
    else:
        yield from _of_silks(result, amounts, figures)


def verdict_figures(result: FieldResult, figures: Figures) -> tuple[str, ...]:
    """Return the keys of the lines that the sentence on pollination was held against."""
    if result.ears is None and not (result.pollination and result.pollination.shaken):
        return ()
    if has_failed(result, figures):
        return (_FAILED,)
    return () if result.gaps and result.gaps.standing_out else (GOOD_PCT,)


def failure_lines(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say whom to call and what to test before a failed field is chopped; else nothing."""
    if result.is_harvested or not has_failed(result, figures):
        return ()
    language = amounts.language
    pct = f"{figures.number(_FAILED):.0f}"
    lines = [
        say("We speak of a failure under {pct} % (our own line).", language, pct=pct),
        say(
            "Call your crop-insurance agent before anything is chopped, grazed or destroyed.",
            language,
        ),
        say(
            "Drought-stressed silage: have nitrate tested before feeding, and stay away from silo "
            "gas in the weeks after filling.",
            language,
        ),
    ]
    if result.use in _USES:
        use = say(_USES[result.use], language).lower()
        lines.append(say("On the roster this corn is for {use}.", language, use=use))
    return tuple(lines)


def _of_ears(
    result: FieldResult, set_pct: float, amounts: Amounts, figures: Figures
) -> Iterator[str]:
    language = amounts.language
    standing = result.gaps.standing_out if result.gaps else ()
    missing = [place for place in standing if place in _MISSING]
    if missing:
        yield say(_MISSING[missing[0]], language)
    elif not standing and set_pct >= figures.number(GOOD_PCT):
        yield say("Pollination went well.", language)


def _of_silks(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Tell it from shaken ears; too early they read low, so only a good share counts then.

    Once ears were counted or the field is cut, it is not too early any more: nothing is said then.
    """
    shaken = result.pollination.shaken if result.pollination else None
    if shaken is None:
        return
    share = of_ten(shaken.ears.mean.mean, amounts.language)
    if shaken.ears.mean.mean >= figures.number(GOOD_PCT):
        text = "Pollination went well: {share} silks had let go on {day}."
    elif _told(result):
        text = "Pollination fell short: {share} silks had let go on {day}."
    elif result.ears or result.is_harvested:
        return
    else:
        text = "It is too early to judge pollination: {share} silks had let go on {day}."
    yield say(text, amounts.language, share=share, day=amounts.day(shaken.day))


def _told(result: FieldResult) -> ShakenResult | None:
    """Return the shaken ears where they were shaken late enough to go by."""
    shaken = result.pollination.shaken if result.pollination else None
    if shaken is None or shaken.time is None or shaken.time.kind not in (MAIN, LATE):
        return None
    return shaken
