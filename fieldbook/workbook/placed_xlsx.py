"""Pictures of an .xlsx file: those that float over a sheet, and those placed in a cell.

A floating one hangs on a drawing part by an anchor. One in a cell is a value of the newer kind:
the cell names an entry of the metadata, that a rich value, and that a relation to the picture.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

from fieldbook.workbook.guard_cells import MAX_ROW, cell_position
from fieldbook.workbook.guard_package import Refused
from fieldbook.workbook.guard_xlsx import WORKBOOK
from fieldbook.workbook.placed_parts import Parts, Placed, RowHeights, number_of, prefixed

_EMU_A_POINT = 12_700
_LOCAL_IMAGE = "_rvRel:LocalImageIdentifier"
_RICH_VALUES = "XLRICHVALUE"


def placed_in_xlsx(parts: Parts) -> Iterator[Placed]:
    """Find all pictures, sheet by sheet."""
    in_cells = _InCells(parts)
    for title, path in _sheets(parts):
        heights, marked = _rows(parts, path)
        for kind, drawing in parts.links(path).values():
            if kind == "drawing":
                yield from _floating(parts, drawing, title, heights)
        for row, mark in marked:
            picture = in_cells.picture(mark)
            if picture:
                yield Placed(title=title, row=row, data=parts.read(picture))


def _sheets(parts: Parts) -> list[tuple[str, str]]:
    links = parts.links(WORKBOOK)
    found: list[tuple[str, str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        target = links.get(prefixed(attributes, "id")) if name == "sheet" else None
        if target and target[0] == "worksheet":
            found.append((attributes.get("name", ""), target[1]))

    parts.walk(WORKBOOK, start)
    return found


def _rows(parts: Parts, path: str) -> tuple[RowHeights, list[tuple[int, int]]]:
    """Return the heights of a sheet's rows, and the cells that hold a value of the newer kind."""
    heights = RowHeights()
    marked: list[tuple[int, int]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == "sheetFormatPr":
            heights.usual_pt = number_of(attributes.get("defaultRowHeight")) or heights.usual_pt
        elif name == "row" and "ht" in attributes and "r" in attributes:
            heights.of_row[int(attributes["r"])] = number_of(attributes["ht"])
        elif name == "c" and "vm" in attributes and "r" in attributes:
            marked.append((cell_position(attributes["r"])[0], int(number_of(attributes["vm"]))))

    parts.walk(path, start)
    return heights, marked


@dataclass(kw_only=True)
class _Anchor:
    """Where one drawing hangs: a row and how far below its top [EMU], and its pictures."""

    row: int = 0
    down: float = 0.0
    pictures: list[str] = field(default_factory=list)


class _Drawing:
    """Gathers the anchors of a drawing part."""

    def __init__(self) -> None:
        self.anchors: list[_Anchor] = []
        self._inside: list[str] = []
        self._text = ""

    def start(self, name: str, attributes: dict[str, str]) -> None:
        """Take the start of an element; only the upper left corner of an anchor counts."""
        self._inside.append(name)
        self._text = ""
        if name.endswith("Anchor"):
            self.anchors.append(_Anchor())
        elif name == "pos" and self.anchors:
            self.anchors[-1].down = number_of(attributes.get("y"))
        elif name == "blip" and self.anchors:
            self.anchors[-1].pictures.append(prefixed(attributes, "embed"))

    def text(self, text: str) -> None:
        """Take a piece of text."""
        self._text += text[:20]

    def end(self, name: str) -> None:
        """Take the end of an element."""
        self._inside.pop()
        if not self.anchors or self._inside[-1:] != ["from"]:
            return
        if name == "row":
            self.anchors[-1].row = min(max(int(number_of(self._text)), 0), MAX_ROW)
        elif name == "rowOff":
            self.anchors[-1].down = number_of(self._text)


def _floating(parts: Parts, path: str, title: str, heights: RowHeights) -> Iterator[Placed]:
    drawing, links = _Drawing(), parts.links(path)
    parts.walk(path, drawing.start, drawing.end, drawing.text)
    for anchor in drawing.anchors:
        row = heights.row_at(anchor.row + 1, anchor.down / _EMU_A_POINT)
        for link in anchor.pictures:
            kind, target = links.get(link, ("", ""))
            if kind == "image" and parts.has(target):
                yield Placed(title=title, row=row, data=parts.read(target))


class _InCells:
    """Follows the marks of cells to their pictures; read only once a cell has a mark."""

    def __init__(self, parts: Parts) -> None:
        self._parts = parts
        self._pictures: dict[int, str] | None = None

    def picture(self, mark: int) -> str | None:
        """Return the part that the cells of a mark show; None for a value of another kind."""
        if self._pictures is None:
            try:
                self._pictures = _marked_pictures(self._parts)
            except (ValueError, LookupError, Refused):
                self._pictures = {}
        return self._pictures.get(mark)


def _marked_pictures(parts: Parts) -> dict[int, str]:
    paths = dict(parts.links(WORKBOOK).values())
    related = paths.get("richvaluerel", "")
    links, order = parts.links(related), list[str]()

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == "rel":
            order.append(prefixed(attributes, "id"))

    parts.walk(related, start)
    structures = _structures(parts, paths.get("rdrichvaluestructure", ""))
    values = _rich_pictures(parts, paths.get("rdrichvalue", ""), structures)
    found = {}
    for mark, value in _rich_marks(parts, paths.get("sheetmetadata", "")).items():
        at = values.get(value, -1)
        kind, target = links.get(order[at], ("", "")) if 0 <= at < len(order) else ("", "")
        if kind == "image" and parts.has(target):
            found[mark] = target
    return found


def _rich_marks(parts: Parts, path: str) -> dict[int, int]:
    """Return which rich value each mark names; marks count from 1, values from 0."""
    values: list[int] = []
    marks: list[int] = []
    room = [""]

    def start(name: str, attributes: dict[str, str]) -> None:
        if name in ("futureMetadata", "valueMetadata", "cellMetadata"):
            is_other = name == "futureMetadata" and attributes.get("name") != _RICH_VALUES
            room[0] = "" if is_other else name
        elif name == "rvb" and room[0] == "futureMetadata":
            values.append(int(attributes["i"]))
        elif name == "bk" and room[0] == "valueMetadata":
            marks.append(-1)
        elif name == "rc" and room[0] == "valueMetadata":
            marks[-1] = int(attributes["v"])

    parts.walk(path, start)
    named = enumerate(marks, start=1)
    return {mark: values[at] for mark, at in named if 0 <= at < len(values)}


def _structures(parts: Parts, path: str) -> list[list[str]]:
    """Return the names of what rich values of each kind hold, in order."""
    found: list[list[str]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == "s":
            found.append([])
        elif name == "k" and found:
            found[-1].append(attributes.get("n", ""))

    parts.walk(path, start)
    return found


def _rich_pictures(parts: Parts, path: str, structures: list[list[str]]) -> dict[int, int]:
    """Return, by rich value, the place of its picture in the list of relations."""
    values: list[tuple[int, list[str]]] = []

    def start(name: str, attributes: dict[str, str]) -> None:
        if name == "rv":
            values.append((int(attributes["s"]), []))
        elif name == "v" and values:
            values[-1][1].append("")

    def text(text: str) -> None:
        if values and values[-1][1]:
            values[-1][1][-1] += text.strip()[:20]

    parts.walk(path, start, text=text)
    found = {}
    for number, (kind, held) in enumerate(values):
        names = structures[kind] if 0 <= kind < len(structures) else []
        at = names.index(_LOCAL_IMAGE) if _LOCAL_IMAGE in names else len(held)
        if at < len(held):
            found[number] = int(held[at])
    return found
