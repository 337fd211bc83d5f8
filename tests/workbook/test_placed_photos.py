"""Pictures in books: found wherever an app puts them, made ready for print, and never a danger."""

import io
import struct
import zlib
from pathlib import Path

import pytest
from hostile.books import repacked
from office import Office
from photographs import HERE, photo_book, picture
from PIL import Image
from seasons import small_season

from fieldbook.entries import ReadyPhoto
from fieldbook.workbook.photo import LONGEST_PX, MAX_BOOK_PIXELS, ready_photo
from fieldbook.workbook.placed import MAX_PICTURES
from fieldbook.workbook.placed_parts import RowHeights
from fieldbook.workbook.plan import LaidPicture
from fieldbook.workbook.read import ReadBook, read_book

FIRST_ROW = 5  # the row of A1's first photo, as the app shows it
GPS = 0x8825


def read(tmp_path: Path, **pictures: LaidPicture | bytes) -> ReadBook:
    """Read a book with these pictures in rows 1, 2 ... of its first field."""
    data = photo_book(small_season(tmp_path / "season"), dict(enumerate(pictures.values(), 1)))
    return read_book(data, "ana.xlsx")


def rows(found: ReadBook) -> list[int]:
    """Return the rows that have a photo."""
    assert found.book is not None
    return [photo.row for photo in found.book.photos]


def codes(found: ReadBook) -> list[str]:
    """Return the codes of a book's problems."""
    assert found.book is not None
    return [one.code for one in found.book.problems]


def opened(photo: ReadyPhoto | None) -> Image.Image:
    """Open what was made ready."""
    assert photo is not None
    return Image.open(io.BytesIO(photo.data))


def made(data: bytes, *, keep_position: bool = False) -> ReadyPhoto | None:
    """Make one picture ready."""
    return ready_photo(data, 5, keep_position=keep_position, left=MAX_BOOK_PIXELS).photo


# ---- where they lie ------------------------------------------------------------------------


def test_floating_pictures_and_those_in_cells_are_found_by_row(tmp_path: Path) -> None:
    """The row is that of the picture's corner, or the cell itself."""
    shots = {"a": picture(), "b": LaidPicture(data=picture(shade=90), in_cell=True)}
    found = read(tmp_path, **shots, c=picture(kind="PNG"))
    assert rows(found) == [FIRST_ROW, FIRST_ROW + 1, FIRST_ROW + 2]
    assert codes(found) == []


@pytest.mark.office
@pytest.mark.parametrize("kind", ["xlsx", "ods"])
def test_books_that_libreoffice_saved_keep_their_photos(
    tmp_path: Path, office: Office, kind: str
) -> None:
    """The other spreadsheet program writes its own drawings in both formats."""
    season = small_season(tmp_path / "season")
    path = tmp_path / "ana.xlsx"
    path.write_bytes(photo_book(season, {1: picture(), 3: picture(shade=90)}))
    saved = office.convert(path, tmp_path / f"saved.{kind}")
    found = read_book(saved.read_bytes(), saved.name)
    assert rows(found) == [FIRST_ROW, FIRST_ROW + 2]


def test_a_picture_dropped_a_little_high_belongs_to_the_next_row() -> None:
    """What begins low in a row is meant for the row below it; a far one is counted down."""
    heights = RowHeights(usual_pt=15, of_row={5: 100.0, 6: 100.0})
    assert heights.row_at(5, 10) == 5
    assert heights.row_at(5, 80) == 6
    assert heights.row_at(5, 110) == 6
    assert heights.row_at(5, 205) == 7


def moved(found: bytes, before: str, after: str) -> bytes:
    """Change the drawing part of a book."""
    part = "xl/drawings/drawing1.xml"
    return repacked(found, {part: lambda xml: xml.replace(before.encode(), after.encode())})


def test_a_picture_over_the_head_belongs_to_the_first_row(tmp_path: Path) -> None:
    """Pasted with the cursor above the table, it is taken for the first photo."""
    data = photo_book(small_season(tmp_path / "season"), {1: picture()})
    over = moved(data, "<xdr:row>4</xdr:row>", "<xdr:row>2</xdr:row>")
    assert over != data
    assert rows(read_book(over, "ana.xlsx")) == [FIRST_ROW]


def test_a_picture_beside_no_row_is_told(tmp_path: Path) -> None:
    """Far below the table nobody knows of which field it is."""
    data = photo_book(small_season(tmp_path / "season"), {1: picture()})
    far = read_book(moved(data, "<xdr:row>4</xdr:row>", "<xdr:row>400</xdr:row>"), "ana.xlsx")
    assert (rows(far), codes(far)) == ([], ["photo-no-row"])


# ---- what becomes of them ------------------------------------------------------------------


@pytest.mark.parametrize("turn", range(1, 9))
def test_pictures_are_turned_upright(turn: int) -> None:
    """Whatever way the camera was held, its notes are followed: red is above blue or beside it."""
    from PIL import ImageOps

    data = picture(turn=turn)
    right = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    photo = opened(made(data))
    assert photo.size == right.size
    for at in ((20, 20), (photo.width - 20, photo.height - 20)):
        wanted, got = (image.convert("RGB").getpixel(at) for image in (right, photo))
        assert all(abs(a - b) < 12 for a, b in zip(wanted, got, strict=True))


def test_large_pictures_are_made_small_and_small_ones_left() -> None:
    """The longest side is what print needs; nothing is blown up."""
    large, small = made(picture((3000, 1500))), made(picture((300, 200)))
    assert large is not None
    assert small is not None
    assert (large.width_px, large.height_px) == (LONGEST_PX, LONGEST_PX // 2)
    assert (small.width_px, small.height_px) == (300, 200)


def test_nothing_is_left_beside_the_picture() -> None:
    """Neither the place nor the maker, a comment or a thumbnail goes into a report."""
    data = picture(place=HERE)
    assert b"A camera's maker" in data
    photo = made(data)
    assert photo is not None
    assert dict(opened(photo).getexif()) == {}
    assert not {"exif", "comment", "icc_profile", "xmp"} & set(opened(photo).info)
    assert b"camera" not in photo.data


def test_a_season_may_keep_the_place_and_nothing_else() -> None:
    """With the setting, the four numbers and letters of the place stay; the rest goes."""
    exif = opened(made(picture(place={**HERE, 7: (1, 2, 3)}), keep_position=True)).getexif()
    assert dict(exif.get_ifd(GPS)) == HERE
    assert 0x010F not in exif
    assert opened(made(picture(place={1: "N"}), keep_position=True)).getexif() == {}


def test_the_same_picture_gives_the_same_bytes() -> None:
    """Pictures are known by their hash, so a book sent again adds none."""
    first, again = made(picture()), made(picture())
    assert first == again


@pytest.mark.parametrize("kind", ["PNG", "GIF", "WEBP", "BMP"])
def test_usual_kinds_of_pictures_are_read(kind: str) -> None:
    """Screen prints and drawings come as other kinds than photos do."""
    photo = opened(made(picture(kind=kind)))
    assert (photo.format, photo.size) == ("JPEG", (400, 300))


def test_what_is_transparent_becomes_white() -> None:
    """A JPEG has no transparent parts, and black would waste ink."""
    out = io.BytesIO()
    Image.new("RGBA", (50, 40), (0, 0, 0, 0)).save(out, "PNG")
    assert opened(made(out.getvalue())).getpixel((20, 20)) == (255, 255, 255)


# ---- what can't be read --------------------------------------------------------------------

_UNREADABLE = {
    "HEIC": b"\0\0\0\x18ftypheic" + bytes(200),
    "WMF": b"\xd7\xcd\xc6\x9a" + bytes(200),
    "EMF": b"\x01\0\0\0" + bytes(36) + b" EMF" + bytes(100),
    "TIFF": b"II*\0" + bytes(200),
    "SVG": b"<?xml version='1.0'?><svg/>",
    "damaged or of an unknown kind": picture()[:900],
}


@pytest.mark.parametrize("kind", _UNREADABLE)
def test_a_kind_that_cant_be_read_is_named(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The scout learns what it was, whatever other libraries told Pillow; the rest stands."""
    monkeypatch.setattr("PIL.ImageFile.LOAD_TRUNCATED_IMAGES", True)
    why = ready_photo(_UNREADABLE[kind], 5, keep_position=False, left=MAX_BOOK_PIXELS).why
    assert why is not None
    assert (why.code, dict(why.params)["kind"]) == ("photo-unreadable", kind)


def test_an_unreadable_picture_costs_nothing_else(tmp_path: Path) -> None:
    """Its neighbour is there, and its own row is named."""
    data = photo_book(small_season(tmp_path / "season"), {1: picture(), 2: picture(shade=9)})
    bad = repacked(data, {"xl/media/image1.jpeg": _UNREADABLE["HEIC"]})
    found = read_book(bad, "ana.xlsx")
    assert (rows(found), codes(found)) == ([FIRST_ROW + 1], ["photo-unreadable"])
    assert found.book is not None
    assert found.book.problems[0].place.words() == "ana.xlsx, Photos, row 5"


def bomb(side: int) -> bytes:
    """Write a PNG of few bytes that unpacks to a square of this side."""

    def chunk(name: bytes, data: bytes) -> bytes:
        body = name + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    lines = zlib.compress(bytes(100_000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", lines) + chunk(b"IEND", b"")


@pytest.mark.parametrize("side", [5_000, 12_000, 60_000])
def test_pictures_of_too_many_pixels_are_never_unpacked(side: int) -> None:
    """A few bytes can say that they are gigabytes; the size is read first."""
    why = ready_photo(bomb(side), 5, keep_position=False, left=MAX_BOOK_PIXELS).why
    assert why is not None
    assert why.code == "photo-too-large"


def test_a_book_has_a_limit_for_all_its_pictures() -> None:
    """Many pictures within the limit of one are stopped by the limit of all."""
    assert ready_photo(picture(), 5, keep_position=False, left=100_000).why is not None


def test_a_picture_placed_thousands_of_times_is_read_a_few(tmp_path: Path) -> None:
    """One part can be named by any number of anchors; only so many are looked at."""
    data = photo_book(small_season(tmp_path / "season"), {1: picture()})
    many = repacked(data, {"xl/drawings/drawing1.xml": lambda xml: _again(xml, 3_000)})
    found = read_book(many, "ana.xlsx")
    assert codes(found) == ["photos-too-many"]
    assert len(rows(found)) <= MAX_PICTURES


def _again(xml: bytes, times: int) -> bytes:
    start, end = xml.index(b"<xdr:twoCellAnchor"), xml.index(b"</xdr:wsDr>")
    return xml[:start] + xml[start:end] * times + xml[end:]


def test_links_out_of_the_file_are_not_followed(tmp_path: Path) -> None:
    """A picture that lies elsewhere, or above the package, is none."""
    data = photo_book(small_season(tmp_path / "season"), {1: picture()})
    part = "xl/drawings/_rels/drawing1.xml.rels"
    for target in (b"../../../../etc/passwd", b"file:///etc/passwd"):
        away = repacked(
            data, {part: lambda xml, to=target: xml.replace(b"../media/image1.jpeg", to)}
        )
        assert rows(read_book(away, "ana.xlsx")) == []


def test_a_broken_link_between_cells_and_pictures_is_survived(tmp_path: Path) -> None:
    """Values of the newer kind that lead nowhere are no photos, and the book is read."""
    laid = {1: LaidPicture(data=picture(), in_cell=True)}
    data = photo_book(small_season(tmp_path / "season"), laid)
    part = "xl/richData/rdrichvalue.xml"
    for old, new in ((b"<v>0</v>", b"<v>77</v>"), (b"<v>0</v>", b"<v>x</v>"), (b's="0"', b's="9"')):
        bad = repacked(data, {part: lambda xml, a=old, b=new: xml.replace(a, b)})
        assert bad != data
        assert rows(read_book(bad, "ana.xlsx")) == []
