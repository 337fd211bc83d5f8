"""Where pollination stands: from the silks, tassels and shaken ears that visits saw. Pure."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from statistics import fmean, median

from fieldbook.agronomy.clipping import ClippingLine, clipping_lines
from fieldbook.agronomy.gap_looks import StopLook
from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.shake import PollinatedField, ShakenEar, pollinated_field, shake_time
from fieldbook.agronomy.silk_curve import SilkCount
from fieldbook.agronomy.silking import Silking, gap_points_to_stress, pollen_silk_gap, silking_date
from fieldbook.agronomy.stage_dates import SEEN, SILKS
from fieldbook.agronomy.tassel import TasselReading, shed_window
from fieldbook.agronomy.windows import WeatherDay
from fieldbook.figures import Figures
from fieldbook.forms.ears import Ear
from fieldbook.forms.fields import PLANTS_LOOKED_AT
from fieldbook.forms.rounds import POLLINATION
from fieldbook.forms.stops import INTERIOR, Stop
from fieldbook.ledger.stored import StoredVisit, visit_day
from fieldbook.results.looks_result import PollinationResult, ShakenResult
from fieldbook.results.result import StageResult

_SILK = "R1"
_BEFORE_SILK, _AFTER_SILK = timedelta(10), timedelta(40)


def pollination(visits: Sequence[StoredVisit], figures: Figures) -> PollinationResult | None:
    """Say where pollination stands after these visits; None where none looked at silks."""
    counts = tuple(count for visit in visits for count in _silk_counts(visit))
    silking = silking_date(counts, figures=figures)
    shed = shed_window(_tassels(visits), figures=figures)
    shaken = _shaken(visits, silking, figures)
    if silking is None and shed is None and shaken is None:
        return None
    gap = pollen_silk_gap(shed.half, silking.within) if shed and silking else None
    return PollinationResult(
        silk_counts=counts,
        silking=silking,
        shed=shed,
        gap_days=gap,
        gap_points_to_stress=gap_points_to_stress(gap, figures=figures) if gap else None,
        shaken=shaken,
        clipping=_clipping(visits, shaken.ears if shaken else None, figures),
    )


def silked_within(
    found: PollinationResult | None, stages: Iterable[StageResult]
) -> DayRange | None:
    """Return the days within which half of the plants silked: as counted, else as forecast."""
    if found and found.silking:
        return found.silking.within
    stage = next((stage for stage in stages if stage.stage == _SILK), None)
    if stage is None or (stage.earliest or stage.date) is None:
        return None
    return DayRange(earliest=stage.earliest or stage.date, latest=stage.latest or stage.date)


def likeliest_silking(found: PollinationResult | None, silked: DayRange | None) -> date | None:
    """Return one day of silking to count from: the fitted one, else the middle of the range."""
    if found and found.silking and found.silking.day:
        return found.silking.day
    if silked is None or silked.earliest is None or silked.latest is None:
        return None
    return silked.earliest + (silked.latest - silked.earliest) // 2


def days_around(silked: DayRange | None, weather: Iterable[WeatherDay]) -> tuple[WeatherDay, ...]:
    """Return the weather from shortly before silking to when the last kernels may be lost."""
    if silked is None or silked.earliest is None or silked.latest is None:
        return ()
    first, last = silked.earliest - _BEFORE_SILK, silked.latest + _AFTER_SILK
    return tuple(one for one in weather if first <= one.day <= last)


def with_counted_silking(
    stages: Iterable[StageResult], found: PollinationResult | None, as_of: date
) -> tuple[StageResult, ...]:
    """Date R1 as its silks were counted; what nobody saw of later stages comes no earlier.

    Counts that leave an end open only bound the day that is known otherwise.
    """
    stages = tuple(stages)
    within = found.silking.within if found and found.silking else None
    first = next((one for one in stages if one.stage == _SILK), None)
    if first is None or within is None:
        return stages
    counted = _bounded(first, within)
    if within.earliest and within.latest:
        counted = replace(
            counted,
            date=likeliest_silking(found, within),
            earliest=within.earliest,
            latest=within.latest,
            basis=SILKS,
            years=0,
            anchor_stage=None,
            anchor_date=None,
        )
    moved = (counted if one is first else _not_before(one, counted) for one in stages)
    return tuple(replace(one, passed=one.date is not None and one.date <= as_of) for one in moved)


def _bounded(stage: StageResult, within: DayRange) -> StageResult:
    """Move the days of a stage into a range, open or not; what is not known stays so."""

    def into(day: date | None) -> date | None:
        later = day and max(day, within.earliest or day)
        return later and min(later, within.latest or later)

    return replace(
        stage, date=into(stage.date), earliest=into(stage.earliest), latest=into(stage.latest)
    )


def _not_before(stage: StageResult, first: StageResult) -> StageResult:
    """Move a stage that nobody saw so that it does not come before an earlier one."""
    if stage.basis == SEEN:
        return stage

    def later(own: date | None, least: date | None) -> date | None:
        return own and max(own, least or own)

    return replace(
        stage,
        date=later(stage.date, first.date),
        earliest=later(stage.earliest, first.earliest),
        latest=later(stage.latest, first.latest),
    )


def has_late_silks(found: PollinationResult | None) -> bool:
    """Say whether silks were still open at the tip when the ears were last shaken."""
    return bool(found and found.shaken and found.shaken.ears.receptive_pct)


def _silk_counts(visit: StoredVisit) -> Iterable[SilkCount]:
    """Count plants with silks: over the stops inside the field, or those seen from its edge."""
    day = visit_day(visit)
    if day is None:
        return
    inside = [stop.silked for stop in _inside(visit) if stop.silked is not None]
    head = [record.silked for record in visit.records["fields"] if record.silked is not None]
    for counted in (inside, head):
        if counted:
            yield SilkCount(day=day, silked=sum(counted), of=PLANTS_LOOKED_AT * len(counted))


def _inside(visit: StoredVisit) -> list[Stop]:
    return [stop for stop in visit.records["stops"] if (stop.place or INTERIOR) == INTERIOR]


def _tassels(visits: Iterable[StoredVisit]) -> list[TasselReading]:
    """Collect the tassel readings; a round's stops are the same places at every visit."""
    return [
        TasselReading(stop=stop.stop, day=day, reading=stop.tassel)
        for visit in visits
        for stop in _inside(visit)
        if (day := visit_day(visit)) is not None and stop.tassel is not None
    ]


def looks_at_flowering(visits: Iterable[StoredVisit]) -> tuple[StopLook, ...]:
    """Collect what visits saw of tassels, silks and beetles at the stops inside the field."""
    return tuple(
        StopLook(
            stop=stop.stop,
            day=day,
            tassel=stop.tassel,
            silk_length_in=stop.silk_length_in,
            beetles=stop.beetles,
        )
        for visit in visits
        for stop in _inside(visit)
        if (day := visit_day(visit)) is not None
    )


def _shaken(
    visits: Sequence[StoredVisit], silking: Silking | None, figures: Figures
) -> ShakenResult | None:
    """Read the shaken ears of the latest visit that has any."""
    for visit in reversed(visits):
        day = visit_day(visit)
        inside = {stop.stop for stop in _inside(visit)}
        ears = [_shaken_ear(ear) for ear in visit.records["ears"] if ear.stop in inside]
        found = pollinated_field(ears, figures=figures)
        if visit.round == POLLINATION.name and day and found:
            time = shake_time(day, silking.within, figures=figures) if silking else None
            return ShakenResult(day=day, ears=found, time=time)
    return None


def _shaken_ear(ear: Ear) -> ShakenEar:
    return ShakenEar(
        stop=ear.stop,
        base_pct=ear.fallen_base_pct,
        middle_pct=ear.fallen_middle_pct,
        tip_pct=ear.fallen_tip_pct,
        all_fallen=ear.all_fallen is not None,
        pale_tip_pct=ear.pale_tip_pct,
    )


def _clipping(
    visits: Sequence[StoredVisit], pollinated: PollinatedField | None, figures: Figures
) -> tuple[ClippingLine, ...]:
    """Hold the latest visit with beetles against the published lines."""
    for visit in reversed(visits):
        counts = _beetles(_inside(visit))
        if counts:
            lengths = [s.silk_length_in for s in _inside(visit) if s.silk_length_in is not None]
            return tuple(
                line
                for kind, mean in counts.items()
                for line in clipping_lines(
                    silk_length_in=median(lengths) if lengths else None,
                    pollinated_pct=_likely(pollinated),
                    beetles=mean,
                    beetles_on=kind,
                    figures=figures,
                )
            )
    return ()


def _beetles(stops: Sequence[Stop]) -> Mapping[str, float]:
    """Return the mean count of each kind over all stops where beetles were looked for."""
    looked = [stop for stop in stops if stop.beetles is not None]
    kinds = dict.fromkeys(stop.beetles_on for stop in looked if stop.beetles_on)
    return {
        kind: fmean(stop.beetles or 0.0 if stop.beetles_on == kind else 0.0 for stop in looked)
        for kind in kinds
    }


def _likely(pollinated: PollinatedField | None) -> Span | None:
    if pollinated is None:
        return None
    low, high = pollinated.mean.low, pollinated.mean.high
    if low is None or high is None:
        return Span(low=pollinated.bounds.low, high=pollinated.bounds.high)
    return Span(low=max(0.0, low), high=min(100.0, high))
