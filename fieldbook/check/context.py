"""What the checks may know beside the book: one frozen view of the season."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from fieldbook.check.history import PastVisit
from fieldbook.check.printed import Printed, is_of_field
from fieldbook.check.roster import Field, Roster
from fieldbook.units import System

if TYPE_CHECKING:
    from fieldbook.agronomy.heat import DailyTemps


def _no_weather(_: Field) -> None:
    return None


@dataclass(frozen=True, kw_only=True)
class Context:
    """Roster, history, weather and dates that a book is judged against.

    ``today`` is the season's own day; ``received`` the day on which the file came in, where known.
    ``sent_by`` is the scout from whose address it came by mail; None if it came otherwise.
    ``past`` are the dated visits of every field in order of days, and ``temps`` gives a field's
    temperatures from planting on, None where there are none. Both may be looked up as they are
    needed: most books need few of them.
    """

    season_id: str
    year: int
    language: str
    units: System
    roster: Roster
    today: date
    received: date | None = None
    past: Mapping[str, tuple[PastVisit, ...]] = field(default_factory=dict)
    temps: Callable[[Field], DailyTemps | None] = _no_weather
    sent_by: str | None = None

    def field_of(self, visit: Printed) -> Field | None:
        """Return the roster's field of a visit; None where it has none, or one of other names."""
        field = self.roster.fields.get(visit.field_id)
        return field if is_of_field(visit, self.roster) else None

    def seen(self, visit: Printed) -> Iterator[PastVisit]:
        """Yield the other visits of a visit's field, in order of days; none for other names."""
        known = self.past.get(visit.field_id, ()) if is_of_field(visit, self.roster) else ()
        return (one for one in known if one.visit_id != visit.visit_id)
