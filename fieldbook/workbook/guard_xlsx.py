"""Look through the parts of an .xlsx file: its cells' places, formulas, errors and hidden rows."""

from fieldbook.workbook.guard_cells import (
    MAX_CELLS,
    Budget,
    Findings,
    SheetFacts,
    area_corners,
    area_refs,
    cell_position,
    cell_ref,
    whole_number,
)
from fieldbook.workbook.guard_package import (
    Content,
    Package,
    broken,
    check_other,
    parse_cells,
    too_large,
    unsafe,
)
from fieldbook.workbook.guard_plain import plain_facts

WORKBOOK = "xl/workbook.xml"
_RELATIONS = "xl/_rels/workbook.xml.rels"
_FIRST_RELATIONS = "_rels/.rels"
_MACROS = ("xl/vbaproject.bin", "xl/macrosheets/", "xl/activex/")
_LINKS = ("xl/externallinks/", "xl/connections.xml")
_TRUE = ("1", "true")


class _Sheet:
    """Gathers the facts of one worksheet; element names may carry any prefix."""

    def __init__(self, budget: Budget) -> None:
        self.facts = SheetFacts()
        self._budget = budget
        self._row = 0
        self._column = 0
        self._in_row = False
        self._here: tuple[int, int] | None = None
        self._steps = {
            "row": self._start_row,
            "c": self._start_cell,
            "f": self._start_formula,
            "mergeCell": self._area,
            "hyperlink": self._area,
        }

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the start of an element."""
        step = self._steps.get(name)
        if step is None and ":" in name:
            step = self._steps.get(name.rpartition(":")[2])
        if step is not None:
            step(attributes)

    def end(self, name: str) -> None:
        """Take the end of an element; only rows matter."""
        if name == "row" or name.endswith(":row"):
            self._in_row = False

    def _start_row(self, attributes: dict[str, str]) -> None:
        if self._in_row:
            raise broken("a row inside a row")
        self._in_row = True
        self._column, self._here = 0, None
        number = attributes.get("r")
        self._row = self._row + 1 if number is None else whole_number(number, "a row called")
        if attributes.get("hidden") in _TRUE:
            self.facts.hide(self._row)

    def _start_cell(self, attributes: dict[str, str]) -> None:
        ref = attributes.get("r")
        if ref is None:
            row, self._column = self._row, self._column + 1
        else:
            row, self._column = cell_position(ref)
        self.facts.reach(row, self._column)
        self._here = (row, self._column)
        kind = attributes.get("t")
        if kind == "s":
            self.facts.shared_texts += 1
        elif kind == "e":
            self.facts.errors.add(cell_ref(row, self._column))

    def _start_formula(self, attributes: dict[str, str]) -> None:
        """Mark the cell, and all cells that an array formula or a data table fills."""
        if not self._in_row or self._here is None:
            return  # an extension's formula, for example of a validation, not a cell's
        self.facts.formulas.add(cell_ref(*self._here))
        if attributes.get("t") in ("array", "dataTable") and "ref" in attributes:
            top, left, rows, columns = self._area(attributes)
            self._budget.spend(rows, columns)
            self.facts.formulas.update(area_refs(top, left, rows, columns))

    def _area(self, attributes: dict[str, str]) -> tuple[int, int, int, int]:
        corners = area_corners(attributes.get("ref", ""))
        for row, column in corners:
            self.facts.reach(row, column)
        (top, left), (bottom, right) = corners[0], corners[-1]
        return top, left, max(bottom - top, 0) + 1, max(right - left, 0) + 1


class _Texts:
    """Measures the shared texts: each is copied into every cell that shows it."""

    def __init__(self) -> None:
        self.longest = 0
        self._length = 0

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the start of an element; readers make room for as many texts as it states."""
        count = attributes.get("uniqueCount", "0")
        if not (count.isascii() and count.isdigit()) or int(count[:20]) > MAX_CELLS:
            raise too_large(f"more than {MAX_CELLS:,} texts")
        if name.rpartition(":")[2] == "si":
            self._length = 0

    def text(self, text: str) -> None:
        """Take a piece of a text."""
        self._length += len(text)
        self.longest = max(self.longest, self._length)


class _Book:
    """Gathers sheet titles with their relation ids, and the targets of relations."""

    def __init__(self) -> None:
        self.titles: list[tuple[str, str]] = []
        self.targets: dict[str, str] = {}

    def sheet(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element of the workbook part."""
        if name.rpartition(":")[2] == "sheet":
            ids = [value for key, value in attributes.items() if key.endswith(":id")]
            if len(ids) != 1 or "name" not in attributes:
                raise broken("a sheet without a name")
            self.titles.append((attributes["name"], ids[0]))

    def relation(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element of the workbook's relations."""
        if name.rpartition(":")[2] == "Relationship":
            self.targets[attributes.get("Id", "")] = attributes.get("Target", "")

    def first_relation(self, name: str, attributes: dict[str, str]) -> None:
        """Take an element of the file's relations: readers follow them to the workbook."""
        if attributes.get("Type", "").endswith("/officeDocument"):
            target = attributes.get("Target", "").removeprefix("/")
            if target.casefold() != WORKBOOK:
                raise unsafe("a workbook in an unusual place")

    def paths(self) -> list[tuple[str, str]]:
        """Return each sheet's title and the lower-case name of its part."""
        return [(title, _path(self.targets.get(key, ""))) for title, key in self.titles]


def _path(target: str) -> str:
    inside = target.removeprefix("/")
    return (inside if inside.startswith("xl/") else f"xl/{inside}").casefold()


def _mentions(content: Content, word: str) -> bool:
    """Say whether a word stands in a part, be it in two-byte letters of either order."""
    return word.encode() in content or word.encode("utf-16-le")[:-1] in content


class _Look:
    """Goes through the parts, whatever their order, and puts the facts together."""

    def __init__(self, package: Package) -> None:
        self._package = package
        self._book = _Book()
        self._texts = _Texts()
        self._budget = Budget()
        self._by_path: dict[str, SheetFacts] = {}
        self._shared_texts = 0

    def findings(self) -> Findings:
        """Look at everything."""
        for path, part in self._package.parts.items():
            self._part(path, self._package.unpacked(part))
        self._budget.spend_text(self._texts.longest, self._shared_texts)
        outside = any(path.startswith((*_MACROS, *_LINKS)) for path in self._package.parts)
        return Findings(sheets=self._by_title(), macros=outside)

    def _part(self, path: str, content: Content) -> None:
        if path == WORKBOOK:
            parse_cells(content, path, self._book.sheet)
        elif path == _RELATIONS:
            parse_cells(content, path, self._book.relation)
        elif path == _FIRST_RELATIONS:
            parse_cells(content, path, self._book.first_relation)
        elif _mentions(content, "sheetData"):  # whatever its name: readers go by this alone
            self._by_path[path] = self._sheet(content, path)
        elif _mentions(content, "uniqueCount") or _mentions(content, "sst>"):
            parse_cells(content, path, self._texts.start, text=self._texts.text)
        else:
            check_other(content, path)

    def _sheet(self, content: Content, path: str) -> SheetFacts:
        parse_cells(content, path)
        facts = plain_facts(content) or self._parsed(content, path)
        self._budget.spend(facts.last_row, facts.last_column)
        self._shared_texts += facts.shared_texts
        return facts

    def _parsed(self, content: Content, path: str) -> SheetFacts:
        sheet = _Sheet(self._budget)
        parse_cells(content, path, sheet.start, sheet.end)
        return sheet.facts

    def _by_title(self) -> dict[str, SheetFacts]:
        sheets: dict[str, SheetFacts] = {}
        for title, path in self._book.paths():
            if path not in self._package.parts:
                raise broken("a sheet is missing")
            if title in sheets:
                raise broken("two sheets of one name")
            sheets[title] = self._by_path.get(path) or SheetFacts()
        return sheets


def look_through_xlsx(package: Package) -> Findings:
    """Look through all parts of an .xlsx file; raises `Refused`."""
    return _Look(package).findings()
