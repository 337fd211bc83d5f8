"""The dated stages of a field and what each date rests on."""

import datetime
from dataclasses import dataclass

HEAT, DAYS, SEEN = "heat units", "days after silking", "seen"
SILKS = "silks counted"
"""What R1 rests on where plants with silks were counted; no forecast gives it."""


@dataclass(frozen=True, kw_only=True)
class Basis:
    """What a date rests on.

    ``kind`` is ``heat units``, ``days after silking`` or ``seen``. ``anchor_stage`` and
    ``anchor_date`` name the stage seen that the date is counted from, None where none bears on it.
    ``years`` is how many past years are behind it, 0 where the season's own weather or a visit is
    enough.
    """

    kind: str
    anchor_stage: str | None = None
    anchor_date: datetime.date | None = None
    years: int = 0


@dataclass(frozen=True, kw_only=True)
class StageDate:
    """A stage and when the field reaches it.

    ``date`` is the median, ``earliest`` and ``latest`` the 10th and 90th percentile of the runs;
    with fewer than five past years the first and the last of them. Where visits overrule the heat,
    they are the days that the visits leave open. A run that does not reach the
    stage by 31 December counts as later than any date: where a percentile falls on such a run, or
    between it and the one before, it is None. ``years_short`` is how many runs those are.
    """

    stage: str
    date: datetime.date | None
    earliest: datetime.date | None
    latest: datetime.date | None
    basis: Basis
    years_short: int = 0

    @property
    def years(self) -> int:
        """How many past years are behind the date."""
        return self.basis.years
