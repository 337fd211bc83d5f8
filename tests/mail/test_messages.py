"""One message, parsed: who sent it, what is in it, and what hostile ones may not do."""

import base64
import time

import pytest
from post import ANA, message, part, raw, zipped

from fieldbook.mail.attachments import MAX_BOOKS, MAX_DEPTH, MAX_PARTS
from fieldbook.mail.authentication import Genuine, genuine
from fieldbook.mail.message import MAX_HEAD_BYTES, Message, RawMessage, read_message
from fieldbook.workbook.guard_package import MAX_FILE_BYTES

BOOK = zipped({"[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<workbook/>"})
OTHER_BOOK = zipped({"[Content_Types].xml": b"<Types/>", "xl/workbook.xml": b"<workbook />"})
WORDS = zipped({"[Content_Types].xml": b"<Types/>", "word/document.xml": b"<w/>"})


def read(data: bytes) -> Message:
    return read_message(RawMessage(data=data))


def codes(found: Message) -> list[str]:
    return [one.code for one in found.problems]


def names(found: Message) -> list[str]:
    return [one.name for one in found.books]


def attached(*heads: str, body: str | bytes) -> Message:
    return read(part(*heads, body=body))


def in_base64(data: bytes) -> bytes:
    return base64.encodebytes(data)


# ---- spreadsheets found --------------------------------------------------------------------


def test_every_spreadsheet_of_a_message_is_found_once() -> None:
    """Two books, one of them twice under another name; other parts are named, not opened."""
    sent = [("a.xlsx", BOOK), ("again.xlsx", BOOK), ("b.ods", OTHER_BOOK), ("p.jpg", b"\xff\xd8")]
    found = read(message(*sent))
    assert names(found) == ["a.xlsx", "b.ods"]
    assert found.books[0].data == BOOK
    assert found.others == ("p.jpg",)
    assert codes(found) == []


def test_a_book_in_a_forwarded_message_is_found() -> None:
    """A message in a message in a message, as people forward."""
    inner = message(("deep.xlsx", BOOK), sender="someone@example.net", name="inner")
    for _ in range(2):
        inner = part("Content-Type: message/rfc822", body=inner, boundary=f"b{len(inner)}")
    found = read(inner)
    assert names(found) == ["deep.xlsx"]
    assert found.sender == ANA


def test_books_in_a_zip_file_are_found() -> None:
    """Books in folders of a zip file; what an archiver or an app adds is passed by."""
    files = {
        "round/ana.xlsx": BOOK,
        "round/joss.ods": OTHER_BOOK,
        "__MACOSX/._ana.xlsx": b"junk",
        "~$ana.xlsx": b"lock",
        "notes.txt": b"hello",
    }
    found = read(message(("books.zip", zipped(files))))
    assert names(found) == ["books.zip/ana.xlsx", "books.zip/joss.ods"]
    assert found.others == ("books.zip/notes.txt",)


@pytest.mark.parametrize(
    "heads",
    [
        ("Content-Disposition: attachment; filename=a.xlsx",),
        ("Content-Type: text/plain; name=a.xlsx",),
        ("Content-Type: application/octet-stream",),
        ("Content-Transfer-Encoding: base64", "Content-Type: nonsense"),
        ("Content-Transfer-Encoding: BASE64", "Content-Type: text/html"),
        ("Content-Transfer-Encoding: base64",),
    ],
)
def test_a_book_whose_type_or_encoding_is_not_told_is_found(heads: tuple[str, ...]) -> None:
    """No type, a wrong type, no name, the word base64 left out: the bytes say what it is."""
    found = attached(*heads, body=in_base64(BOOK))
    assert [one.data for one in found.books] == [BOOK]
    assert found.problems == ()


def test_names_are_data_only() -> None:
    """Folders, marks of direction, line ends and length go out of a name."""
    tricky = "../../../etc/\u202ecron\r\nBcc: x@y" + "n" * 300 + ".xlsx"
    packed = base64.b64encode(tricky.encode()).decode()
    head = f'Content-Disposition: attachment; filename="=?utf-8?b?{packed}?="'
    found = attached(head, "Content-Transfer-Encoding: base64", body=in_base64(BOOK))
    (name,) = names(found)
    assert "/" not in name
    assert name.isprintable()
    assert len(name) <= 100
    assert name.endswith(".xlsx")


def test_a_charset_that_lies_spoils_letters_alone() -> None:
    """A subject in a charset that nobody knows, and one whose bytes do not fit."""
    for subject in ("=?x-none?q?B=FCcher?=", "=?utf-8?q?B=FCcher?=", "=?utf-16?b?/w==?="):
        found = read(raw(f"From: {ANA}", f"Subject: {subject}", "", "hi"))
        assert found.sender == ANA
        assert found.subject.isprintable()


# ---- named for what they are ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("heads", "body", "code"),
    [
        (("Content-Type: application/ms-tnef; name=winmail.dat",), "x", "mail-winmail"),
        (("Content-Type: application/pkcs7-mime; name=smime.p7m",), "x", "mail-encrypted"),
        (
            ("Content-Type: multipart/encrypted; boundary=c",),
            "--c\r\n\r\nx\r\n--c--",
            "mail-encrypted",
        ),
        (
            ("Content-Type: a/b; name=a.xlsx", "Content-Transfer-Encoding: x-binhex"),
            "x",
            "mail-odd-encoding",
        ),
        (
            ("Content-Type: message/external-body; access-type=url; url=x",),
            "Content-Type: a/b\r\n\r\n",
            "mail-elsewhere",
        ),
        (("Content-Type: message/partial; id=x; number=1",), "x", "mail-elsewhere"),
    ],
)
def test_odd_parts_are_named_for_what_they_are(
    heads: tuple[str, ...], body: str, code: str
) -> None:
    """A winmail.dat, encryption, an unknown encoding, parts elsewhere: each has its own words."""
    found = attached(*heads, body=body)
    assert found.books == ()
    assert codes(found) == [code]


def test_a_winmail_file_is_known_by_its_bytes() -> None:
    """Whatever it is called."""
    found = read(message(("book.xlsx", b"\x78\x9f\x3e\x22 and more")))
    assert codes(found) == ["mail-winmail"]
    assert found.problems[0].place.file == "book.xlsx"


def test_other_documents_are_not_opened() -> None:
    """A text document is a zip file as well, but no book."""
    found = read(message(("letter.docx", WORDS), ("letter", WORDS)))
    assert found.books == ()
    assert found.others == ("letter.docx", "letter")


def test_what_is_called_a_book_goes_to_the_guard() -> None:
    """An old .xls, a .csv, a damaged .xlsx: the guard of every book says what it is."""
    found = read(message(("a.xls", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), ("b.csv", b"1;2")))
    assert names(found) == ["a.xls", "b.csv"]


# ---- bombs ---------------------------------------------------------------------------------


def test_zip_in_zip_is_not_opened() -> None:
    """Small files that become huge ones are packed in themselves."""
    found = read(message(("z.zip", zipped({"inner.zip": zipped({"a.xlsx": BOOK})}))))
    assert codes(found) == ["mail-zip-in-zip"]
    assert found.books == ()


def test_a_zip_bomb_is_refused_by_the_guard() -> None:
    """The same limits as for the parts of a book."""
    found = read(message(("z.zip", zipped({"a.xlsx": b"\0" * 50_000_000}))))
    assert codes(found) == ["file-too-large"]
    assert found.books == ()


def test_a_zip_file_whose_names_lead_outside_is_refused() -> None:
    """No part of it becomes a path, and none is read."""
    found = read(message(("z.zip", zipped({"../a.xlsx": BOOK}))))
    assert codes(found) == ["file-unsafe"]


def test_a_message_of_many_parts_ends() -> None:
    """Thousands of parts: the first ones are looked at, then it is told."""
    lines = ["From: " + ANA, 'Content-Type: multipart/mixed; boundary="b"', ""]
    lines += ["--b", "Content-Type: text/plain", "", "x"] * (10 * MAX_PARTS)
    found = read(raw(*lines, "--b--", ""))
    assert codes(found) == ["mail-too-deep"]


def test_a_message_of_deep_parts_ends() -> None:
    """Deeper than people forward: told; deeper than the parser goes: no harm outside its worker."""
    data: bytes = message(("a.xlsx", BOOK))
    for level in range(MAX_DEPTH + 2):
        data = part("Content-Type: message/rfc822", body=data, boundary=f"q{level}")
    assert codes(read(data)) == ["mail-too-deep"]


def test_too_many_books_are_told_and_the_first_are_kept() -> None:
    """A flood of books in one message."""
    sent = [(f"{n}.xlsx", BOOK + bytes([n])) for n in range(MAX_BOOKS + 3)]
    found = read(message(*sent))
    assert len(found.books) == MAX_BOOKS
    assert set(codes(found)) == {"mail-too-many"}


def test_a_huge_attachment_is_not_decoded() -> None:
    """Larger than any book."""
    body = b"A" * int(MAX_FILE_BYTES * 1.5)
    found = attached(
        "Content-Type: a/b; name=a.xlsx", "Content-Transfer-Encoding: base64", body=body
    )
    assert codes(found) == ["mail-attachment-too-large"]


def test_a_huge_head_is_refused_at_once() -> None:
    """Megabytes of heads never reach the parser."""
    found = read(
        raw(*["X-Long: " + "a" * 900] * (MAX_HEAD_BYTES // 900 + 5), f"From: {ANA}", "", "x")
    )
    assert codes(found) == ["mail-unreadable"]
    assert found.sender is None


def test_of_a_message_cut_off_only_the_heads_count() -> None:
    """A message too large to load: known by its heads, and told."""
    data = message(("a.xlsx", BOOK))
    found = read_message(RawMessage(data=data, is_cut=True))
    assert codes(found) == ["mail-too-large"]
    assert found.sender == ANA
    assert found.books == ()


@pytest.mark.parametrize(
    "value",
    ["(" * 200_000, '"' + "\\" * 200_000, "<" * 200_000, "=?utf-8?q?" * 20_000, "a@" * 100_000],
)
def test_heads_made_to_be_slow_are_not(value: str) -> None:
    """Patterns that take the square of a head's length see a short one."""
    begun = time.monotonic()
    found = read(raw(f"From: {value}", f"Subject: {value}", f"References: {value}", "", "x"))
    assert time.monotonic() - begun < 2.0
    assert found.sender is None


# ---- who sent it ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "sender"),
    [
        ("ana@example.org", ANA),
        ("Ana <ANA@Example.org>", ANA),
        ('"Fenwick, Ana (home)" <ana@example.org>', ANA),
        ("ana@example.org (Ana)", ANA),
        ("=?utf-8?q?Ana_=C3=84?= <ana@example.org>", ANA),
        ("ana@example.org, eve@example.net", None),
        ("ana@example.org <eve@example.net>", "eve@example.net"),
        ("<ana@example.org> <eve@example.net>", None),
        ("Ana <ana@example.org@example.net>", None),
        ("Ana: ana@example.org, eve@example.net;", None),
        ("<ana@ex\u00e4mple.org>", None),
        ("", None),
    ],
)
def test_the_sender_is_one_plain_address(value: str, sender: str | None) -> None:
    """Names are ignored; two addresses, groups and nested ones name nobody."""
    assert read(raw(f"From: {value}", "", "x")).sender == sender


def test_two_from_heads_name_nobody() -> None:
    """Programs and servers differ in which of them they show."""
    assert read(raw("From: ana@example.org", "From: eve@example.net", "", "x")).sender is None


@pytest.mark.parametrize(
    ("heads", "sign"),
    [
        ((), None),
        (("Auto-Submitted: no",), None),
        (("Auto-Submitted: auto-replied; owner=x",), "Auto-Submitted"),
        (("Precedence: BULK",), "Precedence"),
        (("List-Id: <corn.example.net>",), "List-Id"),
        (("Return-Path: <>",), "Return-Path"),
        (("Content-Type: multipart/report; boundary=b",), "Content-Type"),
    ],
)
def test_what_a_machine_wrote_is_known(heads: tuple[str, ...], sign: str | None) -> None:
    """Each mark of automatic mail by itself."""
    assert read(raw(f"From: {ANA}", *heads, "", "x")).automatic == sign


def test_only_well_formed_ids_are_kept() -> None:
    """What is no id can't become a head of an answer."""
    found = read(
        raw(f"From: {ANA}", "Message-ID: <a b>", "References: <one@x> junk <two@x>", "", "x")
    )
    assert found.message_id == ""
    assert found.references == ("<one@x>", "<two@x>")


def test_a_message_is_known_again_by_what_it_is_not_by_its_way() -> None:
    """Other Received heads, the same key; another book, sender or verdict, another key."""
    plain = read(message(("a.xlsx", BOOK)))
    again = read(message(("a.xlsx", BOOK), heads=[("Received", "from a by b")]))
    other = read(message(("a.xlsx", OTHER_BOOK)))
    assert plain.key("pass") == again.key("pass")
    assert len({plain.key("pass"), plain.key("fail"), other.key("pass")}) == 3
    nameless = [read(raw(f"From: {ANA}", "", text)).key("none") for text in ("one", "two", "one")]
    assert nameless[0] == nameless[2] != nameless[1]


# ---- whether the sender is genuine ---------------------------------------------------------

MX = "mx.example.org"


@pytest.mark.parametrize(
    ("results", "verdict"),
    [
        ([], Genuine.NONE),
        ([f"{MX}; none"], Genuine.NONE),
        ([f"{MX}; dmarc=pass header.from=example.org"], Genuine.PASS),
        ([f"{MX} 1; dkim=pass (good) header.d=example.org; spf=fail"], Genuine.PASS),
        ([f"{MX}; dkim=pass header.d=mail.example.org"], Genuine.PASS),
        ([f"{MX}; spf=pass smtp.mailfrom=ana@example.org"], Genuine.PASS),
        ([f"{MX}; dkim=pass header.d=evil.example.net"], Genuine.NONE),
        ([f"{MX}; dkim=pass header.d=notexample.org"], Genuine.NONE),
        (
            [f"{MX}; spf=pass smtp.mailfrom=eve@example.net; dmarc=fail header.from=example.org"],
            Genuine.FAIL,
        ),
        ([f"{MX}; dmarc=fail; dkim=pass header.d=example.org"], Genuine.FAIL),
        ([f"{MX}; spf=softfail; dkim=fail"], Genuine.FAIL),
        ([f"{MX}; spf=none; dkim=none"], Genuine.NONE),
        (["other.example.net; dmarc=pass header.from=example.org"], Genuine.NONE),
        ([f"not{MX}; dmarc=fail"], Genuine.NONE),
        ([f"{MX}; dkim=pass header.d=example.org", f"{MX}; spf=fail"], Genuine.PASS),
    ],
)
def test_results_of_the_named_server_are_weighed(results: list[str], verdict: Genuine) -> None:
    """Pass, fail and none; a pass of another domain or by another server says nothing."""
    assert genuine(results, server=MX, sender=ANA) is verdict


def test_without_a_named_server_nothing_is_weighed() -> None:
    """Anybody can write such a head."""
    results = [f"{MX}; dmarc=fail header.from=example.org"]
    assert genuine(results, server=None, sender=ANA) is Genuine.UNASKED


def test_heads_below_the_servers_own_are_the_senders_claim() -> None:
    """A forged pass that came with the message stands below the line of the receiving server."""
    found = read(
        raw(
            f"Authentication-Results: {MX}; dmarc=fail header.from=example.org",
            "Received: from out.example.net by mx.example.org",
            f"Authentication-Results: {MX}; dmarc=pass header.from=example.org",
            f"From: {ANA}",
            "",
            "x",
        )
    )
    assert len(found.results) == 1
    assert genuine(found.results, server=MX, sender=ANA) is Genuine.FAIL
