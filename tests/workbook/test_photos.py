"""The Photos sheet: room for pictures, and books that come back with some are read as before."""

import io
from pathlib import Path

from hostile.books import repacked
from openpyxl import load_workbook
from seasons import book_plan, small_season

from fieldbook.forms.rounds import POLLINATION
from fieldbook.workbook.guard_package import MAX_FILE_BYTES
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
DRAWINGS = "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing"
REMARK = ("photos", ("A1", 1), "remark")


def photo_book(folder: Path) -> bytes:
    """Write a pollination book in which one photo is described."""
    season = small_season(folder / "season")
    entries = {"A1": {REMARK: "Silks clipped short"}}
    return write_book(book_plan(season, round_=POLLINATION, entries=entries))


def with_picture(data: bytes, sheet: str) -> bytes:
    """Put a drawing with a picture on a sheet, as an app does."""
    at = load_workbook(io.BytesIO(data)).sheetnames.index(sheet) + 1
    part, links = f"xl/worksheets/sheet{at}.xml", f"xl/worksheets/_rels/sheet{at}.xml.rels"
    link = (
        f'<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
        f'<Relationship Id="rId9" Type="{OFFICE}/drawing" Target="../drawings/drawing1.xml"/>'
        "</Relationships>"
    )
    return repacked(
        data,
        {
            part: lambda xml: xml.replace(b"</worksheet>", b'<drawing r:id="rId9"/></worksheet>'),
            links: link,
            "xl/drawings/drawing1.xml": f'<xdr:wsDr xmlns:xdr="{DRAWINGS}"/>',
            "xl/media/image1.jpeg": bytes(range(256)) * 2000,
        },
    )


def test_a_book_with_pictures_is_read_like_one_without(tmp_path: Path) -> None:
    """A picture is no fault, and the words beside it are there."""
    read = read_book(with_picture(photo_book(tmp_path), "Photos"), "ana.xlsx")
    assert read.problems == ()
    assert read.book is not None
    assert read.book.problems == ()
    rows = read.book.sheets["photos"].rows
    assert rows[0].cells["remark"].value == "Silks clipped short"


def test_the_sheet_says_how_much_room_there_is(tmp_path: Path) -> None:
    """The limit of a file is more than it says; a book of before, with other words, is read."""
    book = load_workbook(io.BytesIO(photo_book(tmp_path)))
    (title,) = (cell for cell in book["Photos"]["A"] if str(cell.value).startswith("Photos. "))
    assert str(title.value).endswith("Four a field are plenty; 20 MB a book at most.")
    assert MAX_FILE_BYTES >= 1.2 * 20_000_000
    title.value = "Photos. Put each picture into its row. Four a field are plenty."
    before = io.BytesIO()
    book.save(before)
    read = read_book(before.getvalue(), "ana.xlsx")
    assert read.book is not None
    assert read.book.sheets["photos"].rows[0].cells["remark"].value == "Silks clipped short"


def test_a_person_may_place_pictures_on_that_sheet_alone(tmp_path: Path) -> None:
    """Objects are free on Photos, whose rows are tall enough, and protected elsewhere."""
    book = load_workbook(io.BytesIO(photo_book(tmp_path)))
    free = {sheet.title for sheet in book if not sheet.protection.objects}
    assert free == {"Photos"}
    assert book["Photos"].row_dimensions[5].height >= 100
