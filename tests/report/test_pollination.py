"""What a grower reads of pollination: what was seen, what contradicts, what is not known."""

from dataclasses import replace
from datetime import date

import pytest

from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.shake import EARLY, ShakeTime
from fieldbook.agronomy.silk_curve import SilkCount
from fieldbook.agronomy.silking import silking_date
from fieldbook.agronomy.tassel import TasselReading, shed_window
from fieldbook.figures import shipped_figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.pollenwords import pollination_sentences
from fieldbook.results.looks_result import PollinationResult
from fieldbook.units import System
from report import factory
from report.test_page import page

FIGURES = shipped_figures()
US = Amounts(units=System.US)


DAYS = "on a day from 12 to 14 July"
SHEDDING = [TasselReading(stop=1, day=date(2026, 7, 12), reading="middle")]
ONLY_SILKS = factory.pollination(shed=None, gap_days=None, shaken=None)


def told(found: PollinationResult, amounts: Amounts = US) -> str:
    return " ".join(pollination_sentences(found, amounts, FIGURES))


def silks(*counts: tuple[int, int]) -> dict[str, object]:
    """Make counts of 20 plants in July, and the silking date that they give."""
    made = tuple(SilkCount(day=date(2026, 7, day), silked=silked, of=20) for day, silked in counts)
    return {"silk_counts": made, "silking": silking_date(made)}


def test_two_looks_give_a_day_with_its_range():
    """The day, how far it may lie off, and from how many looks."""
    text = told(factory.pollination())
    assert "Half of the plants had silks about Tue 14 July (12 to 17 July), from two looks." in text


def test_one_look_gives_a_range_and_no_day():
    """Nothing is called a day that one look can't tell."""
    text = told(factory.pollination(**silks((12, 5))))
    assert "Half of the plants had silks on a day from 12 to 19 July, from one look." in text
    assert "about Tue" not in text


def test_an_open_end_is_said_as_it_is():
    """Where no plant had silks, only the earliest day is known."""
    text = told(factory.pollination(**silks((12, 0))))
    assert "Half of the plants had silks not before Mon 13 July, from one look." in text


def test_contradicting_looks_are_said_and_not_averaged():
    """Both counts stand with their days."""
    text = told(factory.pollination(**silks((12, 17), (18, 4))))
    assert "17 of 20 plants had silks on Sun 12 July, but only 4 of 20 on Sat 18 July" in text
    assert "about" not in text.split("The first pollen")[0]


def test_contradicting_tassels_name_the_stop():
    """A tassel that went back is told with the stop, both readings and both days."""
    readings = [
        TasselReading(stop=3, day=date(2026, 7, 12), reading="branches"),
        TasselReading(stop=3, day=date(2026, 7, 16), reading="not-yet"),
    ]
    text = told(factory.pollination(shed=shed_window(readings)))
    assert "At stop 3 tassels read 'Side branches' on Sun 12 July and 'Not shedding yet' on" in text


@pytest.mark.parametrize(
    ("low", "high", "stress", "words"),
    [
        (6, 13, True, "Silks came at least 6 days after pollen; more than 5 days point to stress."),
        (-9, -5, False, "Silks were out at least 5 days before the pollen; a silk waits about 7"),
        (-2, 4, False, "Pollen and silks came together, as is common."),
    ],
)
def test_how_silks_met_pollen_is_said(low: int, high: int, stress: bool, words: str):
    """Late silks point to stress; silks far ahead of pollen wait for about a week."""
    gap = Span(low=low, high=high)
    assert words in told(factory.pollination(gap_days=gap, gap_points_to_stress=stress))


def test_a_gap_that_tells_nothing_is_left_out():
    """A range over the line of stress says nothing."""
    text = told(factory.pollination(gap_days=Span(low=-3, high=9), gap_points_to_stress=None))
    assert "came together" not in text
    assert "stress" not in text


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (18, "That was 1 to 6 days after silking, too early to go by"),
        (21, "That was 4 to 9 days after silking, still early, so it reads low."),
        (25, "That was 8 to 13 days after silking, the time to go by."),
        (39, "That was 22 to 27 days after silking, late"),
    ],
)
def test_a_shake_is_told_with_its_time(day: int, words: str):
    """The same share means little too early, and too much too late."""
    when = date.fromordinal(date(2026, 7, 1).toordinal() + day - 1)
    assert words in told(factory.pollination(shaken=factory.shaken(70, when)))


@pytest.mark.parametrize("day", [date(2026, 7, 8), date(2026, 7, 12)])
def test_a_shake_that_came_no_later_than_silking_says_so(day: date):
    """It is never told as a number of days after silking."""
    text = told(factory.pollination(shaken=factory.shaken(70, day)))
    assert "That was no later than silking, too early to go by" in text
    assert "days after silking" not in text


@pytest.mark.parametrize(
    ("day", "words"),
    [
        (12, "That was no later than silking, very early, so it reads low."),
        (18, "That was 1 to 6 days after silking, very early, so it reads low."),
    ],
)
def test_a_good_share_is_no_doubt_however_early(day: int, words: str):
    """The first lines call it a pollination that went well, so the page doesn't take that back."""
    text = told(factory.pollination(shaken=factory.shaken(92, date(2026, 7, day))))
    assert words in text
    assert "too early to go by" not in text


KNOWN = DayRange(earliest=date(2026, 7, 12), latest=date(2026, 7, 14))
OPEN = DayRange(earliest=None, latest=None)


@pytest.mark.parametrize(
    ("start", "end", "words"),
    [
        (KNOWN, KNOWN, f"The first pollen fell {DAYS}, the last {DAYS}."),
        (KNOWN, OPEN, f"The first pollen fell {DAYS}."),
        (OPEN, KNOWN, f"The last pollen fell {DAYS}."),
        (OPEN, OPEN, ""),
    ],
)
def test_pollen_is_told_as_far_as_seen(start: DayRange, end: DayRange, words: str):
    """An end that nobody saw is left out, and not told as a day."""
    shed = replace(shed_window(SHEDDING), start=start, end=end)
    assert told(replace(ONLY_SILKS, silking=None, shed=shed)) == words


def test_silking_without_any_day_is_left_out():
    """No sentence has a hole where its day should be."""
    found = ONLY_SILKS.silking
    assert found is not None
    assert told(replace(ONLY_SILKS, silking=replace(found, day=None, within=OPEN))) == ""


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (None, ""),
        (0.9, "Hardly a silk was still pale and open at the tip."),
        (1.0, "About 1 % of silks were still pale and open at the tip."),
    ],
)
def test_open_silks_are_told_as_far_as_looked_at(share: float | None, words: str):
    """Under one in a hundred no number is said."""
    shaken = factory.shaken()
    shaken = replace(shaken, ears=replace(shaken.ears, receptive_pct=share))
    text = told(replace(ONLY_SILKS, shaken=shaken))
    assert text.endswith(words)
    assert ("at the tip" in text) == bool(words)


def test_the_share_is_said_as_of_ten_with_its_range():
    """A grower reads 8 of 10; the range stays within 0 and 100 %."""
    text = told(factory.pollination(shaken=factory.shaken(pct=82)))
    assert "about 8 of 10 silks let go when 20 ears of four stops were shaken" in text
    high = factory.shaken(pct=92)
    wide = replace(high, ears=replace(high.ears, mean=replace(high.ears.mean, high=108.0)))
    assert "to 100 %)" in told(factory.pollination(shaken=wide))


def test_few_shaken_ears_are_rough():
    """Fewer ears than we ask for are said to be few; one stop has no range between stops."""
    text = told(factory.pollination(shaken=factory.shaken(stops=1, ears=2)))
    assert "2 ears of one stop were shaken" in text
    assert "less than 5 ears at each of 4 stops, so take it as rough" in text
    assert "silks let go when one ear was shaken" in told(
        factory.pollination(shaken=factory.shaken(stops=1, ears=1))
    )


def test_one_day_after_silking_is_one_day():
    """Where the range of the silking date leaves only that."""
    time = ShakeTime(kind=EARLY, days=Span(low=1.0, high=1.0))
    text = told(factory.pollination(shaken=replace(factory.shaken(), time=time)))
    assert "That was one day after silking" in text


def test_without_a_silking_date_the_time_of_a_shake_is_unknown():
    """Missing silk counts take their words with them."""
    alone = replace(factory.shaken(), time=None)
    text = told(factory.pollination(silk_counts=(), silking=None, shaken=alone))
    assert "Without a silking date it is not known whether that was the right time." in text
    assert "Half of the plants" not in text


def test_a_reached_clipping_line_leaves_the_decision_to_an_adviser():
    """What holds is named; nobody is told to spray."""
    text = told(factory.pollination(**factory.rootworm_lines(8, 0.3)))
    assert "the line of South Dakota State (5 or more rootworm beetles a plant) is reached" in text
    assert "silks are shorter than 0.5 inches, less than 50 % is pollinated and beetles are" in text
    assert "A licensed adviser decides about any spray; protect bees" in text


def test_an_unknown_part_of_a_clipping_line_is_named():
    """Without a silk length the line cannot be told, and the report says what lacks."""
    text = told(factory.pollination(**factory.rootworm_lines(8, None)))
    assert "cannot be told; not known: the length of silks." in text


def test_a_clipping_line_that_is_not_reached_says_why():
    """Few beetles are reason enough, and no adviser is called."""
    text = told(factory.pollination(**factory.rootworm_lines(1, 0.3)))
    assert "is not reached: beetles are fewer." in text
    assert "adviser" not in text


def test_metric_readers_get_metric_lengths():
    """The line of half an inch reads in centimetres."""
    metric = Amounts(units=System.METRIC)
    text = told(factory.pollination(**factory.rootworm_lines(8, 0.3)), metric)
    assert "shorter than 1.3 cm" in text
    assert "inch" not in text


def test_what_nobody_looked_at_leaves_no_section():
    """No pollination, no heading."""
    text = page(replace(factory.base_gap(), pollination=None))
    assert "from two looks" not in text
    assert "By the forecast half of the plants had silks on Tue 14 July." in text
    tassels = factory.pollination(
        silk_counts=(), silking=None, gap_days=None, gap_points_to_stress=None, shaken=None
    )
    assert told(tassels).startswith("The first pollen fell on a day from 5 to 12 July, the last")


def test_the_days_of_pollen_may_be_open():
    """Open ends are said on the side that is known."""
    open_shed = shed_window([TasselReading(stop=1, day=date(2026, 7, 20), reading="not-yet")])
    assert open_shed is not None
    assert open_shed.start.latest is None
    assert "the last not before" in told(factory.pollination(shed=open_shed))


def test_open_ranges_are_words():
    """Within, by, not before, or nothing."""
    day = date(2026, 7, 14)
    assert US.within(DayRange(earliest=day, latest=day)) == "on Tue 14 July"
    assert US.within(DayRange(latest=day)) == "by Tue 14 July"
    assert US.within(DayRange(earliest=day)) == "not before Tue 14 July"
    assert US.within(DayRange()) == ""
