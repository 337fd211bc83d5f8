"""The yield from weighed grain: by physics, over the stops, and beside the count."""

from datetime import date
from typing import Any

import pytest
from report import factory
from seasons import ROWS

from fieldbook.check.roster import Field, Planting
from fieldbook.figures import shipped_figures
from fieldbook.forms.fields import Visit
from fieldbook.forms.stalks import Stalk
from fieldbook.forms.stops import Stop
from fieldbook.ledger.stored import StoredVisit
from fieldbook.results.weighed import beside, weighed_yield
from fieldbook.results.yield_result import WeighedYield

DAY = date(2026, 9, 20)
FIELD = Field(
    field_id="A1",
    field="Long eighty",
    grower_id="G1",
    grower="Oda Fenwick",
    acres=80,
    row_width_in=30,
    plantings=(
        Planting(
            planted=ROWS[0].planted or DAY,
            acres=80,
            hybrid=None,
            relative_maturity=None,
            silk_gdd_f=None,
            black_layer_gdd_f=None,
            from_emergence=False,
            ratings={},
        ),
    ),
    latitude=None,
    longitude=None,
    scout=None,
    station=None,
    own_average_bu_ac=None,
    sprayed_on=None,
    product=None,
    reentry_ends=None,
    pre_harvest_days=None,
    stops_wanted=None,
    use=None,
    previous_crop=None,
    residue_pct=None,
    disease_history=None,
)


def visit(
    bags: dict[int, tuple[int, float, float]],
    *,
    stage: str = "R6",
    stops: dict[int, dict[str, Any]] | None = None,
) -> StoredVisit:
    """Make a ripening visit: ears, pounds and moisture of each stop's bag; 30 ears a stop."""
    rows = {stop: {"ears": 30, **(stops or {}).get(stop, {})} for stop in bags}
    return StoredVisit(
        visit_id="A1.RP1",
        field_id="A1",
        field="Long eighty",
        grower="Oda Fenwick",
        round="ripening",
        scout="ana",
        units="us",
        row_width_in=30,
        sequence=1,
        records={
            "fields": (Visit(field_id="A1", visit_date=DAY, stage=stage),),
            "stops": tuple(Stop(field_id="A1", stop=n, **more) for n, more in rows.items()),
            "stalks": tuple(
                Stalk(field_id="A1", stop=n, bag_ears=e, bag_grain_lb=p, bag_moisture_pct=m)
                for n, (e, p, m) in bags.items()
            ),
        },
    )


def weighed(bags: dict[int, tuple[int, float, float]], **more: Any) -> WeighedYield:
    """Return the weighed yield, which must be there."""
    found = weighed_yield(visit(bags, **more), FIELD, shipped_figures())
    assert found is not None
    return found


ALIKE = dict.fromkeys(range(1, 5), (10, 3.5, 24.0))


def test_bags_give_a_yield_without_a_kernel_count() -> None:
    """30,000 ears of 0.35 lb at 24 % are 168.6 bu/ac, by hand: 30,000 x 0.35 x 76 / 84.5 / 56."""
    found = weighed(ALIKE)
    assert found.mean_bu_ac == pytest.approx(168.639, abs=1e-3)
    assert found.interval_95_bu_ac == pytest.approx((168.639, 168.639), abs=1e-3)
    assert (found.stops_used, found.day) == (4, DAY)


def test_a_measured_length_and_its_ears_count() -> None:
    """Twice the length with twice the ears is the same stand."""
    usual_ft = 43560 / 1000 / (30 / 12)
    double = {"ears": 60, "length_ft": 2 * usual_ft}
    assert weighed({1: (10, 3.5, 24.0)}, stops={1: double}).mean_bu_ac == pytest.approx(
        168.639, abs=1e-2
    )


def test_edges_and_uncounted_rows_are_left_out_and_told() -> None:
    """A bag from an edge, or from a stop without a count of ears, is not in the mean."""
    bags = {**ALIKE, 5: (10, 1.0, 24.0), 6: (10, 1.0, 24.0)}
    found = weighed(bags, stops={5: {"place": "edge"}, 6: {"ears": None}})
    assert found.mean_bu_ac == pytest.approx(168.639, abs=1e-3)
    assert [stop.left_out for stop in found.stops] == [*[None] * 4, "edge", "no-count"]


def test_two_bags_have_no_interval() -> None:
    """Under three stops nothing can be said of how far off the mean may be."""
    assert weighed({1: (10, 3.5, 24.0), 2: (10, 3.1, 24.0)}).interval_95_bu_ac is None


def test_empty_bags_are_not_held_against_a_count() -> None:
    """A share of nothing would be no number."""
    empty = weighed(dict.fromkeys(range(1, 5), (10, 0.0, 24.0)))
    assert empty.mean_bu_ac == 0
    assert beside(empty, factory.YIELD) is None


@pytest.mark.parametrize("stage", ["R5", "R4"])
def test_before_black_layer_nothing_is_weighed(stage: str) -> None:
    """Kernels still fill, so that their weight is not yet the harvest's."""
    assert weighed_yield(visit(ALIKE, stage=stage), FIELD, shipped_figures()) is None


def test_half_a_bag_is_no_bag() -> None:
    """Without its moisture a bag cannot be shrunk, and without any bag there is no yield."""
    half = visit(ALIKE)
    bags = tuple(
        Stalk(field_id="A1", stop=bag.stop, bag_ears=10, bag_grain_lb=3.5)
        for bag in half.records["stalks"]
    )
    empty = StoredVisit(**{**vars(half), "records": {**half.records, "stalks": bags}})
    assert weighed_yield(empty, FIELD, shipped_figures()) is None


def test_the_difference_to_the_count_is_a_matter_of_kernel_weight() -> None:
    """Counted again with the fitting number of kernels in a bushel, the count is the bags'."""
    found = beside(weighed(ALIKE), factory.YIELD)
    assert found is not None
    again = found.counted_bu_ac * found.assumed_thousand / found.fitting_thousand
    assert again == pytest.approx(found.weighed_bu_ac)
    assert found.difference_bu_ac == pytest.approx(168.639 - 181.8, abs=1e-3)
    assert found.fitting_thousand > found.assumed_thousand
    assert found.may_be_chance is False
    spread = {n: (10, 3.5 + 0.4 * (n - 2.5), 24.0) for n in range(1, 5)}
    wide = beside(weighed(spread), factory.YIELD)
    assert wide is not None
    assert wide.may_be_chance is True


def test_one_bag_cannot_tell_chance() -> None:
    """Without an interval nobody knows whether the difference is chance."""
    found = beside(weighed({1: (10, 3.5, 24.0)}), factory.YIELD)
    assert found is not None
    assert found.may_be_chance is None
