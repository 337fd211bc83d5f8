"""Nothing that people type becomes a formula, a link, markup, a file name, a fetch or a command.

One invented season has a hostile string in every text column of its roster and its books; all
commands run on it, and everything that they write is read again by another reader.
"""

import io
import json
import re
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
from parts import need, pango_missing
from pypdf import PdfReader
from seasons import NOW, ROWS, good_visit, write_filled

from fieldbook.check.cells import parse_value
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.ledger.events import read_events
from fieldbook.problems import Place, catalogue, line, problem, sentence
from fieldbook.render import shipped
from fieldbook.report.order import BOARD
from fieldbook.season.blank import own_name, safe_name, words_name
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import begin_season
from fieldbook.units import System
from hostile.planted import (
    FIELD_IDS,
    HOSTILE,
    MARK,
    STEERING,
    STRING_OF_CSS,
    Ran,
    all_commands,
    hostile_settings,
)

NAMESPACE = {"s": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    """Run every command on one hostile season."""
    return all_commands(tmp_path_factory.mktemp("hostile-output"))


def test_nothing_is_lost(ran: Ran) -> None:
    """Every hostile book is taken in, under a name that is one line, and asks its questions."""
    assert "not taken in" not in ran.said["intake"]
    assert not [path for path in ran.season.folder.incoming.iterdir() if path.is_file()]
    assert "questions for" in ran.said["ask"]
    assert MARK in ran.said["history"]
    assert catalogue()["text-cut"].message.rpartition(". ")[2] in ran.said["intake"]


# ---- the terminal -------------------------------------------------------------------------------


def test_no_command_lets_a_text_steer_the_terminal(ran: Ran) -> None:
    """No escape sequence, no line that a text ended, no turned direction; the texts are there."""
    assert MARK in "".join(ran.said.values())
    for name, said in ran.said.items():
        assert not STEERING.search(said), (name, STEERING.search(said))
        assert not [text for text in said.splitlines() if text.startswith("ERROR  forged")], name


def test_replies_and_suggestions_are_plain_lines(ran: Ran) -> None:
    """The words to send with a correction book hold no steering sign, nor does any other text."""
    texts = [*ran.files(".txt"), *ran.files("plan.json"), *ran.files("next-season.toml")]
    assert {"ask", "plan"} <= {path.parent.name for path in texts}
    for path in texts:
        assert not STEERING.search(path.read_text("utf-8")), path


def test_json_is_one_document(ran: Ran) -> None:
    """JSON stays whole and holds the texts as data."""
    for name in ("check json", "results json", "plan json", "compare json", "settle json"):
        assert json.loads(ran.said[name]), name
    assert HOSTILE[7] in str(json.loads(ran.said["results json"]))


# ---- books and other workbooks ------------------------------------------------------------------


def sheets(path: Path) -> Iterator[ElementTree.Element]:
    """Parse every sheet of a workbook."""
    with zipfile.ZipFile(path) as package:
        for name in package.namelist():
            if name.startswith("xl/worksheets/sheet"):
                yield ElementTree.fromstring(package.read(name))


def test_no_workbook_holds_a_formula_or_a_link_of_a_text(ran: Ran) -> None:
    """Blank, correction and plan books: texts are strings, and links lead inside the book."""
    found = ran.files(".xlsx")
    assert {"ask", "plan", "kernel-count"} <= {path.parent.name for path in found}
    for path in found:
        for sheet in sheets(path):
            formulas = [
                one.text or "" for one in sheet.iter() if one.tag.endswith(("}f", "}formula1"))
            ]
            assert not [text for text in formulas if MARK in text or "HYPERLINK" in text], path
            links = [dict(one.attrib) for one in sheet.iterfind(".//s:hyperlink", NAMESPACE)]
            assert all(set(one) <= {"ref", "location", "display"} for one in links), path
            assert not [one for one in links if MARK in one.get("location", "")], path


def test_no_workbook_reaches_outside(ran: Ran) -> None:
    """No part of a book that is written leads to another file or to the net."""
    for path in ran.files(".xlsx"):
        with zipfile.ZipFile(path) as package:
            relations = [package.read(n) for n in package.namelist() if n.endswith(".rels")]
            assert not [one for one in relations if b"External" in one or MARK.encode() in one], (
                path
            )
            assert not [n for n in package.namelist() if "external" in n.lower()], path


def test_correction_books_hold_the_texts_as_strings(ran: Ran) -> None:
    """What a scout typed comes back in the correction book as a string of the same letters."""
    asked = [path for path in ran.files(".xlsx") if path.parent.name == "ask"]
    held = ""
    for path in asked:
        with zipfile.ZipFile(path) as package:
            parts = ElementTree.fromstring(package.read("xl/sharedStrings.xml"))
            held += "\n".join(parts.itertext())
    for text in ("=HYPERLINK(", "@SUM(zqx1)", "+1+zqx1", "-1-zqx1", "file:///etc/zqx"):
        assert text in held, text


# ---- pages --------------------------------------------------------------------------------------


@cache
def markup_of_templates() -> tuple[frozenset[str], frozenset[str]]:
    """Return the elements and attributes that the shipped templates write."""
    text = "\n".join(path.read_text("utf-8") for path in shipped("templates").rglob("*.j2"))
    text += '<link rel="icon" href="">'
    tags = frozenset(tag.lower() for tag in re.findall(r"<([a-zA-Z][\w:-]*)", text))
    names = frozenset(name.lower() for name in re.findall(r"([a-zA-Z][\w:-]*)=\"", text))
    return tags, names | {"hidden"}


class Page(HTMLParser):
    """Everything of a page that is not text."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.comments: list[str] = []
        self.text = ""
        self.styles = ""
        self.scripts = ""
        self._within = ""
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep an element and its attributes."""
        self.tags.append((tag, dict(attrs)))
        self._within = tag

    def handle_endtag(self, tag: str) -> None:
        """Leave an element."""
        self._within = ""

    def handle_data(self, data: str) -> None:
        """Keep a text, those of style sheets and scripts apart."""
        if self._within == "style":
            self.styles += data
        elif self._within == "script":
            self.scripts += data
        else:
            self.text += data

    def handle_comment(self, data: str) -> None:
        """Keep a comment."""
        self.comments.append(data)


def pages(ran: Ran) -> Iterator[tuple[Path, Page]]:
    """Parse every page that was written."""
    found = ran.files(".html")
    assert len(found) > len(FIELD_IDS)
    for path in found:
        yield path, Page(path.read_text("utf-8"))


def test_no_page_holds_markup_of_a_text(ran: Ran) -> None:
    """Elements and attributes are the templates'; nothing planted is a style, script or comment.

    The board alone has a script, and only one. A style sheet holds the footer, which is a user's,
    as a string in which every sign but letters, digits and blanks is a number.
    """
    tags, names = markup_of_templates()
    for path, page in pages(ran):
        found = [tag for tag, _ in page.tags]
        assert set(found) <= tags, path
        assert found.count("script") == (path.stem == BOARD), path
        assert {name for _, attrs in page.tags for name in attrs} <= names, path
        assert MARK not in STRING_OF_CSS.sub("", page.styles) + page.scripts, path
        assert not [said for said in page.comments if MARK in said], path


def test_pages_fetch_nothing_and_lead_to_themselves_or_sources(ran: Ran) -> None:
    """Links lead to a place in the page, to a page that was written, or to a cited source."""
    for path, page in pages(ran):
        for tag, attrs in page.tags:
            assert not [name for name in attrs if name.startswith("on")], path
            for name in ("href", "src", "action", "xlink:href", "data", "poster", "srcset"):
                target = attrs.get(name)
                if target is None:
                    continue
                file, _, _ = target.partition("#")
                known = target.startswith(("#", "data:")) or (path.parent / file).is_file()
                assert known or (tag == "a" and MARK not in target), (path, tag, target)
                assert not target.startswith(("file:", "javascript:")), (path, target)


def test_texts_are_shown_as_they_were_typed(ran: Ran) -> None:
    """Escaping loses nothing: markup in a name is there as text, and no template ran in it."""
    shown = "".join(page.text for _, page in pages(ran))
    for text in ("<script>zqx()</script>", "{{ 7 * 7 }}", "=HYPERLINK(", "javascript:zqx()"):
        assert text in shown, text
    assert not STEERING.search(shown)


def test_pdfs_have_no_action_of_a_text(ran: Ran) -> None:
    """A PDF has no script, no file within, and no link of a planted address."""
    need(pango_missing())
    found = ran.files(".pdf")
    assert found
    for path in found:
        reader = PdfReader(io.BytesIO(path.read_bytes()))
        root = str(reader.trailer["/Root"])
        assert not [
            name for name in ("/JavaScript", "/OpenAction", "/EmbeddedFiles") if name in root
        ]
        for page in reader.pages:
            for one in page.get("/Annots") or ():
                action = str(one.get_object().get("/A", ""))
                assert MARK not in action, path
                assert "file:" not in action, path


# ---- file names ---------------------------------------------------------------------------------


SAFE_NAME = re.compile(r"((packet|letter)\.[\w-]+\.)?[\w-]+\.[a-z]+")


def test_every_file_lies_in_the_season_under_a_safe_name(ran: Ran) -> None:
    """Names are letters, digits and - _ ., never hidden, a device, too long or a way out."""
    assert [path.name for path in ran.outside.iterdir()] == ["season"]
    for ending in (".html", ".pdf", ".xlsx", ".txt", ".toml"):
        for path in ran.files(ending):
            stem = path.name.partition(".")[0]
            assert re.fullmatch(r"((packet|letter)\.[\w-]+\.)?[\w-]+(\.[a-z]+)", path.name), (
                path.name
            )
            assert stem.casefold() not in ("con", "nul", "lpt1")
            assert len(path.name.encode()) <= 255


def test_every_field_has_a_page_of_its_own(ran: Ran) -> None:
    """IDs that would share a file name get names of their own."""
    fields = ran.season.roster.fields
    assert len(fields) == len(FIELD_IDS)
    assert len({own_name(field_id) for field_id in fields}) == len(fields)
    reports = {path.name for path in ran.files(".html") if path.parent.name == "reports"}
    for field_id in fields:
        assert [name for name in reports if name.startswith(f"{own_name(field_id)}-")], field_id


@pytest.mark.parametrize("text", [*HOSTILE, *FIELD_IDS, "", "___", "com1", "PRN"])
def test_safe_names(text: str) -> None:
    """Whatever is typed, its file name is short, plain and no device."""
    name = safe_name(text)
    assert re.fullmatch(r"[\w-]+", name)
    assert len(name.encode()) <= 101
    assert not re.fullmatch(r"(?i)con|prn|aux|nul|com\d|lpt\d", name)


def test_a_page_is_named_after_the_words_of_its_field() -> None:
    """Whatever stands between them, and whatever they begin or end with."""
    assert words_name("Split twenty, strip 1") == "split-twenty-strip-1"
    assert words_name(" O'Neil / home (80 ac) ") == "o-neil-home-80-ac"
    assert words_name("...") == words_name("") == "book"
    assert words_name("COM1") == "com1_"


# ---- the places where texts come in -------------------------------------------------------------


@pytest.mark.parametrize("text", HOSTILE)
def test_messages_hold_no_steering_sign(text: str) -> None:
    """A message, and the place before it, are one line of visible letters."""
    place = Place(file=text, sheet=text, cell="A1")
    said = line(problem("sheet-renamed", place, sheet="Ears", typed=text))
    assert said.isprintable()
    assert "\n" not in sentence(problem("season-exists", folder=text))


def test_a_very_long_text_is_cut_and_told() -> None:
    """A text of 40,000 letters is used up to 1,000; the note says so."""
    column = KERNEL_COUNT.form(full=True).sheets[0].sheet.column("remark")
    found = parse_value(column, "zqx " * 10_000, units=System.US, language="en")
    assert found.code == "text-cut"
    assert len(found.value) <= 1000
    assert dict(found.params) == {"count": 39_999, "most": 1000}


def test_a_text_of_nothing_visible_is_no_text() -> None:
    """Marks that only turn the direction of reading leave nothing behind."""
    column = KERNEL_COUNT.form(full=True).sheets[0].sheet.column("remark")
    assert parse_value(column, "\u202e\u200f", units=System.US, language="en").value is None


def test_a_file_name_of_no_known_letters_is_taken_in(season: Season, tmp_path: Path) -> None:
    """A name whose bytes are no letters loses nothing: the book is kept and told with a mark."""
    good = write_filled(tmp_path / "good.xlsx", season, good_visit("A1"))
    odd = tmp_path / "\udcff zqx.xlsx"
    good.rename(odd)
    (taken,) = take_in(season, [odd], now=NOW)
    assert taken.accepted
    (kept,) = read_events(season.folder)
    assert kept.file == "_ zqx.xlsx"


def test_a_name_too_long_for_a_book_is_refused(tmp_path: Path) -> None:
    """A roster row with a name that no book could carry back is left out and told."""
    rows = [ROWS[0], replace(ROWS[1], field="zqx" * 40)]
    begin_season(tmp_path / "s", hostile_settings(), rows)
    season, _ = open_season(tmp_path / "s")
    assert season is not None
    assert list(season.roster.fields) == ["A1"]
    assert "roster-long" in [found.code for found in season.problems]


def test_names_stand_on_one_line(tmp_path: Path) -> None:
    """A line end in a name of the roster is a blank."""
    begin_season(tmp_path / "s", hostile_settings(), [replace(ROWS[0], field="Long\neighty")])
    season, _ = open_season(tmp_path / "s")
    assert season is not None
    assert season.roster.fields["A1"].field == "Long eighty"
