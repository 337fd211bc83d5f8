"""What the ledger has of each field's visits, for checks to hold a book against."""

from collections.abc import Collection, Iterable, Iterator, Mapping

from fieldbook.check.history import (
    EAR_COLUMNS,
    STOP_COLUMNS,
    PastVisit,
    StopCount,
    ear_count,
    stop_count,
)
from fieldbook.check.printed import PrintedVisit, is_of_field
from fieldbook.check.roster import Roster
from fieldbook.check.verdict import Status
from fieldbook.ledger.asking import Row, as_day
from fieldbook.ledger.earlier import Earlier
from fieldbook.units import System

_DATED = """
FROM visits JOIN sheet_fields AS heads
ON heads.visit_id = visits.visit_id AND heads.visit_date IS NOT NULL"""
_FIELDS = f"SELECT DISTINCT visits.field_id {_DATED} ORDER BY visits.field_id"
_HEADS = f"""
SELECT visits.visit_id, visits.field_id, visits.field, visits.grower, visits.scout, visits.units,
visits.row_width_in, heads.visit_date, heads.stage, heads.scout AS walked_by, stages.status,
(SELECT count(*) FROM questions WHERE questions.visit_id = visits.visit_id
AND questions.code = 'stage-outside-round' AND questions.replaced_by IS NULL) AS mild {_DATED}
LEFT JOIN readings AS stages ON stages.visit_id = visits.visit_id
AND stages.sheet = 'fields' AND stages.name = 'stage' AND stages.replaced_by IS NULL
WHERE visits.field_id IN :fields ORDER BY heads.visit_date, visits.visit_id"""
_COUNTED = """
SELECT counted.visit_id, counted.stop, {columns}
FROM sheet_{sheet} AS counted JOIN visits ON visits.visit_id = counted.visit_id
WHERE visits.field_id IN :fields ORDER BY {keys}"""
_EARS = _COUNTED.format(sheet="ears", columns=", ".join(EAR_COLUMNS), keys="1, 2, counted.ear")
_STOPS = _COUNTED.format(sheet="stops", columns=", ".join(STOP_COLUMNS), keys="1, 2")


class PastVisits(Mapping[str, tuple[PastVisit, ...]]):
    """The dated visits of every field, in order of days, read when they are asked for.

    Visits whose books were printed for another field than the roster's are none of its field.
    The fields of the book at hand are read all at once, others one by one. It holds what it has
    read: make a new one once something else was taken in.
    """

    def __init__(self, ledger: Earlier, fields: Iterable[str], roster: Roster) -> None:
        self._ledger = ledger
        self._roster = roster
        self._first = frozenset(fields)
        self._known: dict[str, tuple[PastVisit, ...]] = {}

    def __getitem__(self, field_id: str) -> tuple[PastVisit, ...]:
        if field_id not in self._known:
            self._read(self._first if field_id in self._first else {field_id})
        visits = self._known[field_id]
        if not visits:
            raise KeyError(field_id)
        return visits

    def __iter__(self) -> Iterator[str]:
        return iter([str(row["field_id"]) for row in self._ledger.ask(_FIELDS)])

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _read(self, fields: Collection[str]) -> None:
        found: dict[str, list[PastVisit]] = {field_id: [] for field_id in fields}
        ears, stops = (self._by_visit(counted, fields) for counted in (_EARS, _STOPS))
        for head in self._heads(fields):
            visit_id = head["visit_id"]
            visit = _visit(head, ears.get(visit_id, ()), stops.get(visit_id, ()))
            found[head["field_id"]].append(visit)
        self._known |= {field_id: tuple(visits) for field_id, visits in found.items()}

    def _heads(self, fields: Collection[str]) -> list[Row]:
        rows = self._ledger.ask(_HEADS, fields=fields)
        return [row for row in rows if is_of_field(_printed(row), self._roster)]

    def _by_visit(self, counted: str, fields: Collection[str]) -> dict[str, list[Row]]:
        """Return the rows of a sheet's table by visit."""
        found: dict[str, list[Row]] = {}
        for row in self._ledger.ask(counted, fields=fields):
            found.setdefault(row["visit_id"], []).append(row)
        return found


def _printed(head: Row) -> PrintedVisit:
    return PrintedVisit(
        **{name: head[name] for name in ("visit_id", "field_id", "field", "grower")}
    )


def _visit(head: Row, ears: Iterable[Row], stops: Iterable[Row]) -> PastVisit:
    return PastVisit(
        visit_id=head["visit_id"],
        day=as_day(head["visit_date"]),
        stage=head["stage"],
        stage_confirmed=head["status"] == Status.CONFIRMED and not head["mild"],
        scout=head["walked_by"] or head["scout"],
        ears=tuple(ear_count(row["stop"], row) for row in ears),
        stops=tuple(_stops(head, stops)),
    )


def _stops(head: Row, rows: Iterable[Row]) -> Iterator[StopCount]:
    width, units = head["row_width_in"], System(head["units"])
    for row in rows:
        count = stop_count(row["stop"], row, row_width_in=width, units=units)
        if count is not None:
            yield count
