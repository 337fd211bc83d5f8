"""The letter: what changed in a field since the visit before, by a plain rule, and nothing else."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from fieldbook.agronomy.ears import BASE, TIP_ABORTED
from fieldbook.agronomy.leaves import LeafCount
from fieldbook.figures import shipped_figures
from fieldbook.problems import Place, problem
from fieldbook.report.amounts import Amounts
from fieldbook.report.letter_page import letter_html, letter_views
from fieldbook.report.letterwords import Compared, do_ranges_meet, news, visited
from fieldbook.results.looks_result import LeavesResult
from fieldbook.results.result import FieldResult, VisitResult
from fieldbook.units import System
from report import factory

BEFORE, LAST = date(2026, 7, 24), date(2026, 8, 11)
AMOUNTS = Amounts(units=System.US)


def visit(day: date, stage: str, scout: str = "Ana") -> VisitResult:
    return VisitResult(
        visit_id=f"K07.{day:%m%d}",
        round="kernel-count",
        date=day,
        scout=scout,
        stage=stage,
        grain_fill=None,
        remark=None,
        stops=5,
        ears=15,
    )


def compared(*, then: dict[str, Any] | None = None, **now: Any) -> Compared:
    """Hold a field at R4 against the same at R2, with whatever differs."""
    bare: dict[str, Any] = {"gaps": None, "pollination": None, "outlook": factory.NO_OUTLOOK}
    visits = (visit(BEFORE, "R2", "Joss"), visit(LAST, "R4"))
    earlier = {"as_of": BEFORE, "visits": visits[:1], **bare, **(then or {})}
    first = factory.full(**earlier)
    return Compared(
        now=factory.full(visits=visits if then is not None else visits[1:], **{**bare, **now}),
        then=first if then is not None else None,
        day=LAST,
    )


def told(one: Compared) -> str:
    return " ".join(news(one, AMOUNTS, shipped_figures()))


def yielding(low: float, high: float) -> Any:
    likely = (low + high) / 2
    return replace(factory.YIELD, likely_bu_ac=likely, range_bu_ac=(low, high))


def test_who_saw_it_when_and_when_before():
    """Both days and the scout of the last; of a first visit only that one."""
    assert visited(compared(then={}), AMOUNTS) == (
        "Seen Tue 11 August by Ana; before that Fri 24 July."
    )
    assert visited(compared(), AMOUNTS) == "First seen Tue 11 August by Ana."


def test_stage_then_and_now():
    """From one to the other; still the same; or at, when seen the first time."""
    assert "The field went from R2 blister to R4 dough." in told(compared(then={}))
    still = {"visits": (visit(BEFORE, "R4"),)}
    assert "The field is still at R4 dough." in told(compared(then=still))
    assert "The field is at R4 dough." in told(compared())


@pytest.mark.parametrize(
    ("now", "then", "words"),
    [
        ((150, 200), None, "First yield estimate: 150 to 200 bu/ac, likely 175."),
        ((150, 200), (150, 200), "Yield: no new count, so it stays at 150 to 200 bu/ac"),
        ((150, 200), (200, 230), "Yield: 150 to 200 bu/ac now, 200 to 230 before: no clear change"),
        ((150, 200), (120, 145), "Yield has risen: 150 to 200 bu/ac now, 120 to 145 before."),
        ((150, 200), (205, 230), "Yield has fallen: 150 to 200 bu/ac now, 205 to 230 before."),
    ],
)
def test_a_yield_has_changed_only_where_the_ranges_do_not_meet(
    now: tuple[float, float], then: tuple[float, float] | None, words: str
):
    """The rule that the letter prints, at its edges."""
    before = {"yield_": yielding(*then) if then else None}
    assert words in told(compared(then=before, yield_=yielding(*now)))
    if then:
        assert do_ranges_meet(now, then) == do_ranges_meet(then, now)


def test_a_count_without_its_day_is_neither_before_nor_after():
    """It is in the estimate, but no change and no stage is told by it."""
    count = replace(visit(BEFORE, "R5"), date=None, round="kernel-count")
    look = replace(visit(date(2026, 8, 11), "R4"), round="pollination")
    one = compared(then={"visits": (count,), "yield_": yielding(150, 200)})
    now = replace(one.now, visits=(count, look), yield_=yielding(150, 200))
    said = told(replace(one, now=now))
    assert "Yield: 150 to 200 bu/ac, likely 175; the day of a count is still asked for." in said
    assert "The field is at R4 dough." in said


def test_only_gaps_that_did_not_stand_out_before_are_news():
    """What was told once is not told again."""
    gaps = factory.base_gap().gaps
    assert gaps is not None
    both, old = (replace(gaps, standing_out=some) for some in ((BASE, TIP_ABORTED), (BASE,)))
    said = told(compared(then={"gaps": old}, gaps=both))
    assert "with shrunken kernels in it" in said
    assert "lack kernels at the base (the butt end)" not in said


def test_how_pollination_went_is_told_once():
    """A sentence that stood already at the visit before is no news."""
    fresh = told(compared(then={"ears": None, "yield_": None}))
    assert "Pollination" in fresh
    assert "Pollination" not in told(compared(then={}))


def sick(*counts: tuple[date, int]) -> LeavesResult:
    """Make looks of 40 plants at two stops, with so many at each of them diseased."""
    looks = [factory.leaf("gray-leaf-spot", [(hits, 0)] * 2, day) for day, hits in counts]
    return factory.leaves(*looks)


def test_leaf_disease_beside_the_look_before():
    """How many plants now and before, and whether it rose; an older look alone is no news."""
    said = told(compared(then={}, leaves=sick((BEFORE, 2), (LAST, 16))))
    assert "Gray leaf spot: on about" in said
    assert ", before that on about" in said
    assert "It has risen." in said
    assert "cannot be told" in told(compared(then={}, leaves=sick((BEFORE, 8), (LAST, 9))))
    assert "Leaf disease: none seen." in told(compared(then={}, leaves=sick((LAST, 0))))
    assert "leaf" not in told(compared(then={}, leaves=sick((BEFORE, 5)))).lower()


def test_a_first_look_at_leaves_compares_with_nothing():
    """Neither a look before nor a turn is made up."""
    said = told(compared(then={}, leaves=sick((LAST, 16))))
    assert "Gray leaf spot: on about" in said
    assert "before that" not in said
    assert "risen" not in said


def test_a_disease_without_a_count_of_plants_says_so():
    """A share of leaf is no share of plants."""
    rows = [LeafCount(visit_date=LAST, stop=1, disease="gray-leaf-spot", severity_pct=3.0)]
    said = told(compared(then={}, leaves=factory.leaves(rows)))
    assert "Gray leaf spot: seen, plants not counted." in said


def test_stalks_mould_and_moisture_of_this_visit():
    """Shares against their line, from the visit that the letter speaks of and no older one."""
    ripe = replace(factory.ripening(failed=(8, 7, 9, 8, 8), moisture_pct=26.0), day=LAST)
    said = told(compared(then={}, ripe=ripe))
    assert "Stalks: 40 of 100 gave way, over the line of 10 in 100." in said
    assert "Ears: 2 of 100 had mould" in said
    assert "Grain was at 26.0 % moisture." in said
    assert "Stalks" not in told(compared(then={}, ripe=replace(ripe, day=BEFORE)))


def test_a_mould_watch_is_told_when_it_comes_up():
    """Raised since the visit before; not when it stood already then."""
    watch = factory.full().outlook
    assert watch.gibberella is not None
    words = {"raised": "raises the watch for Gibberella", "some": "suited Gibberella ear mould"}
    expected = words[watch.gibberella.level]
    assert expected in told(compared(then={}, outlook=watch))
    assert expected not in told(compared(then={"outlook": watch}, outlook=watch))


def test_a_watch_does_not_read_as_if_mould_was_seen():
    """What came after silking suited the fungus; nobody has seen any."""
    watch = factory.OUTLOOK.gibberella
    assert watch is not None
    some = replace(factory.OUTLOOK, gibberella=replace(watch, level="some"))
    for language, words in (
        ("en", "Conditions since silking suited Gibberella ear mould somewhat."),
        ("es", "favorecieron algo al moho de mazorca por Gibberella."),
    ):
        reader = Amounts(units=System.US, language=language)
        said = news(compared(then={}, outlook=some), reader, shipped_figures())
        assert said[-1].endswith(words)


def letter(*some: Compared, others: tuple[FieldResult, ...] = ()) -> Any:
    return next(letter_views(some, others, factory.context()))


def test_a_letter_says_its_rule_and_what_comes_next():
    """The fields seen last first, the next steps with their days, the rule in plain words."""
    old = compared(then={})
    new = Compared(
        now=factory.full(field_id="K08", field="New", visits=(visit(date(2026, 8, 16), "R4"),)),
        then=None,
        day=date(2026, 8, 16),
    )
    found = letter(old, new, others=(replace(factory.no_visit(), field="Far"),))
    assert [one.field for one in found.fields] == ["New", "Windmill seventy"]
    assert found.lead == (
        "This is what changed in one field between the last visit and the one before. "
        "Fields that were seen once only have what was seen."
    )
    assert found.cautions[0].startswith("We say that yield has changed only where the two ranges")
    assert found.rest == ("Not looked at yet: Far.",)
    html = letter_html(found, factory.context())
    assert "Husk 100 ears and look for mould, about Tue 25 Aug." in html
    assert "not a promise" in html
    assert "N95" in html


def test_a_letter_says_who_is_asked():
    """A question goes to the scout who counted, not to the grower who reads of it."""
    one = compared(questions=(problem("rows-odd", Place(visit_id="K07.0811"), typed="15"),))
    (field,) = letter(one).fields
    assert "Answer the open question (Ana), before you rely on the numbers." in field.steps
    assert not any("(You" in step for step in field.steps)


def test_after_one_visit_the_letter_says_what_was_seen():
    """Nothing is called a change, and the rule of changes is not printed."""
    found = letter(compared())
    assert found.lead == "This is what was seen at the first visit to each field."
    assert not any("changed" in line for line in found.cautions)


def test_names_stay_text():
    """A field called like a tag is text in a letter."""
    one = compared(then={})
    html = letter_html(
        letter(replace(one, now=replace(one.now, field="<i>x</i>"))), factory.context()
    )
    assert "<i>x" not in html
