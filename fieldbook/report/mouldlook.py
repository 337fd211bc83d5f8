"""When ears are best opened for mould: one day for all that is told of a field."""

from dataclasses import dataclass
from datetime import date

from fieldbook.report.amounts import Amounts
from fieldbook.report.step import likely_day
from fieldbook.results.due import mould_reason
from fieldbook.results.result import FieldResult, StageResult
from fieldbook.words import say

_RIPE = "R6"


@dataclass(frozen=True, kw_only=True)
class MouldLook:
    """The best day to open ears, or the first and last where only a range of days is known."""

    day: date
    last: date | None = None

    def is_late(self, today: date) -> bool:
        """Say whether it is past."""
        return (self.last or self.day) < today

    def words(self, amounts: Amounts) -> str:
        """Say when it is, or was: ``about Sat 12 September``, ``5 to 24 September``."""
        if self.last:
            return amounts.days(self.day, self.last)
        return say("about {day}", amounts.language, day=amounts.day(self.day))


def mould_look(result: FieldResult) -> MouldLook | None:
    """Return the day of the watch where it asks for a look, else that of black layer, if known."""
    watch = result.outlook.gibberella
    if watch and mould_reason(result):
        return MouldLook(day=watch.follow_up)
    ripe = ripe_stage(result)
    day = likely_day(ripe) if ripe else None
    if ripe is None or day is None:
        return None
    return MouldLook(day=day, last=None if ripe.date else ripe.latest)


def ripe_stage(result: FieldResult) -> StageResult | None:
    """Return black layer as it is forecast or was seen."""
    return next((one for one in result.stages if one.stage == _RIPE), None)
