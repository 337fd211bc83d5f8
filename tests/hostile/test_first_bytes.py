"""What is no workbook at all is told by its first bytes, with the way out for each kind."""

from fieldbook.problems import Problem, sentence
from fieldbook.workbook.guard import inspect
from fieldbook.workbook.guard_package import MAX_FILE_BYTES
from hostile.books import ods_parts, ole, passed, real_book, refusal, repacked, zipped


def test_empty_file() -> None:
    """No bytes at all: cut off on its way."""
    assert refusal(b"") == "file-empty"


def test_text_with_a_workbook_name() -> None:
    """A text file that was only renamed is not a workbook."""
    assert refusal(b"field,stop,ears\nF1,1,31\n") == "file-not-workbook"


def test_page_with_a_workbook_name() -> None:
    """A web page or a flat XML sheet is not a workbook either, whatever it holds."""
    assert refusal(b"<html><table><tr><td>16</td></tr></table></html>") == "file-not-workbook"
    assert refusal(b'<?xml version="1.0"?><office:document/>') == "file-not-workbook"


def test_pdf_with_a_workbook_name() -> None:
    """A PDF renamed .xlsx is known by its content."""
    assert refusal(b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n%%EOF\n") == "file-not-workbook"


def test_picture() -> None:
    """A photo of the sheet is not the sheet."""
    assert refusal(b"\x89PNG\r\n\x1a\n" + bytes(200)) == "file-not-workbook"


def test_password_protected_xlsx() -> None:
    """A password turns an .xlsx into an OLE file with one encrypted package."""
    assert refusal(ole("EncryptedPackage")) == "file-protected"


def test_old_xls() -> None:
    """An old .xls is an OLE file with a workbook stream, of either age."""
    assert refusal(ole("Workbook")) == "file-old-xls"
    assert refusal(ole("Book")) == "file-old-xls"


def test_other_ole_file() -> None:
    """A letter in the old format is not a workbook, even where it speaks of one."""
    assert refusal(ole("WordDocument")) == "file-not-workbook"
    assert refusal(ole("WordDocument") + b"..." + "Workbook\0".encode("utf-16-le")) == (
        "file-not-workbook"
    )


def test_password_protected_ods() -> None:
    """A password leaves an .ods a zip file; only its manifest tells."""
    assert refusal(zipped(ods_parts("", manifest="<manifest:encryption-data/>"))) == (
        "file-protected"
    )
    whole = ods_parts("", manifest="<manifest:encryption-data/>")
    del whole["content.xml"]  # newer apps encrypt all parts as one
    assert refusal(zipped(whole | {"encrypted-package": bytes(99)})) == "file-protected"


def test_encrypted_zip_part() -> None:
    """A part encrypted by a zip program asks for a password as well."""
    data = bytearray(real_book())
    at = data.rindex(b"PK\x01\x02")
    data[at + 8] |= 1
    assert refusal(bytes(data)) == "file-protected"


def test_letter_in_the_new_format() -> None:
    """A .docx is a zip file, but no workbook; so is any other zip file."""
    assert refusal(zipped({"[Content_Types].xml": "<Types/>", "word/document.xml": "<d/>"})) == (
        "file-not-workbook"
    )
    assert refusal(zipped({"notes.txt": "ears"})) == "file-not-workbook"
    assert refusal(zipped({})) == "file-not-workbook"


def test_text_document_of_the_other_family() -> None:
    """An .odt has the same parts as an .ods; its type tells."""
    parts = ods_parts("") | {"mimetype": "application/vnd.oasis.opendocument.text"}
    assert refusal(zipped(parts)) == "file-not-workbook"


def test_binary_workbook() -> None:
    """An .xlsb is read by nothing here."""
    assert refusal(repacked(real_book(), {"xl/workbook.bin": b"\x83\x01"})) == "file-not-workbook"


def test_huge_file() -> None:
    """More bytes than a book may have are refused before anything is unpacked: photos mostly."""
    found = inspect(real_book() + bytes(MAX_FILE_BYTES))
    assert isinstance(found, Problem)
    assert found.code == "file-over-limit"
    assert "over 25 MB" in sentence(found)
    assert "photos are too many or too large" in sentence(found)
    assert "second copy of the book" in sentence(found)
    assert refusal(bytes(MAX_FILE_BYTES + 1)) == "file-not-workbook"
    assert refusal(bytes(MAX_FILE_BYTES)) == "file-not-workbook"


def test_good_books_pass() -> None:
    """Books as written pass, without notes, hidden rows other than the marks, or errors."""
    for book in (real_book(), real_book(full=True)):
        found = passed(book)
        assert found.kind == "xlsx"
        assert found.notes == ()
        assert not found.errors
        assert set(found.hidden_rows.values()) == {frozenset({1})}
