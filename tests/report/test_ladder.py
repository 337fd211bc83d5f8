"""The leaf ladder: every disease on its leaf, every bar as long as its share."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.leaves import HIGHEST_FIRST
from fieldbook.agronomy.wilson import Count, share
from fieldbook.forms.leaves import DISEASES, HEIGHTS
from fieldbook.render import environment
from fieldbook.report.amounts import Amounts
from fieldbook.report.drawings import NARROW, Drawing
from fieldbook.report.drawings.ladder import SMALL, Reached, draw_ladder
from fieldbook.report.rulewords import disease_words
from fieldbook.report.sharewords import short_share
from fieldbook.units import System
from report.test_drawings import assert_sound

US = Amounts(units=System.US)
NAMES = [disease_words(one.key, "en") for one in DISEASES]


def reached(name: str, leaf: str, hits: int | None) -> Reached:
    found = None if hits is None else share([Count(hits=hits, looked=100)])
    words = short_share(found, US) if found else ""
    return Reached(name=name, leaf=leaf, share=found, words=words)


def draw(*rows: Reached, width: float = SMALL) -> Drawing:
    drawing = draw_ladder(rows, width=width, title="t", about="a")
    assert drawing is not None
    return drawing


some_rows = st.lists(
    st.builds(
        reached,
        st.sampled_from(NAMES),
        st.sampled_from(HIGHEST_FIRST),
        st.none() | st.integers(1, 100),
    ),
    min_size=1,
    max_size=12,
)


@given(rows=some_rows)
def test_any_ladder_is_sound(rows: list[Reached]):
    """Any diseases on any leaves: all inside, and no text on another."""
    for width in (SMALL, NARROW):
        assert_sound(draw(*rows, width=width))


@given(rows=some_rows)
def test_a_disease_stands_at_its_leaf(rows: list[Reached]):
    """Its name lies at or below the name of its leaf, and above that of the next."""
    drawing = draw(*rows)
    rungs = drawing.labels
    names = [label for label in rungs if label.x == 2]
    assert len(names) == len(HIGHEST_FIRST)
    tops = [label.y for label in names]
    words = [label for label in rungs if label.text in NAMES]
    by_leaf = sorted(rows, key=lambda row: HIGHEST_FIRST.index(row.leaf))
    assert [label.text for label in words] == [row.name for row in by_leaf]
    for label, row in zip(words, by_leaf, strict=True):
        at = HIGHEST_FIRST.index(row.leaf)
        assert label.y >= tops[at] - 1
        assert at + 1 == len(tops) or label.y < tops[at + 1]


@pytest.mark.parametrize("hits", [1, 25, 50, 100])
def test_a_bar_is_as_long_as_its_share(hits: int):
    """The filled part over the whole bar is the share of plants, the thin line holds its end."""
    drawing = draw(reached("eyespot", "lower", hits))
    whole = next(rect for rect in drawing.rects if rect.role == "plants")
    sick = next(rect for rect in drawing.rects if rect.role == "sick")
    assert sick.width / whole.width == pytest.approx(hits / 100)
    spread = next(shape for shape in drawing.shapes if getattr(shape, "role", "") == "range")
    assert spread.kind == "line"
    assert spread.x1 <= sick.x + sick.width <= spread.x2 + 1e-9
    assert whole.x <= spread.x1
    assert spread.x2 <= whole.x + whole.width + 1e-9


def test_a_disease_without_a_count_has_no_bar():
    """Only its name and its leaf."""
    drawing = draw(reached("eyespot", "below-1", None))
    assert [rect.role for rect in drawing.rects] == ["ear"]


def test_the_ear_leaf_is_marked_once():
    """By an ear, and by heavier words and a heavier leaf."""
    drawing = draw(reached("eyespot", "below-1", 5))
    assert [label.text for label in drawing.labels if label.bold] == ["ear leaf"]
    roles = [getattr(shape, "role", "") for shape in drawing.shapes]
    assert roles.count("ear-leaf") == roles.count("ear") == 1


def test_every_leaf_of_the_form_has_a_rung():
    """The form and the ladder know the same leaves."""
    assert {one.key for one in HEIGHTS} == set(HIGHEST_FIRST)


def test_nothing_reached_is_no_picture():
    """Without a highest leaf there is no ladder."""
    assert draw_ladder((), width=SMALL, title="t", about="a") is None


def test_the_ladder_prints_in_ink_of_its_own():
    """The template gives each role a fill or a stroke, and escapes names."""
    rows = (reached("<b>", "ear-leaf", 40),)
    drawing = draw_ladder(rows, width=SMALL, title="t", about="a")
    template = environment().get_template("drawings/ladder.svg.j2")
    svg = template.render(drawing=drawing, id="x")
    assert "&lt;b&gt;" in svg
    assert 'fill="#CC79A7"' in svg
