"""What every kind of damage is made of: the register of kinds, and ways into a book's parts."""

import random
import re
from collections.abc import Callable

from hostile.books import repacked, unzipped

Draw = random.Random
Kind = Callable[[bytes, Draw], bytes]
KINDS: dict[str, list[Kind]] = {"bytes": [], "parts": [], "XML": [], "cells": [], "structure": []}


def kind(family: str) -> Callable[[Kind], Kind]:
    """Enter a function as a kind of damage of this family."""

    def registered(one: Kind) -> Kind:
        KINDS[family].append(one)
        return one

    return registered


def a_part(data: bytes, draw: Draw) -> str:
    """Choose a part; one that a reader looks into is likelier."""
    names = [name for name in unzipped(data) if not name.endswith("/")]
    return draw.choice(draw.choice([names, xml_parts(data)]))


def xml_parts(data: bytes) -> list[str]:
    """Name the parts that hold cells or say where they are."""
    return [
        name
        for name in unzipped(data)
        if name.startswith("xl/worksheets/sheet")
        or name.endswith((".rels", "/workbook.xml", "sharedStrings.xml", "content.xml"))
        or name in ("[Content_Types].xml", "META-INF/manifest.xml")
    ]


def content_of(data: bytes, name: str) -> bytes:
    found = unzipped(data)[name]
    assert isinstance(found, bytes)
    return found


def with_part(data: bytes, name: str, content: bytes) -> bytes:
    return repacked(data, {name: content}, stored=True)


def replaced(content: bytes, found: re.Match[bytes] | None, fresh: bytes) -> bytes:
    return content if found is None else content[: found.start()] + fresh + content[found.end() :]


def one_match(pattern: re.Pattern[bytes], content: bytes, draw: Draw) -> re.Match[bytes] | None:
    """Choose a match: the first one behind a drawn place, so that long parts stay quick."""
    return pattern.search(content, draw.randrange(len(content) or 1)) or pattern.search(content)


def as_xml(text: str) -> bytes:
    """Write a text as XML has it; what XML can't hold stays in, so that it is broken."""
    for sign, named in (("&", "&amp;"), ("<", "&lt;"), (">", "&gt;"), ('"', "&quot;")):
        text = text.replace(sign, named)
    return text.encode("utf-8", "replace")
