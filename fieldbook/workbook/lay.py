"""Put pictures into the rows of a sheet, as a person does with an app."""

import io
import zipfile
from collections.abc import Iterable, Mapping
from typing import Any

from fieldbook.workbook.data_sheet import Line
from fieldbook.workbook.grid import FIRST_ROW, Grid
from fieldbook.workbook.paper import must
from fieldbook.workbook.plan import LaidPicture

_COLUMN = "picture"
_INSIDE_PX, _SCALE = 4, 0.12


def lay_pictures(
    sheet: Any,
    grid: Grid,
    lines: Iterable[Line],
    pictures: Mapping[tuple[str, int], LaidPicture],
) -> None:
    """Put each picture into its row, by field and number."""
    for at, line in enumerate(lines):
        picture = pictures.get((str(line.key[0]), int(line.key[-1])))
        if picture is None:
            continue
        row, column = FIRST_ROW + at, grid.index(_COLUMN)
        how: dict[str, Any] = {"image_data": io.BytesIO(picture.data)}
        name = f"photo{at + 1}.jpg"
        if picture.in_cell:
            must(sheet.embed_image(row, column, name, how))
            continue
        how |= {"x_offset": _INSIDE_PX, "y_offset": _INSIDE_PX}
        must(sheet.insert_image(row, column, name, how | {"x_scale": _SCALE, "y_scale": _SCALE}))


def with_plain_names(data: bytes) -> bytes:
    """Return a book whose parts have names without a slash in front.

    xlsxwriter puts one before the relations of pictures in cells; the guard refuses such names, and
    no app writes them.
    """
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(out, "w") as after:
        for part in before.infolist():
            content = before.read(part)
            part.filename = part.filename.lstrip("/")
            after.writestr(part, content)
    return out.getvalue()
