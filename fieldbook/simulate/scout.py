"""A scout who walks the invented fields and fills books, with a few honest mistakes."""

import random
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from fieldbook.simulate.place import Plot, Truth
from fieldbook.workbook.plan import EntryKey, EntryValue

Entries = dict[EntryKey, EntryValue]


@dataclass(frozen=True, kw_only=True)
class Walk:
    """One visit to be made: when, at what stage, how many stops and ears are done."""

    day: date
    stage: str
    grain_fill: str | None
    stops: int
    ears: int
    planned_stops: int = 5
    edge_stop: int | None = None
    remark: str | None = None


def walk_field(plot: Plot, walk: Walk, *, seed: str) -> Entries:
    """Fill one field's cells as read there."""
    draw = random.Random(f"{seed}/{plot.row.field_id}")
    field_id = str(plot.row.field_id)
    entries: Entries = {
        ("fields", (field_id,), "visit_date"): walk.day,
        ("fields", (field_id,), "stage"): walk.stage,
    }
    if walk.grain_fill:
        entries["fields", (field_id,), "grain_fill"] = walk.grain_fill
    if walk.remark:
        entries["fields", (field_id,), "remark"] = walk.remark
    for stop in range(1, walk.stops + 1):
        here = draw.gauss(1.0, plot.truth.spread_between_stops)
        entries |= _stop(field_id, stop, plot.truth, here, draw, edge=stop == walk.edge_stop)
        for ear in range(1, walk.ears + 1):
            entries |= _ear((field_id, stop, ear), plot.truth, here, draw)
    return entries


def _stop(
    field_id: str, stop: int, truth: Truth, here: float, draw: random.Random, *, edge: bool
) -> Entries:
    ears = max(1, round(draw.gauss(truth.ears * (0.8 if edge else 1.0), 1.4)))
    key = ("stops", (field_id, stop))
    entries: Entries = {
        (*key, "ears"): ears,
        (*key, "plants"): ears + draw.choice((0, 1, 1, 2)),
    }
    if edge:
        entries[(*key, "place")] = "end-rows"
    return entries


def _ear(key: tuple[str, int, int], truth: Truth, here: float, draw: random.Random) -> Entries:
    places = max(12, round(draw.gauss(truth.places * (0.5 + 0.5 * here), 2.2)))
    tip_unset = _gap(truth.tip_unset, draw)
    tip_aborted = _gap(truth.tip_aborted, draw)
    base = _gap(truth.base_gap, draw)
    along = max(5, places - tip_unset - tip_aborted - base)
    rows = max(8, truth.rows_around + draw.choice((-2, 0, 0, 0, 2)))
    entries: Entries = {
        ("ears", key, "rows_around"): rows,
        ("ears", key, "kernels_set"): along,
        ("ears", key, "tip_unset"): tip_unset,
        ("ears", key, "tip_aborted"): tip_aborted,
    }
    if base == 0:
        entries["ears", key, "no_other_gaps"] = "yes"
    else:
        entries["ears", key, "base_blank"] = base
        entries["ears", key, "inside_blank"] = 0
    return entries


def _gap(mean: float, draw: random.Random) -> int:
    return max(0, round(draw.gauss(mean, 0.35 * mean + 0.3)))


def with_mistakes(entries: Mapping[EntryKey, EntryValue], field_id: str) -> Entries:
    """Plant what tired scouts type: an odd count, a word beside a number, a rare but true ear."""
    spoiled = dict(entries)
    spoiled["ears", (field_id, 2, 1), "rows_around"] = 15
    spoiled["ears", (field_id, 3, 2), "rows_around"] = "16 rows"
    spoiled["ears", (field_id, 4, 1), "rows_around"] = 24
    spoiled["ears", (field_id, 4, 1), "answer"] = "true"
    del spoiled["stops", (field_id, 5), "ears"]
    return spoiled
