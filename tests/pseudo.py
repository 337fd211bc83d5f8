"""A language made up for tests: every text stands in brackets, so what never passed is plain."""

import io
import re
import string
import zipfile
from collections.abc import Iterator, Mapping
from html import unescape
from unittest import mock

from fieldbook import words

LANGUAGE = "es"
_OPEN, _CLOSE = "⟦", "⟧"
_SAID = re.compile(f"{_OPEN}[^{_OPEN}{_CLOSE}]*{_CLOSE}")
_LIST = re.compile(r"\{part0\}(, \{part\d+\})*")  # what `listed` makes says nothing by itself
_PATTERN = re.compile(r"[EMdy ]+")
_WORD = re.compile(r"[A-Za-zÀ-ÿ][a-zà-ÿ]+")
_HIDDEN = ("Lists", "Identity")
_HEARD = ("alt", "aria-label", "title", "placeholder")
_UNSEEN = re.compile(
    r'(?s)<style.*?</style>|<script.*?</script>|<p class="references">.*?</p>|</?text[^>]*>'
)  # who published what is no text of ours; a label of a drawing may be broken into lines


class _Texts:
    """Puts brackets around every text, and remembers what it was asked for."""

    def __init__(self) -> None:
        self.asked: set[str] = set()

    def text_for(self, text: str) -> str:
        """Return the text with its literal parts in brackets, its {named} parts outside."""
        if _LIST.fullmatch(text):
            return text
        self.asked.add(text)
        if _PATTERN.fullmatch(text):
            return text
        has_parts = re.search(r"\{\w+\}", text)
        return "".join(_bracketed(text)) if has_parts else f"{_OPEN}{text}{_CLOSE}"


def _bracketed(text: str) -> Iterator[str]:
    for literal, name, _, _ in string.Formatter().parse(text):
        if literal:
            yield f"{_OPEN}{literal}{_CLOSE}"
        if name is not None:
            yield f"{{{name}}}"


class Spoken:
    """The made-up language while it is spoken; ``asked`` are the texts that it was asked for."""

    def __init__(self) -> None:
        self._texts = _Texts()
        made = words._Catalogue(locale="es_US", text_for=self._texts.text_for)
        real = words._catalogue
        self._patch = mock.patch.object(
            words, "_catalogue", lambda language: made if language == LANGUAGE else real(language)
        )

    def __enter__(self) -> set[str]:
        """Speak it."""
        self._patch.start()
        return self._texts.asked

    def __exit__(self, *_: object) -> None:
        """Go back to the languages that there are."""
        self._patch.stop()


def plain_words(text: str, names: Mapping[str, object] | set[str]) -> set[str]:
    """Return the words of a text that did not pass, but for names of the reader's own."""
    left = _SAID.sub(" ", text)
    for name in sorted(names, key=len, reverse=True):
        left = left.replace(name, " ")
    return set(_WORD.findall(left))


def page_texts(html: str) -> str:
    """Return what a reader of a page sees or hears."""
    body = re.sub(_UNSEEN, "", html)
    heard = re.findall(rf'(?:{"|".join(_HEARD)})="([^"]*)"', body)
    return unescape("\n".join((*heard, re.sub(r"<[^>]*>", " ", body))))


def book_texts(data: bytes) -> str:
    """Return what a reader of a workbook sees: cells, notes, lists, messages, titles, footers."""
    found: list[str] = []
    with zipfile.ZipFile(io.BytesIO(data)) as parts:
        for name in parts.namelist():
            text = parts.read(name).decode("utf-8", "replace")
            found += _of_part(name, text)
    return unescape("\n".join(found))


def _of_part(name: str, text: str) -> Iterator[str]:
    if name.endswith("sharedStrings.xml") or "comments" in name:
        cells = re.findall(r"<t[^>]*>([^<]*)</t>", text)
        yield from (cell for cell in cells if not re.fullmatch(r"[#{\w.:-]*|\{.*", unescape(cell)))
    elif "worksheets/sheet" in name:
        for formula in re.findall(r"<f>([^<]*)<", text):
            yield from re.findall(r'"([^"]*)"', unescape(formula))
        yield from re.findall(r'(?:prompt|promptTitle|error|errorTitle)="([^"]*)"', text)
        yield from re.findall(r"<odd(?:Footer|Header)>([^<]*)<", text)
    elif name == "xl/workbook.xml":
        sheets = re.findall(r'<sheet name="([^"]*)"', text)
        yield from (sheet for sheet in sheets if sheet not in _HIDDEN)
    elif name == "xl/styles.xml":
        yield from re.findall(r"&quot;([^&]*)&quot;", text)
    elif name == "docProps/core.xml":
        yield from re.findall(r"<dc:title>([^<]*)<", text)
    elif "/charts/" in name:
        yield from re.findall(r"<a:t>([^<]*)<", text)
