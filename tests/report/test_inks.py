"""Colours: told apart from the paper and from each other, on a screen and in a grey print.

Contrast is computed as WCAG 2 has it, from the colours that stand in the templates.
"""

import re
from itertools import combinations
from pathlib import Path

import pytest

from fieldbook.render import environment, shipped
from fieldbook.settings.look import PAPER, contrast

TEXT, DRAWN = 4.5, 3.0
APART = 1.25
"""Least contrast of two fills that a grey print has to tell apart; our own choice."""

INK = environment(None).get_template("drawings/shapes.j2").module
SOURCE = (shipped("templates") / "drawings" / "shapes.j2").read_text("utf-8")
TEXTURED = re.compile(r'fill="url\(')
# What has its edge from another shape: kernels lie between the outlines of the ear, seams in it.
BOUNDED = {("rect", "set"), ("line", "seam")}


def roles(kind: str) -> list[str]:
    """Return the roles that the template has an ink for."""
    body = SOURCE.split(f"macro {kind}_ink")[1].split("{% endmacro %}")[0]
    conditions = " ".join(re.findall(r"role (?:==|in) [^%]*%}", body))
    return re.findall(r'"([a-z-]+)"', conditions)


def ink(kind: str, role: str) -> str:
    given = (role, "x") if kind == "rect" else (role,)
    return str(getattr(INK, f"{kind}_ink")(*given))


def colours(text: str) -> list[str]:
    return re.findall(r"#[0-9a-fA-F]{6}", text)


EVERY = [(kind, role) for kind in ("rect", "line", "dot") for role in roles(kind)]


def test_contrast_is_that_of_the_standard():
    """Black on white is 21 to 1, and a grey of the standard's own border is 4.5 to 1."""
    assert contrast("#000000", PAPER) == pytest.approx(21)
    assert contrast("#767676", PAPER) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize(("kind", "role"), EVERY)
def test_every_shape_stands_out_from_the_paper(kind: str, role: str):
    """Its fill or its edge has three to one, or it lies between lines that have."""
    if (kind, role) in BOUNDED or TEXTURED.search(ink(kind, role)):
        return
    assert max(contrast(colour, PAPER) for colour in colours(ink(kind, role))) >= DRAWN


def test_textures_stand_out_from_the_paper():
    """The ink of every texture has three to one on its white ground."""
    drawn = str(INK.textures("x"))
    marks = [colour for colour in colours(drawn) if colour != PAPER]
    assert len(marks) == 3
    assert min(contrast(mark, PAPER) for mark in marks) >= DRAWN


def test_words_in_drawings_can_be_read():
    """Black and grey on paper, and black on the fill of a numbered dot."""
    black, quiet = (re.search(rf'set {name} = "(#\w+)"', SOURCE) for name in ("black", "quiet"))
    assert black is not None
    assert quiet is not None
    assert min(contrast(found[1], PAPER) for found in (black, quiet)) >= TEXT
    fill = re.search(r'fill="(#\w+)"', ink("dot", "used"))
    assert fill is not None
    assert contrast(black[1], fill[1]) >= TEXT


SHEETS = sorted(shipped("templates").rglob("*.css.j2"))


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: f"{sheet.parent.name}/{sheet.name}")
def test_words_of_every_sheet_can_be_read(sheet: Path):
    """Each colour of text has 4.5 to one on white."""
    found = re.findall(r"(?<![-\w])color: (#[0-9a-fA-F]{6})", sheet.read_text("utf-8"))
    inks = [one for one in found if one.lower() != PAPER]
    assert all(contrast(one, PAPER) >= TEXT for one in inks)


@pytest.mark.parametrize(
    ("kind", "together"),
    [
        ("rect", ("set", "unset", "aborted", "scattered")),
        ("rect", ("counting", "weight", "both")),
        ("rect", ("ahead", "passed")),
        ("rect", ("hot", "rain", "pollen", "pollen-maybe", "gap-unset", "gap-aborted")),
        ("rect", ("plants", "sick")),
        ("dot", ("used", "left-out")),
        ("dot", ("day-ahead", "day-passed")),
    ],
)
def test_colour_is_never_the_only_sign(kind: str, together: tuple[str, ...]):
    """Shapes of one drawing differ in lightness or texture, so that a grey print tells them."""
    for one, two in combinations(together, 2):
        fills = [re.search(r'fill="(\S+)"', ink(kind, role)) for role in (one, two)]
        assert all(fills)
        first, second = (found[1] for found in fills if found)
        if "url" in first or "url" in second:
            assert first != second
        else:
            assert contrast(first, second) >= APART, f"{one} and {two}"
