"""The pattern that looks through plain sheets sees what the parser sees, or leaves them to it."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldbook.problems import Problem
from fieldbook.workbook import guard_xlsx
from fieldbook.workbook.guard import Inspection, inspect
from fieldbook.workbook.guard_plain import plain_facts
from hostile.books import SHEET, real_book, repacked, unzipped, xlsx

EXAMPLES = sorted((Path(__file__).parents[2] / "example_books").rglob("*.xlsx"))
_REFS = st.sampled_from(["A1", "B2", "AB12", "C3", "xfd1", "A0", "A6000", "ZZZ1", "&#65;1", ""])
_TAGS = st.one_of(
    st.sampled_from(
        (
            *('<row r="{}">', '<row r="2" hidden="1">', "<row hidden='1'>", "<row>", "</row>"),
            *('<row r="3" hidden="true"/>', '<row r="&#52;" hidden="&#49;"/>', '<row r="x"/>'),
            *('<row hidden="1" spans="1:2" r="7"/>', '<row ht="1&gt;2" r="9"/>', "<row\n/>"),
            *("<f>1</f>", "<f/>", '<f ca="1">1</f>', '<f t="array" ref="A1:B2">1</f>'),
            *("<!-- <c r='A1'> -->", '<![CDATA[<c r="E5"/>]]>', "<?x <c?>", "text &lt;c "),
            *('<mergeCell ref="A1:C3"/>', "<mergeCell ref='A1:C3'/>", '<mergeCell ref="1:2"/>'),
            *('<hyperlink display="a>b" ref="D4" id="x"/>', '<hyperlink ref="q"/>', "<hyperlink/>"),
            *('<x:row xmlns:x="u" r="8" hidden="1"/>', '<x:c xmlns:x="u" r="F6" t="e"/>'),
        )
    ),
    st.builds('<c r="{}"/>'.format, _REFS),
    st.builds('<c r="{}" s="3" t="s"><v>0</v></c>'.format, _REFS),
    st.builds('<c r="{}" t="e"><f>1/0</f><v>#DIV/0!</v></c>'.format, _REFS),
    st.builds('<c t="e" r="{}"><f aca="false">1</f></c>'.format, _REFS),
    st.builds('<c r="{}"><is><t>x</t></is><f>1</f></c>'.format, _REFS),
    st.builds("<c r='{}' t='e'/>".format, _REFS),
    st.sampled_from(("<c/>", "<c>", "</c>", '<c r="A1" r="A2"/>', '<c s="1"/>')),
)


def parsed(data: bytes) -> Inspection | Problem:
    """Look through a file with the parser alone."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(guard_xlsx, "plain_facts", lambda _: None)
        return inspect(data)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.name)
def test_books_as_apps_save_them(path: Path) -> None:
    """Every example book, ours and those saved by another app."""
    data = path.read_bytes()
    assert inspect(data) == parsed(data)


def test_our_own_books_are_plain() -> None:
    """Every sheet of a book that we write is seen by the pattern, or it would save nothing."""
    sheets = {name: part for name, part in unzipped(real_book()).items() if "sheets/" in name}
    assert len(sheets) > 3
    for name, part in sheets.items():
        assert name.endswith(".rels") or plain_facts(part) is not None, name


@settings(max_examples=600)
@given(st.lists(_TAGS, max_size=8))
def test_any_tags(tags: list[str]) -> None:
    """Tags of every make, in any order, well-formed or not."""
    data = xlsx("".join(tags))
    assert inspect(data) == parsed(data)


@pytest.mark.parametrize(
    "change",
    [
        lambda part: part.replace(b"UTF-8", b"ISO-8859-1"),
        lambda part: b"\xef\xbb\xbf" + part,
        lambda part: part.replace(b"<c r=", b"<c  r="),
        lambda part: part.replace(b"<row r=", b"<row\tr="),
        lambda part: part.replace(b"<f>", b'<f t="shared" si="0">'),
        lambda part: part.replace(b"<sheetData>", b"<sheetData><!-- x -->"),
    ],
)
def test_a_book_written_in_another_way(change: Callable[[bytes], bytes]) -> None:
    """The same book with a sheet that is written less plainly."""
    data = real_book()
    changed = repacked(data, {SHEET: change})
    assert changed != data
    assert inspect(changed) == parsed(changed)
