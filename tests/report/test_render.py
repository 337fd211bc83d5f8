"""The shared environment: what it escapes, and where it finds its templates."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from jinja2 import UndefinedError

from fieldbook import render
from fieldbook.units import AREA, System


def test_importing_render_does_not_load_jinja():
    """A command that writes no page does not pay for Jinja."""
    code = "import sys, fieldbook.render; sys.exit('jinja2' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_shipped_templates_are_found():
    """The folder of templates is there, with the page of a report in it."""
    assert (render.shipped("templates") / "report" / "page.html.j2").is_file()


def test_shipped_prefers_the_installed_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A wheel's own folder wins over one that happens to lie beside the package."""
    package = tmp_path / "fieldbook"
    (package / "_shipped" / "templates").mkdir(parents=True)
    (tmp_path / "templates").mkdir()
    monkeypatch.setattr(render, "_PACKAGE", package)
    assert render.shipped("templates") == package / "_shipped" / "templates"


def test_a_missing_folder_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """Where nothing ships, the error names the folder."""
    monkeypatch.setattr(render, "_PACKAGE", tmp_path / "fieldbook")
    with pytest.raises(FileNotFoundError, match="example_books"):
        render.shipped("example_books")


def test_text_is_escaped_and_misspelled_names_fail():
    """Markup in a value stays text, and an unknown name is an error, not a hole."""
    rooms = render.environment()
    assert rooms.from_string("{{ it }}").render(it="<b>") == "&lt;b&gt;"
    with pytest.raises(UndefinedError):
        rooms.from_string("{{ misspelled }}").render()


def test_a_number_and_its_unit_stay_on_one_line():
    """On a page by a no-break space; a letter in plain text, and other words, keep theirs."""
    page, text = "Up 8 % at 70 °F, 62 ac, 30 in rows, 5 active", "{{ it }}"
    held = "Up 8\u00a0% at 70\u00a0°F, 62\u00a0ac, 30 in rows, 5 active"
    rooms = render.environment()
    assert rooms.from_string(text).render(it=page) == held
    assert rooms.overlay(autoescape=False).from_string(text).render(it=page) == page


def test_filters_write_amounts_ranges_and_days():
    """Templates of a user's own have units, ranges and days at hand."""
    rooms = render.environment()
    rooms.globals.update(area=AREA, metric=System.METRIC)
    text = "{{ 100 | amount(area, metric, 1) }}; {{ (175, 205) | span }}; {{ it | day }}"
    assert rooms.from_string(text).render(it=date(2025, 7, 22)) == (
        "40.5\u00a0ha; 175 to 205; Tue 22 July"
    )


def test_a_text_on_a_page_is_allowed_by_its_hash():
    """The hash is that of the policy's own standard: SHA-256, in base64."""
    page = render.environment().from_string("{{ it | csp_hash }}")
    assert page.render(it="alert('Hello, world.');") == (
        "sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng="
    )


def test_own_templates_win_and_must_exist(tmp_path: Path):
    """A folder of the user's own overrides single templates; a wrong folder is said."""
    (tmp_path / "report").mkdir()
    (tmp_path / "report" / "page.html.j2").write_text("mine")
    rooms = render.environment(tmp_path)
    assert rooms.get_template("report/page.html.j2").render() == "mine"
    assert rooms.get_template("report/page.css.j2").name == "report/page.css.j2"
    with pytest.raises(FileNotFoundError, match="nowhere"):
        render.environment(tmp_path / "nowhere")
