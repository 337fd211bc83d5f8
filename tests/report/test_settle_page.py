"""The page of how good our estimates were: its words, its picture, the weighed sentence."""

import io
import re
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st
from parts import need, pango_missing
from pypdf import PdfReader

from fieldbook.agronomy.settle import Suggestion, TooFew
from fieldbook.problems import problem
from fieldbook.report.amounts import Amounts
from fieldbook.report.drawings import NARROW, WIDE
from fieldbook.report.drawings.against import Against, draw_against
from fieldbook.report.drawings.shapes import Line
from fieldbook.report.pdf import page_pdf
from fieldbook.report.plain import plain_lines, plain_page
from fieldbook.report.settle_page import settle_view
from fieldbook.report.weighedwords import weighed_words
from fieldbook.results.estimates import Estimate
from fieldbook.results.harvest import HarvestResult
from fieldbook.results.settle import Group, HybridSuggestion, SettledSeason
from fieldbook.results.yield_result import Methods, WeighedStop, WeighedYield
from fieldbook.units import System
from report import factory
from report.test_drawings import assert_sound

DAY = date(2026, 12, 1)
widths = pytest.mark.parametrize("width", [NARROW, WIDE])


def estimate(field_id: str, estimated: float, harvested: float) -> Estimate:
    """Make a kernel count with a range of 25 bu/ac to either side."""
    ends = (estimated - 25, estimated + 25)
    return Estimate(
        year=2026,
        field_id=field_id,
        field="Long eighty",
        hybrid="Larkspur 108",
        scout="Ana",
        visit_id=f"{field_id}.KC1",
        round="kernel-count",
        stage="R4",
        method="counted",
        day=date(2026, 8, 12),
        estimated_bu_ac=estimated,
        range_bu_ac=ends,
        harvested_bu_ac=harvested,
        miss_bu_ac=estimated - harvested,
        miss_pct=100 * (estimated / harvested - 1),
        held=ends[0] <= harvested <= ends[1],
        in_use=True,
        grain_fill="average",
        thousand_kernels=87.5,
        corrected_thousand=87.5 * estimated / harvested,
    )


ESTIMATES = (estimate("A1", 190, 180), estimate("A2", 200, 160), estimate("A3", 170, 170))
GROUP = Group(
    by="all",
    name="all",
    estimates=3,
    fields=3,
    mean_miss_pct=10.2,
    typical_miss_pct=10.2,
    held=2,
    with_range=3,
)
CUT = HarvestResult(
    field_id="A1",
    day=date(2026, 10, 12),
    loads=2,
    acres=80,
    acres_typed=True,
    wet_lb=900_000,
    moisture_pct=19,
    test_weight_lb_bu=57,
    yield_bu_ac=180,
)
SETTLED = SettledSeason(
    season_name="Season 2026",
    year=2026,
    as_of=DAY,
    units="us",
    fields=5,
    harvests=(CUT,) * 3,
    estimates=ESTIMATES,
    groups=(GROUP, replace(GROUP, by="scout", name="Ana")),
    base_thousand=87.5,
    settled=(),
    suggestions=(HybridSuggestion(hybrid=None, found=TooFew(fields=0, years=1)),),
    problems=(),
)


def lines(found: SettledSeason, **more: object) -> str:
    """Return the page as text."""
    view = settle_view(found, factory.context(**more))
    return " ".join(" ".join(plain_lines(view)).split())


def test_the_first_lines_say_how_good_we_were():
    """How many fields, how far off, to which side, and how many ranges held."""
    text = lines(SETTLED)
    assert "3 of 5 fields have a harvest that can be used." in text
    assert "3 kernel counts in 3 fields missed the harvest by 10 % on average." in text
    assert "Taken together they were 10 % too high." in text
    assert "The range that we told held the harvest in 2 of 3 counts." in text


@pytest.mark.parametrize(
    ("cut", "held", "words"),
    [
        ((CUT,), 1, ("has a harvest that can be used.", "held the harvest in the one count.")),
        ((CUT,), 0, ("has a harvest that can be used.", "did not hold the harvest.")),
        ((), 0, ("has no harvest that can be used.",)),
    ],
)
def test_one_field_and_one_count_are_said_as_one(
    cut: tuple[HarvestResult, ...], held: int, words: tuple[str, ...]
):
    """A season of one field speaks of the one field, and of the one range."""
    group = replace(GROUP, estimates=1, fields=1, held=held, with_range=1)
    text = lines(replace(SETTLED, fields=1, harvests=cut, groups=(group,) if cut else ()))
    assert all(word in text for word in words)
    assert "of 1 " not in text


@pytest.mark.parametrize(
    ("lean", "words"), [(-8.0, "were 8 % too low."), (1.0, "were neither too high nor too low.")]
)
def test_the_lean_is_told_to_its_side(lean: float, words: str):
    """A lean of under 2 % is none."""
    assert words in lines(replace(SETTLED, groups=(replace(GROUP, mean_miss_pct=lean),)))


def test_every_estimate_stands_with_what_would_have_been_right():
    """The miss in percent, and the thousands of kernels in a bushel that would have fitted."""
    text = lines(SETTLED)
    assert "A2 Long eighty Kernel count Ana 12 Aug 200 175 to 225 160 +25 109" in text
    assert "170 145 to 195 170 0 88" in text


def test_the_correction_is_told_with_what_it_hides():
    """Wherever a number of kernels is suggested, edges, acres and harvest loss are named."""
    found = Suggestion(low=84.0, likely=92.4, high=101.6, weight=0.7, fields=7, years=2)
    with_one = replace(
        SETTLED,
        settled=("x",),  # type: ignore[arg-type]
        suggestions=(HybridSuggestion(hybrid=None, found=found),),
    )
    text = lines(with_one)
    assert "92.4" in text
    assert "84 to 102" in text
    assert "7 fields in 2 years" in text
    for word in ("edges", "acres", "combine", "weight of kernels"):
        assert word in text


@pytest.mark.parametrize(
    ("missing", "words"),
    [
        (TooFew(fields=0, years=1), "not yet: needs 1 more year"),
        (TooFew(fields=2, years=1), "not yet: needs 2 more fields and 1 more year"),
    ],
)
def test_what_a_suggestion_lacks_is_told(missing: TooFew, words: str):
    """Fields and years that are still needed, and nothing that is there already."""
    suggested = (HybridSuggestion(hybrid=None, found=missing),)
    found = replace(SETTLED, settled=("x",), suggestions=suggested)  # type: ignore[arg-type]
    assert words in lines(found)


def test_a_harvest_without_counts_says_so():
    """Nothing is worked out of nothing; problems are told."""
    said = problem("harvest-without-loads", field="A1 Long eighty")
    text = lines(replace(SETTLED, estimates=(), groups=(), problems=(said,)))
    assert "No kernel count stands against a harvest yet." in text
    assert "has no load" in text


def test_metric_pages_speak_of_tonnes():
    """160 bu/ac are 10.0 t/ha."""
    text = lines(SETTLED, units=System.METRIC)
    assert "t/ha" in text
    assert "10.0" in text
    assert "bu/ac" not in text


def test_a_wide_table_can_be_moved_by_keyboard_and_has_a_name():
    """On a phone it reaches beyond the screen; its region is found and moved without a finger."""
    context = factory.context()
    html = plain_page(settle_view(SETTLED, context), context)
    tables = html.count("<table")
    assert tables > 1
    assert len(
        re.findall(r'class="scroll \w+" role="region" aria-label="[^"]+" tabindex="0"', html)
    ) == (tables)


@pytest.mark.pdf
def test_the_page_prints():
    """The PDF holds the title, and its picture has words for who can't see it."""
    need(pango_missing())
    context = factory.context()
    html = plain_page(settle_view(SETTLED, context), context)
    assert "3 kernel counts; the range of 2 held the harvest." in html
    text = PdfReader(io.BytesIO(page_pdf(html))).pages[0].extract_text()
    assert "How good were our estimates?" in text


# ---- the picture ---------------------------------------------------------------------------

yields = st.floats(0, 400)


@widths
@given(
    points=st.lists(
        st.tuples(st.floats(1, 400), yields, st.floats(0, 100)), min_size=1, max_size=40
    )
)
def test_any_estimates_fit_the_picture(width: float, points: list[tuple[float, float, float]]):
    """Nothing lies outside, no text on another, a dot an estimate, hollow where it missed."""
    made = draw_against(
        [
            Against(harvest=h, estimate=e, ends=(max(0, e - r), e + r), held=abs(h - e) <= r)
            for h, e, r in points
        ],
        unit="bu/ac",
        width=width,
        title="t",
        about="a",
    )
    made = assert_sound(made)
    assert len(made.dots) == len(points)
    hollow = sum(dot.role == "left-out" for dot in made.dots)
    assert hollow == sum(abs(h - e) > r for h, e, r in points)


@widths
def test_a_right_estimate_lies_on_the_line(width: float):
    """Where estimate and harvest agree the dot is on the dashed line; above it was too high."""
    points = [
        Against(harvest=180, estimate=180, ends=None, held=None),
        Against(harvest=180, estimate=230, ends=(200, 250), held=False),
        Against(harvest=90, estimate=120, ends=None, held=None),
    ]
    made = draw_against(points, unit="bu/ac", width=width, title="t", about="a")
    assert made is not None
    (line,) = (one for one in made.shapes if isinstance(one, Line) and one.role == "third")
    on, high, _ = made.dots
    along = (on.x - line.x1) / (line.x2 - line.x1)
    assert on.y == pytest.approx(line.y1 + along * (line.y2 - line.y1))
    assert high.y < on.y
    assert high.x == on.x


# ---- the weighed yield, in words ------------------------------------------------------------

STOP = WeighedStop(
    stop=1,
    ears_per_ac=30_000,
    grain_lb_per_ear=0.35,
    moisture_pct=24,
    yield_bu_ac=168.6,
    left_out=None,
)
WEIGHED = WeighedYield(
    visit_id="A1.RP1",
    day=date(2026, 9, 20),
    mean_bu_ac=168.6,
    interval_95_bu_ac=(160.2, 177.0),
    stops=(STOP,) * 5,
)
METHODS = Methods(
    weighed_bu_ac=168.6,
    counted_bu_ac=181.8,
    difference_bu_ac=-13.2,
    assumed_thousand=87.5,
    fitting_thousand=94.35,
    may_be_chance=True,
)
US = Amounts(units=System.US)


def test_weighed_and_counted_are_told_with_the_reason_for_the_difference():
    """The bags, the count, and kernels lighter by the share that the two differ."""
    clear = replace(METHODS, may_be_chance=False)
    assert weighed_words(WEIGHED, clear, US) == (
        "Grain weighed from 5 stops gives 169 bushels an acre (160 to 177). The count gave 182. "
        "A count takes kernels to weigh as usual for how they filled; these weigh about 7 % less."
    )


def test_a_difference_within_chance_is_said_to_be():
    """Where the two ranges meet, kernel weight is not blamed."""
    assert weighed_words(WEIGHED, METHODS, US).endswith(
        "The count gave 182; other ears were counted than weighed, so the difference may be chance."
    )


def test_a_clear_difference_is_not_called_chance():
    """Heavier kernels are told as such, and chance is not blamed."""
    text = weighed_words(WEIGHED, replace(METHODS, fitting_thousand=80, may_be_chance=False), US)
    assert "about 9 % more" in text
    assert "chance" not in text


def test_methods_that_agree_are_said_to():
    """Within 2 % the kernels weigh what the count took them to weigh."""
    text = weighed_words(WEIGHED, replace(METHODS, fitting_thousand=88), US)
    assert "the kernels weigh what the count took them to weigh" in text


def test_without_a_count_or_an_interval_less_is_said():
    """One stop has no interval, and without a count nothing is compared."""
    alone = replace(WEIGHED, stops=(STOP,), interval_95_bu_ac=None)
    assert weighed_words(alone, None, US) == (
        "Grain weighed from one stop gives 169 bushels an acre; "
        "too few stops to say how far off that may be."
    )
