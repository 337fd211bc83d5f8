"""A scout who walks an invented field and fills the cells of a round's form.

He counts and judges with small errors, forgets a cell now and then, and heeds the Look column:
what it asks about he confirms, since he saw it. What a careless one does beside is in `mistakes`.
"""

import random
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldbook.cross_rules import NeedsAlso
from fieldbook.forms.answers import TRUE
from fieldbook.forms.layout import SheetForm
from fieldbook.forms.leaves import NO_DISEASE
from fieldbook.forms.rounds import Form
from fieldbook.problems import Weight, weight_of
from fieldbook.schema import Column
from fieldbook.simulate.field import (
    FieldTruth,
    harvest,
    load_tickets,
    look_at_leaves,
    pull_ear,
    see_field,
    see_stop,
    try_stalks,
)
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue

Entries = dict[EntryKey, EntryValue]
_PLANTS = 20
# Chances of an honest error, all assumed: one off in a count, a share read 5 % off.
_ONE_OFF, _SHARE_OFF, _STEP_PCT = 0.12, 0.2, 5
_SURE = frozenset(
    {"rows_around", "silked", "looked", "tried", "ears_opened", "bag_ears", "acres_cut", "wet_lb"}
)
_KEPT = frozenset({"disease", "mould", "answer", "remark", "beetles_on", "pest", "wet_lb"})


@dataclass(frozen=True, kw_only=True)
class Walk:
    """One visit: when, with which form and how many rows, and how much of it gets done.

    ``forgets`` is the chance that a cell which could be filled stays empty.
    """

    day: date
    form: Form
    rows: Mapping[str, int]
    stops_done: int | None = None
    forgets: float = 0.0
    remark: str | None = None

    def does(self, row: tuple[int, ...]) -> bool:
        """Say whether the scout gets as far as this row."""
        return self.stops_done is None or not row or row[0] <= self.stops_done


def walk_field(truth: FieldTruth, walk: Walk, *, seed: str) -> Entries:
    """Fill one field's cells as read there; the same seed gives the same cells."""
    field_id = truth.plot.field_id
    entries: Entries = {}
    for sheet in walk.form.sheets:
        draw = random.Random(f"{seed}/{field_id}/{walk.day}/{sheet.sheet.name}")
        for row, seen in _seen(truth, walk, sheet, draw):
            read = _confirmed(sheet, _read(sheet, seen, walk.forgets, draw))
            for name, value in read.items():
                entries[sheet.sheet.name, (field_id, *row), name] = value
    return entries


def _seen(
    truth: FieldTruth, walk: Walk, sheet: SheetForm, draw: random.Random
) -> Iterator[tuple[tuple[int, ...], Mapping[str, Any]]]:
    """Give what there is to read in every row that the scout does."""
    if walk.form.has("harvest"):
        yield from _cut(truth, walk, sheet, draw)
        return
    rows = [row for row in sheet.sheet.planned_rows(walk.rows) if walk.does(row)]
    if sheet.sheet.name == "leaves":
        yield from _leaves(truth, walk, {row[0] for row in rows}, draw)
        return
    for row in rows:
        if sheet.sheet.name == "fields":
            seen = vars(see_field(truth, walk.day, draw))
            yield row, {**seen, "visit_date": walk.day, "remark": walk.remark}
        elif sheet.sheet.name == "stops":
            yield row, vars(see_stop(truth, row[0], walk.day, draw))
        elif sheet.sheet.name == "ears":
            yield row, vars(pull_ear(truth, row[0], walk.day, draw))
        elif sheet.sheet.name == "stalks":
            yield row, vars(try_stalks(truth, row[0], walk.day, draw))


def _cut(
    truth: FieldTruth, walk: Walk, sheet: SheetForm, draw: random.Random
) -> Iterator[tuple[tuple[int, ...], Mapping[str, Any]]]:
    """Copy the scale tickets of a field and the acres that they came from."""
    cut = harvest(truth, random.Random(f"{truth.seed}/{truth.plot.field_id}/harvest"))
    if sheet.sheet.name == "fields":
        yield (), {"visit_date": walk.day, "acres_cut": cut.acres, "remark": walk.remark}
        return
    tickets = load_tickets(cut, draw, most=walk.rows["load"])
    for load, ticket in enumerate(tickets, start=1):
        yield (load,), vars(ticket)


def _leaves(
    truth: FieldTruth, walk: Walk, stops: Iterable[int], draw: random.Random
) -> Iterator[tuple[tuple[int, ...], Mapping[str, Any]]]:
    for stop in sorted(stops):
        found = look_at_leaves(truth, stop, walk.day, draw, plants=_PLANTS)
        for line, leaf in enumerate(found[: walk.rows["line"]], start=1):
            yield (stop, line), vars(leaf)
        if not found:
            yield (stop, 1), {"disease": NO_DISEASE, "looked": _PLANTS}


def _read(
    sheet: SheetForm, seen: Mapping[str, Any], forgets: float, draw: random.Random
) -> dict[str, EntryValue]:
    """Read what the form asks for, with honest errors, and leave a few cells out."""
    needed = {rule.needs for rule in sheet.sheet.rules if isinstance(rule, NeedsAlso)}
    read: dict[str, EntryValue] = {}
    for column in sheet.entries:
        value = seen.get(column.name)
        if value is None or _is_clear(sheet, column, seen):
            continue
        can_wait = column.name not in needed | _KEPT and not column.needed
        if can_wait and draw.random() < forgets:
            continue
        read[column.name] = _misread(column, value, draw)
    return _agreeing(sheet, read)


def _is_clear(sheet: SheetForm, column: Column, seen: Mapping[str, Any]) -> bool:
    """Say whether the scout need not type this: another cell of the row says it already."""
    if column.name.startswith("fallen_"):
        return seen.get("all_fallen") is not None
    if column.name in ("place", "stop_stage", "leaf_rolling"):
        return seen[column.name] in ("interior", "none")
    is_bare = "bare_cob" in sheet.names and seen.get("bare_cob") is not None
    return is_bare and column.name in ("kernels_set", "opposite_set")


def _misread(column: Column, value: EntryValue, draw: random.Random) -> EntryValue:
    if isinstance(value, str | date) or column.name in _SURE:
        return value
    off = draw.choice((-1, 1))
    if isinstance(value, int):
        return max(0, value + off) if value and draw.random() < _ONE_OFF else value
    if column.name.endswith("_pct") and column.name not in ("moisture_pct", "bag_moisture_pct"):
        could_be_off = _STEP_PCT <= value <= 100 - _STEP_PCT and draw.random() < _SHARE_OFF
        read = value + _STEP_PCT * off if could_be_off else value
        return float(round(read)) if read >= 1 else read
    return round(value, 2)


def _agreeing(sheet: SheetForm, read: dict[str, EntryValue]) -> dict[str, EntryValue]:
    """Count again what the row itself shows to be impossible, until nothing is."""
    for rule in sheet.rules(System.US):
        if weight_of(rule.code) is Weight.ERROR and rule.broken(read):
            other = getattr(rule, "other", None)
            if other:
                read[rule.column] = read[other]  # type: ignore[attr-defined]
            else:
                read.pop(getattr(rule, "column", rule.marks[0] if rule.marks else ""), None)
    return read


def _confirmed(sheet: SheetForm, read: dict[str, EntryValue]) -> dict[str, EntryValue]:
    """Answer the Look column where it asks about something rare that was really seen."""
    asked = (rule for rule in sheet.rules(System.US) if weight_of(rule.code) is Weight.ASK)
    if "answer" in sheet.names and any(
        rule.broken(read) for rule in asked if not isinstance(rule, NeedsAlso)
    ):
        return {**read, "answer": TRUE.key}
    return read
