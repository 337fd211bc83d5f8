"""Books whose identity somebody edited by hand."""

import io
import json
from pathlib import Path

from openpyxl import load_workbook
from seasons import book_plan, good_visit

from fieldbook.season.season import Season
from fieldbook.workbook.write import write_book


def forged(season: Season, path: Path, **changes: object) -> Path:
    """Write a filled book whose identity was edited by hand."""
    book = load_workbook(
        io.BytesIO(write_book(book_plan(season, entries={"A1": good_visit("A1")})))
    )
    cell = book["Identity"]["B2"]
    raw = json.loads(cell.value)
    for key, value in changes.items():
        if key in raw:
            raw[key] = value
        else:
            raw["visits"][0][key] = value
    cell.value = json.dumps(raw)
    book.save(path)
    return path
