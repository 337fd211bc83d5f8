"""Stalks and ear mould before harvest: shares against lines, honest where a sample is too small."""

import re
from dataclasses import replace
from datetime import date

import pytest

from fieldbook.agronomy.stalks import mould_reading, stalk_reading
from fieldbook.agronomy.wilson import Count
from fieldbook.figures import shipped_figures
from fieldbook.forms.moulds import MOULDS, NO_MOULD
from fieldbook.report.amounts import Amounts
from fieldbook.report.ripewords import RIPE_FIGURES, mould_sentences, stalk_sentences
from fieldbook.results.looks_result import RipeResult
from fieldbook.units import System
from report import factory
from report.test_page import STATISTICIANS_WORDS

US = Amounts(units=System.US)
SAFE = r"\bsafe\b"


def stalks(found: RipeResult | None, **more: object) -> str:
    return " ".join(stalk_sentences(factory.full(ripe=found, **more), US))


def moulds(found: RipeResult | None, **more: object) -> str:
    result = factory.full(ripe=found, **more)
    return " ".join(mould_sentences(result, US, shipped_figures()))


def test_not_looked_at_is_one_line_with_its_day():
    """The day is that of black layer, or of ears that which the watch for mould asks for."""
    assert stalks(None) == "Stalks: not looked at yet; due about Sat 12 September."
    quiet = {"outlook": factory.NO_OUTLOOK}
    assert moulds(None, **quiet) == "Ear mould: not looked at yet; due about Sat 12 September."
    assert moulds(None) == "Ear mould: not looked at yet; due about Tue 25 August."
    late = moulds(None, as_of=date(2026, 9, 1))
    assert late == "Ear mould: not looked at yet; due since about Tue 25 August."
    assert stalks(factory.ripening(failed=None)).startswith("Stalks: not looked at yet")


def test_a_day_that_is_past_or_a_range_is_said_as_such():
    """Overdue, only a range, or nothing known."""
    past = factory.stage("R6", date(2026, 8, 14), None)
    span = factory.stage("R6", None, (date(2026, 9, 5), date(2026, 9, 24)))
    assert stalks(None, stages=(past,)).endswith("due since about Fri 14 August.")
    assert stalks(None, stages=(span,)).endswith("due 5 to 24 September.")
    assert stalks(None, stages=()) == "Stalks: not looked at yet."
    unknown = factory.stage("R6", None, None)
    assert stalks(None, stages=(unknown,)) == "Stalks: not looked at yet."


def test_twelve_of_a_hundred_cannot_be_told_from_ten():
    """The range, what it would take, and the other published line."""
    assert stalks(factory.ripening()) == (
        "12 of 100 stalks gave way on Tue 8 September; of all stalks it may be 7 to 20 in 100. "
        "Whether it is over the line of 10 in 100 cannot be told; it would take about 770 more "
        "plants, which nobody walks. It is barely under the other published line of 20 in 100."
    )


def test_over_both_lines_is_said_once():
    """And what it means."""
    assert (
        "That is over both published lines, 10 and 20 in 100: such a field is among the first to "
        "harvest."
    ) in stalks(factory.ripening(failed=(8, 7, 9, 8, 8)))


def test_under_both_lines_is_said_once():
    """Nothing follows from it."""
    assert stalks(factory.ripening(failed=(0, 1, 0, 0, 0))).endswith(
        "That is under both published lines, 10 and 20 in 100."
    )


def test_a_range_that_prints_up_to_the_line_is_barely_under_it():
    """4 of 100 may be up to 9.8 in 100, which prints as 10."""
    text = stalks(factory.ripening(failed=(1, 1, 1, 1, 0)))
    assert "it may be 2 to 10 in 100. It is barely under the line of 10 in 100." in text


def test_places_that_differ_ask_for_places():
    """More plants at the same places would not do."""
    assert "more places (" in stalks(factory.ripening(failed=(9, 0, 1, 0, 1)))


def test_a_small_walk_is_named():
    """What the published one has."""
    text = stalks(factory.ripening(failed=(0, 0, 0)))
    assert "The usual walk is 100 plants at 5 places; this one was smaller." in text
    assert "usual walk" not in stalks(factory.ripening())


def test_a_walk_of_enough_plants_at_too_few_places_says_so():
    """What is missing is places, and no plants are asked for."""
    walked = stalk_reading([Count(hits=3, looked=25)] * 4)
    text = stalks(replace(factory.ripening(), stalks=walked))
    assert "The usual walk has 5 places, this one 4." in text
    assert "this one was smaller" not in text


def test_mould_over_the_line_says_what_is_done_then():
    """Early harvest, a test, dry below the published moisture."""
    text = moulds(factory.ripening(mouldy=(9, 9, 8, 9, 9)))
    assert (
        "It is over the line of 10 in 100: such fields are harvested early, the grain is tested, "
        "and dried below 15 %."
    ) in text


@pytest.mark.parametrize(
    ("look", "words"),
    [
        ("pink-tip", "like Gibberella and may carry vomitoxin (DON) and zearalenone."),
        ("white-scattered", "like Fusarium and may carry fumonisin."),
        ("white-mat", "like Diplodia; no toxin of it is known in the grain."),
        ("olive-powder", "may carry aflatoxin: test the grain before it is fed or sold."),
        ("blue-green", "like Penicillium; no source at hand says what it carries."),
        ("other", "fits no one mould: send ears to a plant clinic."),
    ],
)
def test_a_mould_is_named_by_its_look(look: str, words: str):
    """What it looks like, and what such a mould may carry."""
    assert words in moulds(factory.ripening(looks=[(look, 2)]))


@pytest.mark.parametrize("look", [one.key for one in MOULDS if one.key != NO_MOULD])
def test_every_mould_of_the_form_has_words(look: str):
    """What a scout can choose, the report can say."""
    assert "Seen at one stop: " in moulds(factory.ripening(looks=[(look, 1)]))


def test_a_look_without_a_count_still_tells():
    """Whoever named a mould and did not count is not lost."""
    text = moulds(factory.ripening(mouldy=None, looks=[("olive-powder", 1)]))
    assert text.startswith("Seen at one stop: olive-green powder")


def test_no_statistician_and_no_verdict_speaks():
    """Plain words, and never that grain is safe."""
    for failed in ((3, 1, 4, 2, 2), (9, 0, 1, 0, 0), (0, 0, 0)):
        text = stalks(factory.ripening(failed=failed)) + moulds(factory.ripening(mouldy=failed))
        assert not re.search(STATISTICIANS_WORDS, text)
        assert not re.search(SAFE, text)


def test_lines_are_the_season_s():
    """A line that a season moves is the one that is printed."""
    found = factory.ripening()
    assert found.stalks is not None
    lines = tuple(replace(line, line_pct=line.line_pct + 5) for line in found.stalks.lines)
    text = stalks(replace(found, stalks=replace(found.stalks, lines=lines)))
    assert "15 in 100" in text
    assert "10 in 100" not in text


def test_the_figures_exist():
    """Every key that the part names is a figure."""
    for key in RIPE_FIGURES:
        shipped_figures().entry(key)


@pytest.mark.parametrize("hits", [0, 1])
def test_one_stalk_and_one_ear_are_said_as_one(hits: int):
    """A walk that tried one stalk and opened one ear."""
    one = [Count(hits=hits, looked=1)]
    found = replace(factory.ripening(), stalks=stalk_reading(one), mouldy=mould_reading(one))
    assert stalks(found).startswith(f"{hits} of 1 stalk gave way on Tue 8 September;")
    assert moulds(found).startswith(f"{hits} of 1 opened ear had mould on Tue 8 September;")
