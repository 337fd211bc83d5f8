"""Look into a file's bytes before any spreadsheet library does.

A file of a few kilobytes can stop a process: python-calamine fills the rectangle from the first
to the last cell, so one value in the last cell of a sheet aborts Python itself. What passes here
lies within the limits of a book; it is then read in a process of its own all the same.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from fieldbook.problems import Problem, problem
from fieldbook.workbook.guard_cells import Findings, SheetFacts
from fieldbook.workbook.guard_ods import look_through_ods
from fieldbook.workbook.guard_package import (
    MAX_FILE_BYTES,
    Package,
    Refused,
    refused,
    unsafe,
)
from fieldbook.workbook.guard_xlsx import WORKBOOK, look_through_xlsx

_ZIP = (b"PK\x03\x04", b"PK\x05\x06")
_OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OLE_ENTRY_BYTES = 128
_MIMETYPE = "mimetype"
_ODS = b"application/vnd.oasis.opendocument.spreadsheet"
_OOXML = ("[content_types].xml", "_rels/.rels", WORKBOOK)
_BINARY_WORKBOOK = "xl/workbook.bin"

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class Inspection:
    """What a look into the file found, by sheet title; a sheet without any is left out."""

    kind: str
    formulas: Mapping[str, frozenset[str]]
    errors: Mapping[str, frozenset[str]]
    hidden_rows: Mapping[str, frozenset[int]]
    notes: tuple[Problem, ...]


def inspect(data: bytes) -> Inspection | Problem:
    """Look through a file's bytes.

    Parameters
    ----------
    data
        The whole file.

    Returns
    -------
    Inspection or Problem
        What was found, or why the file is refused (a ``file-...`` code, without a place).
    """
    try:
        _check_first_bytes(data)
        package = Package(data)
        kind = _kind(package)
        look = look_through_xlsx if kind == "xlsx" else look_through_ods
        return _inspection(kind, look(package))
    except Refused as refusal:
        return refusal.why


def _check_first_bytes(data: bytes) -> None:
    if not data:
        raise refused("file-empty")
    if data.startswith(_OLE):
        raise refused(_ole_code(data))
    if not data.startswith(_ZIP):
        raise refused("file-not-workbook")
    if len(data) > MAX_FILE_BYTES:
        raise refused("file-over-limit", limit_mb=MAX_FILE_BYTES // 1_000_000)


def _ole_code(data: bytes) -> str:
    """Tell the kinds of OLE files apart by the streams in their directory."""
    if _has_stream(data, "EncryptedPackage"):
        return "file-protected"
    if _has_stream(data, "Workbook") or _has_stream(data, "Book"):
        return "file-old-xls"
    return "file-not-workbook"


def _has_stream(data: bytes, name: str) -> bool:
    """Say whether a directory entry bears this name; entries lie at multiples of 128 bytes."""
    wanted = f"{name}\0".encode("utf-16-le")
    at = data.find(wanted)
    while at >= 0:
        if at % _OLE_ENTRY_BYTES == 0:
            return True
        at = data.find(wanted, at + 1)
    return False


def _kind(package: Package) -> str:
    parts = package.parts
    mimetype = package.read(parts[_MIMETYPE]) if _MIMETYPE in parts else b""
    is_ods, is_xlsx = mimetype.startswith(_ODS), WORKBOOK in parts
    if _MIMETYPE in parts and any(path in parts for path in _OOXML):
        raise unsafe("two workbooks in one file")
    if _BINARY_WORKBOOK in parts or not (is_ods or is_xlsx):
        raise refused("file-not-workbook")
    return "xlsx" if is_xlsx else "ods"


def _inspection(kind: str, found: Findings) -> Inspection:
    def by_title(of: Callable[[SheetFacts], set[T]]) -> dict[str, frozenset[T]]:
        return {title: frozenset(of(sheet)) for title, sheet in found.sheets.items() if of(sheet)}

    return Inspection(
        kind=kind,
        formulas=by_title(lambda sheet: sheet.formulas),
        errors=by_title(lambda sheet: sheet.errors),
        hidden_rows=by_title(lambda sheet: sheet.hidden_rows),
        notes=(problem("macros-inside"),) if found.macros else (),
    )
