"""Hold a stage against the heat, or else the days, since planting."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from fieldbook.agronomy.stage_limits import Limits, day_limits, heat_limits_f
from fieldbook.check.context import Context
from fieldbook.check.roster import Field, Planting
from fieldbook.check.rows import Finding
from fieldbook.check.visit import Located, VisitDraft, at_head
from fieldbook.figures import shipped_figures
from fieldbook.problems import Param, problem
from fieldbook.units import HEAT, System
from fieldbook.words import phrase

if TYPE_CHECKING:
    from fieldbook.agronomy.heat import DailyTemps

_SEASONS_KEPT = 512
_EARLY, _FITS, _LATE = -1, 0, 1


@dataclass(frozen=True, kw_only=True)
class _Since:
    """What came since planting, at least and at most, against what a stage allows."""

    least: float
    most: float
    allowed: Limits
    by_heat: bool

    @property
    def verdict(self) -> int:
        """Say whether a stage is too early, fits, or is too late."""
        first, last = self.allowed
        if self.most < first:
            return _EARLY
        return _LATE if last is not None and self.least > last else _FITS


def stage_and_heat(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a stage that the heat since planting can't have reached, or passed long ago.

    Where day and month of the date, exchanged, would fit, the date is in doubt and not the stage.
    A field of several plantings is only asked about where none of them fits.
    """
    head, stage, day = visit.head, visit.stage, visit.day
    field = context.field_of(visit.slip)
    if head is None or field is None or stage is None or day is None:
        return
    verdict, since = _judged(field, stage, day, context)
    if verdict == _FITS:
        return
    words = {"stage": stage, "field": visit.name, "typed": day.isoformat()}
    other = _exchanged(day)
    if other and other <= context.today and _judged(field, stage, other, context)[0] == _FITS:
        place, suggested = head.place("visit_date"), other.isoformat()
        found = problem("date-exchanged", place, suggested=suggested, **words)
        yield at_head(Finding(problem=found, marks=("visit_date",)))
        return
    code = "stage-before-heat" if verdict == _EARLY else "stage-behind-heat"
    found = problem(code, head.place("stage"), **words, **_amounts(since, verdict, context))
    yield at_head(Finding(problem=found, marks=("stage",)))


def _judged(field: Field, stage: str, day: date, context: Context) -> tuple[int, _Since]:
    """Return one verdict for all plantings of a field, and the planting's that lies nearest."""
    known = [_since(field, one, stage, day, context) for one in _oldest_first(field.plantings)]
    verdicts = {one.verdict for one in known}
    if len(verdicts) > 1:
        return _FITS, known[0]
    return known[0].verdict, known[0] if known[0].verdict == _EARLY else known[-1]


def _oldest_first(plantings: Iterable[Planting]) -> list[Planting]:
    return sorted(plantings, key=lambda planting: planting.planted)


def _since(field: Field, planting: Planting, stage: str, day: date, context: Context) -> _Since:
    """Count heat where weather and the hybrid's needs are known, else days."""
    needs = planting.needs(shipped_figures())
    heat = _heat(field, planting, day, context) if needs else None
    if needs is None or heat is None:
        days = (day - planting.planted).days
        return _Since(least=days, most=days, allowed=day_limits(stage), by_heat=False)
    allowed = heat_limits_f(stage, needs, planting.planted)
    return _Since(least=heat[0], most=heat[1], allowed=allowed, by_heat=True)


def _heat(
    field: Field, planting: Planting, day: date, context: Context
) -> tuple[float, float] | None:
    """Return the least and most heat by a day [GDD F]: days after the weather's last are open."""
    temps = context.temps(field)
    if temps is None or day < temps.first:
        return None
    sums = _sums(planting.planted, temps)
    known = sums[min((day - temps.first).days, len(sums) - 1)]
    open_days = max(0, (day - temps.last).days)
    figures = shipped_figures()
    most_a_day = figures.number("heat.cap_f") - figures.number("heat.base_f")
    return known, known + open_days * most_a_day


@lru_cache(maxsize=_SEASONS_KEPT)
def _sums(planted: date, temps: DailyTemps) -> tuple[float, ...]:
    """Return the heat since planting, day by day; fields of one day and station share it."""
    from fieldbook.agronomy.heat import gdd_since_planting_f

    return tuple(gdd_since_planting_f(planted, temps).tolist())


def _exchanged(day: date) -> date | None:
    """Return the date with day and month exchanged; None where that is no other date."""
    if day.day == day.month:
        return None
    try:
        return date(day.year, day.day, day.month)
    except ValueError:
        return None


def _amounts(since: _Since, verdict: int, context: Context) -> dict[str, Param]:
    """Say what came since planting, and the limit that it does not meet."""
    early = verdict == _EARLY
    had, limit = (since.most, since.allowed[0]) if early else (since.least, since.allowed[1])
    words = {"had": had, "limit": limit or 0.0}
    return {name: _amount(value, since.by_heat, context) for name, value in words.items()}


def _amount(value: float, by_heat: bool, context: Context) -> Param:
    if not by_heat:
        count = round(value)
        return phrase("one day") if count == 1 else phrase("{count} days", count=count)
    degree = "°C" if context.units is System.METRIC else "°F"
    return f"{HEAT.shown(value, context.units):,.0f} GDD ({degree})"
