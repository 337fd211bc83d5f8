"""Builders of good books, of small hand-made workbooks, and of what can be wrong with them."""

import io
import random
import struct
import zipfile
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

from fieldbook.entries import Identity, VisitSlip
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.problems import Problem
from fieldbook.workbook.guard import Inspection, inspect
from fieldbook.workbook.plan import BookPlan, StopPlan, VisitPlan
from fieldbook.workbook.write import write_book

SHEET = "xl/worksheets/sheet1.xml"
RELATIONS = "xl/_rels/workbook.xml.rels"
OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE = "http://schemas.openxmlformats.org/package/2006"
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
ODS_TYPE = "application/vnd.oasis.opendocument.spreadsheet"
ODF = "urn:oasis:names:tc:opendocument:xmlns"

Parts = dict[str, bytes | str]
Change = bytes | str | None | Callable[[bytes], bytes]


# ---- real books ---------------------------------------------------------------------------


@cache
def real_book(*, full: bool = False) -> bytes:
    """Write the book of three fields as a scout would get it."""
    slips = [_slip(number, full=full) for number in range(1, 4)]
    identity = Identity(
        book_id="KC26-BCDF",
        season_id="sedge-2026",
        round="kernel-count",
        full=full,
        form_version=KERNEL_COUNT.form_version,
        units="us",
        language="en",
        scout="ana",
        visits=tuple(slips),
    )
    return write_book(
        BookPlan(
            identity=identity,
            season_name="Sedge Hollow 2026",
            year=2026,
            paper="letter",
            kernel_counts={"good": 77.5, "average": 87.5, "poor": 100.0},
            visits=tuple(_visit(slip) for slip in slips),
        )
    )


def _slip(number: int, *, full: bool) -> VisitSlip:
    return VisitSlip(
        visit_id=f"F{number}.KC1",
        field_id=f"F{number}",
        field=f"Owl bend {number}",
        grower="Petra Lindqvist",
        row_width_in=30,
        rows=KERNEL_COUNT.form(full=full).rows,
    )


def _visit(slip: VisitSlip) -> VisitPlan:
    stops = (
        StopPlan(
            stop=number,
            go_to=f"41.{number}1, -93.{number}2",
            measure="17 ft 5 in",
            standard_length_ft=17.424,
        )
        for number in range(1, 6)
    )
    return VisitPlan(
        slip=slip, hybrid="Amber 104", acres=48, may_enter="ask first", stops=tuple(stops)
    )


# ---- zip files ----------------------------------------------------------------------------


def zipped(parts: Mapping[str, bytes | str], *, stored: bool = False) -> bytes:
    """Pack parts in order, by Deflate or stored as they are."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED if stored else zipfile.ZIP_DEFLATED) as pack:
        for name, content in parts.items():
            pack.writestr(name, content)
    return out.getvalue()


def unzipped(data: bytes) -> Parts:
    """Return all parts of a good file."""
    with zipfile.ZipFile(io.BytesIO(data)) as pack:
        return {name: pack.read(name) for name in pack.namelist()}


def repacked(data: bytes, changes: Mapping[str, Change], *, stored: bool = False) -> bytes:
    """Pack a file again with parts changed, added, or (None) left out."""
    parts = unzipped(data)
    for name, change in changes.items():
        if change is None:
            del parts[name]
        else:
            parts[name] = change(_bytes(parts[name])) if callable(change) else change
    return zipped(parts, stored=stored)


def _bytes(content: bytes | str) -> bytes:
    return content.encode() if isinstance(content, str) else content


def with_entry_field(data: bytes, part: str, offset: int, layout: str, value: int) -> bytes:
    """Overwrite one field of a part's line in the table of contents."""
    at = data.rindex(part.encode()) - 46
    assert data[at : at + 4] == b"PK\x01\x02"
    out = bytearray(data)
    struct.pack_into(layout, out, at + offset, value)
    return bytes(out)


# ---- hand-made .xlsx ----------------------------------------------------------------------


def xlsx_parts(sheet: str, *, shared: str = "") -> Parts:
    """Make the fewest parts that readers take for a workbook of one sheet, called Ears."""
    parts: Parts = {
        "[Content_Types].xml": f'<Types xmlns="{PACKAGE}/content-types"><Override '
        'PartName="/xl/workbook.xml" ContentType="application/'
        'vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>',
        "_rels/.rels": relations("officeDocument", "xl/workbook.xml"),
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{OFFICE}"><sheets>'
        '<sheet name="Ears" sheetId="1" r:id="r1"/></sheets></workbook>',
        RELATIONS: relations("worksheet", "worksheets/sheet1.xml"),
        SHEET: f'<worksheet xmlns="{MAIN}">{sheet}</worksheet>',
    }
    return parts | ({"xl/sharedStrings.xml": shared} if shared else {})


def relations(kind: str, target: str) -> str:
    """Write a relations part of one relation."""
    return (
        f'<Relationships xmlns="{PACKAGE}/relationships"><Relationship Id="r1" '
        f'Type="{OFFICE}/{kind}" Target="{target}"/></Relationships>'
    )


def xlsx(rows: str, *, before: str = "", after: str = "", shared: str = "") -> bytes:
    """Make a small .xlsx of these rows."""
    return zipped(xlsx_parts(f"{before}<sheetData>{rows}</sheetData>{after}", shared=shared))


def xlsx_cell(ref: str, inside: str = "<v>1</v>", attributes: str = "") -> str:
    """Write one row with one cell."""
    row = "".join(filter(str.isdigit, ref))
    return f'<row r="{row}"><c r="{ref}" {attributes}>{inside}</c></row>'


# ---- hand-made .ods -----------------------------------------------------------------------

ODS_CELL = '<table:table-cell office:value-type="float" office:value="1"/>'


def ods_parts(tables: str, *, manifest: str = "") -> Parts:
    """Make the fewest parts that readers take for an .ods."""
    names = " ".join(f'xmlns:{name}="{ODF}:{name}:1.0"' for name in ("office", "table", "text"))
    other = 'xmlns:calcext="urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0"'
    return {
        "mimetype": ODS_TYPE,
        "content.xml": f"<office:document-content {names} {other}><office:body>"
        f"<office:spreadsheet>{tables}</office:spreadsheet></office:body>"
        "</office:document-content>",
        "META-INF/manifest.xml": f'<manifest:manifest xmlns:manifest="{ODF}:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{ODS_TYPE}">'
        f"{manifest}</manifest:file-entry></manifest:manifest>",
    }


def ods(*rows: str) -> bytes:
    """Make a small .ods of these rows in one sheet, called Ears."""
    return zipped(ods_parts(f'<table:table table:name="Ears">{"".join(rows)}</table:table>'))


def ods_row(*cells: str, repeat: int = 1, attributes: str = "") -> str:
    """Write one row, or the same row many times."""
    often = f'table:number-rows-repeated="{repeat}"' if repeat > 1 else ""
    return f"<table:table-row {often} {attributes}>{''.join(cells)}</table:table-row>"


def ods_cells(often: int, attributes: str = "", *, kind: str = "table-cell") -> str:
    """Write one cell many times; without attributes an empty one."""
    return f'<table:{kind} table:number-columns-repeated="{often}" {attributes}/>'


# ---- OLE ----------------------------------------------------------------------------------


def ole(stream: str) -> bytes:
    """Make the header and one directory entry of an OLE file with this stream."""
    header = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1".ljust(512, b"\0")
    root, name = ("Root Entry".encode("utf-16-le"), stream.encode("utf-16-le"))
    return header + root.ljust(128, b"\0") + name.ljust(128, b"\0") + bytes(256)


# ---- damage -------------------------------------------------------------------------------


def flipped(data: bytes, seed: int, *, flips: int = 1) -> bytes:
    """Return the bytes with a few of them changed, the same ones for the same seed."""
    choose = random.Random(seed)
    out = bytearray(data)
    for _ in range(flips):
        out[choose.randrange(len(out))] ^= choose.randrange(1, 256)
    return bytes(out)


def cuts(data: bytes, count: int, seed: int) -> Iterator[bytes]:
    """Return the file cut off at seeded places, from its first byte to its last but one."""
    choose = random.Random(seed)
    for at in choose.sample(range(1, len(data)), count):
        yield data[:at]


# ---- looks --------------------------------------------------------------------------------


def passed(data: bytes) -> Inspection:
    """Look through a file that must pass."""
    found = inspect(data)
    assert isinstance(found, Inspection), found
    return found


def refusal(data: bytes) -> str:
    """Look through a file that must be refused; return the code."""
    found = inspect(data)
    assert isinstance(found, Problem), found
    return found.code


def detail(data: bytes) -> str:
    """Look through a file that must be refused; return the plain words of it."""
    found = inspect(data)
    assert isinstance(found, Problem), found
    return str(dict(found.params)["detail"])


def read_by_calamine(data: bytes) -> dict[str, tuple[int, int]]:
    """Read all values; return the rows and columns that came back (runs in a worker)."""
    return {title: (len(rows), max(map(len, rows), default=0)) for title, rows in values(data)}


def values(data: bytes) -> Iterator[tuple[str, list[list[Any]]]]:
    """Read all values, sheet by sheet."""
    from python_calamine import CalamineWorkbook

    book = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for title in book.sheet_names:
        yield title, book.get_sheet_by_name(title).to_python(skip_empty_area=False)
