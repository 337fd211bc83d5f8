"""What is to be done in a field towards its harvest: looks at mould and stalks, then its turn.

It weighs and never orders, as `steps` does.
"""

from collections.abc import Iterator

from fieldbook.agronomy.stalks import WalkReading
from fieldbook.agronomy.wilson import ABOVE, BELOW
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.mouldlook import ripe_stage
from fieldbook.report.step import (
    YOU,
    YOU_OR_SCOUT,
    Step,
    about_day,
    day_words,
    likely_day,
    reached_words,
    step_of,
)
from fieldbook.results.due import mould_looked_on, mould_reason
from fieldbook.results.looks_result import RipeResult
from fieldbook.results.result import FieldResult
from fieldbook.words import number_words, say

_PLAN = "Plan the harvest, at {pct} % moisture"
_TURNS = {
    (False, False, True): _PLAN,
    (True, False, True): "Harvest this field among the first: stalks give way",
    (False, True, True): "Harvest this field early and have the grain tested: ears are mouldy",
    (True, True, True): "Harvest this field among the first and have the grain tested: stalks "
    "give way and ears are mouldy",
    (True, False, False): "Harvest this field among the first: stalks give way (too few were "
    "looked at to be sure)",
    (False, True, False): "Harvest this field early and have the grain tested: ears are mouldy "
    "(too few were looked at to be sure)",
    (True, True, False): "Harvest this field among the first and have the grain tested: stalks "
    "give way and ears are mouldy (too few were looked at to be sure)",
}
"""What to do at harvest, by whether stalks and mould are over their line, and that for sure."""


def ripe_looks(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    """Ask for a look at mould and one at stalks; ears are opened on one of them, never on both."""
    yield from _mould(result, amounts, figures)
    yield from _walk(result, amounts, figures)


def _mould(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    """Ask for the look that the mould watch asks for, until it was taken."""
    watch, language = result.outlook.gibberella, amounts.language
    if watch is None or mould_reason(result) is None or mould_looked_on(result):
        return
    yield Step(
        what=_on_walk("Husk {plants} ears and look for mould", figures, language),
        when=about_day(watch.follow_up, result, amounts),
        who=say(YOU_OR_SCOUT, language),
        by=watch.follow_up,
    )


def _walk(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    """Ask for stalks to be tried around black layer, where nobody did, and for the ears with them.

    Where the watch asks for ears, they have a day of their own.
    """
    if result.ripe and result.ripe.stalks:
        return
    ripe = ripe_stage(result)
    day = likely_day(ripe) if ripe else None
    if ripe is None or day is None:
        return
    text = "Try {plants} stalks and open ears for mould"
    if mould_reason(result) or mould_looked_on(result):
        text = "Try {plants} stalks"
    yield Step(
        what=_on_walk(text, figures, amounts.language),
        when=about_day(day, result, amounts) if ripe.passed else reached_words(ripe, amounts),
        who=say(YOU_OR_SCOUT, amounts.language),
        by=day,
    )


def _on_walk(text: str, figures: Figures, language: str) -> str:
    """Name the published size of a walk."""
    return say(text, language, plants=number_words(figures.number("walk.plants")))


def harvest_step(result: FieldResult, amounts: Amounts) -> Iterator[Step]:
    """Say when the grain may be cut; what fails or moulds goes first, at any moisture."""
    what, who = _turn(result.ripe)
    is_first = what != _PLAN
    dry = result.outlook.dry
    day = dry.date or dry.earliest if dry else None
    if dry is None or day is None:
        if is_first:
            yield step_of(amounts.language, what, "as soon as it can be cut", who)
        return
    waits = result.fungicide.pre_harvest
    is_held = waits is not None and waits.first_day > result.as_of
    when = _dry_words(result, amounts)
    if waits and is_held:
        text = "{when}; not before {day} by the label"
        when = say(text, amounts.language, when=when, day=amounts.short_day(waits.first_day))
    by = None if is_first else max(day, waits.first_day) if waits else day
    what = say(what, amounts.language, pct=number_words(dry.moisture_pct))
    yield Step(what=what, when=when, who=say(who, amounts.language), by=by)


def _turn(ripe: RipeResult | None) -> tuple[str, str]:
    """Say how the field stands in the order of harvest, and who decides on its grain."""
    falls = ripe is not None and _is_over(ripe.stalks)
    moulds = ripe is not None and _is_over(ripe.mouldy)
    over = [walk for walk in (ripe.stalks, ripe.mouldy) if _is_over(walk)] if ripe else []
    is_sure = all(walk is not None and walk.lines[0].side == ABOVE for walk in over)
    who = "You with your buyer and feed adviser" if moulds else YOU
    return _TURNS[falls, moulds, is_sure], who


def _is_over(walk: WalkReading | None) -> bool:
    """Say whether a share is over its line, or reads over it from too few to be sure."""
    if walk is None or walk.lines[0].side == BELOW:
        return False
    return walk.lines[0].side == ABOVE or walk.share.pct > walk.lines[0].line_pct


def _dry_words(result: FieldResult, amounts: Amounts) -> str:
    """Say when the grain is dry enough, as the forecast has it."""
    dry, language = result.outlook.dry, amounts.language
    if dry is None:
        return ""
    if dry.date is None:
        day = amounts.short_day(dry.earliest) if dry.earliest else ""
        return say("not before about {day}", language, day=day)
    if dry.date <= result.as_of:
        pct = number_words(dry.moisture_pct)
        return say("now, likely at {pct} % moisture", language, pct=pct)
    return day_words((dry.date, dry.earliest, dry.latest), amounts)
