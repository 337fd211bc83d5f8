"""What the checks may know beside the book: one frozen view of the season."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from fieldbook.check.roster import Roster
from fieldbook.units import System


@dataclass(frozen=True, kw_only=True)
class SeenStage:
    """A stage that an earlier visit saw in a field."""

    visit_id: str
    day: date
    stage: str


@dataclass(frozen=True, kw_only=True)
class Context:
    """Roster, history and dates that a book is judged against.

    ``today`` is the season's own day; ``received`` the day on which the file came in, where known.
    """

    season_id: str
    year: int
    language: str
    units: System
    roster: Roster
    today: date
    received: date | None = None
    seen: Mapping[str, tuple[SeenStage, ...]] = field(default_factory=dict)
