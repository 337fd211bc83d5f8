"""Zip files that are damaged, that lie about themselves, or that no spreadsheet app writes."""

import struct
import zlib
from random import Random

import pytest

from fieldbook.workbook.guard_package import MAX_FILE_BYTES, MAX_PARTS, MAX_UNPACKED_BYTES
from hostile.books import (
    RELATIONS,
    SHEET,
    cuts,
    detail,
    ods,
    ods_cells,
    ods_parts,
    ods_row,
    passed,
    real_book,
    refusal,
    relations,
    repacked,
    unzipped,
    with_entry_field,
    xlsx,
    xlsx_cell,
    xlsx_parts,
    zipped,
)

GOOD = xlsx(xlsx_cell("A1"))
FAR = f"<worksheet><sheetData>{xlsx_cell('XFD1048576')}</sheetData></worksheet>"


def test_small_hand_made_books_pass() -> None:
    """The builders' own books are good: what is refused below is refused for its one fault."""
    assert passed(GOOD).kind == "xlsx"
    assert passed(
        ods(ods_row(ods_cells(1, 'office:value-type="float" office:value="1"')))
    ).kind == ("ods")


@pytest.mark.parametrize("full", [False, True])
def test_cut_off_anywhere(full: bool) -> None:
    """A book cut off at any place is damaged; nothing of it is believed."""
    for part in cuts(real_book(full=full), 40, seed=11):
        assert refusal(part) in ("file-broken", "file-not-workbook")


def test_cut_off_in_the_first_bytes() -> None:
    """Even the first bytes alone are answered."""
    for length in range(1, 40):
        assert refusal(real_book()[:length]) in ("file-broken", "file-not-workbook")


def test_bytes_behind_the_end() -> None:
    """Bytes behind the end, or a note in the zip, could hide a second table of contents."""
    assert refusal(GOOD + b"\0") == "file-broken"
    noted = GOOD[:-2] + struct.pack("<H", len(GOOD)) + GOOD
    assert refusal(noted) == "file-broken"
    assert refusal(GOOD[:-2] + struct.pack("<H", 7)) == "file-broken"


def test_bytes_before_the_start() -> None:
    """Bytes before the start shift every place in the file."""
    assert refusal(b"PK\x03\x04" + GOOD) == "file-broken"


def test_damaged_checksum() -> None:
    """A part that does not match its checksum is damaged."""
    assert detail(with_entry_field(GOOD, SHEET, 16, "<L", 1)) == (
        "a part does not match its checksum"
    )


def test_size_that_lies() -> None:
    """A part larger than it says is refused, even where the checksum fits the part shown.

    Python stops at the stated size; other readers unpack everything and would see the rest.
    """
    shown = b"<worksheet><sheetData/></worksheet>".ljust(80)
    parts = unzipped(GOOD) | {SHEET: shown + FAR.encode()}
    data = with_entry_field(zipped(parts), SHEET, 24, "<L", len(shown))
    lie = "a part does not match its checksum"
    assert detail(data) == lie  # the checksum fits the whole
    data = with_entry_field(data, SHEET, 16, "<L", zlib.crc32(shown))
    assert detail(data) == lie  # the checksum fits the part shown


@pytest.mark.parametrize("noise", [0, 60_000])
@pytest.mark.parametrize("tail", [b"", b"\x03\x00more", b"\x03\x00" + bytes(40_000)])
def test_packing_that_does_not_end(tail: bytes, noise: int) -> None:
    """Packed bytes that stop early, or go on behind their end, are damage, however many."""
    comment = f"<!--{Random(noise).randbytes(noise).hex()}-->".encode()
    shown = b"<worksheet><sheetData/></worksheet>" + comment
    packer = zlib.compressobj(wbits=-zlib.MAX_WBITS)
    packed = packer.compress(shown) + packer.flush(zlib.Z_SYNC_FLUSH) + tail
    data = zipped(unzipped(GOOD) | {SHEET: packed}, stored=True)
    for offset, layout, value in (
        (10, "<H", 8),
        (16, "<L", zlib.crc32(shown)),
        (24, "<L", len(shown)),
    ):
        data = with_entry_field(data, SHEET, offset, layout, value)
    assert detail(data) == "a part is cut off"


def test_unknown_packing() -> None:
    """Only the two packings that every app writes are read."""
    assert detail(with_entry_field(GOOD, SHEET, 10, "<H", 14)) == "packed in an unknown way"


def test_part_that_is_not_there() -> None:
    """A table of contents that points outside the file is damaged."""
    assert refusal(with_entry_field(GOOD, SHEET, 42, "<L", 2**31)) == "file-broken"
    assert refusal(with_entry_field(GOOD, SHEET, 20, "<L", 2**31)) == "file-broken"


def test_parts_that_overlap() -> None:
    """Two entries that share bytes are the trick of the smallest bombs."""
    data = zipped(xlsx_parts("<sheetData/>") | {"xl/a.bin": b"x" * 50, "xl/b.bin": b"y" * 50})
    size = struct.unpack_from("<L", data, data.rindex(b"xl/a.bin") - 26)[0]
    assert detail(with_entry_field(data, "xl/a.bin", 20, "<L", size + 20)) == "parts that overlap"


def test_zip_bomb() -> None:
    """A part that unpacks to a thousand times its size is not unpacked to its end."""
    bomb = repacked(GOOD, {"xl/media/image1.png": bytes(2 * MAX_UNPACKED_BYTES)})
    assert len(bomb) < 200_000
    assert refusal(bomb) == "file-too-large"
    small = repacked(GOOD, {"xl/media/image1.png": bytes(2_000_000)})
    assert refusal(small) == "file-too-large"


def test_many_large_parts() -> None:
    """The total counts, not the single part."""
    noise = Random(1).randbytes(500_000) + bytes(9_500_000)
    parts: dict[str, bytes | str] = {f"xl/media/{number}.bin": noise for number in range(9)}
    large = zipped(xlsx_parts("<sheetData/>") | parts)
    assert len(large) < MAX_FILE_BYTES
    assert refusal(large) == "file-too-large"


def test_too_many_parts() -> None:
    """More parts than any book has are not even listed."""
    parts: dict[str, bytes | str] = {f"xl/media/{number}.bin": b"" for number in range(MAX_PARTS)}
    assert detail(zipped(xlsx_parts("<sheetData/>") | parts)) == "more than 400 parts"


@pytest.mark.parametrize(
    "name", ["/xl/a.xml", "../a.xml", "xl/../../a.xml", "xl\\a.xml", "C:/a.xml", "xl/a\0.xml"]
)
def test_names_that_lead_outside(name: str) -> None:
    """Absolute names, '..', backslashes, drives and hidden characters are refused."""
    placeholder = "q" * len(name)
    data = repacked(GOOD, {placeholder: "<a/>"}).replace(placeholder.encode(), name.encode())
    assert refusal(data) == "file-unsafe"


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_parts_of_one_name() -> None:
    """Of two parts of one name each reader may take another; large and small letters are one."""
    other = SHEET.replace("sheet1", "sheet9")
    data = repacked(GOOD, {other: FAR}).replace(other.encode(), SHEET.encode())
    assert detail(data) == "two parts of one name"
    assert detail(repacked(GOOD, {SHEET.upper(): FAR})) == "two parts of one name"


def test_part_with_two_names() -> None:
    """A second name in the extra field of a part is preferred by some readers."""
    name = b"\x01" + struct.pack("<L", zlib.crc32(b"xl/a.bin")) + SHEET.encode()
    extra = struct.pack("<2H", 0x7075, len(name)) + name
    data = bytearray(repacked(GOOD, {"xl/a.bin": "x"}))
    at = data.rindex(b"xl/a.bin")
    struct.pack_into("<H", data, at - 16, len(extra))
    data[at + 8 : at + 8] = extra
    size = struct.unpack_from("<L", data, len(data) - 10)[0]
    struct.pack_into("<L", data, len(data) - 10, size + len(extra))
    assert detail(bytes(data)) == "a part with two names"


def test_name_that_differs_between_header_and_contents() -> None:
    """The name in front of a part must be the name in the table of contents."""
    data = GOOD.replace(SHEET.encode(), SHEET.upper().encode(), 1)
    assert detail(data) == "a part's name does not match"


# ---- XML ----------------------------------------------------------------------------------

ENTITIES = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 10))
BOMB = f'<!DOCTYPE b [<!ENTITY e0 "corn">{ENTITIES}]>'


@pytest.mark.parametrize("part", [SHEET, RELATIONS, "xl/workbook.xml", "docProps/core.xml"])
def test_entity_bomb(part: str) -> None:
    """A document type is refused in every part, before any entity grows."""
    parts = xlsx_parts("<sheetData/>")
    parts[part] = f"{BOMB}<b>&e9;</b>"
    assert detail(zipped(parts)) == "an XML document type"


def test_entity_that_reads_a_file() -> None:
    """An entity that names a file on this machine is refused, in .ods too."""
    parts = ods_parts("")
    steal = '<!DOCTYPE x [<!ENTITY f SYSTEM "file:///etc/hostname">]>'
    parts["content.xml"] = steal + str(parts["content.xml"])
    assert refusal(zipped(parts)) == "file-unsafe"
    assert refusal(zipped(ods_parts("") | {"styles.xml": f"{steal}<x>&f;</x>"})) == "file-unsafe"


def test_document_type_in_a_drawing() -> None:
    """Drawings of old comments need not be good XML, but hold no document type."""
    drawing = "xl/drawings/vmlDrawing1.vml"
    assert passed(repacked(GOOD, {drawing: "<xml><br></xml>"}))
    assert refusal(repacked(GOOD, {drawing: f"<!DOCTYPE x>{BOMB}<xml/>"})) == "file-unsafe"


@pytest.mark.parametrize("part", [SHEET, "xl/workbook.xml", RELATIONS, "docProps/core.xml"])
@pytest.mark.parametrize("inside", ["<a><b></a>", "<a/><a/>", "", "<a>&what;</a>", "<a b=1/>"])
def test_damaged_xml(part: str, inside: str) -> None:
    """XML that does not close, repeats its root, or is empty is damage, in whichever part."""
    assert refusal(zipped(xlsx_parts("<sheetData/>") | {part: inside})) == "file-broken"


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be"])
def test_cells_in_two_byte_letters(encoding: str) -> None:
    """The reader would take such a sheet for an empty one, and its counts would be lost."""
    sheet = f"<worksheet><sheetData>{xlsx_cell('A1')}</sheetData></worksheet>"
    assert passed(repacked(GOOD, {SHEET: sheet.encode("utf-8-sig")}))
    assert refusal(repacked(GOOD, {SHEET: sheet.encode(encoding)})) == "file-broken"


def test_unknown_encoding() -> None:
    """An encoding that nobody knows is damage, not a crash."""
    for name in ("klingon", "utf-7", "shift_jis", "idna"):
        sheet = f'<?xml version="1.0" encoding="{name}"?><worksheet><sheetData/></worksheet>'
        assert refusal(repacked(GOOD, {SHEET: sheet})) == "file-broken"


def test_two_workbooks_in_one_file() -> None:
    """A file that is both formats could be checked as one and read as the other."""
    assert detail(zipped(xlsx_parts("<sheetData/>") | ods_parts(""))) == "two workbooks in one file"
    moved = {"_rels/.rels": relations("officeDocument", "x/book.xml"), "x/book.xml": "<b/>"}
    assert refusal(zipped(ods_parts("") | moved)) == "file-unsafe"


def test_workbook_in_an_unusual_place() -> None:
    """Readers follow the file's relations: a decoy in the usual place is not what they read."""
    decoy = repacked(GOOD, {"_rels/.rels": relations("officeDocument", "x/book.xml")})
    assert detail(decoy) == "a workbook in an unusual place"


def test_sheet_under_another_name() -> None:
    """Cells count wherever they are, for the reader goes by relations and not by names."""
    hidden = repacked(
        GOOD,
        {"xl/media/image1.png": FAR, RELATIONS: relations("worksheet", "media/image1.png")},
    )
    assert refusal(hidden) == "file-too-large"


def test_missing_parts() -> None:
    """A book without a sheet, its relations, its manifest or its content is damaged."""
    assert refusal(repacked(GOOD, {SHEET: None})) == "file-broken"
    assert refusal(repacked(GOOD, {RELATIONS: None})) == "file-broken"
    for part in ("content.xml", "META-INF/manifest.xml"):
        assert refusal(repacked(ods(), {part: None})) == "file-broken"
