"""The fungicide question: window, break-even, chance, interval before harvest."""

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fieldbook.agronomy.fungicide import (
    PUBLISHED_GAINS,
    break_even_bu_ac,
    chance_to_break_even,
    pre_harvest,
    price_cost_table,
    severity_class,
    severity_classes,
    spray_window,
)
from fieldbook.figures import PUBLISHED, shipped_figures

JULY_1 = datetime.date(2026, 7, 1)
days = st.integers(0, 60).map(lambda n: JULY_1 + datetime.timedelta(days=n))
money = st.floats(0.5, 200)


def july(day: int) -> datetime.date:
    """Return a day counted on from June 30."""
    return JULY_1 + datetime.timedelta(days=day - 1)


STAGES = {
    "R1": (july(14), july(18)),
    "R2": (july(25), july(29)),
    "R3": (july(34), july(40)),
    "R4": (july(42), july(48)),
    "R5": (july(52), july(58)),
}


@pytest.mark.parametrize(
    ("day", "state", "at_most", "left"),
    [
        (10, "before", "before", (24, 30)),
        (13, "before", "before", (21, 27)),
        (14, "before", "open", (20, 26)),
        (17, "before", "open", (17, 23)),
        (18, "open", "open", (16, 22)),
        (20, "open", "open", (14, 20)),
        (35, "open", "last", (0, 5)),
        (41, "last", "last", (0, 0)),
        (43, "last", "late", (0, 0)),
        (49, "late", "late", (0, 0)),
        (59, "closed", "closed", (0, 0)),
    ],
)
def test_window_by_forecast(day: int, state: str, at_most: str, left: tuple[int, int]) -> None:
    """From R1 to R2 it is open, R3 the last chance, R4 late, R5 closed; doubt shows both."""
    found = spray_window(july(day), STAGES)
    assert found is not None
    assert (found.state, found.at_most, found.days_to_r3) == (state, at_most, left)


def test_seen_stage_opens_the_window() -> None:
    """Tassel seen opens it before R1, and a stage seen is not taken back by the forecast."""
    tassel = spray_window(july(10), STAGES, seen="VT")
    assert tassel is not None
    assert (tassel.state, tassel.reasons) == ("open", ("main-window",))
    milk = spray_window(july(30), STAGES, seen="R3")
    assert milk is not None
    assert (milk.state, milk.days_to_r3) == ("last", (0, 0))


def test_reasons_of_a_doubtful_day() -> None:
    """Where the stage is in doubt, the reasons of each that it may be are given."""
    found = spray_window(july(43), STAGES)
    assert found is not None
    assert found.reasons == ("only-if-rising", "sources-differ-on-southern-rust")
    early = spray_window(july(1), STAGES)
    assert early is not None
    assert early.reasons == ("adjuvant-caution",)


def test_window_with_little_known() -> None:
    """With nothing known there is no window; without a date of R3 no days are counted."""
    assert spray_window(july(1), {}) is None
    found = spray_window(july(20), {}, seen="R1")
    assert found is not None
    assert (found.state, found.at_most, found.days_to_r3) == ("open", "open", None)
    with pytest.raises(ValueError, match="no stage"):
        spray_window(july(1), {"R7": (july(1), july(2))})


@given(first=days, second=days)
def test_window_never_opens_again(first: datetime.date, second: datetime.date) -> None:
    """The later the day, the further along the window is."""
    order = ["before", "open", "last", "late", "closed"]
    early, late = (spray_window(day, STAGES) for day in sorted((first, second)))
    assert early is not None
    assert late is not None
    assert order.index(early.state) <= order.index(late.state)
    assert order.index(late.state) <= order.index(late.at_most)


@given(cost=money, price=money)
def test_break_even_pays_exactly(cost: float, price: float) -> None:
    """The gain at the price pays the cost; a cost or price of nothing is refused."""
    assert break_even_bu_ac(cost, price) * price == pytest.approx(cost)
    for pair in ((0, price), (cost, 0), (-cost, price), (cost, float("nan"))):
        with pytest.raises(ValueError, match="above zero"):
            break_even_bu_ac(*pair)


@given(gain=st.floats(0, 40), mean=st.floats(-5, 25), sd=st.floats(0.5, 20))
def test_chance_is_scipys_upper_tail(gain: float, mean: float, sd: float) -> None:
    """The chance to gain the break-even is the upper tail of a normal curve."""
    assert chance_to_break_even(gain, mean, sd) == pytest.approx(
        stats.norm.sf(gain, mean, sd), rel=1e-6, abs=1e-12
    )


@pytest.mark.parametrize(
    ("mean", "sd", "cost", "price", "loss"),
    [(4.1, 8, 30, 4.5, 0.6258), (9.5, 8, 30, 4.5, 0.3616), (4.1, 5, 24, 3.72, 0.6809)],
)
def test_chance_worked_by_hand(
    mean: float, sd: float, cost: float, price: float, loss: float
) -> None:
    """Three cases worked apart from this program; the spreads in them are made up."""
    gain = break_even_bu_ac(cost, price)
    assert 1 - chance_to_break_even(gain, mean, sd) == pytest.approx(loss, abs=5e-5)


def test_spread_must_be_entered() -> None:
    """Without a spread there is no chance, and none is shipped beside the published means."""
    with pytest.raises(ValueError, match="spread"):
        chance_to_break_even(6, 4, 0)
    figures = shipped_figures()
    assert {figures.entry(key).kind for key in PUBLISHED_GAINS} == {PUBLISHED}
    assert not [key for key in figures if key.startswith("fungicide.") and "sd" in key]


@given(severity=st.floats(0, 100))
def test_every_severity_has_its_class(severity: float) -> None:
    """Every severity lies in exactly one class."""
    holding = [
        one
        for one in severity_classes()
        if one.from_pct <= severity and (one.to_pct is None or severity < one.to_pct)
    ]
    assert holding == [severity_class(severity)]


def test_severity_beyond_all_leaf_is_refused() -> None:
    """A severity over 100 % is not a severity."""
    with pytest.raises(ValueError, match="severity"):
        severity_class(101)


@pytest.mark.parametrize(
    ("interval", "latest", "verdict", "spare"),
    [
        (30, 60, "fits", (10, 20)),
        (40, 60, "fits", (0, 10)),
        (41, 60, "cannot-tell", (-1, 9)),
        (50, 60, "cannot-tell", (-10, 0)),
        (51, 60, "fits-not", (-11, -1)),
        (30, None, "fits", (10, None)),
        (51, None, "cannot-tell", (-11, None)),
    ],
)
def test_interval_against_harvest(
    interval: int, latest: int | None, verdict: str, spare: tuple[int, int | None]
) -> None:
    """Sprayed on July 1 with harvest from the 50th day: the label's days must be over by then."""
    first = july(1) + datetime.timedelta(days=40)
    last = None if latest is None else july(1) + datetime.timedelta(days=50)
    found = pre_harvest(july(1), interval, first, last)
    assert (found.verdict, found.spare_days) == (verdict, spare)
    assert (found.first_day - july(1)).days == interval


def test_interval_out_of_order_is_refused() -> None:
    """A negative interval or a harvest that ends before it begins is a mistake."""
    for interval, last in ((-1, july(9)), (7, july(7))):
        with pytest.raises(ValueError, match="interval"):
            pre_harvest(july(1), interval, july(8), last)


def test_table_of_prices_and_costs() -> None:
    """A row for each cost, a column for each price; the shipped ones span what is published."""
    found = price_cost_table([20, 30], [3.5, 4])
    assert found.break_even_bu_ac == ((20 / 3.5, 5), (30 / 3.5, 7.5))
    usual = price_cost_table()
    assert (usual.costs_per_ac[0], usual.costs_per_ac[-1]) == (16, 40)
    assert (usual.prices_per_bu[0], usual.prices_per_bu[-1]) == (2, 7)
    assert all(list(line) == sorted(line, reverse=True) for line in usual.break_even_bu_ac)
    assert price_cost_table([], []).break_even_bu_ac == ()
