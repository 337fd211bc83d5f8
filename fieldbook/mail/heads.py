"""The heads of a message, as plain short texts: everything in them is hostile until shown safe.

The library's structured parser is slow on heads made to be slow, so heads are read as text here.
"""

import re
from collections.abc import Iterator
from email.errors import HeaderParseError
from email.header import decode_header
from email.message import Message as Mime

from fieldbook.words import one_line

MOST_LETTERS = 2_000
_MOST_REFERENCES = 20
_ID = re.compile(r"<[!-;=?-~]{3,250}>")
_QUOTED = re.compile(r'"(?:[^"\\]|\\.)*"')
_COMMENT = re.compile(r"\([^()]*\)")
_IN_ANGLES = re.compile(r"[^<>,;:]*<\s*([^<>\s,;:@\"()]+@[^<>\s,;:@\"()]+)\s*>\s*")
_BARE = re.compile(r"\s*([^<>\s,;:@\"()]+@[^<>\s,;:@\"()]+)\s*")


def raw_heads(mime: Mime, name: str) -> list[str]:
    """Return the values of a head as they came, unfolded and cut."""
    found = mime.get_all(name) or []
    return [" ".join(str(value)[:MOST_LETTERS].split()) for value in found]


def head(mime: Mime, name: str) -> str:
    """Return the first value of a head as it came; empty without one."""
    return next(iter(raw_heads(mime, name)), "")


def readable(text: str) -> str:
    """Decode a head for reading: a charset that lies or that nobody knows only spoils letters."""
    try:
        parts = decode_header(text[:MOST_LETTERS])
    except (HeaderParseError, ValueError, LookupError):
        return one_line(text)
    return one_line("".join(_decoded(part, charset) for part, charset in parts)).strip()


def _decoded(part: bytes | str, charset: str | None) -> str:
    if isinstance(part, str):
        return part
    try:
        return part.decode(charset or "utf-8", "replace")
    except (LookupError, ValueError):
        return part.decode("latin-1")


def address(values: list[str]) -> str | None:
    """Return the one address of the one From head, in lower case; None where that is not clear.

    Two heads, two addresses, or an address hidden in a name: a mail program may show another
    sender than a server looks at, so none is taken.
    """
    if len(values) != 1:
        return None
    text = values[0]
    for hidden in (_QUOTED, _COMMENT):
        text = hidden.sub(" ", text)
    found = (_IN_ANGLES if "<" in text else _BARE).fullmatch(text)
    return found[1].casefold() if found and found[1].isascii() and found[1].isprintable() else None


def message_ids(text: str) -> tuple[str, ...]:
    """Return the well-formed ids in a head, the last ones if there are many."""
    return tuple(_ID.findall(text)[-_MOST_REFERENCES:])


def automatic(mime: Mime) -> str | None:
    """Name the head that says a machine wrote this; None where a person may have."""
    return next(_signs(mime), None)


def _signs(mime: Mime) -> Iterator[str]:
    if head(mime, "Auto-Submitted").partition(";")[0].strip().lower() not in ("", "no"):
        yield "Auto-Submitted"
    if head(mime, "Precedence").lower() in ("bulk", "list", "junk", "auto_reply"):
        yield "Precedence"
    for name in ("List-Id", "List-Unsubscribe", "X-Autoreply", "X-Autorespond"):
        if mime.get(name) is not None:
            yield name
    if head(mime, "Return-Path") == "<>":
        yield "Return-Path"
    if mime.get_content_type() == "multipart/report":
        yield "Content-Type"
