"""When grain has dried: heat after black layer over past autumns."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.drying import DryDates, dry_dates
from fieldbook.agronomy.heat import DailyTemps

RIPE = date(2026, 9, 10)


def autumn(year: int, gdd: float) -> DailyTemps:
    """Return a year with the same heat on every day."""
    count = (date(year, 12, 31) - date(year, 1, 1)).days + 1
    mean = np.full(count, 50 + gdd)
    return DailyTemps(first=date(year, 1, 1), tmax_f=mean, tmin_f=mean)


def dried(to_pct: float, heats: list[float], **more: object) -> DryDates:
    found = dry_dates(
        to_pct,
        ripe=RIPE,
        ripe_earliest=RIPE,
        ripe_latest=RIPE,
        years={2014 + n: autumn(2014 + n, gdd) for n, gdd in enumerate(heats)},
        **more,  # type: ignore[arg-type]
    )
    assert found is not None
    return found


def test_steady_autumns() -> None:
    """From 32 to 25 % takes 210 units, 21 days of ten; to 20 % another 225."""
    assert dried(25, [10] * 6).date == RIPE + timedelta(days=21)
    assert dried(20, [10] * 6).date == RIPE + timedelta(days=44)
    assert dried(25, [10] * 6, from_pct=28).date == RIPE + timedelta(days=9)
    assert dried(30, [10] * 6, from_pct=28).date == RIPE


def test_few_years_give_their_whole_range() -> None:
    """With three years the first and the last of them are the ends."""
    found = dried(25, [15, 10, 7])
    assert found.earliest == RIPE + timedelta(days=14)
    assert found.date == RIPE + timedelta(days=21)
    assert found.latest == RIPE + timedelta(days=30)


def test_range_of_black_layer_carries_through() -> None:
    """An early and a late black layer move the ends."""
    years = {2014 + n: autumn(2014 + n, 10) for n in range(6)}
    found = dry_dates(
        25,
        ripe=RIPE,
        ripe_earliest=RIPE - timedelta(days=4),
        ripe_latest=RIPE + timedelta(days=6),
        years=years,
    )
    assert found is not None
    assert found.earliest == RIPE + timedelta(days=17)
    assert found.latest == RIPE + timedelta(days=27)


def test_own_heat_goes_first() -> None:
    """The season's own warm days count, and past years take over after them."""
    ahead = (RIPE - date(2026, 1, 1)).days + 11
    own = DailyTemps(
        first=date(2026, 1, 1), tmax_f=np.full(ahead, 70.0), tmin_f=np.full(ahead, 70.0)
    )
    assert own.last == RIPE + timedelta(days=10)
    assert dried(25, [10] * 6, own=own).date == RIPE + timedelta(days=11)


def mixed(year: int, seed: int) -> DailyTemps:
    """Return a year whose heat differs from day to day."""
    count = (date(year, 12, 31) - date(year, 1, 1)).days + 1
    mean = 50 + np.random.default_rng(seed).integers(0, 16, count)
    return DailyTemps(first=date(year, 1, 1), tmax_f=mean, tmin_f=mean)


def day_by_day(need: float, ripe: date, past: DailyTemps, own: DailyTemps) -> date:
    """Count the heat of one day after another, as one would by hand."""
    day, heat = ripe, 0.0
    while heat < need:
        day += timedelta(days=1)
        if own.first <= ripe < own.last and day <= own.last:
            heat += own.tmax_f[(day - own.first).days] - 50
        else:
            heat += past.tmax_f[(day.replace(year=past.first.year) - past.first).days] - 50
    return day


@pytest.mark.parametrize("own_days", [-2, 0, 1, 3, 30])
@pytest.mark.parametrize("count", [3, 4, 5, 11])
def test_agrees_with_counting_by_hand(own_days: int, count: int) -> None:
    """Each past year is counted from its own calendar days; the ends leave one in ten out."""
    years = {2013 + n: mixed(2013 + n, n) for n in range(count)}
    first = RIPE - timedelta(days=0 if own_days else 5)
    length = max((RIPE - first).days + 1 + own_days, 1)
    heat = 50 + np.random.default_rng(99).integers(0, 16, length)
    own = DailyTemps(first=first, tmax_f=heat, tmin_f=heat)
    found = dry_dates(22, ripe=RIPE, ripe_earliest=RIPE, ripe_latest=RIPE, years=years, own=own)
    by_hand = sorted(day_by_day(7 * 30 + 3 * 45, RIPE, past, own) for past in years.values())
    trimmed = by_hand[1:-1] if count == 11 else by_hand
    assert found is not None
    assert (found.earliest, found.latest) == (trimmed[0], trimmed[-1])
    assert found.date == by_hand[count // 2]
    assert (found.years, found.years_short) == (count, 0)


def test_autumns_too_cold() -> None:
    """Where heat runs out, there is no date, and the years are counted."""
    found = dried(20, [1, 1, 1, 10])
    assert (found.date, found.latest, found.years_short) == (None, None, 3)
    assert found.earliest == RIPE + timedelta(days=44)


def test_no_date_without_ground() -> None:
    """Below 20 % no rate is published; without past years there is no heat to count."""
    same = {"ripe": RIPE, "ripe_earliest": RIPE, "ripe_latest": RIPE}
    assert dry_dates(18, years={2014: autumn(2014, 10)}, **same) is None  # type: ignore[arg-type]
    assert dry_dates(25, years={2026: autumn(2026, 10)}, **same) is None  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="within its range"):
        dry_dates(25, years={}, **{**same, "ripe_latest": RIPE - timedelta(days=1)})  # type: ignore[arg-type]


@given(
    heats=st.lists(st.floats(0, 20), min_size=1, max_size=8),
    pair=st.tuples(st.floats(20, 32), st.floats(20, 32)),
)
def test_drier_grain_comes_later(heats: list[float], pair: tuple[float, float]) -> None:
    """Dates are in order within a moisture and from wet to dry."""
    wet, dry = (dried(pct, heats) for pct in sorted(pair, reverse=True))
    for found in (wet, dry):
        known = [day for day in (found.earliest, found.date, found.latest) if day]
        assert known == sorted(known)
    for name in ("earliest", "date", "latest"):
        before, after = getattr(wet, name), getattr(dry, name)
        assert after is None or (before is not None and before <= after)
