"""The order of harvest: every field that was looked at, its reasons, its dates, in two files."""

import io
import logging
import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from parts import need, pango_missing
from pypdf import PdfReader

from fieldbook.agronomy.fungicide import pre_harvest
from fieldbook.figures import shipped_figures
from fieldbook.report.harvest_page import (
    HARVEST_FIGURES,
    HarvestView,
    harvest_html,
    harvest_view,
    write_harvest_order,
)
from fieldbook.results.result import FieldResult
from report import factory
from report.test_page import STATISTICIANS_WORDS

REPORTS = {"K07": "K07-windmill-seventy.html", "K08": "K08-näher dran.html"}
FAILING = factory.ripening(failed=(8, 7, 9, 8, 8), moisture_pct=26.0)
MOULDY = factory.ripening(failed=(0, 0, 0, 0, 0), mouldy=(9, 9, 8, 9, 9), moisture_pct=25.0)
DRY = factory.ripening(failed=(0, 0, 0, 0, 0), moisture_pct=19.5)


def field(field_id: str, name: str, **more: Any) -> FieldResult:
    outlook = replace(factory.NO_OUTLOOK, dry=factory.DRY)
    return factory.full(field_id=field_id, field=name, **{"outlook": outlook, **more})


THREE = (
    field("K09", "Dry piece", ripe=DRY, grower="Ana Orrin"),
    field("K08", "Mouldy piece", ripe=MOULDY),
    field("K07", "Weak piece", ripe=FAILING),
    field("K10", "Far piece", ripe=None),
)


def view(*fields: FieldResult, **scouts: str) -> HarvestView:
    found = harvest_view(fields, factory.context(), reports=REPORTS, scouts=scouts)
    assert found is not None
    return found


def test_stalks_then_mould_then_moisture():
    """The order, whatever the roster's."""
    assert [(row.turn, row.field) for row in view(*THREE).rows] == [
        (1, "Weak piece"),
        (2, "Mouldy piece"),
        (3, "Dry piece"),
    ]


def test_the_lead_says_who_is_first_and_what_is_missing():
    """A field without a ripening visit is counted on top and named below the table, not dropped."""
    found = view(*THREE)
    assert found.lead[0] == "Weak piece comes first of 3 fields."
    assert found.lead[-1] == "One field is not in it yet: see below the table."
    assert found.missing == "No ripening visit yet, so not in the order: K10 Far piece."
    assert found.missing in harvest_html(found, factory.context())
    assert view(THREE[0]).lead[0] == "Only Dry piece is in it."


def test_silage_is_in_no_order_of_grain():
    """It is named apart, neither ordered nor missed; alone it leaves nothing to order."""
    silage = field("K11", "Silage piece", ripe=DRY, use="silage")
    unseen = field("K12", "Silage unseen", ripe=None, use="silage")
    found = view(silage, unseen, THREE[0])
    assert [row.field for row in found.rows] == ["Dry piece"]
    assert found.missing == ""
    assert (
        found.lead[-1] == "For silage, so not in the order: K11 Silage piece and K12 Silage unseen."
    )
    alone = view(silage)
    assert (alone.rows, alone.lead[0]) == (
        (),
        "No field that had a ripening visit stands for grain.",
    )


def test_reasons_are_in_words():
    """What gave way, what had mould, where that lies to the line, and what is ahead of what."""
    first, second, last = view(*THREE).rows
    assert first.reasons == (
        "Stalks: 40 of 100 gave way, over the line of 10 in 100.",
        "Ears: 2 of 100 had mould, under the line of 10 in 100.",
    )
    assert first.ahead == "Ahead of the next by its stalks."
    assert second.reasons[1] == "Ears: 44 of 100 had mould, over the line of 10 in 100."
    assert second.ahead == "Ahead of the next by its mould."
    assert last.ahead == ""


def test_what_cannot_be_told_is_said():
    """A share that may lie on either side of the line, and a lead that may be chance."""
    near = field("K07", "Near piece", ripe=factory.ripening())
    nearer = field("K08", "Nearer piece", ripe=factory.ripening(failed=(2, 2, 3, 2, 2)))
    first = view(near, nearer).rows[0]
    assert first.reasons[0].endswith("not sure on which side of the line of 10 in 100.")
    assert first.ahead == "Ahead of the next by its stalks, too little to be sure."


def test_what_was_not_looked_at_is_said():
    """Each part by itself."""
    bare = factory.ripening(failed=None, mouldy=None, moisture_pct=None)
    row = view(field("K07", "Bare piece", ripe=bare)).rows[0]
    assert row.reasons == ("Stalks: not tried.", "Ears: not opened.", "Moisture: not measured.")
    assert row.moisture == ("not measured",)


def test_moisture_has_its_day_and_dryness_its_dates():
    """Now with the day it was weighed; ahead with a range; there, where it is."""
    first, _, last = view(*THREE).rows
    assert first.moisture == ("26.0 %", "Tue 8 Sep")
    assert first.ready == ("about Mon 28 Sep", "20 Sep to 8 Oct")
    assert last.ready == ("there when last weighed",)
    assert view(*THREE).ready_head == "At 20 % moisture"


@pytest.mark.parametrize(
    ("dry", "words"),
    [
        (None, ("cannot be dated",)),
        (
            replace(factory.DRY, latest=None),
            ("about Mon 28 Sep", "not before Sun 20 Sep"),
        ),
        (
            replace(factory.DRY, date=None, latest=None),
            ("not by the end of the year in most past years", "not before Sun 20 Sep"),
        ),
        (
            replace(factory.DRY, date=None, earliest=None, latest=None),
            ("not by the end of the year in most past years",),
        ),
    ],
)
def test_dates_that_are_not_known_leave_no_hole(dry: Any, words: tuple[str, ...]):
    """Every kind of missing date has its words."""
    outlook = replace(factory.NO_OUTLOOK, dry=dry)
    assert view(field("K07", "One", ripe=FAILING, outlook=outlook)).rows[0].ready == words


def test_an_interval_of_a_label_holds_harvest_back():
    """A running interval stands beside the date; one that is over does not."""
    running = pre_harvest(date(2026, 8, 10), 45, date(2026, 9, 20), None)
    over = pre_harvest(date(2026, 7, 1), 30, date(2026, 9, 20), None)
    dates = ("about Mon 28 Sep", "20 Sep to 8 Oct")
    held = "not before Thu 24 Sep: pre-harvest interval of the label"
    for interval, ready in ((running, (*dates, held)), (over, dates)):
        asked = factory.asked(pre_harvest=interval)
        row = view(field("K07", "Sprayed", ripe=FAILING, fungicide=asked)).rows[0]
        assert row.ready == ready


def test_growers_and_scouts_find_their_fields():
    """Each with their fields in the order, whoever is first on top."""
    found = view(*THREE, K07="Joss Pemberly", K09="Joss Pemberly")
    assert [(one.name, one.fields) for one in found.growers] == [
        ("Tobias Renwick", ("1. Weak piece", "2. Mouldy piece")),
        ("Ana Orrin", ("3. Dry piece",)),
    ]
    assert [(one.name, one.fields) for one in found.scouts] == [
        ("Joss Pemberly", ("1. Weak piece", "3. Dry piece")),
        ("Mirela Austvik", ("2. Mouldy piece",)),
    ]


def test_no_visit_writes_nothing(tmp_path: Path):
    """Before the first ripening visit there is no page."""
    paths = write_harvest_order(
        tmp_path, (THREE[3],), factory.context(), reports={}, scouts={}, pdf=True
    )
    assert paths == ()
    assert not list(tmp_path.iterdir())


def test_the_page_links_fetches_nothing_and_escapes():
    """Links to reports, nothing from outside, names as typed."""
    bad = field("K08", "<script>1</script>", ripe=DRY, grower="{{7*7}}")
    html = harvest_html(view(*THREE[2:], bad), factory.context())
    assert 'href="K07-windmill-seventy.html"' in html
    assert 'href="K08-n%C3%A4her%20dran.html"' in html
    assert "<script>" not in html
    assert "{{7*7}}" in html
    assert not re.search(r'(src|href)="(https?:)?//', html)
    assert html.count("<h1>") == 1
    body = html.split("<body>")[1].split("Figures used")[0]
    assert not re.search(STATISTICIANS_WORDS, body)


def test_cautions_stand_on_the_page():
    """Not a promise, what is ours, what mould proves, whom to ask, the mask."""
    text = " ".join(view(*THREE).cautions)
    for words in ("not a promise", "is ours", "does not prove", "buyer and feed adviser", "N95"):
        assert words in text


def test_own_templates_win(tmp_path: Path):
    """A folder of the user's own overrides the page."""
    (tmp_path / "harvest").mkdir()
    (tmp_path / "harvest" / "page.html.j2").write_text("mine: {{ page.rows | length }}")
    assert harvest_html(view(*THREE), factory.context(), tmp_path) == "mine: 3"


@pytest.mark.pdf
def test_html_and_pdf_say_the_same(tmp_path: Path, caplog: pytest.LogCaptureFixture):
    """Two files, one order; the PDF maker finds nothing to warn of."""
    need(pango_missing())
    with caplog.at_level(logging.WARNING):
        paths = write_harvest_order(
            tmp_path, THREE, factory.context(), reports=REPORTS, scouts={}, pdf=True
        )
    assert not caplog.records
    assert [path.name for path in paths] == ["harvest-order.html", "harvest-order.pdf"]
    reader = PdfReader(io.BytesIO(paths[1].read_bytes()))
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    at = [
        text.index(words) for words in ("Weak piece", "40 of 100 gave way", "44 of 100 had mould")
    ]
    assert at == sorted(at)
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == (792, 612)


def test_without_pdf_there_is_one_file(tmp_path: Path):
    """Where no PDF is asked for, none is written."""
    paths = write_harvest_order(
        tmp_path, THREE, factory.context(), reports=REPORTS, scouts={}, pdf=False
    )
    assert [path.name for path in tmp_path.iterdir()] == [path.name for path in paths]
    assert paths[0].name == "harvest-order.html"


def test_the_figures_exist():
    """Every key that the page names is a figure."""
    for key in HARVEST_FIGURES:
        shipped_figures().entry(key)
