"""The pictures of a book, each beside its row of the Photos sheet and made ready for print.

A picture never costs a book: what can't be read is told, and the book goes on without it.
"""

from collections.abc import Iterable, Iterator

from fieldbook.entries import ReadyPhoto, SheetEntries
from fieldbook.problems import Place, Problem, problem
from fieldbook.workbook.guard_package import Refused
from fieldbook.workbook.photo import MAX_BOOK_PIXELS, ready_photo
from fieldbook.workbook.placed import MAX_PICTURES, placed_pictures
from fieldbook.workbook.placed_parts import Placed

_ABOVE = 4  # a picture over the head of a sheet belongs to its first row


def photos_of(
    data: bytes, sheets: Iterable[SheetEntries], *, keep_position: bool
) -> tuple[tuple[ReadyPhoto, ...], tuple[Problem, ...]]:
    """Take the pictures out of a book's bytes.

    Parameters
    ----------
    data
        The whole file, which the guard has let through.
    sheets
        The sheets of the book that have room for pictures.
    keep_position
        Whether pictures keep the place where they were taken.

    Returns
    -------
    tuple
        The pictures in the order of their rows, and what is to say of others.
    """
    rooms = {sheet.title: sheet for sheet in sheets}
    if not rooms:
        return (), ()
    photos: list[ReadyPhoto] = []
    problems: list[Problem] = []
    left = MAX_BOOK_PIXELS
    for placed in _found(data, problems):
        row = _row(placed, rooms)
        place = Place(sheet=placed.title, cell=f"row {row or placed.row}")
        if row is None:
            problems.append(problem("photo-no-row", place))
            continue
        made = ready_photo(placed.data, row, keep_position=keep_position, left=left)
        left -= made.cost
        if made.photo:
            photos.append(made.photo)
        elif made.why:
            problems.append(problem(made.why.code, place, **dict(made.why.params)))
    return tuple(sorted(photos, key=lambda photo: photo.row)), tuple(problems)


def _found(data: bytes, problems: list[Problem]) -> Iterator[Placed]:
    """Find the pictures, once each where one lies twice at the same row."""
    kind = "xlsx" if b"xl/workbook.xml" in data else "ods"
    seen: set[tuple[str, int, bytes]] = set()
    try:
        for count, placed in enumerate(placed_pictures(data, kind)):
            if count >= MAX_PICTURES:
                problems.append(problem("photos-too-many", most=MAX_PICTURES))
                return
            key = (placed.title, placed.row, placed.data)
            if key not in seen:
                seen.add(key)
                yield placed
    except (Refused, ValueError, LookupError):  # the guard has seen it; the book goes on
        problems.append(problem("photo-unreadable", kind="in a damaged part of the file"))


def _row(placed: Placed, rooms: dict[str, SheetEntries]) -> int | None:
    """Return the row of its sheet that a picture belongs to; None where there is none."""
    sheet = rooms.get(placed.title)
    if sheet is None or not sheet.rows:
        return None
    numbers = [row.number for row in sheet.rows]
    if placed.row in numbers:
        return placed.row
    first = min(numbers)
    return first if first - _ABOVE <= placed.row < first else None
