"""How far a book's cells may reach; a cell in the last corner would abort the reader's process."""

import pytest

from hostile.books import (
    ODS_CELL,
    detail,
    ods,
    ods_cells,
    ods_parts,
    ods_row,
    passed,
    read_by_calamine,
    refusal,
    xlsx,
    xlsx_cell,
    xlsx_parts,
    zipped,
)

EMPTY = '<table:table-cell table:number-columns-repeated="16384"/>'


def test_cell_in_the_last_corner() -> None:
    """One value in the last cell is five kilobytes that would stop Python itself."""
    assert detail(xlsx(xlsx_cell("A1") + xlsx_cell("XFD1048576"))) == (
        "it reaches to cell XFD1048576"
    )


@pytest.mark.parametrize("ref", ["A5001", "KO1", "XFD1", "A1048576", "ZZZ1", "kp7"])
def test_cells_beyond_the_limits(ref: str) -> None:
    """Filled or only styled, no cell lies below row 5000 or right of column 300."""
    assert refusal(xlsx(xlsx_cell(ref))) == "file-too-large"
    assert refusal(xlsx(xlsx_cell(ref, inside="", attributes='s="1"'))) == "file-too-large"


def test_cells_at_the_limits() -> None:
    """Row 5000 and column 300 themselves are allowed, and the reader copes."""
    data = xlsx(xlsx_cell("A5000") + xlsx_cell("KN1"))
    assert passed(data)
    assert read_by_calamine(data) == {"Ears": (5000, 300)}


def test_empty_rows_to_the_end() -> None:
    """Rows without cells and widths for all columns are what apps leave behind: harmless."""
    rows = xlsx_cell("A1") + "".join(f'<row r="{n}" ht="15"/>' for n in (9, 5001, 1048576))
    columns = '<cols><col min="1" max="16384" width="9"/></cols>'
    data = xlsx(rows, before=f'<dimension ref="A1:XFD1048576"/>{columns}')
    assert passed(data)
    assert read_by_calamine(data) == {"Ears": (1, 1)}


def test_cells_without_names() -> None:
    """A cell without a name follows its neighbour; so does a row without a number."""
    data = xlsx('<row><c><f>1+1</f></c></row><row r="4"><c/><c r="D4"/><c><f>2</f></c></row>')
    assert passed(data).formulas == {"Ears": frozenset({"A1", "E4"})}
    assert refusal(xlsx(f"<row>{'<c/>' * 301}</row>")) == "file-too-large"
    assert refusal(xlsx("<row><c/></row>" * 5001)) == "file-too-large"
    assert refusal(xlsx('<row r="1048576"><c><v>1</v></c></row>')) == "file-too-large"


@pytest.mark.parametrize("ref", ["A0", "1", "A", "A99999999999", "AAAAAAA1", "A1:B2", "", "Ä1"])
def test_cells_with_impossible_names(ref: str) -> None:
    """What is no cell's name is damage; some of these would abort the reader."""
    assert refusal(xlsx(f'<row r="1"><c r="{ref}"><v>1</v></c></row>')) == "file-broken"


@pytest.mark.parametrize("row", ["0", "-1", "x", "1.5", "9999999999999", ""])
def test_rows_with_impossible_numbers(row: str) -> None:
    """What is no row's number is damage."""
    assert refusal(xlsx(f'<row r="{row}"><c/></row>')) == "file-broken"


def test_rows_inside_rows() -> None:
    """Rows inside rows count differently in every reader."""
    assert refusal(xlsx("<row><row><c/></row></row>")) == "file-broken"


@pytest.mark.parametrize("area", ["A1:XFD1048576", "A1:A5001", "A1:KO1", "1:1", "A:C", "B2:2"])
def test_huge_merge(area: str) -> None:
    """A merge of a whole sheet, row or column costs another library gigabytes."""
    merge = f'<mergeCells><mergeCell ref="{area}"/></mergeCells>'
    assert refusal(xlsx(xlsx_cell("A1"), after=merge)) == "file-too-large"
    link = f'<hyperlinks><hyperlink ref="{area}"/></hyperlinks>'
    assert refusal(xlsx(xlsx_cell("A1"), after=link)) == "file-too-large"


def test_usual_merge() -> None:
    """A title over some columns is fine."""
    merge = '<mergeCells><mergeCell ref="A1:M1"/><mergeCell ref="$B$3:$B$9"/></mergeCells>'
    assert passed(xlsx(xlsx_cell("A1"), after=merge))


def test_too_many_cells_altogether() -> None:
    """A few cells a sheet are enough to fill memory where the sheets are many and wide."""
    wide = f"<worksheet><sheetData>{xlsx_cell('A5000')}{xlsx_cell('KN1')}</sheetData></worksheet>"
    parts = xlsx_parts("<sheetData/>") | {"xl/worksheets/sheet1.xml": wide}
    assert passed(zipped(parts))
    assert refusal(zipped(parts | {"xl/worksheets/sheet2.xml": wide})) == "file-too-large"


def test_array_formulas_over_everything() -> None:
    """A formula for a whole sheet is as large as the sheet."""
    formula = '<f t="array" ref="A1:XFD1048576">1</f>'
    assert refusal(xlsx(xlsx_cell("A1", formula))) == "file-too-large"
    often = "".join(xlsx_cell(f"A{n}", '<f t="array" ref="A1:KN5000">1</f>') for n in range(1, 9))
    assert refusal(xlsx(often)) == "file-too-large"


@pytest.mark.parametrize("count", ["4000000000", "100000000", "-1", "many", "9" * 5000])
def test_stated_count_of_texts(count: str) -> None:
    """Readers make room for as many texts as the file states, and abort where there is none."""
    shared = f'<sst uniqueCount="{count}"><si><t>corn</t></si></sst>'
    cell = xlsx_cell("A1", "<v>0</v>", 't="s"')
    assert refusal(xlsx(cell, shared=shared)) == "file-too-large"
    assert passed(xlsx(cell, shared=shared.replace(count, "0")))


def test_one_long_text_in_many_cells() -> None:
    """A shared text is written once and copied for every cell that shows it."""
    shared = f"<sst><si><t>{'corn ' * 100_000}</t></si></sst>"
    cells = "".join(f'<c r="A{row}" t="s"><v>0</v></c>' for row in range(1, 3001))
    assert refusal(xlsx(f"<row>{cells}</row>", shared=shared)) == "file-too-large"


# ---- .ods: written once, repeated ----------------------------------------------------------


def test_ods_filled_up_with_emptiness() -> None:
    """Sheets are filled to their last row and column with empty repeats: normal, and dropped."""
    styled = ods_cells(16384, 'table:style-name="ce1"')
    data = ods(
        ods_row(ODS_CELL, ods_cells(16383)),
        ods_row(styled, repeat=1048574),
        ods_row(EMPTY, attributes='table:visibility="collapse"'),
    )
    assert passed(data).hidden_rows == {}
    assert read_by_calamine(data) == {"Ears": (1, 1)}


VALUE = 'office:value-type="float" office:value="1"'


@pytest.mark.parametrize(
    "row",
    [
        ods_row(ods_cells(16384, VALUE)),
        ods_row(ods_cells(301, 'office:value-type="string"')),
        ods_row(ods_cells(301, 'table:formula="of:=1"')),
        ods_row(ods_cells(301, kind="covered-table-cell")),
        ods_row(ods_cells(300), ODS_CELL),
        ods_row(ods_cells(16383), ODS_CELL, repeat=1048576),
        ods_row(ODS_CELL, repeat=5001),
        ods_row(ODS_CELL, repeat=1048576),
        ods_row(ods_cells(1, kind="covered-table-cell"), repeat=5001),
        ods_row("<table:table-cell><text:p>x</text:p></table:table-cell>", repeat=5001),
        ods_row("<table:table-cell/>", repeat=5000) + ods_row(ODS_CELL),
        ods_row(f'<table:table-cell {VALUE} table:number-columns-spanned="16384"/>'),
        ods_row('<table:table-cell table:number-rows-spanned="1048576"/>'),
        ods_row(f'<table:table-cell {VALUE} table:formula="of:=1" '
                'table:number-matrix-rows-spanned="5001"/>'),
    ],
)  # fmt: skip
def test_ods_repeats_that_are_filled(row: str) -> None:
    """A filled, covered or merged cell or row may not repeat, or lie, beyond the limits."""
    assert refusal(ods(row)) == "file-too-large"


def test_ods_cells_at_the_limits() -> None:
    """Row 5000 and column 300 themselves are allowed, and the reader copes."""
    data = ods(ods_row(ods_cells(299), ODS_CELL), ods_row(ODS_CELL, repeat=4999))
    assert passed(data)
    assert read_by_calamine(data) == {"Ears": (5000, 300)}


@pytest.mark.parametrize("count", ["-1", "0", "x", "1e9", "18446744073709551615", ""])
def test_ods_impossible_repeats(count: str) -> None:
    """A repeat that no app would write is damage, even on an empty row."""
    often = f'table:number-rows-repeated="{count}"'
    row = ods_row("<table:table-cell/>", attributes=often)
    assert refusal(ods(row, ods_row(ODS_CELL))) == "file-broken"
    cell = f'<table:table-cell table:number-columns-repeated="{count}"/>'
    assert refusal(ods(ods_row(cell, ODS_CELL))) == "file-broken"


def test_ods_text_of_spaces() -> None:
    """One element makes four billion spaces."""
    cell = (
        '<table:table-cell office:value-type="string"><text:p>a<text:s text:c="{}"/></text:p>'
        "</table:table-cell>"
    )
    for count in (200_000, 4_000_000_000):
        assert refusal(ods(ods_row(cell.format(count)))) == "file-too-large"
    assert passed(ods(ods_row(cell.format(12))))


def test_ods_long_text_repeated() -> None:
    """A long text in a repeated cell is copied for every repeat."""
    cell = (
        '<table:table-cell office:value-type="string" table:number-columns-repeated="300">'
        f"<text:p>{'corn ' * 20_000}</text:p></table:table-cell>"
    )
    assert refusal(ods(ods_row(cell, repeat=4000))) == "file-too-large"
    assert passed(ods(ods_row(cell)))


def test_ods_tables_and_cells_inside_each_other() -> None:
    """Nesting counts differently in every reader."""
    inner = f'<table:table table:name="In">{ods_row(ODS_CELL)}</table:table>'
    nested = ods_row(f"<table:table-cell {VALUE}>{inner}</table:table-cell>")
    assert refusal(ods(nested)) == "file-unsafe"
    assert refusal(ods(ods_row(f"<table:table-cell>{ODS_CELL}</table:table-cell>"))) == (
        "file-broken"
    )
    assert refusal(ods(f"<table:table-row>{ods_row(ODS_CELL)}</table:table-row>")) == "file-broken"


def test_ods_deleted_cells_do_not_count() -> None:
    """Cells remembered by change tracking stand outside every sheet."""
    old = f"<table:tracked-changes>{ods_row(ods_cells(9999, VALUE))}</table:tracked-changes>"
    table = f'<table:table table:name="Ears">{ods_row(ODS_CELL)}</table:table>'
    assert passed(zipped(ods_parts(old + table)))
