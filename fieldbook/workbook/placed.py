"""Find the pictures that lie in a book: on which sheet, beside which row, and their bytes.

Spreadsheet libraries lose pictures or some kinds of them, so the parts are read here as they are,
through the guard's own unpacking. Only what a sheet shows is taken: a part that nothing places on
a sheet, or that lies outside the file, is left alone.
"""

from collections.abc import Iterator

from fieldbook.workbook.guard_package import Package
from fieldbook.workbook.placed_ods import placed_in_ods
from fieldbook.workbook.placed_parts import Parts, Placed
from fieldbook.workbook.placed_xlsx import placed_in_xlsx

MAX_PICTURES = 60
"""More pictures than a book has room for are not looked at."""


def placed_pictures(data: bytes, kind: str) -> Iterator[Placed]:
    """Find the pictures of a file that the guard has let through.

    Parameters
    ----------
    data
        The whole file.
    kind
        ``xlsx`` or ``ods``, as the guard found it.

    Yields
    ------
    Placed
        At most `MAX_PICTURES` and one: the one too many says that there are more.

    Raises
    ------
    Refused
        For a part that can't be unpacked.
    """
    package = Package(data)
    if not any(path.startswith(("xl/media/", "pictures/", "media/")) for path in package.parts):
        return
    find = placed_in_xlsx if kind == "xlsx" else placed_in_ods
    for count, found in enumerate(find(Parts(package))):
        yield found
        if count >= MAX_PICTURES:
            return
