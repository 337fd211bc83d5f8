"""What an attachment is, by its first bytes and by what it is called."""

from enum import StrEnum
from pathlib import PurePosixPath


class Kind(StrEnum):
    """What is done with an attachment depends on this alone."""

    BOOK = "book"
    ZIP = "zip"
    WINMAIL = "winmail"
    ENCRYPTED = "encrypted"
    OTHER = "other"


_ZIP_MARKS = (b"PK\x03\x04", b"PK\x05\x06")
_OLE_MARK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_WINMAIL_MARK = b"\x78\x9f\x3e\x22"
_WINMAIL_TYPES = ("application/ms-tnef", "application/vnd.ms-tnef")
_ENCRYPTED_TYPES = ("application/pkcs7-mime", "application/x-pkcs7-mime")
_OPEN_DOCUMENT = b"mimetypeapplication/vnd.oasis.opendocument."
_SPREADSHEET = b"spreadsheet"
_SHEET_PARTS = b"xl/"
_OFFICE_LIST = b"[Content_Types].xml"
# What a person may take for a book; the guard says which of them it is, and what to do.
_BOOK_ENDINGS = frozenset(
    {".xlsx", ".ods", ".xls", ".xlsm", ".xlsb", ".xltx", ".ots", ".fods", ".csv", ".numbers"}
)
_OTHER_OFFICE = frozenset({".docx", ".pptx", ".doc", ".ppt", ".odt", ".odp", ".msg"})


def kind_of(data: bytes, name: str, declared: str) -> Kind:
    """Say what an attachment is.

    Parameters
    ----------
    data, name
        Its bytes, and the name that it came with.
    declared
        The type that the message gives it; it counts only where the bytes can't tell.
    """
    ending = PurePosixPath(name).suffix.lower()
    if data.startswith(_WINMAIL_MARK) or declared in _WINMAIL_TYPES:
        return Kind.WINMAIL
    if declared in _ENCRYPTED_TYPES:
        return Kind.ENCRYPTED
    if data.startswith(_ZIP_MARKS):
        return _zip_kind(data, ending)
    if data.startswith(_OLE_MARK):
        return Kind.OTHER if ending in _OTHER_OFFICE else Kind.BOOK
    return Kind.BOOK if ending in _BOOK_ENDINGS else Kind.OTHER


def is_packed(data: bytes) -> bool:
    """Say whether these are the bytes of a book or a zip file, whatever they are called."""
    return data.startswith((*_ZIP_MARKS, _OLE_MARK))


def _zip_kind(data: bytes, ending: str) -> Kind:
    if ending in _BOOK_ENDINGS:
        return Kind.BOOK
    if data[30 : 30 + len(_OPEN_DOCUMENT)] == _OPEN_DOCUMENT:
        rest = data[30 + len(_OPEN_DOCUMENT) :]
        return Kind.BOOK if rest.startswith(_SPREADSHEET) else Kind.OTHER
    if ending != ".zip" and _OFFICE_LIST in data:
        return Kind.BOOK if _SHEET_PARTS in data else Kind.OTHER
    return Kind.ZIP
