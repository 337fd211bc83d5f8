"""Shares in words: rounding never hides that something was seen, or that something was not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.stalks import AgainstLine
from fieldbook.agronomy.wilson import Count, More, Share, share
from fieldbook.report.amounts import Amounts
from fieldbook.report.sharewords import (
    chance_words,
    in_hundred,
    more_words,
    of_plants,
    short_share,
)
from fieldbook.units import System

US = Amounts(units=System.US)


def of(hits: int, looked: int = 100) -> Share:
    found = share([Count(hits=hits, looked=looked)])
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("hits", "words"),
    [
        (0, "none of 100 plants (at most about 4 in 100)"),
        (3, "about 3 in 100 plants (1 to 8)"),
        (62, "about 6 in 10 plants (5 to 7)"),
        (97, "about 97 in 100 plants (92 to 99)"),
        (100, "all 100 plants (at least about 96 in 100)"),
    ],
)
def test_a_share_is_so_many_of_ten_with_its_range(hits: int, words: str):
    """Tenths in the middle, hundredths where tenths would lose an end, none and all as such."""
    assert of_plants(of(hits), US) == words


def test_one_plant_is_no_plants():
    """Where only one was looked at."""
    assert of_plants(of(0, 1), US).startswith("no plant of one looked at (at most about ")
    assert of_plants(of(1, 1), US).startswith("the one plant looked at (at least about ")


@given(looked=st.integers(1, 400), data=st.data())
def test_no_share_is_rounded_to_none_or_all(looked: int, data: st.DataObject):
    """One plant with it is never 0, and one plant without it never all."""
    hits = data.draw(st.integers(0, looked))
    words = short_share(of(hits, looked), US)
    assert (words == "all plants looked at") == (hits == looked)
    if 0 < hits < looked:
        count, _, base, _ = words.split()
        assert 0 < int(count) < int(base)


def test_one_plant_of_many_is_still_one_in_a_hundred():
    """A quarter of a percent is not nothing, and all but that not everything."""
    assert short_share(of(1, 400), US) == "1 in 100 plants"
    assert short_share(of(399, 400), US) == "99 in 100 plants"


def test_a_range_is_said_in_hundredths():
    """12 of 100 may be 7 to 20 in 100."""
    assert in_hundred(of(12), US) == "7 to 20 in 100"


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.01, "fewer than 1 in 10"), (0.38, "about 4 in 10"), (0.99, "more than 9 in 10")],
)
def test_a_chance_is_never_none_or_sure(chance: float, words: str):
    """The ends are said as fewer or more than."""
    assert chance_words(chance, "en") == words


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (None, "the share lies on the line, so more plants may not tell either"),
        (
            More(plants=39, places=None),
            "about 40 more plants would tell, if the share stays as it is",
        ),
        (
            More(plants=20, places=1),
            "one more place (20 plants) would tell, if the share stays as it is",
        ),
        (
            More(plants=60, places=3),
            "about 3 more places (60 plants) would tell, if the share stays as it is",
        ),
        (
            More(plants=765, places=None),
            "it would take about 770 more plants, which nobody walks",
        ),
    ],
)
def test_how_much_more_would_tell(more: More | None, words: str):
    """Plants where any will do, places where they differ, and plainly where it is not worth it."""
    line = AgainstLine(figure="mould.line_pct", line_pct=10, side="cannot-tell", more=more)
    assert more_words(line, "en") == words
