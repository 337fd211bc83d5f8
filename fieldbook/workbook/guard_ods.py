"""Look through the parts of an .ods file, where cells and rows are written once with a repeat."""

from fieldbook.workbook.guard_cells import (
    Budget,
    Findings,
    SheetFacts,
    area_refs,
    cell_ref,
    whole_number,
)
from fieldbook.workbook.guard_package import (
    Package,
    broken,
    check_other,
    parse_cells,
    parse_xml,
    refused,
    too_large,
    unsafe,
)

CONTENT = "content.xml"
MANIFEST = "meta-inf/manifest.xml"
_MACROS = ("basic/", "scripts/")
_LINKS = ("table:table-source", "table:dde-link", "office:dde-source")
_FILLS = (
    "table:formula",
    "table:number-rows-spanned",
    "table:number-columns-spanned",
)
_MAX_SPACES = 100_000


def _count(attributes: dict[str, str], key: str) -> int:
    text = attributes.get(key)
    return 1 if text is None else whole_number(text, "a count of")


class _Content:
    """Gathers the facts of all tables in ``content.xml``.

    Empty cells and rows may repeat as often as they like: apps fill a sheet to its last row with
    them, and readers drop them. What is filled or covered must stay within the limits.
    """

    def __init__(self, budget: Budget) -> None:
        self.sheets: dict[str, SheetFacts] = {}
        self.links = False
        self._budget = budget
        self._facts: SheetFacts | None = None
        self._row = self._column = self._text = self._spaces = 0
        self._rows = 0  # repeats of the row at hand; 0 outside a row
        self._cell: dict[str, str] | None = None
        self._cell_filled = False
        self._steps = {
            "table:table": self._start_table,
            "table:table-row": self._start_row,
            "table:table-cell": self._start_cell,
            "table:covered-table-cell": self._start_covered,
            "text:s": self._start_spaces,
        }

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the start of an element."""
        if self._cell is not None:
            self._cell_filled = True
        step = self._steps.get(name)
        if step is not None:
            step(attributes)
        elif name in _LINKS:
            self.links = True

    def end(self, name: str) -> None:
        """Take the end of an element."""
        if name in ("table:table-cell", "table:covered-table-cell"):
            self._end_cell()
        elif name == "table:table-row":
            self._row += self._rows
            self._rows = 0
        elif name == "table:table" and self._facts is not None:
            self._budget.spend(self._facts.last_row, self._facts.last_column)
            self._facts = None

    def text(self, text: str) -> None:
        """Take a piece of text."""
        self._text += len(text)

    def _start_table(self, attributes: dict[str, str]) -> None:
        if self._facts is not None:
            raise unsafe("a table inside a table")
        title = attributes.get("table:name")
        if title in self.sheets:
            raise broken("two sheets of one name")
        self._facts, self._row = SheetFacts(), 1
        if title is not None:  # without: the copy of another file's cells behind a link
            self.sheets[title] = self._facts

    def _start_row(self, attributes: dict[str, str]) -> None:
        if self._facts is None:
            return  # a deleted row, remembered by change tracking
        if self._rows:
            raise broken("a row inside a row")
        self._rows = _count(attributes, "table:number-rows-repeated")
        self._column = 1
        if attributes.get("table:visibility") in ("collapse", "filter"):
            self._facts.hide(self._row, self._rows)

    def _start_cell(self, attributes: dict[str, str]) -> None:
        filled = any(key.startswith("office:") or key in _FILLS for key in attributes)
        self._open(attributes, filled)

    def _start_covered(self, attributes: dict[str, str]) -> None:
        self._open(attributes, True)

    def _open(self, attributes: dict[str, str], filled: bool) -> None:
        if not self._rows:
            return  # as above: not a cell of a sheet
        if self._cell is not None:
            raise broken("a cell inside a cell")
        self._cell, self._cell_filled = attributes, filled
        self._text = len(attributes.get("office:string-value", ""))

    def _end_cell(self) -> None:
        if self._cell is None or self._facts is None:
            return
        cell, self._cell = self._cell, None
        columns = _count(cell, "table:number-columns-repeated")
        if self._cell_filled:
            self._note(self._facts, cell, columns)
        self._column += columns

    def _note(self, facts: SheetFacts, cell: dict[str, str], columns: int) -> None:
        formula = cell.get("table:formula")
        self._budget.spend_text(self._text, self._rows * columns)
        down, across = _spans(cell, "")
        self._reach(facts, max(self._rows, down), max(columns, across))
        if cell.get("calcext:value-type") == "error":
            facts.errors.update(area_refs(self._row, self._column, self._rows, columns))
        if formula is not None:
            self.links = self.links or "'file:" in formula
            self._note_formula(facts, cell, columns)

    def _note_formula(self, facts: SheetFacts, cell: dict[str, str], columns: int) -> None:
        """Mark the repeats of a formula, and all cells that a matrix formula fills."""
        down, across = _spans(cell, "matrix-")
        rows, columns = max(self._rows, down), max(columns, across)
        if rows == columns == 1:
            facts.formulas.add(cell_ref(self._row, self._column))
            return
        self._reach(facts, rows, columns)
        self._budget.spend(rows, columns)
        facts.formulas.update(area_refs(self._row, self._column, rows, columns))

    def _reach(self, facts: SheetFacts, rows: int, columns: int) -> None:
        facts.reach(self._row + rows - 1, self._column + columns - 1)

    def _start_spaces(self, attributes: dict[str, str]) -> None:
        """Count written-out spaces: a reader makes as many as it is told to."""
        count = _count(attributes, "text:c")
        self._text += count
        self._spaces += count
        if self._spaces > _MAX_SPACES:
            raise too_large("text of nothing but spaces")


def _spans(cell: dict[str, str], kind: str) -> tuple[int, int]:
    rows = _count(cell, f"table:number-{kind}rows-spanned")
    return rows, _count(cell, f"table:number-{kind}columns-spanned")


class _Manifest:
    """Sees whether any part is encrypted."""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the start of an element."""
        if name.rpartition(":")[2] == "encryption-data":
            raise refused("file-protected")


def look_through_ods(package: Package) -> Findings:
    """Look through all parts of an .ods file; raises `Refused`.

    The manifest comes first: with a password the other parts are not even XML.
    """
    content = _Content(Budget())
    if MANIFEST not in package.parts:
        raise broken("its manifest is missing")
    parse_xml(package.read(package.parts[MANIFEST]), MANIFEST, _Manifest().start)
    if CONTENT not in package.parts:
        raise broken("its content is missing")
    for path, part in package.parts.items():
        if path == MANIFEST:
            continue
        data = package.unpacked(part)
        if path == CONTENT:
            parse_cells(data, path, content.start, content.end, content.text)
        else:
            check_other(data, path)
    macros = content.links or any(path.startswith(_MACROS) for path in package.parts)
    return Findings(sheets=content.sheets, macros=macros)
