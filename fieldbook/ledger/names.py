"""How the ledger names what it holds: kinds of events, sheets, rows and cells.

What reads a ledger without SQLAlchemy knows its layout by a number; see `fieldbook.ledger.tables`.
"""

from functools import cache

from fieldbook.entries import row_numbers
from fieldbook.forms.rounds import ROUNDS
from fieldbook.schema import Sheet
from fieldbook.words import Phrase, listed, phrase

BOOK, CORRECTION, DECISION = "book", "correction", "decision"
LAYOUT = 672135711
"""What `layout_number` of the tables comes to; a test holds the two together."""


@cache
def ledger_sheets() -> tuple[Sheet, ...]:
    """Return every declared sheet that some round's book has."""
    forms = (form for round_ in ROUNDS.values() for form in (round_.quick, round_.full))
    return tuple({one.sheet.name: one.sheet for form in forms for one in form.sheets}.values())


def cell_words(cell: tuple[str, str, str]) -> Phrase:
    """Name a reading for a person, for example "Ears, Stop 1, Ear 3, Rows around"."""
    name, row, column = cell
    sheet = next(sheet for sheet in ledger_sheets() if sheet.name == name)
    numbered = zip(sheet.keys[1:], row_numbers(row), strict=False)
    keys = [phrase("{name} {value}", name=phrase(key.label), value=at) for key, at in numbered]
    return listed([phrase(sheet.label), *keys, phrase(sheet.column(column).label)])
