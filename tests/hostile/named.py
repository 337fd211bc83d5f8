"""The named hostile files, as a mailbox could bring them, for a whole intake.

What the guard says of each kind, one by one, is tested beside this; here they come all at once.
"""

from collections.abc import Iterator, Mapping

from fieldbook.workbook.guard_package import MAX_FILE_BYTES, MAX_PARTS, MAX_UNPACKED_BYTES
from hostile.books import (
    ODS_CELL,
    ODS_TYPE,
    SHEET,
    ods,
    ods_cells,
    ods_parts,
    ods_row,
    ole,
    real_book,
    repacked,
    xlsx,
    xlsx_cell,
    xlsx_parts,
    zipped,
)

_VALUE = 'office:value-type="float" office:value="1"'
_ENTITY = '<!DOCTYPE x [<!ENTITY a "{}"><!ENTITY b "&a;&a;">]><x>&b;</x>'
_FILE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]><x>&a;</x>'


def _no_workbooks() -> Iterator[tuple[str, bytes]]:
    yield "empty.xlsx", b""
    yield "text.xlsx", b"field,stop,ears\nF1,1,31\n"
    yield "page.xlsx", b"<html><table><tr><td>16</td></tr></table></html>"
    yield "letter.ods", zipped({"mimetype": "application/vnd.oasis.opendocument.text"})
    yield "picture.xlsx", b"\x89PNG\r\n\x1a\n" + bytes(200)
    yield "old.xls", ole("Workbook")
    yield "password.xlsx", ole("EncryptedPackage")
    yield "password.ods", zipped(ods_parts("", manifest="<manifest:encryption-data/>"))
    yield "letter.xlsx", zipped({"[Content_Types].xml": "<Types/>", "word/document.xml": "<d/>"})
    yield "binary.xlsb", repacked(real_book(), {"xl/workbook.bin": b"\x83\x01"})
    yield "huge.xlsx", real_book() + bytes(MAX_FILE_BYTES)
    yield "zip-in-zip.xlsx", zipped({"book.xlsx": real_book()})


def _packages() -> Iterator[tuple[str, bytes]]:
    yield "cut-off.xlsx", real_book()[:-700]
    yield "bomb.xlsx", repacked(real_book(), {"xl/media/image1.png": bytes(2 * MAX_UNPACKED_BYTES)})
    many = {f"xl/media/{number}.bin": b"" for number in range(MAX_PARTS)}
    yield "many-parts.xlsx", zipped(xlsx_parts("<sheetData/>") | many)
    yield "outside.xlsx", repacked(real_book(), {"../../season.toml": "year = 1"})
    yield "root.xlsx", repacked(real_book(), {"/etc/passwd": "x"})
    yield "twice.xlsx", repacked(real_book(), {SHEET.upper(): "<worksheet/>"})
    yield "both.xlsx", zipped({"mimetype": ODS_TYPE, **xlsx_parts(""), **ods_parts("")})
    yield "macros.xlsx", repacked(real_book(), {"xl/vbaProject.bin": bytes(300)})


def _xml() -> Iterator[tuple[str, bytes]]:
    for name, part in (("sheet", SHEET), ("workbook", "xl/workbook.xml")):
        yield f"entities-{name}.xlsx", repacked(real_book(), {part: _ENTITY.format("corn" * 99)})
        yield f"fetch-{name}.xlsx", repacked(real_book(), {part: _FILE})
    yield "entities.ods", zipped(ods_parts("") | {"content.xml": _ENTITY.format("corn" * 99)})
    yield "fetch.ods", zipped(ods_parts("") | {"content.xml": _FILE})
    deep = "<a>" * 200_000 + "</a>" * 200_000
    yield "deep.xlsx", repacked(real_book(), {SHEET: deep})
    yield "deep.ods", zipped(ods_parts("") | {"content.xml": deep})
    texts = '<sst uniqueCount="4000000000"><si><t>corn</t></si></sst>'
    yield "texts.xlsx", xlsx(xlsx_cell("A1", "<v>0</v>", 't="s"'), shared=texts)


def _reach() -> Iterator[tuple[str, bytes]]:
    yield "corner.xlsx", xlsx(xlsx_cell("A1") + xlsx_cell("XFD1048576"))
    merged = '<mergeCells count="1"><mergeCell ref="A1:XFD1048576"/></mergeCells>'
    yield "merged.xlsx", xlsx(xlsx_cell("A1"), after=merged)
    yield "array.xlsx", xlsx(xlsx_cell("A1", '<f t="array" ref="A1:XFD1048576">1</f>'))
    yield "limits.xlsx", xlsx(xlsx_cell("A5000") + xlsx_cell("KN1"))
    long = f"<sst><si><t>{'corn ' * 100_000}</t></si></sst>"
    cells = "".join(f'<c r="A{row}" t="s"><v>0</v></c>' for row in range(1, 3001))
    yield "long-text.xlsx", xlsx(f"<row>{cells}</row>", shared=long)
    yield "corner.ods", ods(ods_row(ods_cells(16383), ODS_CELL, repeat=1048576))
    yield "wide.ods", ods(ods_row(ods_cells(16384, _VALUE)))
    yield "high.ods", ods(ods_row(ODS_CELL, repeat=1048576))
    yield "merged.ods", ods(ods_row('<table:table-cell table:number-rows-spanned="1048576"/>'))
    yield "limits.ods", ods(ods_row(ods_cells(299), ODS_CELL), ods_row(ODS_CELL, repeat=4999))
    spaces = '<text:p>a<text:s text:c="4000000000"/></text:p>'
    yield "spaces.ods", ods(ods_row(f"<table:table-cell {_VALUE}>{spaces}</table:table-cell>"))
    repeat = ods_row("<table:table-cell/>", attributes='table:number-rows-repeated="-1"')
    yield "minus.ods", ods(repeat, ods_row(ODS_CELL))
    table = f'<table:table table:name="In">{ods_row(ODS_CELL)}</table:table>'
    yield "nested.ods", ods(ods_row(f"<table:table-cell {_VALUE}>{table}</table:table-cell>"))


NAMED: Mapping[str, bytes] = dict([*_no_workbooks(), *_packages(), *_xml(), *_reach()])
"""All of them by name."""
