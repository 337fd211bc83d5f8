"""What a book changes of what stands: in a line a visit, what it left empty or replaced."""

from collections.abc import Mapping

from fieldbook.check.verdict import Status
from fieldbook.ledger.entry import Entry
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.merge import ANSWER, Cell, Outcome, Ruling
from fieldbook.ledger.names import cell_words
from fieldbook.problems import Place, Problem, problem


def changed_since(ledger: Ledger, entries: Mapping[str, Entry], file: str) -> list[Problem]:
    """Tell, in a line a visit, what a book left empty, replaced, or could not replace.

    A new value in a row that a correction book asked about is what was wanted, so it is not told.
    """
    found = []
    standing = ledger.typed_now(entries)
    for visit_id, entry in entries.items():
        before = standing[visit_id]
        now = {ruling.cell: ruling for ruling in entry.rulings}
        changed = [
            cell
            for cell, ruling in now.items()
            if cell in before
            and ruling.reading.typed != before[cell]
            and ruling.outcome in (Outcome.TAKE, Outcome.KEEP)
        ]
        place = Place(file=file, visit_id=visit_id)
        emptied = [
            cell for cell in before if before[cell] and cell not in now and cell[2] != ANSWER
        ]
        if emptied:
            found.append(_told("value-kept", place, visit_id, emptied, typed=before[emptied[0]]))
        told: dict[str, list[Cell]] = {}
        for cell in changed:
            code = _told_as(now[cell])
            if code != "value-replaced" or cell not in entry.asked_for:
                told.setdefault(code, []).append(cell)
        for code, cells in sorted(told.items()):
            typed, new = before[cells[0]], now[cells[0]].reading.typed
            found.append(_told(code, place, visit_id, cells, typed=typed, now=new))
    return found


def _told_as(ruling: Ruling) -> str:
    """Return the code under which a changed reading is told; a conflict is a question instead."""
    if ruling.outcome is Outcome.KEEP:
        return "value-older"
    return "value-cleared" if ruling.reading.status is Status.CLEARED else "value-replaced"


def _told(code: str, place: Place, visit_id: str, cells: list[Cell], **params: str) -> Problem:
    first = cell_words(cells[0])
    return problem(code, place, visit=visit_id, count=len(cells), example=first, **params)
