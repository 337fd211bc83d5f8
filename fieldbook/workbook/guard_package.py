"""Unpack a workbook's parts and parse their XML, trusting nothing that the file says of itself.

Readers written in other languages differ from Python in what they forgive. Whatever two of them
could read differently (a lying size, bytes behind the end, two parts of one name) is refused here,
so that what was looked at is what will be read.
"""

import struct
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import NoReturn
from xml.parsers import expat

from fieldbook.problems import Param, Problem, problem

MAX_FILE_BYTES = 25_000_000
MAX_PARTS = 400
MAX_UNPACKED_BYTES = 80_000_000
_MAX_RATIO = 250
_RATIO_FROM_BYTES = 1_000_000
_PACKED_BYTES = 2**14
_END = struct.Struct("<4s4H2LH")
_END_MARK = b"PK\x05\x06"
_ENTRY = struct.Struct("<4s6H3L5H2L")
_ENTRY_MARK = b"PK\x01\x02"
_LOCAL = struct.Struct("<4s5H3L2H")
_LOCAL_MARK = b"PK\x03\x04"
_ENCRYPTED, _UTF8_NAME = 1 << 0, 1 << 11
_STORED, _DEFLATED = 0, 8
_OTHER_NAME = 0x7075

Content = bytes | bytearray
StartHandler = Callable[[str, dict[str, str]], None]
NameHandler = Callable[[str], None]


class Refused(Exception):  # noqa: N818  (control flow inside the guard, never an error of ours)
    """Ends the look at a file; carries the problem that the caller gets."""

    def __init__(self, why: Problem) -> None:
        super().__init__(why.code)
        self.why = why


def refused(code: str, **params: Param) -> Refused:
    """Make a refusal; KeyError for a code that the catalogue does not have."""
    return Refused(problem(code, **params))


def broken(detail: str) -> Refused:
    """Refuse a damaged file."""
    return refused("file-broken", detail=detail)


def too_large(detail: str) -> Refused:
    """Refuse a file beyond any book's size."""
    return refused("file-too-large", detail=detail)


def unsafe(detail: str) -> Refused:
    """Refuse a file that no spreadsheet app writes."""
    return refused("file-unsafe", detail=detail)


# ---- parts --------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Part:
    """One part as the table of contents has it; `header` and `end` are places in the file."""

    name: str
    header: int
    start: int
    end: int
    size_bytes: int
    crc: int
    deflated: bool


class Package:
    """The parts of a zip file, by their names in lower case.

    Raises `Refused` on creation where the table of contents is damaged or unsafe.
    """

    def __init__(self, data: bytes) -> None:
        self._data = data
        self._left_bytes = MAX_UNPACKED_BYTES
        found = list(_contents(data))
        self.parts: Mapping[str, Part] = {part.name.casefold(): part for part in found}
        if len(self.parts) != len(found):
            raise unsafe("two parts of one name")
        _check_apart(found)

    def read(self, part: Part) -> bytes:
        """Unpack one part, to be kept."""
        return bytes(self.unpacked(part))

    def unpacked(self, part: Part) -> Content:
        """Unpack one part, to be looked through, counting what really comes out."""
        raw = self._data[part.start : part.end]
        content: Content = _inflated(raw, self._left_bytes + 1) if part.deflated else raw
        self._left_bytes -= len(content)
        if self._left_bytes < 0 or _is_bomb(len(content), len(raw)):
            raise too_large("it unpacks to far more than a book")
        if len(content) != part.size_bytes or zlib.crc32(content) != part.crc:
            raise broken("a part does not match its checksum")
        return content


def _inflated(raw: bytes, limit_bytes: int) -> bytearray:
    """Unpack bit by bit: at once, a large part would be in memory twice for a moment."""
    stream, content = zlib.decompressobj(-zlib.MAX_WBITS), bytearray()
    try:
        for at in range(0, len(raw), _PACKED_BYTES):
            content += stream.decompress(raw[at : at + _PACKED_BYTES], limit_bytes - len(content))
            if len(content) == limit_bytes:
                return content
    except zlib.error:
        raise broken("a part can't be unpacked") from None
    if not stream.eof or stream.unused_data:
        raise broken("a part is cut off")
    return content


def _is_bomb(unpacked_bytes: int, packed_bytes: int) -> bool:
    return unpacked_bytes > max(_RATIO_FROM_BYTES, _MAX_RATIO * packed_bytes)


def _contents(data: bytes) -> Iterator[Part]:
    """Walk the table of contents, which must fill the file's end exactly."""
    end = len(data) - _END.size
    if end < 0 or data[end : end + 4] != _END_MARK:
        raise broken("its end is missing")
    _, disk, first_disk, here, count, size, at, note = _END.unpack_from(data, end)
    if count > MAX_PARTS:
        raise too_large(f"more than {MAX_PARTS} parts")
    if disk or first_disk or note or here != count or at + size != end:
        raise broken("its table of contents does not fit")
    for _ in range(count):
        part, at = _entry(data, at, end)
        yield part
    if at != end:
        raise broken("its table of contents does not fit")


def _entry(data: bytes, at: int, end: int) -> tuple[Part, int]:
    if at + _ENTRY.size > end or data[at : at + 4] != _ENTRY_MARK:
        raise broken("its table of contents is damaged")
    (_, _, _, flags, method, _, _, crc, packed, size, *rest) = _ENTRY.unpack_from(data, at)
    (name_bytes, extra_bytes, note_bytes, _, _, _, header) = rest
    at += _ENTRY.size
    raw_name = data[at : at + name_bytes]
    extra = data[at + name_bytes : at + name_bytes + extra_bytes]
    _check_method(flags, method)
    _check_extra(extra)
    start = _content_start(data, header, raw_name)
    part = Part(
        name=_name(raw_name, flags),
        header=header,
        start=start,
        end=start + packed,
        size_bytes=size,
        crc=crc,
        deflated=method == _DEFLATED,
    )
    if part.end > end:
        raise broken("a part is cut off")
    return part, at + name_bytes + extra_bytes + note_bytes


def _check_method(flags: int, method: int) -> None:
    if flags & _ENCRYPTED:
        raise refused("file-protected")
    if method not in (_STORED, _DEFLATED):
        raise broken("packed in an unknown way")


def _check_extra(extra: bytes) -> None:
    """Refuse a second name for a part, which some readers prefer to the first."""
    while len(extra) >= 4:  # noqa: PLR2004  (an id and a length of two bytes each)
        kind, size = struct.unpack_from("<2H", extra)
        if kind == _OTHER_NAME:
            raise unsafe("a part with two names")
        extra = extra[4 + size :]


def _content_start(data: bytes, header: int, raw_name: bytes) -> int:
    if header + _LOCAL.size > len(data) or data[header : header + 4] != _LOCAL_MARK:
        raise broken("a part is missing")
    name_bytes: int
    extra_bytes: int
    *_, name_bytes, extra_bytes = _LOCAL.unpack_from(data, header)
    at = header + _LOCAL.size
    if data[at : at + name_bytes] != raw_name:
        raise broken("a part's name does not match")
    return at + name_bytes + extra_bytes


def _name(raw: bytes, flags: int) -> str:
    try:
        name = raw.decode("utf-8" if flags & _UTF8_NAME else "cp437")
    except UnicodeDecodeError:
        raise broken("a part's name can't be read") from None
    steps = name.split("/")
    if not name or not steps[0] or ".." in steps or "\\" in name or ":" in name:
        raise unsafe("a part's name that leads outside")
    if not name.isprintable():
        raise unsafe("a part's name with hidden characters")
    return name


def _check_apart(found: list[Part]) -> None:
    """Refuse parts that share bytes, the trick of the smallest bombs."""
    last = 0
    for part in sorted(found, key=lambda part: part.header):
        if part.header < last:
            raise unsafe("parts that overlap")
        last = part.end


# ---- XML ----------------------------------------------------------------------------------


def parse_xml(
    content: Content,
    name: str,
    start: StartHandler | None = None,
    end: NameHandler | None = None,
    text: NameHandler | None = None,
) -> None:
    """Parse one XML part, calling `start` and `end` with each element's name as written."""
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = _no_doctype
    parser.StartElementHandler = start
    parser.EndElementHandler = end
    parser.CharacterDataHandler = text
    try:
        parser.Parse(content, True)
    except (expat.ExpatError, ValueError, LookupError):  # the last two: unknown encodings
        raise broken(f"part {name.rpartition('/')[2]}") from None


def parse_cells(
    content: Content,
    name: str,
    start: StartHandler | None = None,
    end: NameHandler | None = None,
    text: NameHandler | None = None,
) -> None:
    """Parse a part that holds cells; only an encoding that readers take for UTF-8 will do."""
    if b"\0" in content:
        raise broken(f"part {name.rpartition('/')[2]}")
    parse_xml(content, name, start, end, text)


def check_other(content: Content, path: str) -> None:
    """Check a part that no cell is read from; drawings of old comments are not always XML."""
    if path.endswith((".xml", ".rels", ".rdf")):
        parse_xml(content, path)
    elif content.startswith(b"<") and not path.endswith(".svg") and b"<!DOCTYPE" in content:
        _no_doctype()


def _no_doctype(*_: object) -> NoReturn:
    raise unsafe("an XML document type")
