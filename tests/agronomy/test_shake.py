"""Ear shake: pollinated share of ears and field, silks still open, and when the reading counts."""

from datetime import date, timedelta
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from fieldbook.agronomy.ranges import DayRange, Span, Triple
from fieldbook.agronomy.shake import (
    EARLY,
    EARS,
    LATE,
    MAIN,
    STOPS,
    TOO_EARLY,
    ShakenEar,
    pollinated_field,
    pollinated_pct,
    receptive_pct,
    shake_time,
)

SILK = date(2026, 7, 20)
percents = st.floats(0, 100)


def ear(base: float | None, middle: float | None, tip: float | None, stop: int = 1) -> ShakenEar:
    return ShakenEar(stop=stop, base_pct=base, middle_pct=middle, tip_pct=tip)


def test_thirds_are_weighted_by_their_rings() -> None:
    """Equal thirds by default; counted rings weigh them: (90x12 + 60x14 + 0x14) / 40 = 48."""
    assert pollinated_pct(ear(90, 60, 0)) == Triple(low=50, typical=50, high=50)
    counted = ShakenEar(stop=1, base_pct=90, middle_pct=60, tip_pct=0, rings=(12, 14, 14))
    found = pollinated_pct(counted)
    assert found is not None
    assert found.typical == pytest.approx(48)


def test_tick_stands_for_a_range() -> None:
    """A ticked ear is somewhere over 90 %; a number given beside the tick goes first."""
    assert pollinated_pct(ShakenEar(stop=1, all_fallen=True)) == Triple(
        low=90, typical=95, high=100
    )
    mixed = pollinated_pct(ShakenEar(stop=1, tip_pct=91, all_fallen=True))
    assert mixed is not None
    assert (mixed.low, mixed.high) == (pytest.approx(271 / 3), pytest.approx(291 / 3))


def test_missing_third_is_not_guessed() -> None:
    """Without a tick, an ear with a third not looked at has no share."""
    assert pollinated_pct(ear(90, None, 40)) is None
    assert pollinated_field([ear(90, None, 40)]) is None
    assert pollinated_field([]) is None


@given(base=percents, middle=percents, tip=percents, more=percents)
def test_more_fallen_is_more_pollinated(
    base: float, middle: float, tip: float, more: float
) -> None:
    """The share lies between the thirds and never falls when more silks have fallen."""
    low, high = (
        pollinated_pct(ear(base, middle, tip)),
        pollinated_pct(ear(base, middle, max(tip, more))),
    )
    assert low is not None
    assert high is not None
    assert min(base, middle, tip) - 1e-9 <= low.typical <= max(base, middle, tip) + 1e-9
    assert low.typical <= high.typical + 1e-9


def test_stops_are_the_sampling_units() -> None:
    """The mean and its interval are over the stops' means, whatever the ears at each."""
    ears = [
        ear(p, p, p, stop) for stop, p in [(1, 80), (1, 90), (2, 70), (3, 60), (3, 64), (3, 68)]
    ]
    found = pollinated_field(ears)
    assert found is not None
    means = [85, 70, 64]
    low, high = stats.t.interval(0.95, 2, loc=fmean(means), scale=stats.sem(means))
    assert (found.units, found.stops, found.ears) == (STOPS, 3, 6)
    assert found.mean.mean == pytest.approx(73)
    assert (found.mean.low, found.mean.high) == (pytest.approx(low), pytest.approx(high))
    assert found.ears_sd == pytest.approx(stdev([80, 90, 70, 60, 64, 68]))
    assert not found.enough


def test_one_stop_has_only_its_ears() -> None:
    """With one stop the ears are the sample, and that is said."""
    found = pollinated_field([ear(p, p, p) for p in (50, 60, 70)])
    assert found is not None
    assert (found.units, found.stops, found.mean.n) == (EARS, 1, 3)


def test_ticks_bound_the_mean() -> None:
    """Ticked ears enter with their range, so the mean has bounds."""
    ears = [ShakenEar(stop=1, all_fallen=True), ear(50, 50, 50, stop=2)]
    found = pollinated_field(ears)
    assert found is not None
    assert found.mean.mean == pytest.approx(72.5)
    assert (found.bounds, found.ticked) == (Span(low=70, high=75), 1)
    assert (found.units, found.ears_sd) == (STOPS, pytest.approx(stdev([95, 50])))


@pytest.mark.parametrize(
    ("per_stop", "enough"), [((5, 5, 5, 5), True), ((5, 5, 5), False), ((5, 5, 5, 4), False)]
)
def test_floor_of_ears(per_stop: tuple[int, ...], enough: bool) -> None:
    """Five ears at four places is the floor; a fifth place with fewer ears does no harm."""
    ears = [ear(90, 90, 90, stop) for stop, n in enumerate(per_stop) for _ in range(n)]
    found = pollinated_field(ears)
    more = pollinated_field([*ears, ear(90, 90, 90, stop=9)])
    assert found is not None
    assert more is not None
    assert found.enough is enough
    assert more.enough is enough


def test_silks_still_open_at_the_tip() -> None:
    """Half of the tip third hangs and a third of that is pale: a third x half x 30 % = 5 %."""
    open_ear = ShakenEar(stop=1, base_pct=100, middle_pct=90, tip_pct=50, pale_tip_pct=30)
    assert receptive_pct(open_ear) == pytest.approx(5)
    short_tip = ShakenEar(stop=1, tip_pct=50, pale_tip_pct=30, rings=(12, 24, 4))
    assert receptive_pct(short_tip) == pytest.approx(1.5)
    assert receptive_pct(ear(100, 90, 50)) is None
    found = pollinated_field([open_ear, ear(100, 90, 50)])
    assert found is not None
    assert (found.receptive_pct, found.receptive_ears) == (pytest.approx(5), 1)


@pytest.mark.parametrize(
    ("day", "kind"),
    [(0, TOO_EARLY), (2, TOO_EARLY), (3, EARLY), (6, EARLY), (7, MAIN), (14, MAIN), (15, LATE)],
)
def test_time_of_the_shake(day: int, kind: str) -> None:
    """Useful from day 3, the main reading from day 7, too much said after day 14."""
    on_the_day = DayRange(earliest=SILK, latest=SILK)
    found = shake_time(SILK + timedelta(days=day), on_the_day)
    assert (found.kind, found.days) == (kind, Span(low=day, high=day))


def test_time_is_judged_by_the_fewest_days() -> None:
    """Where silking is a range, the reading counts as late in the range as it may be early."""
    found = shake_time(
        SILK + timedelta(days=8), DayRange(earliest=SILK, latest=SILK + timedelta(days=4))
    )
    assert (found.kind, found.days) == (EARLY, Span(low=4, high=8))
    assert shake_time(SILK, DayRange(earliest=SILK)).kind is None


def test_impossible_ears_are_refused() -> None:
    """Shares beyond 100 % and thirds without rings are refused."""
    with pytest.raises(ValueError, match="0 to 100"):
        ear(101, 50, 50)
    with pytest.raises(ValueError, match="need rings"):
        ShakenEar(stop=1, rings=(0, 0, 0))
