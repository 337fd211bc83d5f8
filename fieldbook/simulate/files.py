"""What becomes of files between a tablet and a season folder."""

import io
import zipfile

_CONTENTS = "xl/workbook.xml"


def cut_off(data: bytes) -> bytes:
    """Return what is left of a file when the connection broke."""
    return data[: len(data) * 3 // 5]


def with_sheet_renamed(data: bytes, old: str, new: str) -> bytes:
    """Return a book in which somebody renamed a sheet, and nothing else."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as before, zipfile.ZipFile(out, "w") as after:
        for part in before.infolist():
            content = before.read(part)
            if part.filename == _CONTENTS:
                content = content.replace(f'name="{old}"'.encode(), f'name="{new}"'.encode())
            after.writestr(part, content)
    return out.getvalue()
