"""What both kinds of book are read by when their pictures are looked for: parts, links, heights."""

import posixpath
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from fieldbook.workbook.guard_package import Package, parse_xml

POINTS_A_ROW = 15.0
_LOW_SHARE = 2 / 3


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A picture on a sheet; ``row`` counts from 1, as the app shows it."""

    title: str
    row: int
    data: bytes


@dataclass(kw_only=True)
class RowHeights:
    """The heights of a sheet's rows [pt], by their number from 1, and the usual one."""

    usual_pt: float = POINTS_A_ROW
    of_row: dict[int, float] = field(default_factory=dict)

    def row_at(self, row: int, down_pt: float) -> int:
        """Return the row that a picture belongs to which begins so far below a row's top.

        A picture dropped a little too high begins low in the row above: it belongs to the next.
        """
        for number in range(row, row + len(self.of_row) + 1):
            high = self.of_row.get(number, self.usual_pt)
            if down_pt <= high * _LOW_SHARE:
                return number
            if down_pt < high:
                return number + 1
            down_pt -= high
        return row + len(self.of_row) + 1 + int(down_pt // self.usual_pt)


class Parts:
    """Parts of a package by the links between them; each part is unpacked once."""

    def __init__(self, package: Package) -> None:
        self._package = package
        self._known: dict[str, bytes] = {}

    def has(self, path: str) -> bool:
        """Say whether there is such a part."""
        return path in self._package.parts

    def read(self, path: str) -> bytes:
        """Return a part's bytes; nothing for a part that is not there."""
        if path not in self._known:
            part = self._package.parts.get(path)
            self._known[path] = self._package.read(part) if part else b""
        return self._known[path]

    def walk(
        self,
        path: str,
        start: Callable[[str, dict[str, str]], None],
        end: Callable[[str], None] | None = None,
        text: Callable[[str], None] | None = None,
    ) -> None:
        """Parse a part, calling with each element's name without its prefix."""
        if not self.has(path):
            return

        def begin(name: str, attributes: dict[str, str]) -> None:
            start(name.rpartition(":")[2], attributes)

        def finish(name: str) -> None:
            if end is not None:
                end(name.rpartition(":")[2])

        parse_xml(self.read(path), path, begin, finish, text)

    def links(self, path: str) -> dict[str, tuple[str, str]]:
        """Return where a part's relations lead, by their ids: the last word of the type, a path."""
        folder, name = posixpath.split(path)
        found: dict[str, tuple[str, str]] = {}

        def start(element: str, attributes: dict[str, str]) -> None:
            if element == "Relationship" and attributes.get("TargetMode") != "External":
                kind = attributes.get("Type", "").rpartition("/")[2].casefold()
                target = inside(folder, attributes.get("Target", ""))
                found[attributes.get("Id", "")] = (kind, target)

        self.walk(f"{folder}/_rels/{name}.rels", start)
        return found


def inside(folder: str, target: str) -> str:
    """Return the lower-case path of a part that another part of `folder` names."""
    joined = posixpath.normpath(posixpath.join("/", folder, target))
    return joined.lstrip("/").casefold()


def number_of(text: str | None) -> float:
    """Read a number of a drawing; 0 where there is none."""
    try:
        value = float(text or 0)
    except ValueError:
        return 0.0
    return value if abs(value) < 1e9 else 0.0  # noqa: PLR2004  (also leaves out NaN and endless)


def prefixed(attributes: Mapping[str, str], name: str) -> str:
    """Return the attribute of this name whatever its prefix; nothing where there is none."""
    for key, value in attributes.items():
        if key == name or key.endswith(f":{name}"):
            return value
    return ""
