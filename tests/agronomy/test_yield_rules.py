"""Yield, lengths and kernels per bushel: how they behave."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.lengths import feet_and_inches, per_acre, row_length_ft, row_length_m
from fieldbook.agronomy.yields import (
    ear_corn_lb_per_bu,
    ear_weight_yield_bu_ac,
    field_correction,
    grain_weight_yield_bu_ac,
    kernel_counts,
    kernels_on_ear,
    mean_of_products,
    product_of_means,
    shrunk_weight,
    stop_yield_bu_ac,
    thousand_kernels_per_bu,
    yield_span_bu_ac,
)
from fieldbook.figures import shipped_figures
from fieldbook.units import HA_PER_AC

widths = st.floats(7, 60)
moistures = st.floats(0, 60)

# Iowa State University, Agronomy 212: five counts on twenty acres. Count 4 is worked back from
# the five means; only the answer of count 1 is printed.
ISU_COUNTS = ((30, 16, 30), (28, 15, 32), (29, 17, 28), (31, 16, 31), (28, 15, 33))


@given(width=widths, count=st.integers(0, 80), length=st.floats(1, 200))
def test_any_length_counts_alike(width: float, count: int, length: float) -> None:
    """A count along 1/1000 acre is thousands an acre, and any other length is scaled exactly."""
    standard = row_length_ft(width)
    assert per_acre(count, standard, width) == pytest.approx(count * 1000)
    assert per_acre(count, length, width) == pytest.approx(count * 1000 * standard / length)


@given(width_in=widths)
def test_metric_length_is_the_us_one_by_area(width_in: float) -> None:
    """1/1000 ha of a row is 1/1000 ac of it times the acres in a hectare."""
    metric = row_length_m(width_in * 0.0254)
    assert metric == pytest.approx(row_length_ft(width_in) * 0.3048 / HA_PER_AC)


@pytest.mark.parametrize(
    ("row_width_cm", "metres"), [(37.5, 26.67), (50, 20.0), (75, 13.33), (76, 13.16), (100, 10.0)]
)
def test_metric_lengths(row_width_cm: float, metres: float) -> None:
    """Ten square metres of usual metric rows."""
    assert row_length_m(row_width_cm / 100) == pytest.approx(metres, abs=0.005)


@pytest.mark.parametrize(
    ("length_ft", "whole"), [(17.424, (17, 5)), (11.97, (12, 0)), (0.4, (0, 5))]
)
def test_whole_feet_and_inches(length_ft: float, whole: tuple[int, int]) -> None:
    """Inches are rounded to the nearest and carry into feet."""
    assert feet_and_inches(length_ft) == whole


@pytest.mark.parametrize("bad", [0, -30, float("nan")])
def test_no_row_width_no_length(bad: float) -> None:
    """A width or length that is not above zero is refused."""
    with pytest.raises(ValueError, match="above zero"):
        row_length_ft(bad)
    with pytest.raises(ValueError, match="above zero"):
        row_length_m(bad)
    with pytest.raises(ValueError, match="above zero"):
        per_acre(30, bad, 30)
    with pytest.raises(ValueError, match="above zero"):
        per_acre(30, 17, bad)


def test_negative_counts_are_refused() -> None:
    """Nobody counts fewer than no ears or no kernels."""
    with pytest.raises(ValueError, match="negative"):
        per_acre(-1, 17, 30)
    with pytest.raises(ValueError, match="negative"):
        kernels_on_ear(16, -1)
    with pytest.raises(ValueError, match="negative"):
        kernels_on_ear(16, 30, opposite_per_row=-1)


def test_kernels_on_an_ear() -> None:
    """Lost rows are taken off, and opposite rows are averaged."""
    assert kernels_on_ear(16, 30) == 480
    assert kernels_on_ear(16, 30, lost_rows=2) == 420
    assert kernels_on_ear(16, 30, opposite_per_row=20) == 400
    assert kernels_on_ear(0, 0) == 0


@pytest.mark.parametrize("lost", [-1, 17])
def test_more_rows_lost_than_there_are(lost: float) -> None:
    """Lost rows outside none to all are refused."""
    with pytest.raises(ValueError, match="lost rows"):
        kernels_on_ear(16, 30, lost_rows=lost)


def test_two_ways_to_average() -> None:
    """Ears with many rows have short ones, so a product of means reads higher."""
    rows, per_row = (14, 16, 16, 18, 20), (38, 34, 36, 31, 29)
    ours, other = mean_of_products(rows, per_row), product_of_means(rows, per_row)
    assert ours == pytest.approx(558.0)
    assert stop_yield_bu_ac(31_000, ours, 85) == pytest.approx(203.51, abs=0.005)
    assert stop_yield_bu_ac(31_000, other, 85) == pytest.approx(205.87, abs=0.005)


def test_averages_need_ears() -> None:
    """No ears have no average, and every ear needs both counts."""
    with pytest.raises(ValueError, match="no ears"):
        mean_of_products([], [])
    with pytest.raises(ValueError, match="shorter"):
        mean_of_products([16, 16], [30])
    with pytest.raises(ValueError, match="as many rows"):
        product_of_means([16, 16], [30])


def test_field_is_the_mean_of_its_stops() -> None:
    """A field's yield is the mean of stop yields, which differs from one of mean parts."""
    stops = [stop_yield_bu_ac(e * 1000, kernels_on_ear(r, k), 90) for e, r, k in ISU_COUNTS]
    ears, rows, kernels = (sum(column) / 5 for column in zip(*ISU_COUNTS, strict=True))
    assert sum(stops) / 5 == pytest.approx(157.51, abs=0.005)
    of_means = stop_yield_bu_ac(ears * 1000, rows * kernels, 90)
    assert of_means == pytest.approx(157.89, abs=0.005)


@pytest.mark.parametrize(
    ("condition", "heavy", "likely", "light"),
    [("good", 70, 77.5, 87.5), ("average", 77.5, 87.5, 100), ("poor", 87.5, 100, 110)],
)
def test_kernels_per_bushel_by_grain_fill(
    condition: str, heavy: float, likely: float, light: float
) -> None:
    """A stated condition gives its three values."""
    counts = kernel_counts(condition)
    assert (counts.heavy, counts.likely, counts.light) == (heavy, likely, light)
    assert counts.stated


def test_unstated_grain_fill_is_average() -> None:
    """Without a word on grain fill the average is taken and said to be unstated."""
    counts = kernel_counts(None)
    assert (counts.condition, counts.likely, counts.stated) == ("average", 87.5, False)


def test_unknown_grain_fill_is_refused() -> None:
    """A condition that nobody defined is not guessed at."""
    with pytest.raises(ValueError, match="splendid"):
        kernel_counts("splendid")


def test_season_sets_kernels_per_bushel() -> None:
    """A season's own values take the place of the shipped ones."""
    figures = shipped_figures().changed({"kernels.average_thousand_per_bu": (80, 90, 105)})
    assert kernel_counts("average", figures=figures).likely == 90


@given(
    ears=st.floats(1, 60_000),
    kernels=st.floats(1, 1000),
    condition=st.sampled_from(["good", "average", "poor", None]),
)
def test_yield_span_is_ordered(ears: float, kernels: float, condition: str | None) -> None:
    """Light kernels give the low yield and heavy ones the high yield."""
    span = yield_span_bu_ac(ears, kernels, kernel_counts(condition))
    assert span.low < span.likely < span.high


@given(weight=st.floats(1, 1e5), m1=moistures, m2=moistures, m3=moistures)
def test_shrink_keeps_dry_matter(weight: float, m1: float, m2: float, m3: float) -> None:
    """Drying in steps ends at the same weight, and the dry matter stays."""
    at_once = shrunk_weight(weight, m1, m3)
    assert shrunk_weight(shrunk_weight(weight, m1, m2), m2, m3) == pytest.approx(at_once)
    assert at_once * (100 - m3) == pytest.approx(weight * (100 - m1))


def test_shrink_is_a_division() -> None:
    """10,000 lb at 20 % are 9,467 lb at 15.5 %, not the 9,240 of adding water to dry matter."""
    assert shrunk_weight(10_000, 20, 15.5) == pytest.approx(9467.46, abs=0.005)


@pytest.mark.parametrize("moisture_pct", [-1, 100, 130])
def test_impossible_moisture_is_refused(moisture_pct: float) -> None:
    """Moisture lies from 0 to under 100 %."""
    with pytest.raises(ValueError, match="moisture"):
        shrunk_weight(56, moisture_pct, 15.5)
    with pytest.raises(ValueError, match="moisture"):
        shrunk_weight(56, 15.5, moisture_pct)


@given(
    ears=st.floats(1000, 60_000),
    kernels=st.floats(50, 1000),
    grams=st.floats(15, 50),
    moisture=st.floats(10, 40),
)
def test_weight_and_count_agree(ears: float, kernels: float, grams: float, moisture: float) -> None:
    """Weighing the grain of an ear gives the same yield as counting its weighed kernels."""
    thousand = thousand_kernels_per_bu(grams, moisture)
    shelled_lb = kernels * grams / 100 / 453.59237
    by_weight = grain_weight_yield_bu_ac(ears, shelled_lb, moisture)
    assert stop_yield_bu_ac(ears, kernels, thousand) == pytest.approx(by_weight)


def test_ear_weight_line_ends() -> None:
    """The ear weight line is not used for corn so dry that it reads low."""
    assert ear_corn_lb_per_bu(15) == pytest.approx(67.365)
    with pytest.raises(ValueError, match="dry"):
        ear_corn_lb_per_bu(14.9)


def test_ear_weight_yield() -> None:
    """Pounds of ears over the pounds of ear corn in a bushel: 12,000 / 88.53 at 30 %."""
    assert ear_weight_yield_bu_ac(24_000, 0.5, 30) == pytest.approx(135.55, abs=0.005)


@given(estimate=st.floats(1, 400), harvested=st.floats(1, 400), thousand=st.floats(60, 140))
def test_field_correction_hits_the_harvest(
    estimate: float, harvested: float, thousand: float
) -> None:
    """The corrected kernels per bushel would have given the harvested yield."""
    corrected = field_correction(thousand, estimate, harvested)
    assert estimate * thousand / corrected == pytest.approx(harvested)


def test_no_harvest_no_correction() -> None:
    """Nothing can be learned from a harvest of nothing."""
    with pytest.raises(ValueError, match="harvest"):
        field_correction(85, 150, 0)
