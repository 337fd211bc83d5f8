"""Estimates held against the harvest, and the suggestion for next season."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.scale import Weighed, harvested_bu_ac, load_lb
from fieldbook.agronomy.settle import Settled, Suggestion, TooFew, suggest
from fieldbook.agronomy.yields import stop_yield_bu_ac
from fieldbook.figures import shipped_figures

BASE = 87.5


def field(name: str, year: int, ratio: float, thousand: float = BASE) -> Settled:
    """Make a field whose estimate was a ratio of its harvest."""
    return Settled(
        field_id=name,
        year=year,
        hybrid="Invented 7",
        thousand_kernels=thousand,
        estimated_bu_ac=180 * ratio,
        harvested_bu_ac=180,
    )


def suggestion(*settled: Settled) -> Suggestion:
    """Return the suggestion, which must be there."""
    found = suggest(settled, BASE)
    assert isinstance(found, Suggestion)
    return found


@given(
    ears=st.floats(15_000, 40_000),
    kernels=st.floats(200, 700),
    thousand=st.floats(65, 120),
    harvested=st.floats(50, 350),
)
def test_corrected_count_makes_the_estimate_right(
    ears: float, kernels: float, thousand: float, harvested: float
) -> None:
    """Reckoned again with the field correction, the estimate is the harvest."""
    found = Settled(
        field_id="D14",
        year=2026,
        hybrid=None,
        thousand_kernels=thousand,
        estimated_bu_ac=stop_yield_bu_ac(ears, kernels, thousand),
        harvested_bu_ac=harvested,
    )
    again = stop_yield_bu_ac(ears, kernels, found.corrected_thousand)
    assert again == pytest.approx(harvested)
    assert found.estimated_bu_ac == pytest.approx(harvested * (1 + found.miss_pct / 100))


def test_harvest_from_scale_tickets() -> None:
    """A million pounds at 20 % from 100 acres are 169.06 bu/ac at 15.5 %, by hand.

    1,000,000 x 80 / 84.5 / 56 / 100.
    """
    halves = [Weighed(wet_lb=500_000, moisture_pct=20)] * 2
    assert harvested_bu_ac(halves, 100) == pytest.approx(169.0617, abs=1e-4)
    assert harvested_bu_ac([Weighed(wet_lb=56 * 150, moisture_pct=15.5)], 1) == pytest.approx(150)
    for weight, acres in ((0, 10), (100, 0)):
        with pytest.raises(ValueError, match="above zero"):
            harvested_bu_ac([Weighed(wet_lb=weight, moisture_pct=15.5)], acres)


def test_a_load_is_weighed_by_its_weight_or_its_wet_bushels() -> None:
    """A printed weight counts first; 1,000 wet bushels are 56,000 lb; neither is no load."""
    assert load_lb(51_000, 1000) == 51_000
    assert load_lb(None, 1000) == 56_000
    assert load_lb(None, None) is None


@pytest.mark.parametrize(
    ("settled", "missing"),
    [
        ([], (3, 2)),
        ([field("a", 2025, 1.1)], (2, 1)),
        ([field(name, 2025, 1.1) for name in "abcd"], (0, 1)),
        ([field("a", year, 1.1) for year in (2024, 2025, 2026)], (2, 0)),
    ],
)
def test_too_few_fields_or_years(settled: list[Settled], missing: tuple[int, int]) -> None:
    """Under 3 fields or 2 years there is no suggestion, and what is missing is said."""
    assert suggest(settled, BASE) == TooFew(fields=missing[0], years=missing[1])


def test_worked_by_hand() -> None:
    """Two years of two fields: each part of the formula worked on paper.

    Logarithms 0.10, 0.14 and 0.02, 0.06: mean 0.08, within 0.0008, between means 0.0064, so
    between (0.0064 - 0.0008) / 2 = 0.0028; error 0.0028 / 2 + 0.0008 / 4 = 0.0016; prior 0.01.
    """
    logs = {("a", 2025): 0.10, ("b", 2025): 0.14, ("c", 2026): 0.02, ("d", 2026): 0.06}
    found = suggestion(*(field(*key, float(np.exp(value))) for key, value in logs.items()))
    weight = 0.01 / 0.0116
    half = 1.885618 * np.sqrt(0.0028 + 0.0008 + weight * 0.0016)
    assert (found.fields, found.years) == (4, 2)
    assert found.weight == pytest.approx(weight)
    assert found.likely == pytest.approx(BASE * np.exp(weight * 0.08))
    assert found.low == pytest.approx(BASE * np.exp(weight * 0.08 - half), rel=1e-6)
    assert found.high == pytest.approx(BASE * np.exp(weight * 0.08 + half), rel=1e-6)


def test_fields_that_agree_are_believed() -> None:
    """Where all fields are over by a tenth, the suggestion is a tenth more kernels."""
    found = suggestion(*(field(name, year, 1.1) for name, year in (("a", 1), ("b", 2), ("c", 2))))
    assert found.weight == pytest.approx(1)
    assert (found.low, found.likely, found.high) == pytest.approx((BASE * 1.1,) * 3)


def test_one_field_a_year_keeps_its_spread() -> None:
    """With one field each year the differences still count."""
    found = suggestion(field("a", 1, 1.0), field("b", 2, 1.2), field("c", 3, 1.1))
    assert found.low < found.likely < found.high
    assert found.weight < 1


def test_condition_of_the_kernels_is_taken_out() -> None:
    """Estimates made for heavy and for light kernels are missed alike, so they count alike."""
    alike = [field("a", 1, 1.1, 77.5), field("b", 2, 1.05, 100), field("c", 2, 1.2)]
    base = [field("a", 1, 1.1), field("b", 2, 1.05), field("c", 2, 1.2)]
    assert suggestion(*alike) == suggestion(*base)


ratios = st.lists(
    st.tuples(st.integers(1, 4), st.floats(0.6, 1.6)), min_size=3, max_size=12
).filter(lambda many: len({year for year, _ in many}) > 1)


@given(ratios)
def test_suggestion_is_drawn_towards_the_usual(many: list[tuple[int, float]]) -> None:
    """The likely value lies between the usual count and the mean over years of the fields."""
    settled = [field(f"F{n}", year, ratio) for n, (year, ratio) in enumerate(many)]
    found = suggestion(*settled)
    years = {year for year, _ in many}
    mean = np.mean([np.mean([np.log(r) for y, r in many if y == year]) for year in years])
    low, high = sorted((BASE, BASE * float(np.exp(mean))))
    assert low - 1e-9 <= found.likely <= high + 1e-9
    assert 0 < found.weight <= 1
    assert found.low <= found.likely <= found.high


def test_spread_holds_the_next_field() -> None:
    """Over invented hybrids, four in five next fields fall into the spread, or a few more."""
    rng = np.random.default_rng(3)
    hybrids, held = 500, 0
    prior = shipped_figures().number("settle.prior_sd_pct") / 100
    for _ in range(hybrids):
        habit = rng.normal(0, prior)
        seen = [
            field(f"F{year}{n}", year, float(np.exp(habit + weather + rng.normal(0, 0.06))))
            for year, weather in enumerate(rng.normal(0, 0.05, 3))
            for n in range(3)
        ]
        found = suggestion(*seen)
        following = BASE * np.exp(habit + rng.normal(0, 0.05) + rng.normal(0, 0.06))
        held += found.low <= following <= found.high
    assert 0.78 < held / hybrids < 0.92
