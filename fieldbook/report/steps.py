"""What to do next in a field, by when, and who decides: the short list that opens a report.

It is built from what the results hold and adds no figure of its own. It weighs and never orders:
a spray, a feed or a claim is decided by people, and the list names them.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from fieldbook.agronomy.fungicide import BEFORE, LAST, OPEN, SprayWindow
from fieldbook.agronomy.leafrules import MET
from fieldbook.agronomy.stalks import WalkReading
from fieldbook.agronomy.wilson import ABOVE, BELOW, CANNOT_TELL
from fieldbook.figures import Figures
from fieldbook.forms.rounds import HARVEST
from fieldbook.report.aheadwords import looked_again
from fieldbook.report.amounts import Amounts
from fieldbook.report.failurewords import has_failed
from fieldbook.report.words import joined, small_number
from fieldbook.results.due import mould_reason
from fieldbook.results.looks_result import RipeResult
from fieldbook.results.result import FieldResult, StageResult
from fieldbook.words import number_words, say

LOOK_AHEAD = timedelta(60)
"""How far ahead the list looks; what comes later stands in the report. Our own choice."""

_TASSEL, _SILK, _RIPE = "VT", "R1", "R6"
_YOU = "You"
_YOU_OR_SCOUT = "You or your scout"
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

_NO_RULE_MET = "Decide on a fungicide; the rule that we use does not ask for one so far"


@dataclass(frozen=True, kw_only=True)
class Step:
    """One thing to do; ``by`` is the day that it is sorted by, None for as soon as can be."""

    what: str
    when: str
    who: str
    by: date | None = None


def steps(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[Step, ...]:
    """Return what is to be done in the field, the most pressing first.

    A failure comes before all else. What was due and what has no day comes next, then what lies
    ahead in the order of its days, up to `LOOK_AHEAD`. Nothing but questions is left after harvest.
    """
    found = [*_questions(result, amounts)]
    if not is_harvested(result):
        found += [
            *_first_look(result, amounts),
            *_spray(result, amounts),
            *_ripe_looks(result, amounts, figures),
            *_harvest(result, amounts),
        ]
    near = [one for one in found if _day(one, result) <= result.as_of + LOOK_AHEAD]
    return (*_failure(result, amounts, figures), *sorted(near, key=lambda one: _day(one, result)))


def is_harvested(result: FieldResult) -> bool:
    """Say whether a harvest of the field was taken in."""
    return any(visit.round == HARVEST.name for visit in result.visits)


def nothing_due(language: str) -> str:
    """Say that the list is empty, and how far it looks."""
    text = "Nothing that we know of is due in the next {days} days."
    return say(text, language, days=LOOK_AHEAD.days)


def _day(step: Step, result: FieldResult) -> date:
    return step.by or result.as_of


def _ask(language: str, what: str, when: str, who: str, by: date | None = None) -> Step:
    """Make a step whose words are still to be put into the reader's language."""
    return Step(what=say(what, language), when=say(when, language), who=say(who, language), by=by)


# ---- today ---------------------------------------------------------------------------------


def _failure(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    if has_failed(result, figures) and not is_harvested(result):
        yield _ask(
            amounts.language,
            "Call your crop-insurance agent",
            "before anything is chopped",
            "You, after your agent",
        )


def _questions(result: FieldResult, amounts: Amounts) -> Iterator[Step]:
    count, language = len(result.questions), amounts.language
    if not count:
        return
    text = "Answer the open question"
    if count > 1:
        text = "Answer the {count} open questions"
    yield Step(
        what=say(text, language, count=small_number(count, language)),
        when=say("before you rely on the numbers", language),
        who=_asked(result, language),
    )


def _asked(result: FieldResult, language: str) -> str:
    """Name the scouts who are asked, or just the scout where the visit is not known."""
    visits = {found.place.visit_id for found in result.questions}
    names = dict.fromkeys(one.scout for one in result.visits if one.visit_id in visits)
    keeper = [say("Whoever keeps the roster", language)] if result.has_left_out else []
    return joined([*names, *keeper], language) or say("The scout who counted", language)


def _first_look(result: FieldResult, amounts: Amounts) -> Iterator[Step]:
    if not result.visits and not result.has_left_out:
        what, when = "Look at this field for the first time", "as soon as you can"
        yield _ask(amounts.language, what, when, _YOU_OR_SCOUT)


# ---- the fungicide question ----------------------------------------------------------------


def _spray(result: FieldResult, amounts: Amounts) -> Iterator[Step]:
    """Ask for a look at the leaves before the window, and for a decision while it is open.

    A spray on record whose interval is running is decided already.
    """
    window, language = result.fungicide.window, amounts.language
    if window is None or result.fungicide.pre_harvest:
        return
    if window.state == window.at_most == BEFORE:
        yield from _before_tassel(result, amounts)
    elif window.state in (BEFORE, OPEN, LAST):
        when, by = _until_milk(window, result, amounts)
        if result.leaves is None:
            what = "Look at leaves for disease before a fungicide is decided"
            yield Step(what=say(what, language), when=when, who=say(_YOU_OR_SCOUT, language), by=by)
            return
        who = "You with a licensed applicator or adviser, by the label"
        what = say(_spray_question(result), language)
        yield Step(what=what, when=when, who=say(who, language), by=by)


def _spray_question(result: FieldResult) -> str:
    judged = result.leaves.judged if result.leaves else ()
    verdicts = {one.verdict for one in judged}
    if MET in verdicts:
        return "Decide on a fungicide; by the rule that we use it is worth weighing"
    if CANNOT_TELL in verdicts:
        return "Decide on a fungicide; what was seen does not settle it"
    return _NO_RULE_MET


def _before_tassel(result: FieldResult, amounts: Amounts) -> Iterator[Step]:
    if result.leaves is not None:
        return
    known = {one.stage: one for one in result.stages if not one.passed}
    tassel = known.get(_TASSEL) or known.get(_SILK)
    if tassel is None or _first(tassel) is None:
        return
    when = say("around tassel, {when}", amounts.language, when=_stage_words(tassel, amounts))
    what = say("Look at leaves for disease", amounts.language)
    who = say(_YOU_OR_SCOUT, amounts.language)
    yield Step(what=what, when=when, who=who, by=_first(tassel))


def _until_milk(
    window: SprayWindow, result: FieldResult, amounts: Amounts
) -> tuple[str, date | None]:
    """Say until when the window may be open, and its first possible end."""
    language = amounts.language
    if window.state == LAST:
        return say("now: at milk (R3) the window ends", language), None
    if window.days_to_r3 is None:
        return say("before milk (R3), which has no date yet", language), None
    first, last = (result.as_of + timedelta(days) for days in window.days_to_r3)
    if first <= result.as_of:
        text = "now; milk (R3), its end, is reached by {day}"
        return say(text, language, day=amounts.short_day(last)), None
    text = "before milk (R3): {days}"
    return say(text, language, days=amounts.days(first, last, month="MMM")), first


# ---- towards harvest -----------------------------------------------------------------------


def _ripe_looks(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    """Ask for a look at mould and one at stalks; once both are late, ears are opened on one."""
    looks = [*_mould(result, amounts, figures)]
    yield from looks
    husks = any(_day(one, result) < result.as_of for one in looks)
    yield from _walk(result, amounts, figures, husks=husks)


def _mould(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    """Ask for the look that the mould watch asks for, until it was taken."""
    watch, language = result.outlook.gibberella, amounts.language
    if watch is None or mould_reason(result) is None or looked_again(watch, result):
        return
    yield Step(
        what=_on_walk("Husk {plants} ears and look for mould", figures, language),
        when=_about(watch.follow_up, result, amounts),
        who=say(_YOU_OR_SCOUT, language),
        by=watch.follow_up,
    )


def _walk(
    result: FieldResult, amounts: Amounts, figures: Figures, *, husks: bool
) -> Iterator[Step]:
    """Ask for stalks to be tried around black layer, where nobody did; `husks` now anyway."""
    if result.ripe and result.ripe.stalks:
        return
    ripe = next((one for one in result.stages if one.stage == _RIPE), None)
    day = _first(ripe) if ripe else None
    if ripe is None or day is None:
        return
    text = "Try {plants} stalks and open ears for mould"
    if husks and day < result.as_of:
        text = "Try {plants} stalks"
    yield Step(
        what=_on_walk(text, figures, amounts.language),
        when=_about(day, result, amounts) if ripe.passed else _stage_words(ripe, amounts),
        who=say(_YOU_OR_SCOUT, amounts.language),
        by=day,
    )


def _on_walk(text: str, figures: Figures, language: str) -> str:
    """Name the published size of a walk."""
    return say(text, language, plants=number_words(figures.number("walk.plants")))


def _harvest(result: FieldResult, amounts: Amounts) -> Iterator[Step]:
    """Say when the grain may be cut; what fails or moulds goes first, at any moisture."""
    what, who = _turn(result.ripe)
    is_first = what != _PLAN
    dry = result.outlook.dry
    day = dry.date or dry.earliest if dry else None
    if dry is None or day is None:
        if is_first:
            yield _ask(amounts.language, what, "as soon as it can be cut", who)
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
    who = "You with your buyer and feed adviser" if moulds else _YOU
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
    return _spread((dry.date, dry.earliest, dry.latest), amounts)


def _first(stage: StageResult) -> date | None:
    return stage.date or stage.earliest


def _stage_words(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's likely day and its spread, or only that."""
    if stage.date:
        return _spread((stage.date, stage.earliest, stage.latest), amounts)
    if stage.earliest and stage.latest:
        return amounts.days(stage.earliest, stage.latest, month="MMM")
    return ""


def _spread(days: tuple[date, date | None, date | None], amounts: Amounts) -> str:
    """Say a likely day and its spread, in few letters."""
    likely, first, last = days
    when = say("about {day}", amounts.language, day=amounts.short_day(likely))
    if first and last and first != last:
        return f"{when} ({amounts.days(first, last, month='MMM')})"
    return when


def _about(day: date, result: FieldResult, amounts: Amounts) -> str:
    text = "now; the best day was about {day}" if day < result.as_of else "about {day}"
    return say(text, amounts.language, day=amounts.short_day(day))
