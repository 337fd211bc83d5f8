"""What to do next in a field, by when, and who decides: the short list that opens a report.

It is built from what the results hold and adds no figure of its own. It weighs and never orders:
a spray, a feed or a claim is decided by people, and the list names them.
"""

from collections.abc import Iterator
from datetime import date, timedelta

from fieldbook.agronomy.fungicide import BEFORE, LAST, OPEN, SprayWindow
from fieldbook.agronomy.leafrules import MET
from fieldbook.agronomy.wilson import CANNOT_TELL
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.failurewords import has_failed
from fieldbook.report.harvest_steps import harvest_step, ripe_looks
from fieldbook.report.step import (
    YOU_OR_SCOUT,
    Step,
    due_day,
    likely_day,
    reached_words,
    step_of,
)
from fieldbook.report.words import joined, small_number
from fieldbook.results.result import FieldResult
from fieldbook.words import say

LOOK_AHEAD = timedelta(60)
"""How far ahead the list looks; what comes later stands in the report. Our own choice."""

_TASSEL, _SILK = "VT", "R1"
_NO_RULE_MET = "Decide on a fungicide; the rule that we use does not ask for one so far"


def steps(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[Step, ...]:
    """Return what is to be done in the field, the most pressing first.

    A failure comes before all else. What was due and what has no day comes next, then what lies
    ahead in the order of its days, up to `LOOK_AHEAD`. Nothing but questions is left after harvest.
    """
    found = [*_questions(result, amounts)]
    if not result.is_harvested:
        found += [
            *_first_look(result, amounts),
            *_spray(result, amounts),
            *ripe_looks(result, amounts, figures),
            *harvest_step(result, amounts),
        ]
    near = [one for one in found if due_day(one, result) <= result.as_of + LOOK_AHEAD]
    return (
        *_failure(result, amounts, figures),
        *sorted(near, key=lambda one: due_day(one, result)),
    )


def nothing_due(language: str) -> str:
    """Say that the list is empty, and how far it looks."""
    text = "Nothing that we know of is due in the next {days} days."
    return say(text, language, days=LOOK_AHEAD.days)


# ---- today ---------------------------------------------------------------------------------


def _failure(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[Step]:
    if has_failed(result, figures) and not result.is_harvested:
        yield step_of(
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
        yield step_of(amounts.language, what, when, YOU_OR_SCOUT)


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
            yield Step(what=say(what, language), when=when, who=say(YOU_OR_SCOUT, language), by=by)
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
    if tassel is None or likely_day(tassel) is None:
        return
    when = say("around tassel, {when}", amounts.language, when=reached_words(tassel, amounts))
    what = say("Look at leaves for disease", amounts.language)
    who = say(YOU_OR_SCOUT, amounts.language)
    yield Step(what=what, when=when, who=who, by=likely_day(tassel))


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
