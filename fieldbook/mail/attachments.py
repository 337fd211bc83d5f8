"""The spreadsheets of a message: in nested messages and zip files too; nothing else is opened.

What a part says of itself (type, name, encoding) only helps to name it; its bytes decide. The books
themselves are read later, by the same guard as every book.
"""

import base64
import binascii
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass, field
from email.message import Message as Mime
from pathlib import PurePosixPath

from fieldbook.mail.heads import head, readable
from fieldbook.mail.kinds import Kind, is_packed, kind_of
from fieldbook.problems import Param, Place, Problem, problem
from fieldbook.workbook.guard_package import MAX_FILE_BYTES, Package, Part, Refused

MAX_DEPTH, MAX_PARTS, MAX_BOOKS, MAX_BYTES = 12, 300, 40, 80_000_000
_MOST_NAME = 100
_MOST_OTHERS = 20
_PACKED = 4 / 3 * 1.05  # what base64 and its line ends add
_PLAIN = ("", "7bit", "8bit", "binary")
_ENCODED = ("base64", "quoted-printable", "x-uuencode", "uuencode", "uue", "x-uue")
_ELSEWHERE = ("message/external-body", "message/partial")
_NAMED_KINDS = {
    Kind.WINMAIL: "mail-winmail",
    Kind.ENCRYPTED: "mail-encrypted",
}


@dataclass(frozen=True, kw_only=True)
class Attachment:
    """A spreadsheet as it came; the name is only data."""

    name: str
    data: bytes

    @property
    def sha256(self) -> str:
        """The hash by which the season knows it."""
        return hashlib.sha256(self.data).hexdigest()


@dataclass(kw_only=True)
class Attachments:
    """What was found: spreadsheets, names of what was not opened, and what is wrong."""

    found: dict[str, Attachment] = field(default_factory=dict)
    others: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()
    parts: int = 0
    bytes_left: int = MAX_BYTES

    @property
    def books(self) -> tuple[Attachment, ...]:
        """Each spreadsheet once, in the order of the message."""
        return tuple(self.found.values())

    def tell(self, code: str, name: str = "", /, **params: Param) -> None:
        """Note what is wrong, once for each name."""
        self.problems = tuple(
            dict.fromkeys((*self.problems, problem(code, Place(file=name or None), **params)))
        )

    def pass_by(self, name: str) -> None:
        """Note what is not opened."""
        self.others = (*self.others, name)[:_MOST_OTHERS]

    def add(self, name: str, data: bytes) -> None:
        """Take a spreadsheet, within the limits of number and size."""
        book = Attachment(name=name, data=data)
        if book.sha256 in self.found:
            return
        self.bytes_left -= len(data)
        if len(self.found) >= MAX_BOOKS or self.bytes_left < 0:
            self.tell("mail-too-many", most=MAX_BOOKS, limit_mb=MAX_BYTES // 1_000_000)
            return
        self.found[book.sha256] = book


def attachments(mime: Mime) -> Attachments:
    """Find every spreadsheet in a message, nested messages and zip files included."""
    found = Attachments()
    for part in _leaves(mime, found):
        _look_at(part, found)
    return found


def _leaves(mime: Mime, found: Attachments, depth: int = 0) -> Iterator[Mime]:
    """Yield the parts that hold no parts, as deep and as many as a person would send."""
    found.parts += 1
    if depth > MAX_DEPTH or found.parts > MAX_PARTS:
        found.tell("mail-too-deep", depth=MAX_DEPTH, parts=MAX_PARTS)
        return
    kind = mime.get_content_type()
    if kind in _ELSEWHERE:
        found.tell("mail-elsewhere", kind=kind)
    elif kind == "multipart/encrypted":
        found.tell("mail-encrypted")
    elif mime.is_multipart():
        for part in mime.get_payload():
            if isinstance(part, Mime) and found.parts <= MAX_PARTS:
                yield from _leaves(part, found, depth + 1)
    else:
        yield mime


def _look_at(part: Mime, found: Attachments) -> None:
    name, kind = _name(part), part.get_content_type()
    is_words = kind in ("text/plain", "text/html") and not name
    payload = part.get_payload()
    size = len(payload) if isinstance(payload, str) else 0
    if size > MAX_FILE_BYTES * _PACKED:
        limit_mb = MAX_FILE_BYTES // 1_000_000
        found.tell("mail-attachment-too-large", name or kind, limit_mb=limit_mb)
        return
    data = _decoded(part, str(payload))
    if is_words and not is_packed(data or b""):  # what a person wrote, if no type was left out
        return
    if data is None:
        encoding = readable(head(part, "Content-Transfer-Encoding"))[:_MOST_NAME]
        found.tell("mail-odd-encoding", name or kind, encoding=encoding)
        return
    _sort(data, name or _unnamed(kind), kind, found)


def _sort(data: bytes, name: str, declared: str, found: Attachments) -> None:
    kind = kind_of(data, name, declared)
    if kind is Kind.BOOK:
        found.add(name, data)
    elif kind is Kind.ZIP:
        _unpack(data, name, found)
    elif kind in _NAMED_KINDS:
        found.tell(_NAMED_KINDS[kind], name)
    else:
        found.pass_by(name)


def _unnamed(kind: str) -> str:
    return f"? ({kind[:_MOST_NAME]})"


def _name(part: Mime) -> str:
    """Return the name that a part came with, without any folder; empty if it has none."""
    try:
        given = part.get_filename() or ""
    except (ValueError, LookupError, TypeError):  # parameters made to break the library
        return ""
    return _short(readable(given.replace("\\", "/")))


def _short(name: str) -> str:
    plain = PurePosixPath(name).name
    if len(plain) <= _MOST_NAME:
        return plain
    ending = PurePosixPath(plain).suffix[:8]
    return f"{plain[: _MOST_NAME - len(ending)]}{ending}"


def _decoded(part: Mime, payload: str) -> bytes | None:
    """Undo a part's transfer encoding, None for one that nobody knows.

    Some programs leave the word base64 out: then the text itself says what it is.
    """
    encoding = head(part, "Content-Transfer-Encoding").lower()
    if encoding not in (*_PLAIN, *_ENCODED):
        return None
    data = part.get_payload(decode=True)
    plain = data if isinstance(data, bytes) else b""
    if encoding in _PLAIN and payload.lstrip()[:4] in ("UEsD", "0M8R"):
        return _from_base64(plain) or plain
    return plain


def _from_base64(text: bytes) -> bytes | None:
    try:
        return base64.b64decode(b"".join(text.split()), validate=True)
    except (binascii.Error, ValueError):
        return None


# ---- zip files -----------------------------------------------------------------------------


def _unpack(data: bytes, name: str, found: Attachments) -> None:
    """Take the books out of a zip file, with the guard that every book passes."""
    if len(data) > MAX_FILE_BYTES:
        found.tell("mail-attachment-too-large", name, limit_mb=MAX_FILE_BYTES // 1_000_000)
        return
    try:
        package = Package(data)
        for part in package.parts.values():
            _unpack_part(package, part, name, found)
    except Refused as refused:
        why = refused.why.in_file(name)
        found.problems = tuple(dict.fromkeys((*found.problems, why)))


def _unpack_part(package: Package, part: Part, zip_name: str, found: Attachments) -> None:
    """Take one part if it is a book; what an archiver adds on its own is no part of ours."""
    steps = part.name.split("/")
    if not steps[-1] or any(step.startswith((".", "__MACOSX", "~$")) for step in steps):
        return
    name = f"{zip_name}/{_short(part.name)}"
    data = package.read(part)
    kind = kind_of(data, name, "")
    if kind is Kind.BOOK:
        found.add(name, data)
    elif kind is Kind.ZIP:
        found.tell("mail-zip-in-zip", name)
    else:
        found.pass_by(name)
