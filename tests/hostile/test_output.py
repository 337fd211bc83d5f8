"""Nothing that people type becomes a formula, a link, markup, a file name, a fetch or a command.

One invented season has a hostile string in every text column of its roster and its books; all
commands run on it, and everything that they write is read again by another reader.
"""

import io
import json
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner
from harvested import harvest_of
from parts import need, pango_missing
from pypdf import PdfReader
from seasons import NOW, ROWS, good_visit, write_filled

from fieldbook.check.cells import parse_cell
from fieldbook.cli import main
from fieldbook.entries import Cell
from fieldbook.forms.rounds import HARVEST, KERNEL_COUNT, POLLINATION, RIPENING, Round
from fieldbook.problems import Place, catalogue, line, problem, sentence
from fieldbook.render import shipped
from fieldbook.schema import Kind
from fieldbook.season.blank import Order, book_plans, own_name, safe_name
from fieldbook.season.events import read_events
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season, open_season
from fieldbook.season.settings import Scout, Settings, Station
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.write import write_book
from hostile.books import repacked

AS_OF = "2026-10-20"
MARK = "zqx"
HOSTILE = (
    '=HYPERLINK("http://zqx.example/","zqx")',
    "@SUM(zqx1)",
    "+1+zqx1",
    "-1-zqx1",
    "http://zqx.example/",
    "file:///etc/zqx",
    "javascript:zqx()",
    "<script>zqx()</script>",
    '"><img src=x onerror=zqx()>',
    "</style></title><a href='http://zqx.example/'>zqx</a>",
    "{{ 7 * 7 }}{% include 'zqx' %}",
    "]]>zqx<!-- --><?zqx ?>",
    "\x1b]0;zqx\x07\x1b[2Jzqx\x9b31m",
    "zqx\nERROR  forged zqx\r\x85zqx\u2028zqx",
    "\u202ezqx\u2066\u200f",
    "{typed} {zqx} %s %(zqx)s",
    "internal:'Ears'!A1 zqx",
    "| calc zqx`id`$(id);&&",
    "zqx" * 13_334,
)
FIELD_IDS = (
    *("../zqx", "CON", ".hidden", "a/b", "a_b", "a\\b", "nul.txt", "=1+1", "A1", "con", "B;2"),
    *("<b>zqx</b>", "x" * 100, "\U0001f33d" * 90, "\u202ezqx", "..", "LPT1", "a\nb"),
)
STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
NAMESPACE = {"s": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}
LONG = HOSTILE[-1]  # no writer of ours lets it into a cell: it takes the place of a word
STAND_IN = "longest zqx"


def hostile_roster() -> list[Any]:
    """Give every field another hostile ID, and each text column another hostile text."""
    rows = []
    for at, field_id in enumerate(FIELD_IDS):
        texts = [HOSTILE[(at + more) % (len(HOSTILE) - 1)] for more in range(8)]
        names = ("grower", "field", "hybrid", "previous_crop", "disease_history", "product")
        row = replace(
            ROWS[0],
            field_id=field_id,
            grower_id=texts[6],
            acres=10,
            scout=("ana", "../ana", "<i>zqx", "CON")[at % 4],
            trial=HOSTILE[8],
            treatment=("+1+zqx1", "<b>zqx</b>")[at % 2],
            block=str(at // 2),
            **dict(zip(names, texts, strict=False)),
        )
        rows.append(row)
    return rows


def hostile_settings() -> Settings:
    """Fill the season's own settings with what they may hold."""
    return Settings(
        season_id="test-2026",
        name="<b>zqx</b> =1+1 &P&[File]",
        year=2026,
        units=System.US,
        time_zone=TIME_ZONE,
        sender="<script>zqx()</script> {{ 7 * 7 }}",
        stations={"home": Station(name="home", units=System.US)},
        scouts=(Scout(scout_id="ana", name="=zqx1 <b>Ana</b>"),),
    )


def hostile_season(path: Path) -> Season:
    """Make a season of hostile names, with weather."""
    begin_season(path, hostile_settings(), hostile_roster())
    weather = weather_csv(daily_weather(date(2021, 1, 1), date(2026, 10, 20), seed="hostile"))
    (path / "weather" / "home.csv").write_text(weather, "utf-8")
    season, problems = open_season(path)
    assert season is not None, problems
    return season


def typed(round_: Round, field_id: str, at: int) -> dict[EntryKey, EntryValue]:
    """Fill a field well, and then put a hostile text into every text cell and some others."""
    entries: dict[EntryKey, EntryValue] = {("fields", (field_id,), "visit_date"): date(2026, 8, 12)}
    if round_ is KERNEL_COUNT:
        entries |= good_visit(field_id, stops=3)
    if round_ is HARVEST:
        entries |= harvest_of(field_id, 150 + at)
    for form in round_.form(full=True).sheets:
        rows = [() if form.sheet.name == "fields" else (1,) * (len(form.sheet.keys) - 1)]
        for number, column in enumerate(form.entries):
            key = (form.sheet.name, (field_id, *rows[0]), column.name)
            wrong = round_ is not HARVEST and column.name not in ("visit_date", "stage")
            wrong = wrong and number % 3 == at % 3
            if column.kind is Kind.TEXT or (wrong and column.name != "answer"):
                text = HOSTILE[(at + number) % len(HOSTILE)]
                entries[key] = STAND_IN if text == LONG else text
    return entries


def filled(season: Season, round_: Round) -> Iterator[bytes]:
    """Write the filled books of a round."""
    ids = list(season.roster.fields)
    entries = {field_id: typed(round_, field_id, at) for at, field_id in enumerate(ids)}
    for plan in book_plans(season, Order(round_=round_, full=True), entries=entries):
        strings = {"xl/sharedStrings.xml": with_long}
        yield repacked(write_book(plan), strings)


def with_long(strings: bytes) -> bytes:
    """Put the long text into the table of strings."""
    return strings.replace(STAND_IN.encode(), LONG.encode())


@dataclass
class Ran:
    """A hostile season after all commands: its folder, and what each command printed."""

    season: Season
    outside: Path
    said: dict[str, str] = field(default_factory=dict)

    def files(self, ending: str) -> list[Path]:
        """Return what was written, without the scouts' own books."""
        found = self.season.folder.path.rglob(f"*{ending}")
        own = ("incoming", "kept")
        return [path for path in found if not set(own) & set(path.parts)]


BY_OPTION = ("intake", "check", "history")


def command(ran: Ran, name: str, *words: str) -> None:
    """Run a command; it may find much to look at, but it never breaks."""
    folder = str(ran.season.folder.path)
    verb, *rest = words
    where = ["--season", folder] if verb in BY_OPTION else [folder]
    result = CliRunner().invoke(main, [verb, *rest, *where])
    fault = result.exception
    assert fault is None or isinstance(fault, SystemExit), repr(fault)
    assert result.exit_code in (0, 1), result.output
    ran.said[name] = result.output


@pytest.fixture(scope="module")
def ran(tmp_path_factory: pytest.TempPathFactory) -> Ran:
    """Run every command on one hostile season."""
    outside = tmp_path_factory.mktemp("hostile-output")
    made = Ran(season=hostile_season(outside / "season"), outside=outside)
    for round_ in (KERNEL_COUNT, POLLINATION, RIPENING, HARVEST):
        command(made, f"blank {round_.name}", "blank", "--round", round_.name)
        for number, data in enumerate(filled(made.season, round_)):
            name = f"\x1b[2J{MARK}\n<b>{MARK}<|b>{round_.name}{number}.xlsx"
            (made.season.folder.incoming / name).write_bytes(data)
    first = next(made.season.folder.incoming.iterdir())
    as_of = ("--as-of", AS_OF)
    command(made, "check", "check", str(first), *as_of)
    command(made, "check json", "check", str(first), "--json", *as_of)
    command(made, "intake", "intake", *as_of)
    command(made, "ask", "ask")
    command(made, "history", "history", "../zqx")
    pdf = () if pango_missing() is None else ("--no-pdf",)
    for verb in ("results", "plan", "compare", "settle"):
        more = () if verb == "results" else ("--no-pdf",)
        command(made, f"{verb} json", verb, "--json", *as_of, *more)
        command(made, verb, verb, *as_of, *(() if verb == "results" else pdf))
    command(made, "report", "report", "--no-pdf", *as_of)
    command(made, "report one", "report", "--field", "../zqx", *pdf, *as_of)
    return made


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
    return tags, names


class Page(HTMLParser):
    """Everything of a page that is not text."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.comments: list[str] = []
        self.text = ""
        self.styles = ""
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
        """Keep a text, that of style sheets apart."""
        if self._within == "style":
            self.styles += data
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
    """Elements and attributes are the templates'; nothing planted is a style or a comment."""
    tags, names = markup_of_templates()
    for path, page in pages(ran):
        assert {tag for tag, _ in page.tags} <= tags - {"script"}, path
        assert {name for _, attrs in page.tags for name in attrs} <= names, path
        assert MARK not in page.styles, path
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
                known = target.startswith(("#", "data:")) or (path.parent / target).is_file()
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


def test_every_file_lies_in_the_season_under_a_safe_name(ran: Ran) -> None:
    """Names are letters, digits and - _ ., never hidden, a device, too long or a way out."""
    assert [path.name for path in ran.outside.iterdir()] == ["season"]
    for ending in (".html", ".pdf", ".xlsx", ".txt", ".toml"):
        for path in ran.files(ending):
            stem = path.name.partition(".")[0]
            assert re.fullmatch(r"[\w-]+(\.[a-z]+)", path.name), path.name
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
    found = parse_cell(column, Cell(value="zqx " * 10_000, ref="A1"), System.US, "en")
    assert found.code == "text-cut"
    assert len(found.value) <= 1000
    assert dict(found.params) == {"count": 39_999, "most": 1000}


def test_a_text_of_nothing_visible_is_no_text() -> None:
    """Marks that only turn the direction of reading leave nothing behind."""
    column = KERNEL_COUNT.form(full=True).sheets[0].sheet.column("remark")
    assert parse_cell(column, Cell(value="\u202e\u200f", ref="A1"), System.US, "en").value is None


def test_a_file_name_of_no_known_letters_is_taken_in(season: Season, tmp_path: Path) -> None:
    """A name whose bytes are no letters loses nothing: the book is kept and told with a mark."""
    good = write_filled(tmp_path / "good.xlsx", season, good_visit("A1"))
    odd = tmp_path / "\udcff zqx.xlsx"
    good.rename(odd)
    (taken,) = take_in(season, [odd], now=NOW)
    assert taken.accepted
    (kept,) = read_events(season.folder)
    assert kept.file == "? zqx.xlsx"


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
