"""Causes planted in simulated fields are named and dated as often as promised.

Thirty fields a cause; a rate passes unless fewer fields than once in a thousand samples would show
come out right. ``tests/gap_rates.py`` prints the rates of 300.
"""

from collections.abc import Sequence
from functools import cache
from statistics import median

import pytest
from gap_rates import (
    BAR_FALSE,
    BAR_HELD,
    BAR_NAMED,
    BAR_WIDTH_DAYS,
    EARS,
    KEYS,
    NOTHING,
    SIGHTS,
    SINGLES,
    WALK,
    Judged,
    fields,
    main,
    planted_keys,
    told,
    width_days,
)
from scipy.stats import binom

from fieldbook.simulate.causes import CLIPPED, ENDED, LATE, PAIRS, SHORT, STOPPED

COUNT = 30
CHANCE = 0.001
DATED = (LATE, ENDED, STOPPED)
REACHED = [one for one in (*SINGLES, *PAIRS) if ENDED not in one]


@cache
def judged(planted: tuple[str, ...], sight: str = EARS) -> list[Judged]:
    return fields(planted, COUNT, "in tests", sight)


def least(of: int, share: float) -> int:
    """Return the fewest that a true share leaves to chance."""
    return int(binom.ppf(CHANCE, of, share))


def named_only(one: Judged, planted: Sequence[str]) -> bool:
    return {cause.key for cause in one.named} <= planted_keys(planted)


@pytest.mark.parametrize("planted", SINGLES, ids="+".join)
def test_planted_cause_is_named(planted: tuple[str, ...]) -> None:
    """One planted cause is named, and no other, in at least 85 % of fields, by ears alone."""
    assert sum(one.right for one in judged(planted)) >= least(COUNT, BAR_NAMED)


@pytest.mark.parametrize("planted", REACHED, ids="+".join)
def test_planted_causes_are_named_with_the_walk_after_silking(planted: tuple[str, ...]) -> None:
    """One cause or two: just these are named in at least 85 % of fields that were walked.

    Pollen that ended, alone or beside clipped silks, lies about that bar, over it on some seeds and
    under it on others: each looks like the other where beetles sat on the silks.
    """
    assert sum(one.right for one in judged(planted, WALK)) >= least(COUNT, BAR_NAMED)


@pytest.mark.parametrize("planted", PAIRS, ids="+".join)
def test_of_two_causes_nothing_else_is_named(planted: tuple[str, ...]) -> None:
    """Of two causes at once at least one is named in 85 % of fields, without a third.

    By ears alone both of them are named less often; the printed tables say how often.
    """
    right = [bool(one.named) and named_only(one, planted) for one in judged(planted)]
    assert sum(right) >= least(COUNT, BAR_NAMED)


@pytest.mark.parametrize("sight", [EARS, WALK])
@pytest.mark.parametrize("planted", NOTHING, ids="+".join)
def test_nothing_unusual_is_not_named(planted: tuple[str, ...], sight: str) -> None:
    """Ordinary ears, and pollen three days late, get a named cause in at most 5 % of fields."""
    false = sum(bool(one.named) for one in judged(planted, sight))
    assert false <= binom.ppf(1 - CHANCE, COUNT, BAR_FALSE)


@pytest.mark.parametrize("cause", DATED)
def test_planted_day_lies_in_the_likely_range(cause: str) -> None:
    """A range called 90 % holds the planted day in at least 88 % of fields where it is told."""
    dated = [one for one in judged((cause,)) if (found := one.dated(cause)) and found.told]
    assert sum(one.holds(cause) for one in dated) >= least(len(dated), BAR_HELD[0])


@pytest.mark.parametrize("cause", DATED)
def test_likely_range_is_short_and_inside_the_exact_one(cause: str) -> None:
    """The likely range is 5 days wide for base gaps and 4 for tip gaps, well inside the outer."""
    found = told(judged((cause,)), cause)
    assert median(map(width_days, found)) <= BAR_WIDTH_DAYS[cause]
    for one in found:
        assert one.likely is not None
        assert one.likely.earliest is not None
        assert one.likely.latest is not None
        assert one.within.holds(one.likely.earliest)
        assert one.within.holds(one.likely.latest)


@pytest.mark.parametrize("cause", [CLIPPED, SHORT])
def test_causes_that_leave_no_edge_in_time_have_no_date(cause: str) -> None:
    """Scattered gaps and losses after set point to more than eight days: no date is told."""
    found = [one for field in judged((cause,)) for one in field.named if one.key == KEYS[cause]]
    assert found
    for one in found:
        assert {(two.told, two.why) for two in one.readings} == {(False, "too-wide")}


def test_tables_hold_every_cause() -> None:
    """The command's tables have a row for every cause by every sight and a bar for each."""
    text = main(2)
    for planted in (*SINGLES, *PAIRS, *NOTHING):
        assert text.count(f"| {' + '.join(planted)} |") >= 3
    assert all(sight in text for sight in SIGHTS)
    assert text.count("at least 85%") == len(SINGLES) + len(PAIRS)
