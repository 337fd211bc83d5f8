"""What a season knows, read once: the ledger by field, and in which state each field stands."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from fieldbook.check.book import Question, State
from fieldbook.forms.rounds import HARVEST
from fieldbook.problems import Problem
from fieldbook.season.folder import digest
from fieldbook.season.ledger import Ledger
from fieldbook.season.photos import photo_path
from fieldbook.season.season import Season
from fieldbook.season.stored import StoredVisit, seen_by, visit_day

T = TypeVar("T")


@dataclass(frozen=True, kw_only=True)
class Known:
    """The visits and the standing questions of a season, by field ID."""

    visits: Mapping[str, Sequence[StoredVisit]]
    questions: Mapping[State, Mapping[str, Sequence[Problem]]]

    def of_field(self, field_id: str) -> tuple[Sequence[StoredVisit], dict[State, list[Problem]]]:
        """Return the visits and the questions of one field."""
        asked = {state: [*found.get(field_id, ())] for state, found in self.questions.items()}
        return self.visits.get(field_id, ()), asked

    def asked_of_scouts(self, field_ids: Iterable[str]) -> dict[str, list[Problem]]:
        """Return what stands open of the visits of each scout in these fields, by scout.

        Questions come with the notes to the scout, as the weights of the problems say.
        """
        asked: dict[str, list[Problem]] = {}
        for field_id in field_ids:
            scouts = {visit.visit_id: visit.scout for visit in self.visits.get(field_id, ())}
            for found in self.questions[State.OPEN].get(field_id, ()):
                if found.place.visit_id in scouts:
                    asked.setdefault(scouts[found.place.visit_id], []).append(found)
        return asked


def read_known(season: Season) -> Known:
    """Read the ledger."""
    with Ledger(season.folder) as ledger:
        return Known(
            visits=_by_field(ledger.visits(), lambda visit: visit.field_id),
            questions={state: _asked_by_field(ledger.questions(state)) for state in State},
        )


def _by_field(found: Iterable[T], field_of: Callable[[T], str | None]) -> dict[str, list[T]]:
    """Sort what was found to its fields, in one pass however many there are."""
    sorted_: dict[str, list[T]] = {}
    for one in found:
        sorted_.setdefault(field_of(one) or "", []).append(one)
    return sorted_


def _asked_by_field(questions: Iterable[Question]) -> dict[str, list[Problem]]:
    return _by_field((one.problem for one in questions), lambda found: found.place.field_id)


def visit_days(visits: Iterable[StoredVisit], as_of: date) -> tuple[date, ...]:
    """Return the days up to `as_of` on which a field was scouted; scale tickets are no look."""
    scouted = (visit for visit in seen_by(visits, as_of) if visit.round != HARVEST.name)
    days = (visit_day(visit) for visit in scouted)
    return tuple(dict.fromkeys(day for day in days if day))


def field_states(season: Season, known: Known, as_of: date) -> dict[str, str]:
    """Return a hash of all that the results of each field are worked out from, by field ID.

    The settings and the weather count as a whole, the roster and the ledger field by field. Equal
    states give equal results, so these need not be worked out to know that nothing changed.
    """
    roster = season.folder.roster
    hashes = season.hashes()
    if roster:
        hashes.pop(roster.name, None)
    shared = repr((as_of, sorted(hashes.items())))
    return {
        field_id: digest(
            repr(
                (shared, field, *known.of_field(field_id), _photos(season, known, field_id))
            ).encode("utf-8", "backslashreplace")
        )
        for field_id, field in season.roster.fields.items()
    }


def _photos(season: Season, known: Known, field_id: str) -> list[bool]:
    """Say of each photo whether it lies where it is kept."""
    found = (photo for visit in known.visits.get(field_id, ()) for photo in visit.photos)
    return [photo_path(season.folder.photos, photo.sha256).is_file() for photo in found]
