"""Find cells of a written book as a person does: by the sheet, the header and the printed keys."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

HEAD_ROW, FIRST_ROW = 3, 5
KEYS = {"Fields": 1, "Stops": 2, "Ears": 3, "Leaves": 3, "Stalks": 2, "Harvest": 2, "Photos": 2}


@dataclass(frozen=True)
class Addresses:
    """The addresses of one book."""

    columns: dict[str, dict[str, str]]
    rows: dict[str, dict[tuple[object, ...], int]]

    @classmethod
    def of(cls, path: Path, titles: Mapping[str, str] | None = None) -> "Addresses":
        """Read the headers and keys of a book; `titles` are new ones of sheets renamed since."""
        book = load_workbook(path)
        columns: dict[str, dict[str, str]] = {}
        rows: dict[str, dict[tuple[object, ...], int]] = {}
        for title, keys in KEYS.items():
            now = (titles or {}).get(title, title)
            if now not in book.sheetnames:
                continue
            sheet = book[now]
            heads = {cell.value: cell.column for cell in sheet[HEAD_ROW] if cell.value}
            columns[title] = {str(h): get_column_letter(at) for h, at in heads.items()}
            rows[title] = {
                tuple(sheet.cell(row, at).value for at in range(1, keys + 1)): row
                for row in range(FIRST_ROW, sheet.max_row + 1)
            }
        return cls(columns=columns, rows=rows)

    def cell(self, title: str, key: tuple[object, ...], head: str) -> str:
        """Return a cell's address."""
        return f"{self.columns[title][head]}{self.rows[title][key]}"
