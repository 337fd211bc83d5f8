"""A season's own look: name, logo, colour and footer, for all pages or for one grower's."""

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from parts import need, pango_missing
from PIL import Image
from pypdf import PdfReader
from seasons import small_season

from fieldbook.problems import Problem, sentence
from fieldbook.render import css_string
from fieldbook.report.look import MAX_LOGO_BYTES, PageLook, season_looks
from fieldbook.report.page import field_page
from fieldbook.report.pdf import page_pdf
from fieldbook.season.season import Season, open_season
from fieldbook.settings.look import Look, contrast
from fieldbook.settings.read import read_settings
from report import factory

WORDS = """
[look]
house = "Ash Creek Agronomy"
logo = "ash.png"
ink = "#1F4E79"
footer = "Call before you act on this page."
[growers.G1]
logo = "farm.jpg"
footer = "Home farm only."
"""
Opened = Callable[[str], Season]


@pytest.fixture
def opened(tmp_path: Path) -> Opened:
    """Give an opened season whose settings end in the lines given."""

    def with_lines(lines: str) -> Season:
        folder = tmp_path / "season"
        if not folder.exists():
            small_season(folder)
        path = folder / "season.toml"
        kept = path.read_text("utf-8").split("[look]")[0]
        path.write_text(kept + lines, "utf-8")
        season, problems = open_season(folder)
        assert season is not None, problems
        return season

    return with_lines


def picture(path: Path, kind: str, size: tuple[int, int] = (600, 200)) -> None:
    Image.new("RGB", size, "#1f4e79").save(path, kind)


def codes(problems: tuple[Problem, ...]) -> list[str]:
    return [found.code for found in problems]


def test_a_look_leaves_open_what_another_says():
    """A grower's own keys count; the rest is the season's."""
    own = Look(logo="farm.png").over(Look(house="Ash", logo="ash.png", ink="#1f4e79"))
    assert own == Look(house="Ash", logo="farm.png", ink="#1f4e79")


def test_the_season_and_a_grower_have_their_looks(opened: Opened):
    """Both pictures are inside the pages' addresses, and the ink is written in small letters."""
    season = opened(WORDS)
    picture(season.folder.path / "ash.png", "PNG")
    picture(season.folder.path / "farm.jpg", "JPEG", (300, 300))
    looks = season_looks(season)
    assert looks.problems == ()
    assert (looks.own.house, looks.own.ink) == ("Ash Creek Agronomy", "#1f4e79")
    farm = looks.of("G1")
    assert (farm.house, farm.ink, farm.footer) == (looks.own.house, "#1f4e79", "Home farm only.")
    assert looks.own.logo
    assert farm.logo
    assert (looks.own.logo.width_px, farm.logo.width_px) == (600, 300)
    assert farm.logo.address.startswith("data:image/jpeg;base64,")
    assert looks.of("nobody's") == looks.own


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (None, "there is no such file"),
        (b"\x89PNG half a picture", "it is no picture that can be read here"),
        (b"<svg onload='zqx()'/>", "it is no picture that can be read here"),
        (b"\x00" * (MAX_LOGO_BYTES + 1), "it is larger than 3 MB"),
    ],
)
def test_a_logo_that_cannot_be_shown_is_told_once(opened: Opened, data: bytes | None, why: str):
    """The pages are written without it (code season-logo)."""
    season = opened('[look]\nhouse = "Ash"\nlogo = "ash.png"\n')
    if data is not None:
        (season.folder.path / "ash.png").write_bytes(data)
    looks = season_looks(season)
    assert codes(looks.problems) == ["season-logo"]
    assert f"names 'ash.png' as a logo, but {why}." in sentence(looks.problems[0])
    assert looks.own == PageLook(house="Ash")


@pytest.mark.parametrize(
    ("line", "key"),
    [
        ('logo = "../ash.png"', "look.logo"),
        ('logo = "pictures/ash.png"', "look.logo"),
        ('logo = "ash.svg"', "look.logo"),
        ('ink = "blue"', "look.ink"),
        ('ink = "#ffcc00"', "look.ink"),
        ("ink = 7", "look.ink"),
        (f'footer = "{"x" * 91}"', "look.footer"),
    ],
)
def test_what_a_look_cannot_be(tmp_path: Path, line: str, key: str):
    """A path, a vector file, a colour that is none or too pale, a footer of two lines."""
    path = tmp_path / "season.toml"
    path.write_text(f"[look]\n{line}\n", "utf-8")
    _, problems = read_settings(path)
    said = [dict(one.params)["key"] for one in problems if one.code == "season-bad-value"]
    assert said == [key]


def test_ink_is_held_to_the_contrast_of_words():
    """Black on white is 21 to 1 (W3C, WCAG 2.2, "contrast ratio"); yellow on white is 1.07."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#ffff00", "#ffffff") == pytest.approx(1.074, abs=0.001)


def test_a_look_for_an_unknown_grower_is_told(opened: Opened):
    """An ID written otherwise would leave its logo unused (code season-grower-unknown)."""
    season = opened('[look]\n[growers.G01]\nhouse = "Ash"\n')
    (said,) = (one for one in season.problems if one.code == "season-grower-unknown")
    assert dict(said.params)["typed"] == "G01"


def test_a_text_in_a_style_sheet_stays_a_text():
    """Nothing ends the string: quotes, backslashes, braces and angle brackets stand as numbers."""
    said = str(css_string('Ash "&" \\} </style> Öl'))
    assert re.fullmatch(r'"(?:[\w ]|\\[0-9a-f]+ )*"', said)
    assert said.startswith('"Ash \\22 \\26 \\22 ')


@pytest.mark.pdf
def test_a_look_is_on_every_sheet():
    """Name and logo head the report; the footer is under both sheets; the headings have the ink."""
    need(pango_missing())
    buffer = io.BytesIO()
    Image.new("RGB", (600, 200), "#1f4e79").save(buffer, "PNG")
    look = PageLook(house="Ash Creek", ink="#1f4e79", footer='Call "555-0100" first.')
    html = field_page(factory.full(), factory.context(look=look))
    assert '<p class="house">Ash Creek</p>' in html
    assert "h1, h2, .house { color: #1f4e79; }" in html
    sheets = PdfReader(io.BytesIO(page_pdf(html))).pages
    assert len(sheets) == len(PdfReader(io.BytesIO(page_pdf(plain()))).pages)
    assert all('Call "555-0100" first.' in sheet.extract_text() for sheet in sheets)


def plain() -> str:
    html = field_page(factory.full(), factory.context())
    assert 'class="house"' not in html
    assert "bottom-center" not in html
    assert "<footer>" not in html
    return html
