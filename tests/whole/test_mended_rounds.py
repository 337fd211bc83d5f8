"""Every round: mistakes planted, asked, answered in each of the three ways, and settled exactly."""

import random
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from careless import open_place, walked
from mending import Cells, mend

from fieldbook.check.verdict import State
from fieldbook.forms.answers import LOST, TRUE
from fieldbook.forms.rounds import ROUNDS, Form, Round
from fieldbook.ledger.ledger import Ledger
from fieldbook.problems import Weight, weight_of
from fieldbook.schema import Kind
from fieldbook.season import loading
from fieldbook.season.ask import write_corrections
from fieldbook.season.blank import Order, book_plans, keep_identity
from fieldbook.season.checking import check_file
from fieldbook.season.intake import take_in
from fieldbook.season.rebuild import rebuild
from fieldbook.season.season import Season
from fieldbook.simulate.mistake import Mistake
from fieldbook.simulate.mistake_kinds import MISTAKES
from fieldbook.simulate.mistakes import Planted, plant
from fieldbook.simulate.scout import Entries
from fieldbook.workbook.plan import EntryValue
from fieldbook.workbook.write import write_book
from fieldbook.worker import Outcome

NOW = datetime(2026, 12, 1, 18, tzinfo=UTC)
ANSWERS = ("corrected", "true", "lost", "left")
# Asked at another place than the planted row, or only in fields that lie elsewhere.
_ELSEWHERE = {"date-missing", "ears-without-count", "stop-far-away"}
Dump = Mapping[tuple[str, str, str, str], tuple[str, str]]


@dataclass(frozen=True, kw_only=True)
class Spoiled:
    """A field with one mistake in it, and how its scout answers."""

    rightly: Entries
    planted: Planted
    answer: str

    @property
    def row(self) -> tuple[str, str]:
        """The sheet and the row of the mistake, as the ledger names them."""
        return self.planted.mistake.sheet, ", ".join(str(part) for part in self.planted.key[1:])

    def cells(self, form: Form) -> Cells:
        """Return what the scout types into the correction book."""
        sheet, key = self.planted.mistake.sheet, self.planted.key
        if self.answer == "left":
            return {}
        if self.answer != "corrected":
            label = (TRUE if self.answer == "true" else LOST).label
            return {(sheet, key, "answer"): label}
        return {
            (sheet, key, name): _shown(form, sheet, name, self.rightly.get((sheet, key, name)))
            for name in self.planted.mistake.to
        }


def _shown(form: Form, sheet: str, name: str, value: EntryValue | None) -> EntryValue | None:
    """Write a value as a scout types it: the label of a choice, all else as it is."""
    column = next(one for one in form.sheets if one.sheet.name == sheet).sheet.column(name)
    if isinstance(value, str) and column.kind in (Kind.CHOICE, Kind.TICK):
        return column.choice_label(value)
    return value


@pytest.fixture(autouse=True)
def _read_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Read books in this process: that a worker reads them is tested elsewhere, and is slow."""

    def here(work: Callable[[Any], Any], wanted: Iterable[Any]) -> Iterator[Outcome[Any]]:
        return (Outcome(value=work(one)) for one in wanted)

    monkeypatch.setattr(loading, "isolated", here)


def book(season: Season, round_: Round, entries: Mapping[str, Entries], path: Path) -> Path:
    """Write one book of some fields, filled."""
    order = Order(round_=round_, full=True)
    plans = [*book_plans(season, order, entries=entries)]
    visits = tuple(v for plan in plans for v in plan.visits if v.slip.field_id in entries)
    filled = {key: value for one in entries.values() for key, value in one.items()}
    identity = replace(
        plans[0].identity, book_id="ALL", visits=tuple(visit.slip for visit in visits)
    )
    whole = replace(plans[0], identity=identity, visits=visits, entries=filled)
    keep_identity(season, whole)
    path.write_bytes(write_book(whole))
    return path


def spoiled(season: Season, round_: Round, form: Form, folder: Path) -> dict[str, Spoiled]:
    """Plant a mistake in as many fields as there are kinds of answers, three times over."""
    draw = random.Random(f"mend/{round_.name}")
    everywhere = walked(round_, form, seed="mend")
    unclear = _asked_anyway(season, round_, everywhere, folder)
    fields = [field_id for field_id in everywhere if field_id not in unclear]
    kinds = [one for one in MISTAKES if one.fits(round_, form) and _is_asked(one)]
    draw.shuffle(kinds)
    found: dict[str, Spoiled] = {}
    for at, answer in enumerate(ANSWERS * 3):
        fitting = [kind for kind in (*kinds[at:], *kinds[:at]) if _takes(kind, answer)]
        for field_id in (one for one in fields if one not in found):
            planted = (plant(everywhere[field_id], kind, field_id, draw) for kind in fitting)
            one = next((one for one in planted if one is not None), None)
            if one is not None:
                found[field_id] = Spoiled(rightly=everywhere[field_id], planted=one, answer=answer)
                break
    return found


def _is_asked(kind: Mistake) -> bool:
    """Say whether a mistake is asked about at its own row, and spoils no other one."""
    asked = weight_of(kind.code) is not Weight.NOTE and kind.code not in _ELSEWHERE
    return asked and not kind.down


def _takes(kind: Mistake, answer: str) -> bool:
    return answer != "true" or weight_of(kind.code) is Weight.ASK


def _asked_anyway(
    season: Season, round_: Round, entries: Mapping[str, Entries], folder: Path
) -> set[str | None]:
    """Return the fields that something is asked of though nothing was planted."""
    path = book(season, round_, entries, folder / "rightly.xlsx")
    taken = check_file(season, path, now=NOW)
    assert taken.verdict is not None
    return {found.place.field_id for found in taken.verdict.open_problems}


def readings(season: Season) -> Dump:
    """Return every reading that stands, as typed, with its status."""
    with Ledger(season.folder) as ledger:
        return {
            (visit.field_id, *cell): (str(row["typed"]), str(row["status"]))
            for visit in ledger.visits()
            for cell, row in ledger.readings_now(visit.visit_id).items()
        }


def records(season: Season) -> dict[str, Any]:
    """Return every field's records that count."""
    with Ledger(season.folder) as ledger:
        return {visit.field_id: visit.records for visit in ledger.visits()}


def states(season: Season, field_id: str, one: Spoiled) -> set[State]:
    """Return where the question about a mistake stands, and whether anything is open at all."""
    here = (*one.row, one.planted.mistake.at)
    with Ledger(season.folder) as ledger:
        return {
            state
            for state in State
            for found in (question.problem for question in ledger.questions(state))
            if found.place.field_id == field_id and found.weight is not Weight.NOTE
            if state is State.OPEN
            or (found.place.table, found.place.row or "", found.place.column) == here
        }


SETTLED = {"true": {State.CONFIRMED}, "lost": {State.LOST}, "left": {State.OPEN}}


@pytest.mark.parametrize("name", list(ROUNDS))
def test_a_mended_book_settles_exactly_what_was_asked(name: str, tmp_path: Path) -> None:
    """Corrected, true, cannot recount, left as it was; no other reading changes, in any round."""
    open_place(tmp_path / "season")
    season = _opened(tmp_path / "season")
    round_, form = ROUNDS[name], ROUNDS[name].form(full=True)
    fields = spoiled(season, round_, form, tmp_path)
    answered = {one.answer for one in fields.values()}
    assert {"corrected", "lost", "left"} <= answered
    assert len(fields) >= 8
    entries = {field_id: one.planted.entries for field_id, one in fields.items()}
    first = book(season, round_, entries, tmp_path / "first.xlsx")
    (taken,) = take_in(season, [first], now=NOW)
    assert taken.accepted, taken.problems
    before = readings(season)
    (asked,) = write_corrections(season)
    cells = {k: v for one in fields.values() for k, v in one.cells(form).items()}
    (taken,) = take_in(season, [mend(asked.path, tmp_path / "mended.xlsx", cells)], now=NOW)
    assert taken.accepted, taken.problems
    after = readings(season)
    moved = {place for place in {*before, *after} if before.get(place) != after.get(place)}
    for field_id, one in fields.items():
        assert {place[1:3] for place in moved if place[0] == field_id} <= {one.row}, one
        assert states(season, field_id, one) == SETTLED.get(one.answer, set()), one
    _as_if_never_mistaken(season, round_, fields, tmp_path)
    _older_copy_changes_nothing(season, first, tmp_path)


def _opened(folder: Path) -> Season:
    from fieldbook.season.season import open_season

    season, problems = open_season(folder)
    assert season is not None, problems
    return season


def _as_if_never_mistaken(
    season: Season, round_: Round, fields: Mapping[str, Spoiled], folder: Path
) -> None:
    """Hold what was corrected against a season in which nobody erred, all other rows as well."""
    open_place(folder / "rightly")
    rightly = _opened(folder / "rightly")
    entries = {field_id: one.rightly for field_id, one in fields.items()}
    path = book(rightly, round_, entries, folder / "never.xlsx")
    (taken,) = take_in(rightly, [path], now=NOW)
    assert taken.accepted, taken.problems
    mended, never = records(season), records(rightly)
    for field_id, one in fields.items():
        for sheet, rows in never[field_id].items():
            if one.answer == "corrected":
                assert _filled(mended[field_id][sheet]) == _filled(rows), one
            else:
                others = [_without(one, sheet, found[field_id]) for found in (mended, never)]
                assert others[0] == others[1], one


def _filled(rows: Iterable[Any]) -> list[Any]:
    return [row for row in rows if any(v is not None for k, v in _entries(row).items())]


def _entries(row: Any) -> dict[str, Any]:
    return {name: value for name, value in vars(row).items() if name not in _KEYS}


_KEYS = ("field_id", "stop", "ear", "line", "photo", "load")


def _without(one: Spoiled, sheet: str, records: Mapping[str, Iterable[Any]]) -> list[Any]:
    """Leave out the row of the mistake."""
    here = one.planted.key if sheet == one.planted.mistake.sheet else None
    return [row for row in records[sheet] if _key(row) != here]


def _key(row: Any) -> tuple[Any, ...]:
    return tuple(vars(row)[name] for name in _KEYS if name in vars(row))


def _older_copy_changes_nothing(season: Season, first: Path, folder: Path) -> None:
    """Take the first book in again, as an app saved it: nothing is undone, nor by a replay."""
    stood = records(season)
    (again,) = take_in(season, [mend(first, folder / "older.xlsx", {})], now=NOW)
    assert again.accepted, again.problems
    assert records(season) == stood
    with Ledger(season.folder) as ledger:
        dumped = list(ledger.dump())
    assert rebuild(season.folder) == (3, [])
    with Ledger(season.folder) as ledger:
        assert list(ledger.dump()) == dumped
