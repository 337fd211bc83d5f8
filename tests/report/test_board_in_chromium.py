"""The board in a browser: found, sorted and shared by keyboard alone, at a desk and on a phone."""

import io
from collections.abc import Iterator
from dataclasses import replace
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from browser import Browser, Tab
from pypdf import PdfReader

from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.report.board_page import board_page
from fieldbook.results.due import FieldRounds
from report import factory
from report.test_board_page import on_board, window

pytestmark = pytest.mark.browser

DESK, PHONE = 1280, 360
widths = pytest.mark.parametrize("width", [DESK, PHONE])
HEADS = [
    "Field", "Grower", "Scout", "Stage", "Due next", "Windows closing", "Kernel set", "Yield",
    "Ear mould watch", "Open questions",
]  # fmt: skip
CONTROLS = ["q", "grower", "scout", "round", "when", "asked", "Show all fields"]
NONE_LEFT = FieldRounds(windows=(), undated=None)


def board() -> str:
    """Make a board of six fields: in the roster's order not what is due soonest first."""
    thin = {"questions": (), "ears": None, "yield_": None, "stops": ()}
    low = replace(factory.YIELD, likely_bu_ac=99.4, range_bu_ac=(80.0, 118.0))
    made = (
        ({}, "Ana Veldt", window(2, 20, KERNEL_COUNT.name)),
        ({"field": "Éperon 10", "field_id": "A10", **thin}, "Joss Pemberly", window(-3, 8)),
        ({"field": "Eperon 9", "field_id": "A9", "grower": "Ida Roe", "yield_": low},
         "Ana Veldt", window(-9, -1)),
        ({"field": "Ash grove", "field_id": "B1", "grower": "Ida Roe", **thin}, None, NONE_LEFT),
        ({"field": "Zinnia", "field_id": "B2", "questions": factory.full().questions * 3},
         "Ana Veldt", window(-2, 3)),
    )  # fmt: skip
    fields = [
        on_board(factory.full(**more), scout=scout, rounds=rounds, report=f"{number}.html")
        for number, (more, scout, rounds) in enumerate(made)
    ]
    long = on_board(factory.longest_names(), rounds=window(30, 60), report="long.html")
    return "".join(board_page([*fields, long], factory.context()))


SOONEST = ["Eperon 9", "Zinnia", "Éperon 10", "Windmill seventy", "The far", "Ash grove"]


@pytest.fixture(scope="module")
def path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write the board once."""
    made = tmp_path_factory.mktemp("board") / "board.html"
    made.write_text(board(), "utf-8")
    return made


@pytest.fixture
def opened(browser: Browser, path: Path) -> Iterator[Any]:
    """Open the board, as often as a test asks; the tabs are closed behind it."""
    tabs: list[Tab] = []

    def made(**more: Any) -> Tab:
        tabs.append(browser.open(path, **more))
        return tabs[-1]

    yield made
    for tab in tabs:
        tab.close()


def shown(tab: Tab) -> list[str]:
    """Return the names of the fields shown, in their order; a long one by its first two words."""
    names = tab.run(
        "[...document.querySelectorAll('.fields tbody tr')].filter((row) => row.offsetParent)"
        ".map((row) => row.querySelector('.name').textContent)"
    )
    return [" ".join(name.split()[:2]) for name in names]


def said(tab: Tab) -> str:
    return str(tab.run("document.querySelector('[role=status]').textContent"))


def focused(tab: Tab) -> str:
    return str(tab.run("(document.activeElement.id || document.activeElement.textContent).trim()"))


def tab_to(tab: Tab, name: str) -> None:
    """Walk by the tab key until `name` has the focus."""
    for _ in range(40):
        if focused(tab) == name:
            return
        tab.press("Tab")
    pytest.fail(f"no tab key leads to '{name}'")


def address(tab: Tab, wanted: str) -> str:
    """Wait until the address says what is wanted, and return its end; in vain after 5 s."""
    return str(
        tab.run(
            "new Promise((done) => {const end = performance.now() + 5000; const look = () => "
            f"location.hash === {wanted!r} || performance.now() > end ? done(location.hash) "
            ": setTimeout(look, 20); look()})"
        )
    )


# ---- by keyboard alone --------------------------------------------------------------------------


@widths
def test_the_tab_key_walks_the_page_in_its_order(opened: Any, width: int):
    """Skip link, controls, heads, fields; nothing is left out, and each stop can be seen."""
    tab = opened(width=width)
    walk, outlines = [], set()
    for _ in range(21):
        tab.press("Tab")
        walk.append(focused(tab))
        style = "getComputedStyle(document.activeElement)"
        outlines.add(tab.run(f"{style}.outlineStyle + parseInt({style}.outlineWidth)"))
        box = tab.run("(({width, height}) => [width, height])"
                      "(document.activeElement.getBoundingClientRect())")  # fmt: skip
        assert min(box) >= 24, walk[-1]
    assert walk[0] == "Skip to the fields"
    assert walk[1:8] == CONTROLS
    assert walk[8:18] == HEADS
    assert walk[18:21] == ["Eperon 9", "1 open in Eperon 9", "Zinnia"]
    assert outlines == {"solid2"}


def test_the_skip_link_leads_to_the_fields(opened: Any):
    """One key passes the controls and heads are next; what was asked for stays."""
    tab = opened(at="#q=eperon")
    tab.press("Tab")
    tab.press("Enter")
    assert focused(tab) == "fields"
    tab.press("Tab")
    assert focused(tab) == "Field"
    assert shown(tab) == ["Eperon 9", "Éperon 10"]


@widths
def test_a_search_finds_names_and_ids_without_their_accents(opened: Any, width: int):
    """Every word typed must be there, in any case; the live region says how many are left."""
    tab = opened(width=width)
    assert shown(tab) == SOONEST
    tab_to(tab, "q")
    tab.write("EPERON")
    assert shown(tab) == ["Eperon 9", "Éperon 10"]
    assert said(tab) == "Fields shown: 2 of 6. Sorted by Due next, soonest first."
    tab.write(" a10")
    assert shown(tab) == ["Éperon 10"]
    tab.write("x")
    assert shown(tab) == []
    assert tab.run("document.getElementById('nothing').checkVisibility()")
    tab_to(tab, "Show all fields")
    tab.press("Enter")
    tab.run("new Promise((done) => setTimeout(done))")
    assert shown(tab) == SOONEST
    assert not tab.run("document.getElementById('nothing').checkVisibility()")


@pytest.mark.parametrize(
    ("control", "keys", "fields"),
    [
        ("grower", "I", ["Eperon 9", "Ash grove"]),
        ("scout", "J", ["Éperon 10"]),
        ("round", "K", ["Windmill seventy"]),
        ("when", "window over", ["Eperon 9"]),
        ("asked", " ", ["Eperon 9", "Zinnia", "Windmill seventy", "The far"]),
    ],
)
def test_every_filter_works_by_keyboard(opened: Any, control: str, keys: str, fields: list[str]):
    """Lists by their first letters, the tick by the space bar."""
    tab = opened()
    tab_to(tab, control)
    tab.write(keys)
    assert shown(tab) == fields
    assert said(tab).startswith(f"Fields shown: {len(fields)} of 6.")


def test_filters_add_up(opened: Any):
    """Two filters show what fits both."""
    tab = opened()
    tab_to(tab, "grower")
    tab.write("T")
    tab_to(tab, "asked")
    tab.press(" ")
    assert shown(tab) == ["Zinnia", "Windmill seventy"]


@widths
def test_every_head_sorts_both_ways(opened: Any, width: int):
    """Enter sorts, again turns round; what is not known is last either way; one head says it."""
    tab = opened(width=width)
    for head in HEADS:
        tab_to(tab, head)
        orders = []
        for _ in range(2):
            tab.press("Enter")
            sorted_by = tab.run(
                "[...document.querySelectorAll('[aria-sort]')].map((one) => "
                "[one.textContent, one.getAttribute('aria-sort')])"
            )
            assert [name for name, _ in sorted_by] == [head]
            orders.append((sorted_by[0][1], shown(tab)))
            assert focused(tab) == head
        assert {way for way, _ in orders} == {"ascending", "descending"}
        keys = {way: _keys(tab, head, names) for way, names in orders}
        known = [key for key in keys["ascending"] if key != ""]
        assert known == sorted(known)
        assert [key for key in keys["descending"] if key != ""] == sorted(known, reverse=True)
        for some in keys.values():
            assert "" not in some[: len(known)]


def _keys(tab: Tab, head: str, names: list[str]) -> list[Any]:
    """Return what the cells under a head are sorted by, for fields in the order of `names`."""
    found = tab.run(
        "Object.fromEntries([...document.querySelectorAll('.fields tbody tr')].map((row) => ["
        "row.querySelector('.name').textContent.split(/\\s+/).slice(0, 2).join(' '),"
        f"row.cells[{HEADS.index(head)}].dataset.key ?? row.cells[{HEADS.index(head)}].textContent"
        ".trim().toLowerCase().normalize('NFD').replace(/\\p{M}/gu, '')]))"
    )
    keys = [found[name] for name in names]
    if head == "Field":  # numbers within names count as numbers
        return [key.replace("eperon 9", "eperon 09") for key in keys]
    is_text = HEADS.index(head) < 3
    return keys if is_text else [key if key == "" else float(key) for key in keys]


def test_equals_keep_the_order_of_what_is_due(opened: Any):
    """Rows that are alike stand as on the board's first sight, whatever was sorted by before."""
    tab = opened()
    for head in ("Field", "Kernel set"):
        tab_to(tab, head)
        tab.press("Enter")
    alike = [name for name in SOONEST if name not in ("Éperon 10", "Ash grove")]
    assert shown(tab) == [*alike, "Éperon 10", "Ash grove"]


def test_open_questions_sort_with_the_most_first(opened: Any):
    """The first key press on that head brings up what needs an answer."""
    tab = opened()
    tab_to(tab, "Open questions")
    tab.press(" ")
    assert shown(tab)[0] == "Zinnia"
    assert said(tab).endswith("Sorted by Open questions, most first.")


def test_a_long_board_is_shown_in_parts(browser: Browser, tmp_path: Path):
    """The first rows of the order asked for are shown; more come by a key, and the focus follows.

    A search looks through all of them.
    """
    fields = [
        on_board(factory.full(field=f"Piece {number}", field_id=f"F{number}"), report="")
        for number in range(600)
    ]
    path = tmp_path / "board.html"
    path.write_text("".join(board_page(fields, factory.context())), "utf-8")
    tab = browser.open(path, at="#sort=field&down=1")
    assert shown(tab) == [f"Piece {number}" for number in range(599, 349, -1)]
    assert said(tab).startswith("Fields shown: 250 of 600.")
    more = "document.getElementById('more')"
    assert tab.run(f"{more}.textContent") == "Show more fields, 350 are left"
    tab.run(f"{more}.focus(); 1")
    tab.press("Enter")
    assert len(shown(tab)) == 500
    assert focused(tab).startswith("Piece 349")
    tab.run(f"{more}.focus(); 1")
    tab.press(" ")
    assert len(shown(tab)) == 600
    assert not tab.run(f"{more}.checkVisibility()")
    tab.run("document.getElementById('q').focus(); 1")
    tab.write("f7")
    assert len(shown(tab)) == 1 + 10  # F7, F70 to F79
    tab.close()


# ---- what was asked for can be shared -----------------------------------------------------------


def test_what_is_asked_for_stands_in_the_address_and_comes_back_from_it(opened: Any):
    """A link opens the same rows in the same order, with the controls as they were."""
    tab = opened()
    tab_to(tab, "q")
    tab.write("e")
    tab_to(tab, "scout")
    tab.write("A")
    tab_to(tab, "Yield")
    tab.press("Enter")
    wanted = "#q=e&scout=Ana+Veldt&sort=yield"
    there, order = address(tab, wanted), shown(tab)
    assert there == wanted
    again = opened(at=there)
    assert shown(again) == order == ["Eperon 9", "Windmill seventy"]
    assert again.run("[q.value, scout.value]") == ["e", "Ana Veldt"]
    assert said(again) == "Fields shown: 2 of 6. Sorted by Yield, lowest first."


def test_another_address_in_the_same_tab_is_followed(opened: Any):
    """The way back and a pasted link work without loading the page anew."""
    tab = opened(at="#asked=1")
    assert len(shown(tab)) == 4
    tab.run(
        "new Promise((done) => {addEventListener('hashchange', done); location.hash = 'q=zinnia'})"
        ".then(() => 1)"
    )
    assert shown(tab) == ["Zinnia"]
    assert tab.run("asked.checked") is False


@pytest.mark.parametrize(
    "at",
    ["#grower=Nobody&sort=nothing&down=7", "#%E0%A4%A", "#=&&=", "#elsewhere", "#sort=__proto__"],
)
def test_an_address_that_makes_no_sense_shows_all(opened: Any, at: str):
    """A spoiled link never ends in an empty page."""
    tab = opened(at=at)
    assert shown(tab) == SOONEST
    assert said(tab) == "Fields shown: 6 of 6. Sorted by Due next, soonest first."


# ---- without a script, on a phone, on paper -----------------------------------------------------


@widths
def test_without_a_script_all_rows_are_there(opened: Any, width: int):
    """No control stands there that would do nothing, and no heads to press on a phone."""
    tab = opened(width=width, script=False)
    tab.call("Emulation.setScriptExecutionDisabled", value=False)  # only to look at it
    assert shown(tab) == SOONEST
    assert tab.run("document.querySelectorAll('.fields button').length") == 0
    assert tab.run("document.getElementById('find').checkVisibility()") is False
    assert said(tab) == "Sorted by Due next, soonest first."


@pytest.mark.parametrize("width", [320, PHONE, 700, 1119, 1120, DESK, 1800])
def test_nothing_scrolls_sideways(opened: Any, width: int):
    """From the narrowest phone on, with the longest names, cards turn into a table."""
    tab = opened(width=width)
    assert tab.run("document.documentElement.scrollWidth") <= width
    wider = "[...document.querySelectorAll('.fields td div, .fields th, select, input, button')]"
    spilt = tab.run(
        f"{wider}.filter((one) => one.scrollWidth > one.clientWidth + 1 && one.clientWidth > 1)"
        ".map((one) => one.outerHTML.slice(0, 99))"
    )
    assert spilt == []


@widths
def test_the_page_keeps_its_colour_contrast_and_structure(opened: Any, width: int):
    """A checker for accessibility finds nothing, whether all rows are shown, some or none."""
    checker = (files("axe_core_python") / "axe.min.js").read_text("utf-8")
    for at in ("", "#q=eperon&sort=yield", "#q=nowhere"):
        tab = opened(width=width, at=at)
        tab.run(checker + "; 1")
        found = tab.run(
            "axe.run().then(({violations, passes}) => [violations.map(({id, nodes}) => "
            "[id, nodes.map(({html}) => html)]), passes.length])"
        )
        assert found[0] == []
        assert found[1] > 20


@widths
def test_a_screen_reader_finds_a_table(opened: Any, width: int):
    """Heads, rows and cells are told as such, also where they look like cards."""
    tab = opened(width=width)
    tree = tab.call("Accessibility.getFullAXTree")["nodes"]
    told = [
        (node["role"]["value"], node.get("name", {}).get("value", ""))
        for node in tree
        if not node["ignored"]
    ]
    count = [role for role, _ in told].count
    assert ("table", "Fields") in told
    assert [name for role, name in told if role == "columnheader"][:10] == HEADS
    assert count("rowheader") == 6 + 5  # fields, and rounds taken in
    assert count("cell") == 6 * 9 + 5 * 2
    assert ("search", "Find fields") in told
    assert ("searchbox", "Name or ID") in told
    assert ("checkbox", "With open questions") in told
    assert ("status", "") in told
    assert ("link", "3 open in Zinnia") in told


def test_the_page_cannot_reach_a_network(opened: Any):
    """It asks for nothing but itself, and its own policy stops whatever would."""
    tab = opened(at="#sort=yield")
    asked = [url for url in tab.requests() if not url.startswith("data:")]
    assert [url.partition(":")[0] for url in asked] == ["file"]
    stopped = tab.run(
        "new Promise((done) => {addEventListener('securitypolicyviolation', "
        "(one) => done(one.effectiveDirective)); fetch('data:,x').catch(() => 0)})"
    )
    assert stopped == "connect-src"
    injected = tab.run(
        "new Promise((done) => {addEventListener('securitypolicyviolation', "
        "(one) => done(one.effectiveDirective)); const one = document.createElement('script');"
        "one.textContent = 'window.ran = 1'; document.body.append(one)})"
    )
    assert injected == "script-src-elem"
    assert tab.run("window.ran") is None


def test_paper_holds_the_rows_that_are_shown_and_no_controls(opened: Any):
    """A print says what it shows; the form and hidden rows are not on it."""
    printed = PdfReader(io.BytesIO(opened(at="#q=eperon").pdf()))
    text = " ".join(page.extract_text() for page in printed.pages)
    assert "Fields shown: 2 of 6. Sorted by Due next, soonest first." in text
    assert "Eperon 9" in text
    assert "Zinnia" not in text
    assert "Show all fields" not in text
    assert text.count("Due next") == 2
    first = printed.pages[0].mediabox
    assert (float(first.width), float(first.height)) == (792, 612)


def test_every_printed_sheet_has_the_heads(browser: Browser, tmp_path: Path):
    """Nobody has to turn back a sheet to know what a column is; a row is never torn."""
    fields = [on_board(factory.full(field=f"Piece {number}.")) for number in range(30)]
    path = tmp_path / "board.html"
    path.write_text("".join(board_page(fields, factory.context())), "utf-8")
    tab = browser.open(path)
    sheets = [page.extract_text() for page in PdfReader(io.BytesIO(tab.pdf())).pages]
    tab.close()
    rows = [sheet for sheet in sheets if "Piece" in sheet]
    assert len(rows) > 2
    for sheet in rows:
        assert sheet.count("Windows closing") == 1
        assert sheet.count("Piece") == sheet.count("likely 182") == sheet.count("1 open")


def test_heads_stand_over_their_cells(browser: Browser, tmp_path: Path):
    """Every row is a grid by itself, so a long word in one must not move its columns."""
    path = tmp_path / "board.html"
    row = on_board(factory.longest_names(), rounds=window(30, 60), report="long.html")
    path.write_text("".join(board_page([row], factory.context(language="es"))), "utf-8")
    tab = browser.open(path, width=DESK)
    lefts = "[...document.querySelectorAll('.fields tr')].map(row => [...row.children].map(one => "
    head, *cells = tab.run(f"{lefts} Math.round(one.getBoundingClientRect().left)))")
    tab.close()
    assert cells
    assert all(one == head for one in cells)
