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
