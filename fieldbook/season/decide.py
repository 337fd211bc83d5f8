"""Settle a conflict: a person says which reading counts, or what else does, or that none can.

The decision is an event of its own kind, with who decided, when and why, and is replayed like any
other. What is impossible can't be chosen; what is rare counts as confirmed, since it was chosen
on purpose.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime

from fieldbook import __version__
from fieldbook.check.rows import Draft, Finding, drafts_of
from fieldbook.check.verdict import Question, Reading, State, Status
from fieldbook.entries import EntryRow, RowCells, SheetEntries, row_numbers
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.rounds import ROUNDS
from fieldbook.ledger.conflicts import Conflict, Side
from fieldbook.ledger.event_parts import utc_text
from fieldbook.ledger.events import DecisionEvent, write_event
from fieldbook.ledger.folder import sweep
from fieldbook.ledger.ledger import Ledger, writing
from fieldbook.ledger.stored import StoredVisit
from fieldbook.problems import Place, Problem, Weight, problem, sentence
from fieldbook.season.season import Season
from fieldbook.units import System

_ORDINALS = ("first", "second", "third", "fourth", "fifth")


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What a person wants: keep a side, a value of its own, or neither of them: none can count."""

    keep: str | None = None
    value: str | None = None
    who: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Settled:
    """A conflict as settled: what counts now."""

    conflict: Conflict
    reading: Reading

    @property
    def words(self) -> str:
        """Say what counts from now on."""
        if self.reading.status is Status.LOST:
            return "can't be counted again, so none counts"
        return f"'{self.reading.typed}' counts" if self.reading.typed else "counts as not looked at"


def field_conflicts(season: Season, field_id: str) -> tuple[Conflict, ...]:
    """Return the conflicts of a field, numbered from 1."""
    with Ledger(season.folder) as ledger:
        return ledger.conflicts(field_id)


def field_decisions(season: Season, field_id: str) -> tuple[Conflict, ...]:
    """Return what was decided in a field, numbered on; each can be decided again."""
    with Ledger(season.folder) as ledger:
        return ledger.decided(field_id)


def decide(
    season: Season, field_id: str, choice: Choice, *, number: int | None, now: datetime
) -> Settled | Problem:
    """Settle one conflict of a field; a problem, and nothing changed, where that can't be.

    One that was decided is decided again where its number is given.
    """
    with writing(season.folder) as ledger, ledger.turn():
        sweep(season.folder)
        conflict = _chosen(ledger.conflicts(field_id), ledger.decided(field_id), number, field_id)
        if isinstance(conflict, Problem):
            return conflict
        event = _event(season, ledger, conflict, choice, now)
        if isinstance(event, Problem):
            return event
        write_event(season.folder, event)
        ledger.follow()
        return Settled(conflict=conflict, reading=event.reading)


def _chosen(
    conflicts: tuple[Conflict, ...],
    decided: tuple[Conflict, ...],
    number: int | None,
    field_id: str,
) -> Conflict | Problem:
    if number is None:
        if len(conflicts) == 1:
            return conflicts[0]
        if conflicts:
            count = len(conflicts)
            return _unclear(f"Field {field_id} has {count} conflicts; name one with --conflict.")
        again = "; to decide one again, name it with --conflict" if decided else ""
        return _unclear(f"Field {field_id} has no conflict to settle{again}.")
    found = next((one for one in (*conflicts, *decided) if one.number == number), None)
    return found or _unclear(f"Field {field_id} has no conflict {number}.")


def _unclear(detail: str) -> Problem:
    return problem("decision-unclear", detail=detail)


def _event(
    season: Season, ledger: Ledger, conflict: Conflict, choice: Choice, now: datetime
) -> DecisionEvent | Problem:
    side = None if choice.keep is None else _side(conflict.sides, choice.keep)
    if isinstance(side, Problem):
        return side
    typed = choice.value if side is None else side.typed
    gone = _without_value(choice, side)
    found: tuple[Reading, tuple[Question, ...]] | Problem
    if gone:
        found = _reading(conflict, side, typed or "", None, gone), ()
    else:
        found = _judged(season, ledger, conflict, side, typed or "")
    if isinstance(found, Problem):
        return found
    return DecisionEvent(
        sequence=ledger.next_sequence(),
        received=utc_text(now),
        tool=__version__,
        who=choice.who,
        reason=choice.reason,
        field_id=conflict.field_id,
        reading=found[0],
        keeps=side.event if side else None,
        against=tuple(one.event for one in conflict.sides),
        questions=found[1],
    )


def _without_value(choice: Choice, side: Side | None) -> Status | None:
    """Return the status of what counts where it has no value; None where it has one."""
    if side is None:
        return Status.LOST if choice.value is None else None
    return side.status if side.status in (Status.LOST, Status.CLEARED) else None


def _side(sides: tuple[Side, ...], keep: str) -> Side | Problem:
    """Find the side that a person means: by its place, as a word or number, or by its file."""
    for at, (word, side) in enumerate(zip(_ORDINALS, sides, strict=False), start=1):
        if keep.casefold() in (word, str(at)):
            return side
    named = [side for side in sides if side.file == keep]
    if len(named) == 1:
        return named[0]
    files = ", ".join(side.file for side in sides)
    return _unclear(f"'{keep}' is none of the readings: first, second, or a file of {files}.")


def _reading(
    conflict: Conflict, side: Side | None, typed: str, value: object, status: Status
) -> Reading:
    return Reading(
        visit_id=conflict.visit_id,
        sheet=conflict.sheet,
        row=row_numbers(conflict.row),
        column=conflict.column,
        typed=typed,
        value=value,
        status=status,
        cell=side.cell if side else "",
    )


def _judged(
    season: Season, ledger: Ledger, conflict: Conflict, side: Side | None, typed: str
) -> tuple[Reading, tuple[Question, ...]] | Problem:
    """Check a value in its row as it stands; rare is confirmed, impossible is refused."""
    visit = next(
        one for one in ledger.visits([conflict.field_id]) if one.visit_id == conflict.visit_id
    )
    draft = _row(season, ledger, conflict, visit, typed)
    doubts = [found for found in draft.findings if conflict.column in found.marks]
    for doubt in doubts:
        if doubt.problem.weight is Weight.ERROR:
            said = sentence(doubt.problem, season.language)
            return problem("decision-impossible", typed=typed, what=conflict.what, detail=said)
    rare = [doubt for doubt in doubts if doubt.problem.weight is Weight.ASK]
    doubted = rare or (side is not None and side.status in (Status.ASKED, Status.CONFIRMED))
    status = Status.CONFIRMED if doubted else Status.USED
    reading = _reading(conflict, side, typed, draft.values[conflict.column], status)
    return reading, tuple(_confirmed(conflict, rare))


def _row(
    season: Season, ledger: Ledger, conflict: Conflict, visit: StoredVisit, typed: str
) -> Draft:
    """Parse the row as it stands, with the chosen value in the cell that is in conflict."""
    here = (conflict.sheet, conflict.row)
    cells = {
        column: str(reading["typed"])
        for (sheet, row, column), reading in ledger.readings_now(conflict.visit_id).items()
        if (sheet, row) == here
    }
    form = _form(visit.round, conflict)
    keys = (visit.field_id, *map(str, row_numbers(conflict.row)))
    cells |= dict(zip((key.name for key in form.sheet.keys), keys, strict=True))
    cells[conflict.column] = typed
    row = EntryRow(number=1, cells=RowCells(cells, dict.fromkeys(cells, ""), 1))
    sheet = SheetEntries(name=form.sheet.name, title=form.sheet.label, rows=(row,))
    return drafts_of(form, sheet, System(visit.units), season.language)[0]


def _form(round_name: str, conflict: Conflict) -> SheetForm:
    """Return the sheet of the round's form that has the column, the full form first."""
    round_ = ROUNDS[round_name]
    sheets = (*round_.full.sheets, *round_.quick.sheets)
    return next(
        one for one in sheets if one.sheet.name == conflict.sheet and conflict.column in one.names
    )


def _confirmed(conflict: Conflict, rare: Iterable[Finding]) -> Iterator[Question]:
    for found in rare:
        place = Place(
            sheet=found.problem.place.sheet,
            visit_id=conflict.visit_id,
            field_id=conflict.field_id,
            table=conflict.sheet,
            row=conflict.row or None,
            column=conflict.column,
        )
        asked = replace(found.problem, place=place)
        yield Question(visit_id=conflict.visit_id, problem=asked, state=State.CONFIRMED)
