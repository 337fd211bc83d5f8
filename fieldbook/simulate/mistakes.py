"""What tired scouts type: each kind of mistake, and what a good check must say of it, where.

A mistake changes cells of one row that was filled rightly. The table is plain data, so that a
test can plant every kind in every round and hold the checks against it.
"""

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from fieldbook.simulate.mistake import Mistake
from fieldbook.simulate.scout import Entries
from fieldbook.workbook.plan import EntryValue

RowKey = tuple[str | int, ...]
Values = Mapping[str, EntryValue | None]


@dataclass(frozen=True, kw_only=True)
class Planted:
    """A mistake as made: the entries after it, and the row it is in."""

    mistake: Mistake
    entries: Entries
    key: RowKey


def plant(entries: Entries, mistake: Mistake, field_id: str, draw: random.Random) -> Planted | None:
    """Make a mistake in one row of a field; None where no row can be spoiled this way."""
    if mistake.fields and field_id not in mistake.fields:
        return None
    rows = _rows(entries, mistake.sheet, field_id)
    keys = sorted(rows)
    first = keys[0] if keys else ()
    fitting = [key for key in keys[: len(keys) - mistake.down] if mistake.fits_row(rows[key])]
    if mistake.again:
        fitting = [key for key in fitting if key != first]
    if not fitting:
        return None
    key = draw.choice(fitting)
    if mistake.down:
        at = keys.index(key) + 1
        below = keys[at : at + mistake.down]
        return Planted(mistake=mistake, entries=_copied(entries, mistake, key, below), key=below[0])
    spoiled = dict(entries)
    repeated = {name: rows[first].get(name) for name in mistake.again}
    for name, value in {**mistake.to, **repeated}.items():
        spoiled.pop((mistake.sheet, key, name), None)
        if value is not None:
            spoiled[mistake.sheet, key, name] = value
    return Planted(mistake=mistake, entries=spoiled, key=key)


def _copied(
    entries: Entries, mistake: Mistake, source: RowKey, targets: Iterable[RowKey]
) -> Entries:
    """Drag the cells of one row over others."""
    below = set(targets)
    kept = {at: v for at, v in entries.items() if at[0] != mistake.sheet or at[1] not in below}
    cells = {at[2]: v for at, v in entries.items() if at[:2] == (mistake.sheet, source)}
    copies = {(mistake.sheet, key, name): v for key in below for name, v in cells.items()}
    return kept | copies


def _rows(entries: Entries, sheet: str, field_id: str) -> Mapping[RowKey, dict[str, EntryValue]]:
    rows: dict[RowKey, dict[str, EntryValue]] = {}
    for (name, key, column), value in entries.items():
        if name == sheet and key[0] == field_id:
            rows.setdefault(key, {})[column] = value
    return rows
