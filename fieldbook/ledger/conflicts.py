"""Readings in conflict, side by side: what each says, who sent it, when, in which file and cell."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from fieldbook.check.verdict import Status
from fieldbook.forms.answers import LOST
from fieldbook.ledger.names import cell_words, ledger_sheets
from fieldbook.problems import Place, Problem, problem
from fieldbook.words import Phrase, listed, phrase

DIFFER = "corrections-differ"
_NO_VALUE = {Status.LOST: phrase(LOST.label), Status.CLEARED: phrase("cleared")}


@dataclass(frozen=True, kw_only=True)
class Side:
    """One of the readings in conflict, by the event that brought it."""

    event: int
    typed: str
    status: Status
    scout: str
    received: str
    file: str
    cell: str

    @property
    def said(self) -> str | Phrase:
        """What it says: the value as typed, or that there is none to be had."""
        return _NO_VALUE.get(self.status, self.typed)

    @property
    def words(self) -> Phrase:
        """The value, and in brackets who sent it, when, in which file and cell."""
        source = (self.scout, self.received[:10], self.file, self.cell)
        told = ", ".join(part for part in source if part)
        return phrase("{value} ({source})", value=self.said, source=told)


@dataclass(frozen=True, kw_only=True)
class Conflict:
    """Two or more readings of one cell of which none counts until a person decides.

    ``number`` is its place among the field's conflicts, or behind them where it was ``decided``:
    that is what counts since, as long as nobody decides again.
    """

    number: int
    visit_id: str
    field_id: str
    sheet: str
    row: str
    column: str
    sides: tuple[Side, ...]
    decided: Side | None = None

    @property
    def cell(self) -> tuple[str, str, str]:
        """Name its cell: its sheet, its row as the tables write it, its column."""
        return self.sheet, self.row, self.column

    @property
    def what(self) -> str:
        """The reading's name for a person, for example "Ears, Stop 1, Ear 3, Rows around"."""
        return str(cell_words(self.cell))


def conflict_of(
    number: int,
    visit_id: str,
    field_id: str,
    cell: tuple[str, str, str],
    sides: tuple[Side, ...],
    decided: Side | None = None,
) -> Conflict:
    """Make the conflict of a cell, which its sheet, row and column name."""
    sheet, row, column = cell
    return Conflict(
        number=number,
        visit_id=visit_id,
        field_id=field_id,
        sheet=sheet,
        row=row,
        column=column,
        sides=sides,
        decided=decided,
    )


def conflict_problem(
    sides: Sequence[Side], cell: tuple[str, str, str], visit_id: str, field_id: str
) -> Problem:
    """Say a conflict as an open question at the place of the reading that came last."""
    name, row, column = cell
    sheet = next(sheet for sheet in ledger_sheets() if sheet.name == name)
    place = Place(
        file=sides[-1].file,
        sheet=sheet.label,
        cell=sides[-1].cell,
        visit_id=visit_id,
        field_id=field_id,
        table=name,
        row=row or None,
        column=column,
    )
    return problem(
        DIFFER,
        place,
        what=cell_words(cell),
        column=phrase(sheet.column(column).label),
        typed=listed((side.said for side in sides), " / "),
        sides=listed((side.words for side in sides), "; "),
        field=field_id,
    )


def conflict_lines(conflicts: Iterable[Conflict]) -> Iterator[str]:
    """Say every conflict of a field side by side, with its number, and what was decided."""
    for one in conflicts:
        yield f"{one.number}. {one.visit_id}  {one.what}"
        for at, side in enumerate(one.sides, start=1):
            yield f"   {at}: {side.words}"
        if one.decided:
            yield f"   counts: {one.decided.words}"
