"""From the edge of a gap to days: exact ranges, and the true day always inside them."""

from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from fieldbook.agronomy.ears import BASE, SCATTERED, TIP_ABORTED, TIP_UNSET, EarRings
from fieldbook.agronomy.gaps import ONE_SIDED
from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.timing import (
    EARLY_LOSS,
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SIDE_STRESS,
    SILKS_DRAPED,
    SILKS_LOST,
    SILKS_STOPPED,
    STRESS_FIRST,
    STRESS_LATER,
    DatedReading,
    Edge,
    edge,
    readings,
    side_and_scatter_readings,
    silk_out_days,
    silk_out_range,
)
from fieldbook.figures import shipped_figures

SILK = date(2026, 7, 20)
ON_THE_DAY = DayRange(earliest=SILK, latest=SILK)
positions = st.floats(0, 1)
spans, firsts, lags = st.floats(3, 8), st.floats(0.15, 0.38), st.floats(0, 1)
receptive = st.floats(5, 10)


def at(place: str, position: float) -> Edge:
    """Return an edge that all ears share."""
    return Edge(place=place, mean=position, low=position, high=position, sd=None, ears=1)


def by_name(found: tuple[DatedReading, ...]) -> dict[str, DatedReading]:
    return {one.reading: one for one in found}


def after(days: float) -> date:
    """Return the day on which a moment falls, in days after silking."""
    return SILK + timedelta(days=int(np.floor(days)))


@pytest.mark.parametrize(
    ("position", "days"), [(0.25, 0), (0.5, 2.0), (0.75, 4.0), (0.9, 5.2), (1, 6.0), (0, 0.5)]
)
def test_typical_timeline(position: float, days: float) -> None:
    """With six days from the quarter to the tip, the half silks on day 2 and the tip on day 6."""
    found = silk_out_days(position, span_days=6, first_position=0.25, base_lag_days=0.5)
    assert found == pytest.approx(days)


@pytest.mark.parametrize(
    ("stops_on", "span_days", "position"),
    [(7.5, 4, 1), (7.5, 6, 0.94), (7.5, 8, 0.77), (2.5, 4, 0.34), (2.5, 8, 0.30)],
)
def test_last_ring_before_silks_stop(stops_on: float, span_days: float, position: float) -> None:
    """The last ring to set has its silk out two days before silk growth stops."""
    lead = shipped_figures().number("silk.growth_stop_lead_days")
    out = silk_out_days(position, span_days=span_days, first_position=0.25, base_lag_days=0.5)
    assert min(stops_on - lead, span_days) == pytest.approx(out, abs=0.06)


@pytest.mark.parametrize(("position", "first"), [(-0.1, 0.25), (1.1, 0.25), (0.5, 0), (0.5, 1)])
def test_positions_off_the_ear_are_refused(position: float, first: float) -> None:
    """There is no silk outside the ear."""
    with pytest.raises(ValueError, match="between butt and tip"):
        silk_out_days(position, span_days=6, first_position=first, base_lag_days=0.5)


@given(position=positions, span=spans, first=firsts, lag=lags)
def test_range_holds_every_ear(position: float, span: float, first: float, lag: float) -> None:
    """Any ear whose figures lie in their ranges silks within the range of days."""
    found = silk_out_range(Span(low=position, high=position))
    days = silk_out_days(position, span_days=span, first_position=first, base_lag_days=lag)
    assert found.low - 1e-9 <= days <= found.high + 1e-9


@given(low=positions, width=st.floats(0, 0.3))
def test_range_is_exact(low: float, width: float) -> None:
    """A dense search over all figures and positions reaches both ends of the range."""
    high = min(low + width, 1)
    inside = np.unique(np.clip([0.15, 0.2, 0.25, 0.3, 0.38, low, high], 0.15, 0.38))
    searched = [
        silk_out_days(x, span_days=d, first_position=x0, base_lag_days=b)
        for x, d, x0, b in product(
            np.unique(np.clip([low, high, *inside], low, high)), (3, 5, 8), inside, (0, 0.5, 1)
        )
    ]
    found = silk_out_range(Span(low=low, high=high))
    assert found.low == pytest.approx(min(searched), abs=1e-9)
    assert found.high == pytest.approx(max(searched), abs=1e-9)


@given(a=st.floats(0.38, 1), b=st.floats(0.38, 1))
def test_rings_farther_up_silk_later(a: float, b: float) -> None:
    """Above the first silks, both ends of the range rise toward the tip."""
    low, high = sorted((a, b))
    early, late = silk_out_range(Span(low=low, high=low)), silk_out_range(Span(low=high, high=high))
    assert early.low <= late.low + 1e-12
    assert early.high <= late.high + 1e-12


@given(
    span=spans,
    first=firsts,
    lag=lags,
    lasts=receptive,
    plant=st.floats(-2.5, 2.5),
    part=st.floats(0.01, 1),
)
def test_late_pollen_falls_in_its_range(
    span: float, first: float, lag: float, lasts: float, plant: float, part: float
) -> None:
    """Rings whose silks are too old when pollen comes make a base gap that tells that day."""
    position = first + part * (1 - first)
    out = silk_out_days(position, span_days=span, first_position=first, base_lag_days=lag)
    # The lowest ring silks late itself; a gap reaches down to the butt only if it is lost too.
    assume(out >= lag)
    found = by_name(readings(at(BASE, position), ON_THE_DAY))
    assert found[POLLEN_LATE].within.holds(after(plant + out + lasts))
    assert found[SILKS_LOST].within.holds(after(plant + out))
    assert found[SILKS_LOST].within.holds(after(plant))


@given(
    span=spans, first=firsts, plant=st.floats(-2.5, 2.5), part=st.floats(0, 1), lead=st.floats(0, 2)
)
def test_end_of_pollen_falls_in_its_range(
    span: float, first: float, plant: float, part: float, lead: float
) -> None:
    """Rings that silk after the last pollen, or too late before silks stop, make a tip gap."""
    position = first + part * (1 - first)
    out = silk_out_days(position, span_days=span, first_position=first, base_lag_days=0)
    found = by_name(readings(at(TIP_UNSET, position), ON_THE_DAY))
    assert found[POLLEN_ENDED].within.holds(after(plant + out))
    assert found[SILKS_STOPPED].within.holds(after(plant + out + lead))
    assert found[EARLY_LOSS].within.holds(after(plant + out))


@pytest.mark.parametrize("seed", range(30))
def test_a_field_of_late_pollen(seed: int) -> None:
    """Thirty ears of a field, each on a plant of its own date, tell the day that pollen came."""
    rng = np.random.default_rng(seed)
    span, first, lasts = rng.uniform(4, 8), rng.uniform(0.15, 0.38), rng.uniform(5, 10)
    pollen = lasts + rng.uniform(2.5, 5)
    plants = rng.uniform(-2.5, 2.5, 30)
    ends = first + (pollen - plants - lasts) * (1 - first) / span
    rings = [
        EarRings(base=40 * end, set=40 * (1 - end), inside=0, tip_unset=0, tip_aborted=0)
        for end in np.minimum(ends, 1)
        if end > first
    ]
    found = edge(rings, BASE)
    assert found is not None
    assert by_name(readings(found, ON_THE_DAY))[POLLEN_LATE].within.holds(after(pollen))


def test_pollen_three_days_late_leaves_no_gap() -> None:
    """A silk waits: no base gap points to pollen sooner than five days after the first silk."""
    for position in np.linspace(0, 1, 50):
        found = by_name(readings(at(BASE, float(position)), ON_THE_DAY))
        assert found[POLLEN_LATE].days.low >= 5


def test_base_gap_of_a_known_ear() -> None:
    """A gap to the middle: late pollen on day 5.6 to 14.7, or silks lost up to day 4.7.

    Silks of the half come out 0.58 to 4.71 days after the first: 3 (0.5 - 0.38) / 0.62 and
    8 (0.5 - 0.15) / 0.85 - 0.4. Half of five days of spread goes to either side.
    """
    out = (3 * 0.12 / 0.62, 8 * 0.35 / 0.85)
    found = by_name(readings(at(BASE, 0.5), ON_THE_DAY))
    late, lost = found[POLLEN_LATE], found[SILKS_LOST]
    assert (late.days.low, late.days.high) == pytest.approx((out[0] + 5, out[1] + 10))
    assert (lost.days.low, lost.days.high) == pytest.approx((0, out[1]))
    assert late.within == DayRange(earliest=date(2026, 7, 23), latest=date(2026, 8, 5))
    assert lost.within == DayRange(earliest=date(2026, 7, 17), latest=date(2026, 7, 26))


def test_silking_range_and_own_spread_carry_through() -> None:
    """The range of the silking date widens every date; an even field narrows it."""
    week = DayRange(earliest=SILK, latest=SILK + timedelta(days=6))
    usual = by_name(readings(at(TIP_UNSET, 0.8), ON_THE_DAY))[POLLEN_ENDED].within
    wide = by_name(readings(at(TIP_UNSET, 0.8), week))[POLLEN_ENDED].within
    even = by_name(readings(at(TIP_UNSET, 0.8), ON_THE_DAY, plant_spread_days=0))
    assert wide.earliest == usual.earliest
    assert usual.latest is not None
    assert wide.latest == usual.latest + timedelta(days=6)
    assert even[POLLEN_ENDED].within.earliest == after(2.03)
    unknown = by_name(readings(at(TIP_UNSET, 0.8), DayRange(earliest=SILK)))
    assert unknown[POLLEN_ENDED].within.latest is None


def test_the_mean_edge_alone_tells_no_date() -> None:
    """Only all ears together give likely days; from one edge the exact range is all."""
    for place in (BASE, TIP_UNSET, TIP_ABORTED):
        for one in readings(at(place, 0.6), ON_THE_DAY):
            assert (one.likely, one.told, one.why) == (None, False, None)


def test_aborted_tip_points_to_the_weeks_after() -> None:
    """An aborted tip was pollinated: two weeks after for the usual case, four at the most."""
    found = by_name(readings(at(TIP_ABORTED, 0.9), ON_THE_DAY, plant_spread_days=0))
    assert set(found) == {STRESS_FIRST, STRESS_LATER}
    assert found[STRESS_FIRST].days.high == 8 + 14
    assert found[STRESS_LATER].days.high == 8 + 28
    assert found[STRESS_FIRST].days.low == found[STRESS_LATER].days.low > 0


def test_gaps_without_an_edge() -> None:
    """Scattered gaps point to all days silks took pollen, one-sided ones to weeks after as well."""
    scattered = by_name(side_and_scatter_readings(SCATTERED, ON_THE_DAY, plant_spread_days=0))
    sides = by_name(side_and_scatter_readings(ONE_SIDED, ON_THE_DAY, plant_spread_days=0))
    whole = DayRange(earliest=SILK, latest=after(18))
    assert scattered[POLLEN_BROKEN].within == whole
    assert sides[SILKS_DRAPED].within == whole
    assert sides[SIDE_STRESS].within == DayRange(earliest=after(14), latest=after(28))
    with pytest.raises(ValueError, match="have an edge"):
        side_and_scatter_readings(BASE, ON_THE_DAY)


def test_edges_of_ears() -> None:
    """An edge is a share of the rings, over complete ears that show the gap."""
    ears = [
        EarRings(base=10, set=20, inside=0, tip_unset=6, tip_aborted=4),
        EarRings(base=5, set=45, inside=0, tip_unset=0, tip_aborted=0),
        EarRings(base=10, set=20, inside=None, tip_unset=6, tip_aborted=4),
    ]
    base, unset, aborted = (edge(ears, place) for place in (BASE, TIP_UNSET, TIP_ABORTED))
    assert base is not None
    assert unset is not None
    assert aborted is not None
    assert (base.low, base.high, base.ears) == (0.1, 0.25, 2)
    assert base.mean == pytest.approx(0.175)
    assert base.sd == pytest.approx(0.15 / 2**0.5)
    assert (unset.mean, unset.sd) == (pytest.approx(0.85), None)
    assert aborted.mean == pytest.approx(0.75)
    assert edge(ears[1:2], TIP_UNSET) is None
    with pytest.raises(ValueError, match="no edge"):
        edge(ears, SCATTERED)
