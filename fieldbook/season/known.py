"""What the ledger knows of each field, read field by field, and in which state a field stands."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fieldbook.check.printed import (
    PrintedVisit,
    has_other_names,
    is_of_field,
    printed_problems,
)
from fieldbook.check.roster import Roster
from fieldbook.check.verdict import State
from fieldbook.forms.rounds import HARVEST
from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.photos import photo_path
from fieldbook.ledger.stored import StoredVisit, seen_by, visit_day
from fieldbook.problems import Problem
from fieldbook.season.season import Season


@dataclass(frozen=True, kw_only=True)
class FieldKnown:
    """The visits and the standing questions of one field.

    ``left_out`` are visits under its ID whose books were printed for another field.
    """

    visits: Sequence[StoredVisit]
    left_out: Sequence[StoredVisit] = ()
    questions: Mapping[State, Sequence[Problem]]


@dataclass(frozen=True, kw_only=True)
class Known:
    """The ledger of a season to be read field by field.

    ``seen`` are the fields that have visits, and ``other_names`` the visits whose names are not
    those of the roster.
    """

    folder: SeasonFolder
    roster: Roster
    seen: tuple[str, ...]
    other_names: tuple[PrintedVisit, ...]

    @property
    def name_problems(self) -> tuple[Problem, ...]:
        """What is to say of names that books were printed with and the roster has otherwise."""
        return tuple(printed_problems(self.other_names, self.roster))

    def fields(self, field_ids: Iterable[str]) -> Iterator[tuple[str, FieldKnown]]:
        """Yield each of these fields with all that is known of it."""
        with Ledger(self.folder) as ledger:
            for some in ledger.by_field(field_ids):
                parted = {one: _parted(visits, self.roster) for one, visits in some.items()}
                asked = _asked(ledger, {one: own for one, (own, _) in parted.items()})
                for one, (own, others) in parted.items():
                    yield one, FieldKnown(visits=own, questions=asked[one], left_out=others)

    def asked_of_scouts(self, field_ids: Iterable[str]) -> dict[str, list[Problem]]:
        """Return what stands open of the visits of each scout in these fields, by scout.

        Questions come with the notes to the scout, as the weights of the problems say.
        """
        asked: dict[str, list[Problem]] = {}
        for _, field in self.fields(field_ids):
            scouts = {visit.visit_id: visit.scout for visit in field.visits}
            for found in field.questions[State.OPEN]:
                if found.place.visit_id in scouts:
                    asked.setdefault(scouts[found.place.visit_id], []).append(found)
        return asked


def read_known(season: Season) -> Known:
    """Look into the ledger."""
    with Ledger(season.folder) as ledger:
        seen: dict[str, None] = {}
        strange = []
        for visit in ledger.printed():
            seen[visit.field_id] = None
            if has_other_names(visit, season.roster):
                strange.append(visit)
    return Known(
        folder=season.folder,
        roster=season.roster,
        seen=tuple(seen),
        other_names=tuple(strange),
    )


def _parted(
    visits: Iterable[StoredVisit], roster: Roster
) -> tuple[list[StoredVisit], list[StoredVisit]]:
    """Part a field's visits from those whose books were printed for another field."""
    own: list[StoredVisit] = []
    others: list[StoredVisit] = []
    for visit in visits:
        (own if is_of_field(visit, roster) else others).append(visit)
    return own, others


def _asked(
    ledger: Ledger, visits: Mapping[str, Iterable[StoredVisit]]
) -> dict[str, dict[State, list[Problem]]]:
    """Return by field and by state what stands asked of these visits."""
    field_of = {visit.visit_id: one for one, some in visits.items() for visit in some}
    asked: dict[str, dict[State, list[Problem]]] = {
        one: {state: [] for state in State} for one in visits
    }
    for question in ledger.questions(*State, visit_ids=field_of):
        asked[field_of[question.visit_id]][question.state].append(question.problem)
    return asked


def visit_days(visits: Iterable[StoredVisit], as_of: date) -> tuple[date, ...]:
    """Return the days up to `as_of` on which a field was scouted; scale tickets are no look."""
    scouted = (visit for visit in seen_by(visits, as_of) if visit.round != HARVEST.name)
    days = (visit_day(visit) for visit in scouted)
    return tuple(dict.fromkeys(day for day in days if day))


@dataclass(frozen=True, kw_only=True)
class FieldState:
    """A hash of all that the results of a field are worked out from, and the days it was scouted.

    Equal states give equal results, so these need not be worked out to know that nothing changed.
    """

    inputs: str
    days: tuple[date, ...]


def field_states(season: Season, known: Known, as_of: date) -> dict[str, FieldState]:
    """Return the state of each field of the roster on a day, by field ID.

    The settings and the weather count as a whole, the roster and the ledger field by field.
    """
    roster = season.folder.roster
    hashes = season.hashes()
    if roster:
        hashes.pop(roster.name, None)
    shared = repr((as_of, sorted(hashes.items())))
    fields = season.roster.fields
    return {
        field_id: FieldState(
            inputs=digest(
                repr((shared, fields[field_id], found, _photos(season, found))).encode(
                    "utf-8", "backslashreplace"
                )
            ),
            days=visit_days(found.visits, as_of),
        )
        for field_id, found in known.fields(fields)
    }


def _photos(season: Season, known: FieldKnown) -> list[bool]:
    """Say of each photo whether it lies where it is kept."""
    found = (photo for visit in known.visits for photo in visit.photos)
    return [photo_path(season.folder.photos, photo.sha256).is_file() for photo in found]
