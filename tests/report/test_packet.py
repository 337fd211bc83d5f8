"""The packet: a grower's fields on one page, the report of each behind it, nothing mixed up."""

import io
import logging
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from parts import need, pango_missing
from pdf_structure import bookmarks, faults
from pypdf import PdfReader

from fieldbook.report.context import ReportContext
from fieldbook.report.growers import GrowerJob, grower_name, write_grower
from fieldbook.report.letterwords import Compared
from fieldbook.report.packet_page import PacketView, packet_html, packet_views
from fieldbook.results.result import FieldResult
from report import factory

DRY = factory.ripening(failed=(0, 0, 0, 0, 0), moisture_pct=19.5)
FAILING = factory.ripening(failed=(8, 7, 9, 8, 8), moisture_pct=26.0)


def fields(count: int) -> tuple[FieldResult, ...]:
    """Make so many fields of one grower, the first as full as can be."""
    return tuple(
        factory.full(field_id=f"K{at:02}", field=f"Piece {at}", questions=())
        for at in range(1, count + 1)
    )


def view(*some: FieldResult) -> PacketView:
    return next(packet_views(some, factory.context()))


def written(
    folder: Path, *some: FieldResult, pdf: bool = True, context: ReportContext | None = None
) -> dict[str, tuple[Path, ...]]:
    job = GrowerJob(
        folder=folder,
        fields=some,
        compared=tuple(Compared(now=one, then=None, day=factory.SEEN) for one in some),
        reports={one.field_id: one.field_id for one in some},
        packet="packet",
        letter="letter",
        context=context or factory.context(),
        templates=None,
        pdf=pdf,
    )
    return write_grower(job)


def test_a_row_says_where_a_field_stands_its_yield_and_what_to_do():
    """Each with its range and its day, and a link to the report behind."""
    (row,) = view(factory.full(questions=())).rows
    assert row.field == "Windmill seventy"
    assert row.link == "K07"
    assert row.stands[:2] == ("R4 dough", "seen Tue 11 Aug")
    assert row.yields == ("likely 182", "155 to 210 bu/ac")
    assert (row.steps[0].what, row.steps[0].when) == (
        "Husk 100 ears and look for mould",
        "about Tue 25 Aug",
    )


def test_the_first_lines_say_what_is_missing_asked_and_next():
    """Ground, fields without a look, open questions, the next date over all fields."""
    lead = view(
        factory.full(acres=70.0),
        replace(factory.no_visit(), field_id="K08", field="Far", acres=10.0),
    ).lead
    assert lead[0] == "2 fields, 80 ac."
    assert lead[1] == "Not looked at yet: Far."
    assert lead[2] == "With open questions: Windmill seventy."
    assert lead[3].startswith("The next date is in Windmill seventy: Husk 100 ears")


def test_a_grower_whose_fields_nobody_saw_is_told_so():
    """No field is dropped, none invented."""
    found = view(factory.no_visit())
    assert found.lead[1] == "Nobody has looked at them yet."
    assert found.rows[0].yields == ("not counted yet",)


def test_the_harvest_order_names_fields_and_what_puts_them_there():
    """Failing stalks first; who was not looked at is named; one field has no order."""
    weak = replace(factory.full(field_id="A", field="Weak"), ripe=FAILING)
    dry = replace(factory.full(field_id="B", field="Dry"), ripe=DRY)
    far = factory.full(field_id="C", field="Far", ripe=None)
    found = view(dry, weak, far).harvest
    assert found[0] == "1. Weak, by its stalks; 2. Dry."
    assert "nobody tried stalks there yet: Far." in found[1]
    assert view(weak).harvest == ()


@pytest.mark.parametrize("count", [1, 5])
def test_every_id_of_a_packet_is_its_own(tmp_path: Path, count: int):
    """Fields, their open questions and the parts of drawings; every link leads somewhere."""
    files = written(
        tmp_path,
        *(replace(one, questions=factory.full().questions) for one in fields(count)),
        pdf=False,
    )
    html = files["packet"][0].read_text("utf-8")
    ids = Counter(re.findall(r'\bid="([^"]*)"', html))
    assert max(ids.values()) == 1
    assert {f"K{at:02}.asked" for at in range(1, count + 1)} <= set(ids)
    led = re.findall(r'href="#([^"]*)"', html) + re.findall(r"url\(#([^)]*)\)", html)
    assert set(led) <= set(ids)
    assert len([one for one in led if "." not in one]) == count


@pytest.mark.pdf
@pytest.mark.parametrize("count", [1, 5])
def test_a_packet_is_one_page_and_every_report(
    tmp_path: Path, caplog: pytest.LogCaptureFixture, count: int
):
    """As many pages as its reports and one; bookmarks by field; nothing is warned of."""
    need(pango_missing())
    some = fields(count)
    with caplog.at_level(logging.WARNING):
        files = written(tmp_path, *some)
    assert not caplog.records
    reader = PdfReader(io.BytesIO(files["packet"][1].read_bytes()))
    reports = [len(PdfReader(files[one.field_id][1]).pages) for one in some]
    assert len(reader.pages) == 1 + sum(reports)
    tops = [title for depth, title in bookmarks(reader.outline) if depth == 0]
    assert tops == [some[0].grower, *(one.field for one in some)]
    assert faults(reader, tops=1 + count) == []
    assert len(reader.pages[0]["/Annots"]) == count
    assert len(PdfReader(files["letter"][1]).pages) == 1


@pytest.mark.pdf
def test_many_fields_of_long_names_keep_to_one_page_each(tmp_path: Path):
    """The summary of ten is set smaller; a letter names what it leaves to reports."""
    need(pango_missing())
    from fieldbook.report.letter_page import letter_html, letter_views
    from fieldbook.report.pdf import first_fitting

    some = tuple(
        replace(factory.longest_names(), field_id=f"K{at}", field=f"{'Long name ' * 4}{at}")
        for at in range(15)
    )
    context = factory.context()
    pages = ((one, packet_html(one, context)) for one in packet_views(some[:10], context))
    summary, _, laid = first_fitting(pages, 1)
    assert summary.is_crowded
    assert len(laid.pages) == 1
    compared = [Compared(now=one, then=None, day=factory.SEEN) for one in some]
    letters = ((one, letter_html(one, context)) for one in letter_views(compared, (), context))
    letter, _, laid = first_fitting(letters, 1)
    assert len(laid.pages) == 1
    left = len(some) - len(letter.fields)
    assert left > 0
    assert letter.rest == (f"Seen longer ago, and told in their reports: {left} fields.",)


def test_what_people_typed_stays_text():
    """Names cannot become tags, neither in the summary nor behind it."""
    html = packet_html(
        view(factory.full(field="<script>1</script>", grower="<b>x</b>")), factory.context()
    )
    assert "<script>" not in html
    assert "<b>x" not in html


def test_growers_never_share_a_file_and_keep_their_name():
    """Names that fold to one, IDs that differ in case, and signs no file can have."""
    likes = [
        *(
            ("G1", "Oda Fenwick"),
            ("G1", "Oda-Fenwick"),
            ("G1", "Oda/Fenwick"),
            ("G1", "oda fenwick"),
        ),
        *(("g1", "Oda Fenwick"), ("G-1", "Oda Fenwick"), ("G/1", "Oda Fenwick")),
        *(("G1", "A" * 200), ("G1", "A" * 201), ("G1-ODA", "Fenwick")),
    ]
    names = [grower_name(*one) for one in likes]
    assert len({name.casefold() for name in names}) == len(likes)
    assert names[0] == "G1.oda-fenwick"
    assert all(re.fullmatch(r"[\w-]+\.[\w-]+", name) for name in names)
    assert names == [grower_name(*one) for one in likes]
