"""Damage to XML."""

import re
from collections.abc import Callable

from hostile.damage_kinds import (
    KINDS,
    Draw,
    Kind,
    content_of,
    one_match,
    replaced,
    with_part,
    xml_parts,
)

# ---- XML ------------------------------------------------------------------------------------

_TAG = re.compile(rb"<[^<>]+>")
_VALUE = re.compile(rb'(?<==")[^"<>]*(?=")')
_TEXT = re.compile(rb"(?<=>)[^<>]+(?=<)")
_DIGITS = re.compile(rb"[0-9]+")
_HOSTILE = (
    *(b"", b"-1", b"0", b"1.5", b"1e308", b"NaN", b"99999999999", b"4294967296", b"true", b" 7 "),
    *(b"XFD1048576", b"A1:XFD1048576", b"A0", b"$A$1", b"../../x", b"file:///etc/passwd"),
    *(b"&#0;", b"&#xD800;", b"&amp;", b"&what;", b"\xff\xfe", "\u202eÄ\u0301".encode()),
    *(b"of:=1/0", b"float", b"string", b"date", b"2026-99-99", b"PT99H", b"x" * 40_000),
)


def _xml(change: Callable[[bytes, Draw], bytes]) -> Kind:
    """Make a kind that changes the XML of one part."""

    def changed(data: bytes, draw: Draw) -> bytes:
        name = draw.choice(xml_parts(data))
        return with_part(data, name, change(content_of(data, name), draw))

    changed.__name__ = change.__name__
    KINDS["XML"].append(changed)
    return changed


@_xml
def drop_a_tag(content: bytes, draw: Draw) -> bytes:
    """Lose a tag, so that its partner stands alone."""
    return replaced(content, one_match(_TAG, content, draw), b"")


@_xml
def double_tags(content: bytes, draw: Draw) -> bytes:
    """Have a run of tags twice."""
    first = one_match(_TAG, content, draw)
    last = first and _TAG.search(content, min(first.end() + draw.randrange(3_000), len(content)))
    if first is None or last is None:
        return content
    return content[: last.end()] + content[first.start() :]


@_xml
def hostile_value(content: bytes, draw: Draw) -> bytes:
    """Put something unheard of into an attribute."""
    return replaced(content, one_match(_VALUE, content, draw), draw.choice(_HOSTILE))


@_xml
def hostile_text(content: bytes, draw: Draw) -> bytes:
    """Put something unheard of between two tags."""
    return replaced(content, one_match(_TEXT, content, draw), draw.choice(_HOSTILE))


@_xml
def huge_numbers(content: bytes, draw: Draw) -> bytes:
    """Make one to five numbers huge: a place, a count, a repeat, an index, a size."""
    for _ in range(draw.randint(1, 5)):
        fresh = b"9" * draw.choice([3, 6, 9, 12, 20, 400])
        content = replaced(content, one_match(_DIGITS, content, draw), fresh)
    return content


@_xml
def nest_deeply(content: bytes, draw: Draw) -> bytes:
    """Put elements inside elements, from a few to very many."""
    depth, name = draw.choice([10, 1_000, 100_000]), draw.choice([b"a", b"row", b"si", b"text:p"])
    at = one_match(_TAG, content, draw)
    inside = b"<%s>" % name * depth + b"</%s>" % name * depth
    return content if at is None else content[: at.end()] + inside + content[at.end() :]


@_xml
def declare_entities(content: bytes, draw: Draw) -> bytes:
    """Add a document type with entities, in one of the encodings that XML knows."""
    head = b'<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;">]>'
    out = re.sub(rb"^(<\?xml[^>]*\?>)?", lambda found: found[0] + head, content, count=1)
    return out if draw.random() < 0.5 else out.decode("utf-8", "replace").encode("utf-16")
