"""What to do, by when and who decides: each line from its ground, and nothing without one."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest

from fieldbook.agronomy.fungicide import PreHarvest
from fieldbook.figures import shipped_figures
from fieldbook.forms.rounds import HARVEST
from fieldbook.problems import Place, problem
from fieldbook.report.amounts import Amounts
from fieldbook.report.step import Step
from fieldbook.report.steps import LOOK_AHEAD, steps
from fieldbook.results.looks_result import LeavesResult
from fieldbook.results.result import FieldResult
from fieldbook.units import System
from report import factory

TODAY = factory.TODAY


def listed(result: FieldResult) -> list[tuple[str, str, str]]:
    found = steps(result, Amounts(units=System.US), shipped_figures())
    return [(one.what, one.when, one.who) for one in found]


def one_of(result: FieldResult, words: str) -> tuple[str, str, str] | None:
    """Return the line that speaks of something, or None."""
    return next((line for line in listed(result) if words in line[0]), None)


def test_a_field_in_august_lists_what_is_ahead_in_the_order_of_days():
    """Question, mould look, stalks, harvest: each with its day and with who decides."""
    assert listed(factory.full()) == [
        ("Answer the open question", "before you rely on the numbers", "The scout who counted"),
        ("Husk 100 ears and look for mould", "about Tue 25 Aug", "You or your scout"),
        ("Try 100 stalks", "about Sat 12 Sep (5 to 24 Sep)", "You or your scout"),
        ("Plan the harvest, at 20 % moisture", "about Fri 9 Oct (28 Sep to 20 Oct)", "You"),
    ]


@pytest.mark.parametrize("make", list(factory.ALL.values()), ids=list(factory.ALL))
def test_the_list_stays_short_and_in_order(make: Callable[[], FieldResult]):
    """At most six lines, with no part empty, sorted by their day behind a failure."""
    result = make()
    found = steps(result, Amounts(units=System.US), shipped_figures())
    assert 1 <= len(found) <= 6
    assert all(one.what and one.when and one.who for one in found)
    days = [one.by or result.as_of for one in found if "insurance" not in one.what]
    assert all(one <= two for one, two in pairwise(days))
    assert all(day <= result.as_of + LOOK_AHEAD for day in days)


def test_a_failure_comes_first():
    """The agent is called before anything else, and not once the field is cut."""
    what, when, who = listed(factory.failed())[0]
    assert (what, when) == ("Call your crop-insurance agent", "before anything is chopped")
    assert who == "You, after your agent"
    assert one_of(harvested(factory.failed()), "insurance") is None


def harvested(result: FieldResult) -> FieldResult:
    cut = replace(factory.VISITS[-1], round=HARVEST.name, date=TODAY)
    return replace(result, visits=(*result.visits, cut))


def test_after_harvest_only_questions_are_left():
    """Nothing is walked, sprayed or cut any more."""
    assert [what for what, _, _ in listed(harvested(factory.full()))] == [
        "Answer the open question"
    ]
    assert listed(harvested(factory.full(questions=()))) == []


def test_questions_are_counted_and_go_to_the_scouts_of_their_visits():
    """The scout who counted answers; nobody else is named."""
    asked = problem("rows-odd", Place(visit_id="K07.KC1"), typed=15, below=14, above=16)
    line = one_of(factory.full(questions=(asked, asked)), "Answer")
    assert line == (
        "Answer the two open questions",
        "before you rely on the numbers",
        "Mirela Austvik",
    )


def test_a_field_that_nobody_saw_is_to_be_seen():
    """The first look has no day, so it comes first."""
    assert listed(factory.no_visit())[0] == (
        "Look at this field for the first time",
        "as soon as you can",
        "You or your scout",
    )


# ---- the fungicide question ----------------------------------------------------------------

SICK = factory.leaf("gray-leaf-spot", [(15, 15)] * 5)
CLEAN = factory.leaf("gray-leaf-spot", [(0, 0)] * 5)


def spraying(leaves: LeavesResult | None, **more: object) -> FieldResult:
    return factory.full(leaves=leaves, fungicide=factory.asked(**more))  # type: ignore[arg-type]


def test_an_open_window_is_decided_before_its_first_likely_end():
    """The days to milk are said as dates, and a licensed person stands beside the grower."""
    met = factory.leaves(SICK, ratings={"gray-leaf-spot": "susceptible"})
    assert one_of(spraying(met), "fungicide") == (
        "Decide on a fungicide; by the rule that we use it is worth weighing",
        "before milk (R3): 25 to 29 Aug",
        "You with a licensed applicator or adviser, by the label",
    )


def test_a_field_under_the_line_is_not_sent_to_the_sprayer():
    """Where the rule asks for nothing, the line says so."""
    line = one_of(spraying(factory.leaves(CLEAN)), "fungicide")
    assert line is not None
    assert line[0] == "Decide on a fungicide; the rule that we use does not ask for one so far"


def test_leaves_that_settle_nothing_are_said_to_settle_nothing():
    """A share too near to the line is neither worth a spray nor free of one."""
    near = factory.leaf("gray-leaf-spot", [(10, 10)] * 5)
    line = one_of(
        spraying(factory.leaves(near, ratings={"gray-leaf-spot": "susceptible"})), "fungicide"
    )
    assert line is not None
    assert line[0] == "Decide on a fungicide; what was seen does not settle it"


def test_unseen_leaves_are_looked_at_before_anything_is_decided():
    """Without a look there is no decision to take."""
    line = one_of(spraying(None), "fungicide")
    assert line is not None
    assert line[0] == "Look at leaves for disease before a fungicide is decided"
    assert line[2] == "You or your scout"


@pytest.mark.parametrize(
    ("seen", "r3", "when"),
    [
        ("R1", (0, 4), "now; milk (R3), its end, is reached by Fri 21 Aug"),
        ("R1", (0, 0), "now: at milk (R3) the window ends"),
        ("R1", None, "before milk (R3), which has no date yet"),
        ("R3", None, "now: at milk (R3) the window ends"),
    ],
)
def test_the_end_of_the_window_is_told_as_far_as_known(
    seen: str, r3: tuple[int, int] | None, when: str
):
    """An end that may be past, or has no date, is said to be so."""
    line = one_of(spraying(factory.leaves(SICK), seen=seen, r3=r3), "fungicide")
    assert line is not None
    assert line[1] == when


@pytest.mark.parametrize("seen", ["R4", "R5"])
def test_a_closed_window_asks_for_nothing(seen: str):
    """Too late is no decision."""
    assert one_of(spraying(factory.leaves(SICK), seen=seen, r3=None), "fungicide") is None


def test_before_tassel_leaves_are_to_be_looked_at_around_it():
    """The look has its date from the forecast of silking."""
    silk = factory.stage("R1", TODAY + timedelta(9), None)
    young = factory.full(
        stages=(silk,), fungicide=factory.asked(seen="V", r3=(20, 24)), outlook=factory.NO_OUTLOOK
    )
    assert one_of(young, "leaves") == (
        "Look at leaves for disease",
        "around tassel, about Wed 26 Aug",
        "You or your scout",
    )


def test_leaves_seen_before_tassel_are_not_asked_for_again():
    """Nor is a look asked for whose day nobody knows."""
    silk = factory.stage("R1", TODAY + timedelta(9), None)
    young = factory.full(
        stages=(silk,), fungicide=factory.asked(seen="V", r3=(20, 24)), outlook=factory.NO_OUTLOOK
    )
    assert one_of(replace(young, leaves=factory.leaves(SICK)), "leaves") is None
    assert one_of(replace(young, stages=()), "leaves") is None


# ---- towards harvest -----------------------------------------------------------------------


def test_the_mould_look_is_due_until_it_is_taken():
    """Late it is told since when; ears opened after its day end it, before that they do not."""
    late = factory.full(as_of=date(2026, 9, 1))
    line = one_of(late, "Husk")
    assert line is not None
    assert line[1] == "now; the best day was about Tue 25 Aug"
    for day, is_asked in ((date(2026, 8, 24), True), (date(2026, 8, 25), False)):
        looked = replace(factory.ripening(), day=day)
        assert (one_of(replace(late, ripe=looked), "Husk") is not None) == is_asked
    only_stalks = replace(factory.ripening(mouldy=None), day=date(2026, 8, 25))
    assert one_of(replace(late, ripe=only_stalks), "Husk") is not None


def test_of_two_looks_one_opens_ears():
    """Ears are not asked for twice with two days: the watch's, else those of the stalks."""
    ripe = factory.stage("R6", date(2026, 9, 12), None, passed=True)
    late = factory.full(as_of=date(2026, 9, 20), stages=(ripe,))
    assert one_of(late, "Try") == (
        "Try 100 stalks",
        "now; the best day was about Sat 12 Sep",
        "You or your scout",
    )
    assert one_of(factory.full(), "Try 100 stalks and open ears") is None
    quiet = factory.full(outlook=factory.NO_OUTLOOK)
    assert one_of(quiet, "Husk") is None
    assert one_of(quiet, "Try 100 stalks and open ears") is not None


def test_stalks_that_were_tried_are_not_asked_for_again():
    """A walk is done once."""
    assert one_of(factory.full(ripe=factory.ripening()), "stalks and open ears") is None


@pytest.mark.parametrize(
    ("failed", "mouldy", "what", "who"),
    [
        ((12,) * 5, (0,) * 5, "Harvest this field among the first: stalks give way", "You"),
        (
            (0,) * 5,
            (12,) * 5,
            "Harvest this field early and have the grain tested: ears are mouldy",
            "You with your buyer and feed adviser",
        ),
        (
            (12,) * 5,
            (12,) * 5,
            "Harvest this field among the first and have the grain tested: stalks give way and "
            "ears are mouldy",
            "You with your buyer and feed adviser",
        ),
        ((0,) * 5, (0,) * 5, "Plan the harvest, at 20 % moisture", "You"),
    ],
)
def test_failing_stalks_and_mould_turn_the_harvest(
    failed: tuple[int, ...], mouldy: tuple[int, ...], what: str, who: str
):
    """Over the published lines the field goes first, and mouldy grain has its advisers."""
    ripe = factory.ripening(failed=failed, mouldy=mouldy)
    line = one_of(factory.full(ripe=ripe), "arvest")
    assert line is not None
    assert (line[0], line[2]) == (what, who)


def test_a_share_from_too_few_says_so():
    """Over the line by what was read, but not for sure: the line does not claim more."""
    ripe = factory.ripening(failed=(3, 1, 4, 2, 2), mouldy=(0,) * 5)
    line = one_of(factory.full(ripe=ripe), "Harvest")
    assert line is not None
    assert line[0].endswith("stalks give way (too few were looked at to be sure)")


def test_falling_stalks_wait_for_no_forecast():
    """Without a dry-down date such a field is still told."""
    falling = factory.full(
        ripe=factory.ripening(failed=(12,) * 5), outlook=replace(factory.OUTLOOK, dry=None)
    )
    line = one_of(falling, "Harvest")
    assert line is not None
    assert line[1] == "as soon as it can be cut"


def test_the_interval_of_a_label_holds_the_harvest():
    """A harvest never stands before the day that the label allows."""
    held = PreHarvest(verdict="fits-not", first_day=date(2026, 10, 12), spare_days=(-14, 8))
    result = factory.full(fungicide=replace(factory.NO_FUNGICIDE, pre_harvest=held))
    line = one_of(result, "harvest")
    assert line is not None
    assert line[1] == "about Fri 9 Oct (28 Sep to 20 Oct); not before Mon 12 Oct by the label"
    found = steps(result, Amounts(units=System.US), shipped_figures())
    assert found[-1].by == date(2026, 10, 12)


def test_what_lies_far_ahead_is_not_listed():
    """Two months ahead is as far as the list looks."""
    early = factory.full(as_of=date(2026, 7, 10))
    assert all(one.by is None or one.by <= early.as_of + LOOK_AHEAD for one in found_of(early))
    assert one_of(early, "Plan") is None


def found_of(result: FieldResult) -> tuple[Step, ...]:
    return steps(result, Amounts(units=System.US), shipped_figures())
