"""The page of a strip trial: its words, its picture, its one page of paper, its name."""

import io
import re
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from parts import need, pango_missing
from pypdf import PdfReader
from seasons import small_season

from fieldbook.agronomy.lsd import paired_strips
from fieldbook.agronomy.strips import Strip, compare_strips
from fieldbook.problems import problem
from fieldbook.report.drawings import NARROW, WIDE, Drawing
from fieldbook.report.drawings.shapes import Label, Line
from fieldbook.report.drawings.trial import TreatmentRow, draw_trial
from fieldbook.report.pdf import page_pdf
from fieldbook.report.plain import plain_lines, plain_page
from fieldbook.report.trial_page import trial_page_name, trial_pages, trial_view
from fieldbook.results.trials import COUNTED, HARVESTED, StripResult, TrialResult
from fieldbook.units import System
from report import factory
from report.test_drawings import assert_sound

DAY = date(2026, 12, 1)
YIELDS = {
    "Larkspur 108": (198.0, 205, 190, 201),
    "Tamsin 107, 34,000 seeds": (190.0, 199, 186, 193),
    "Oriel 109": (187.0, 196, 184, 188),
    "Ferrow 112 with starter": (176.0, 188, 171, 180),
}
widths = pytest.mark.parametrize("width", [NARROW, WIDE])


def trial(yields: dict[str, tuple[float, ...]] = YIELDS, *, basis: str = HARVESTED) -> TrialResult:
    """Compare these strips, one block a column."""
    strips = tuple(
        StripResult(
            field_id=f"S{at}{block}",
            field="Strip",
            treatment=treatment,
            block=str(block),
            value_bu_ac=value,
        )
        for at, (treatment, values) in enumerate(yields.items(), start=1)
        for block, value in enumerate(values, start=1)
    )
    used = [
        Strip(treatment=one.treatment, block=one.block, value=one.value_bu_ac or 0.0)
        for one in strips
    ]
    comparison = compare_strips(used)
    pair = tuple(mean.treatment for mean in comparison.means) if len(yields) == 2 else None
    pairs = paired_strips(list(zip(*yields.values(), strict=True))) if pair else None
    return TrialResult(
        trial="North",
        basis=basis,
        strips=strips,
        comparison=comparison,
        pair_names=pair,  # type: ignore[arg-type]
        pairs=pairs,
        problems=(),
    )


def lines(found: TrialResult, **more: object) -> str:
    """Return the page as text."""
    view = trial_view(found, factory.context(**more), season_name="Season 2026", as_of=DAY)
    return " ".join(" ".join(plain_lines(view)).split())


def test_the_page_tells_means_letters_and_what_counts():
    """The highest mean, the least difference with its level, and one letter a treatment."""
    text = lines(trial())
    assert "Larkspur 108 gave the highest mean, 198.5 bushels an acre, over the scale." in text
    assert "more than 2.0 bushels an acre apart (at 10 %)" in text
    assert "Larkspur 108 198.5 0.0 a 1: 198.0 (S11); 2: 205.0 (S12)" in text
    assert "under 0.001" in text


def test_without_a_significant_difference_there_is_no_least_one():
    """No letters and no least difference where F is not significant."""
    text = lines(trial({"A": (190, 200, 195), "B": (195, 193, 199)}))
    assert "no larger than chance" in text
    assert "apart" not in text
    assert "A 195.0 0.7 – 1: 190.0 (S11)" in text


def test_two_treatments_are_told_pair_by_pair():
    """Each difference, their mean, and the range of the true one in plain words."""
    text = lines(trial({"Sprayed": (201, 207, 195, 210, 199), "Not": (196, 199, 193, 200, 195)}))
    assert "Sprayed minus Not, block by block: 5.0, 8.0, 2.0, 10.0, 4.0; 5.8 bushels" in text
    assert "With 90 % confidence the true difference lies from 2.8 to 8.8." in text


def test_counted_yields_are_called_counted():
    """A count is never passed off as a harvest."""
    text = lines(trial(basis=COUNTED))
    assert "by count" in text
    assert "over the scale" not in text


def test_a_refused_trial_shows_its_strips_and_reasons():
    """No mean, no picture; the strips and why they can't be compared."""
    said = problem("trial-nothing-to-compare", trial="North")
    strips = tuple(replace(strip, value_bu_ac=None) for strip in trial().strips)
    text = lines(replace(trial(), comparison=None, strips=strips, problems=(said,)))
    assert "can't be compared yet" in text
    assert "nothing to compare yet" in text
    assert "1: – (S11)" in text


def test_metric_pages_speak_of_tonnes():
    """198.5 bu/ac are 12.46 t/ha, and no bushel stands in the sentences."""
    text = lines(trial(), units=System.METRIC)
    assert "12.46 tonnes a hectare" in text
    assert "bushels" not in text
    assert "Analysis of variance, t/ha;" in text
    assert "bu/ac" not in text


def test_squares_are_in_the_unit_of_the_page():
    """A sum of squares goes with the square of the unit, and stays a number in tonnes."""
    us, metric = (
        float(re.findall(r"Blocks +([\d.,]+)", lines(trial(), units=units))[0].replace(",", ""))
        for units in (System.US, System.METRIC)
    )
    assert metric == pytest.approx(us * 0.0627677**2, abs=1e-4)


def test_names_of_users_are_escaped():
    """A treatment called like markup stays text."""
    found = trial({"<b>A</b>": (190, 200, 195), "B & C": (195, 193, 199)})
    context = factory.context()
    html = plain_page(trial_view(found, context, season_name="S", as_of=DAY), context)
    assert "<b>A</b>" not in html
    assert "&lt;b&gt;A&lt;/b&gt;" in html
    assert "http" not in html.replace("http://www.w3.org/2000/svg", "")


@pytest.mark.pdf
@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_trial_is_one_page(paper: str):
    """Four treatments in four blocks fit one page of either paper."""
    need(pango_missing())
    context = factory.context(paper=paper)
    html = plain_page(trial_view(trial(), context, season_name="S", as_of=DAY), context)
    assert len(PdfReader(io.BytesIO(page_pdf(html))).pages) == 1


def test_trials_with_like_names_get_pages_of_their_own():
    """The plain name where it is free, a hash where two would meet."""
    names = ("North", "north", "South / 2")
    assert trial_page_name("South / 2", names) == "trial-south-2"
    assert trial_page_name("South / 2", [*names, "South 2"]) != "trial-south-2"
    assert trial_page_name("North", ["North"]) == "trial-north"
    assert trial_page_name("North", names) != trial_page_name("north", names)


@pytest.mark.parametrize(("level", "told"), [(None, []), (10.0, ["10 %"])])
def test_a_level_asked_for_stands_with_the_figures(
    level: float | None, told: list[str], tmp_path: Path
):
    """Whoever reads the page sees that it is not the usual one."""
    season = small_season(tmp_path)
    (view,) = trial_pages(season, [trial()], as_of=DAY, level_pct=level).values()
    groups = view.sources.groups
    assert [one.value for name, some in groups for one in some if "this season" in name] == told


def test_a_trial_without_strips_says_why():
    """No empty table stands on the page."""
    said = problem("few-stops", field="K07", stops=4, area="62 ac", wanted=7)
    bare = replace(trial(), strips=(), comparison=None, problems=(said,))
    text = lines(bare)
    assert "To mind" in text
    assert "Usable stops in K07: 4." in text
    assert "Means and strips" not in text


# ---- the picture ---------------------------------------------------------------------------


def rows_of(values: list[list[float]]) -> list[TreatmentRow]:
    """Make rows of strips, a block a column."""
    return [
        TreatmentRow(
            name=f"Treatment {at} with quite a long name",
            told="198.5 abc",
            mean=sum(some) / len(some),
            dots=tuple((str(block), value) for block, value in enumerate(some, start=1)),
        )
        for at, some in enumerate(values)
    ]


def drawn(rows: list[TreatmentRow], lsd: float | None, width: float) -> Drawing:
    """Draw rows; every promise of a drawing holds."""
    words = "less than this apart is not called different"
    made = draw_trial(rows, lsd, words, unit="bu/ac", width=width, title="t", about="a")
    return assert_sound(made)


@widths
@given(
    values=st.lists(st.lists(st.floats(1, 320), min_size=1, max_size=14), min_size=1, max_size=6),
    lsd=st.none() | st.floats(0, 400),
)
def test_any_trial_fits_its_picture(width: float, values: list[list[float]], lsd: float | None):
    """Nothing lies outside, no text on another, and every strip has its dot."""
    made = drawn(rows_of(values), lsd, width)
    assert len(made.dots) == sum(map(len, values))


@widths
def test_dots_and_means_lie_on_one_scale(width: float):
    """A mean line stands where a dot of that yield would."""
    made = drawn(rows_of([[180.0], [190.0, 170.0]]), None, width)
    means = [one.x1 for one in made.shapes if isinstance(one, Line) and one.role == "mean"]
    assert means[0] == pytest.approx(means[1])
    low, high = sorted(dot.x for dot in made.dots if dot.x != pytest.approx(means[0]))
    assert (low + high) / 2 == pytest.approx(means[0])


@widths
def test_the_least_difference_is_as_long_as_it_is_on_the_axis(width: float):
    """Its bar spans what two dots so far apart span."""
    made = drawn(rows_of([[180.0], [190.0]]), 10, width)
    (bar,) = made.rects
    first, second = sorted(dot.x for dot in made.dots)
    assert bar.width == pytest.approx(second - first)


@pytest.mark.parametrize(
    ("name", "shown"),
    [("Ferrow", r"Ferrow"), ("Ferrow with starter " * 9, r"Ferrow with [\w ]*\w\.\.\.")],
)
def test_a_name_is_cut_to_its_room(name: str, shown: str):
    """A cut is marked, and what fits stands whole."""
    (row,) = rows_of([[180.0]])
    made = drawn([replace(row, name=name)], None, NARROW)
    labels = [one.text for one in made.shapes if isinstance(one, Label) and one.bold]
    assert any(re.fullmatch(shown, text) for text in labels)


def test_a_long_block_name_is_left_out_of_its_dot():
    """Two signs fit a dot; the dot of a third stands without."""
    (row,) = rows_of([[180.0, 190.0]])
    made = drawn([replace(row, dots=(("12", 180.0), ("123", 190.0)))], None, WIDE)
    marks = [one.text for one in made.shapes if isinstance(one, Label) and one.role == "in-used"]
    assert marks == ["12"]
    assert len(made.dots) == 2


def test_nothing_to_draw_is_no_drawing():
    """No strip, no picture."""
    assert draw_trial([], None, "", unit="bu/ac", width=WIDE, title="t", about="a") is None
