"""What the guard reports of a file that passes: formulas, errors, hidden rows, macros."""

import pytest

from fieldbook.problems import problem
from hostile.books import (
    ODS_CELL,
    ods,
    ods_cells,
    ods_parts,
    ods_row,
    passed,
    real_book,
    refusal,
    repacked,
    xlsx,
    xlsx_cell,
    xlsx_parts,
    zipped,
)

NOTE = (problem("macros-inside"),)


def test_formulas() -> None:
    """A cell with a formula is named, whatever value it shows; its neighbours are not."""
    rows = xlsx_cell("D7", "<f>1+1</f><v>2</v>") + xlsx_cell("E8") + xlsx_cell("F9", "<f/>")
    assert passed(xlsx(rows)).formulas == {"Ears": frozenset({"D7", "F9"})}


def test_shared_formulas() -> None:
    """Each cell that shares a formula is named, not only the one that states it."""
    first = xlsx_cell("B1", '<f t="shared" ref="B1:B3" si="0">A1*2</f><v>2</v>')
    rest = "".join(xlsx_cell(f"B{n}", '<f t="shared" si="0"/><v>4</v>') for n in (2, 3))
    assert passed(xlsx(first + rest)).formulas == {"Ears": frozenset({"B1", "B2", "B3"})}


def test_array_formulas() -> None:
    """An array formula fills cells that state no formula themselves."""
    first = xlsx_cell("B1", '<f t="array" ref="B1:C2">A1:B2*2</f><v>2</v>')
    found = passed(xlsx(first + xlsx_cell("B2")))
    assert found.formulas == {"Ears": frozenset({"B1", "B2", "C1", "C2"})}


def test_formulas_outside_cells() -> None:
    """The formula of a validation, even in an extension, is not a cell's."""
    after = '<extLst><ext xmlns:xm="urn:x"><xm:f>Lists!A1:A9</xm:f></ext></extLst>'
    assert passed(xlsx(xlsx_cell("A1"), after=after)).formulas == {}


def test_errors() -> None:
    """A cell that shows an error is named, with or without a formula."""
    rows = xlsx_cell("C2", "<v>#N/A</v>", 't="e"') + xlsx_cell("C3", "<v>text</v>", 't="str"')
    assert passed(xlsx(rows)).errors == {"Ears": frozenset({"C2"})}


def test_hidden_rows() -> None:
    """Hidden rows are named by number; those below every possible entry are left out."""
    rows = '<row r="3" hidden="1"/><row r="4" hidden="0"/><row r="5" hidden="true"/>'
    found = passed(xlsx(rows + '<row r="6000" hidden="1"/>'))
    assert found.hidden_rows == {"Ears": frozenset({3, 5})}


def test_prefixed_elements() -> None:
    """Elements count under any prefix, as they do for the reader."""
    sheet = (
        '<x:sheetData xmlns:x="urn:x"><x:row r="2" hidden="1">'
        '<x:c r="B2"><x:f>1</x:f></x:c></x:row></x:sheetData>'
    )
    found = passed(zipped(xlsx_parts(sheet)))
    assert found.formulas == {"Ears": frozenset({"B2"})}
    assert found.hidden_rows == {"Ears": frozenset({2})}


def test_titles_follow_relations() -> None:
    """A sheet's title comes from the workbook, not from its part's name or place."""
    parts = xlsx_parts(f"<sheetData>{xlsx_cell('A1', '<f>1</f>')}</sheetData>")
    book = str(parts["xl/workbook.xml"]).replace('name="Ears"', 'name="Ohren &amp; &#228;hnlich"')
    found = passed(zipped(parts | {"xl/workbook.xml": book}))
    assert set(found.formulas) == {"Ohren & ähnlich"}


@pytest.mark.parametrize("target", ["/xl/worksheets/sheet1.xml", "xl/worksheets/Sheet1.xml"])
def test_ways_to_write_a_relation(target: str) -> None:
    """Apps write the way to a sheet from the top or from the workbook, in any letters."""
    parts = xlsx_parts(f"<sheetData>{xlsx_cell('A1', '<f>1</f>')}</sheetData>")
    name = "xl/_rels/workbook.xml.rels"
    relations = str(parts[name]).replace("worksheets/sheet1.xml", target)
    assert passed(zipped(parts | {name: relations})).formulas == {"Ears": frozenset({"A1"})}


def test_two_sheets_of_one_title() -> None:
    """Two sheets of one title can't be told apart, in either format."""
    parts = xlsx_parts("<sheetData/>")
    sheet = '<sheet name="Ears" sheetId="1" r:id="r1"/>'
    book = str(parts["xl/workbook.xml"]).replace(sheet, sheet * 2)
    assert refusal(zipped(parts | {"xl/workbook.xml": book})) == "file-broken"
    assert refusal(zipped(ods_parts('<table:table table:name="Ears"></table:table>' * 2))) == (
        "file-broken"
    )


@pytest.mark.parametrize(
    "part",
    [
        "xl/vbaProject.bin",
        "xl/externalLinks/externalLink1.xml",
        "xl/connections.xml",
        "xl/macrosheets/sheet1.xml",
    ],
)
def test_macros_and_links(part: str) -> None:
    """Macros and links to other files are noted; they do not keep the book out."""
    assert passed(repacked(real_book(), {part: "<a/>"})).notes == NOTE


def test_web_links_are_no_links_to_files() -> None:
    """A link that a person can click is not a link that brings in values."""
    rels = '<Relationships><Relationship TargetMode="External" Target="https://a.example/"/>'
    part = "xl/worksheets/_rels/sheet1.xml.rels"
    assert passed(repacked(real_book(), {part: f"{rels}</Relationships>"})).notes == ()


# ---- .ods ---------------------------------------------------------------------------------

VALUE = 'office:value-type="float" office:value="1"'
FORMULA = f'{VALUE} table:formula="of:=1+1"'


def test_ods_formulas_and_repeats() -> None:
    """A repeated formula stands in each cell of its repeats; places count past empty ones."""
    data = ods(
        ods_row("<table:table-cell/>", repeat=3),
        ods_row(ods_cells(2), ods_cells(2, FORMULA), repeat=2),
        ods_row(ODS_CELL, f"<table:table-cell {FORMULA}/>"),
    )
    assert passed(data).formulas == {"Ears": frozenset({"C4", "D4", "C5", "D5", "B6"})}


def test_ods_matrix_formula() -> None:
    """A matrix formula fills cells that state no formula themselves."""
    matrix = 'table:number-matrix-columns-spanned="2" table:number-matrix-rows-spanned="2"'
    data = ods(ods_row(f"<table:table-cell {FORMULA} {matrix}/>", ODS_CELL), ods_row(ODS_CELL))
    assert passed(data).formulas == {"Ears": frozenset({"A1", "B1", "A2", "B2"})}


def test_ods_errors() -> None:
    """An error is known by the type that the app adds to the empty text."""
    error = 'office:value-type="string" office:string-value="" calcext:value-type="error"'
    data = ods(ods_row(ODS_CELL, f"<table:table-cell {error}/>"))
    assert passed(data).errors == {"Ears": frozenset({"B1"})}


def test_ods_hidden_rows() -> None:
    """Hidden and filtered rows count alike, each of a repeat."""
    data = ods(
        ods_row(ODS_CELL),
        ods_row(ODS_CELL, repeat=2, attributes='table:visibility="collapse"'),
        ods_row(ODS_CELL, attributes='table:visibility="filter"'),
        ods_row(ODS_CELL, attributes='table:visibility="visible"'),
    )
    assert passed(data).hidden_rows == {"Ears": frozenset({2, 3, 4})}


def test_ods_macros_and_links() -> None:
    """Macro libraries, linked sheets, and formulas into other files are noted."""
    good = ods_parts('<table:table table:name="Ears"></table:table>')
    assert passed(zipped(good)).notes == ()
    assert passed(zipped(good | {"Basic/Standard/Module1.xml": "<m/>"})).notes == NOTE
    assert passed(zipped(good | {"Scripts/python/a.py": "pass"})).notes == NOTE
    link = '<table:table table:name="A"><table:table-source/></table:table>'
    assert passed(zipped(ods_parts(link))).notes == NOTE
    other = f"<table:table-cell {VALUE} table:formula=\"of:=['file:///a.ods'#$A.A1]\"/>"
    assert passed(ods(ods_row(other))).notes == NOTE
