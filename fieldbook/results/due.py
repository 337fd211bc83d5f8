"""When each round of a field is due: from its forecast stages, as likely days with their spread."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from fieldbook.agronomy.windows import RAISED, SOME
from fieldbook.check.roster import Field
from fieldbook.figures import Figures
from fieldbook.forms.rounds import KERNEL_COUNT, POLLINATION, RIPENING, ROADSIDE, ROUNDS
from fieldbook.results.result import FieldResult, StageResult

HOT_AND_DRY = "hot-and-dry"
MOULD_REASONS = (RAISED, SOME, HOT_AND_DRY)
_STAGES = {
    ROADSIDE.name: ("R1", "R1"),
    POLLINATION.name: ("R1", "R1"),
    KERNEL_COUNT.name: ("R3", "R5"),
    RIPENING.name: ("R5", "R6"),
}


@dataclass(frozen=True, kw_only=True)
class LikelyDay:
    """A likely day and its spread; an end that no past year tells is None."""

    day: date
    earliest: date | None
    latest: date | None


@dataclass(frozen=True, kw_only=True)
class RoundWindow:
    """The days on which a round of a field is worth walking.

    ``mould`` is why ears are to be opened for mould on it, one of `MOULD_REASONS`; None: for no
    more than is usual.
    """

    round: str
    opens: LikelyDay
    closes: LikelyDay
    mould: str | None = None


@dataclass(frozen=True, kw_only=True)
class FieldRounds:
    """A field's rounds still to walk, in the order of the season, and why one has no dates."""

    windows: tuple[RoundWindow, ...]
    undated: str | None


def field_rounds(field: Field, result: FieldResult, figures: Figures) -> FieldRounds:
    """Date the rounds of a field that are still to walk.

    A round that a visit was taken in for is done, and so is every round before it; nor is one due
    whose window is over when that of the next has opened by `result.as_of`. Where the watch for
    ear mould asks for it, the ripening round is a look at ears for mould about six weeks after
    silking, walked once more if it was walked before that.

    Parameters
    ----------
    result
        The field's results; their ``as_of`` is the day that the dates are looked at from.

    Returns
    -------
    FieldRounds
        A window reaches from the likely day of its first stage to that of its last, moved by the
        days of ``round.*_days``. The likely day is the median; where there is only a range of
        days, its middle.
    """
    stages = {stage.stage: stage for stage in result.stages}
    left = _rounds_left(visit.round for visit in result.visits)
    found = {name: _window(name, stages, figures) for name in left}
    windows = _with_mould_look([one for one in found.values() if one], result, figures)
    opened = [at for at, window in enumerate(windows) if window.opens.day <= result.as_of]
    newest = max(opened, default=0)
    due = (w for at, w in enumerate(windows) if at >= newest or w.closes.day >= result.as_of)
    undated = _why_undated(field, result) if None in found.values() else None
    return FieldRounds(windows=tuple(due), undated=undated)


def mould_reason(result: FieldResult) -> str | None:
    """Return why ears are to be opened for mould, one of `MOULD_REASONS`; None: no watch asks."""
    watch = result.outlook.gibberella
    if watch is None:
        return None
    if watch.level in (RAISED, SOME):
        return watch.level
    return HOT_AND_DRY if result.outlook.hot_and_dry else None


def mould_looked_on(result: FieldResult) -> date | None:
    """Return the day on which ears were opened for mould, as late as the watch asks where it does.

    Mould seen too soon tells little.
    """
    ripe, watch = result.ripe, result.outlook.gibberella
    if ripe is None or not (ripe.mouldy or ripe.moulds):
        return None
    is_early = watch is not None and mould_reason(result) and ripe.day < watch.follow_up
    return None if is_early else ripe.day


def _with_mould_look(
    windows: list[RoundWindow], result: FieldResult, figures: Figures
) -> list[RoundWindow]:
    """Make the ripening round the look for mould that the watch asks for, unless it was taken."""
    reason, watch = mould_reason(result), result.outlook.gibberella
    if reason is None or watch is None or result.is_harvested or mould_looked_on(result):
        return windows
    last = watch.follow_up + timedelta(days=int(figures.number("gibberella.look_days")))
    look = RoundWindow(
        round=RIPENING.name, opens=_just(watch.follow_up), closes=_just(last), mould=reason
    )
    usual = next((one for one in windows if one.round == RIPENING.name), None)
    return [*(one for one in windows if one is not usual), _shared(look, usual)]


def _shared(look: RoundWindow, usual: RoundWindow | None) -> RoundWindow:
    """Let a look for mould wait for the round's own days, if they open in time for it."""
    if usual is None or not look.opens.day <= usual.opens.day <= look.closes.day:
        return look
    return replace(look, opens=usual.opens)


def _just(day: date) -> LikelyDay:
    return LikelyDay(day=day, earliest=None, latest=None)


def _rounds_left(walked: Iterable[str]) -> list[str]:
    """Return the rounds still to walk; a harvest is no walk, but ends them all."""
    names = list(ROUNDS)
    done = [names.index(name) for name in walked if name in names]
    return [name for name in names[max(done, default=-1) + 1 :] if name in _STAGES]


def _window(name: str, stages: Mapping[str, StageResult], figures: Figures) -> RoundWindow | None:
    first, last = (stages.get(stage) for stage in _STAGES[name])
    from_days, to_days = _days(name, figures)
    opens = _likely(first, from_days) if first else None
    closes = _likely(last, to_days) if last else None
    return RoundWindow(round=name, opens=opens, closes=closes) if opens and closes else None


def _days(name: str, figures: Figures) -> tuple[int, int]:
    """Return how many days after its first stage a round opens, and after its last it closes."""
    if name == POLLINATION.name:
        useful, main = figures.number("shake.useful_from_days"), figures.numbers("shake.main_days")
        return int(useful), int(main[-1])
    start, end = figures.numbers(f"round.{name.replace('-', '_')}_days")
    return int(start), int(end)


def _likely(stage: StageResult, days: int) -> LikelyDay | None:
    day, early, late = stage.date, stage.earliest, stage.latest
    if day is None and early and late:
        day = early + (late - early) // 2
    if day is None:
        return None
    moved = timedelta(days=days)
    return LikelyDay(
        day=day + moved,
        earliest=early + moved if early else None,
        latest=late + moved if late else None,
    )


def _why_undated(field: Field, result: FieldResult) -> str:
    planting, heat = field.main_planting, result.heat
    rated = (planting.silk_gdd_f, planting.black_layer_gdd_f, planting.relative_maturity)
    if field.station is None:
        return "the roster names no weather station for it"
    if heat is None:
        return "its station has no weather that can be used"
    if rated == (None, None, None):
        return "the roster gives neither its maturity nor its heat to silk"
    if heat.gdd_since_planting_f is None:
        return "the weather on file does not cover the days since planting"
    if not heat.past_years:
        return "its station has no whole past year to look ahead with"
    return "it is not likely to get that far before the year ends"
