"""The parts of a field's results, each worked out once of those that it rests on."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fieldbook.agronomy.ranges import DayRange
from fieldbook.check.roster import Field
from fieldbook.figures import Figures
from fieldbook.forms.roster import SILAGE
from fieldbook.forms.rounds import RIPENING
from fieldbook.forms.stops import INTERIOR
from fieldbook.ledger.stored import StoredVisit, visit_stage
from fieldbook.results.ahead import Ahead, look_ahead
from fieldbook.results.counts import (
    CountedVisit,
    count_to_use,
    counted_visits,
    counts_after,
)
from fieldbook.results.gaps import gaps
from fieldbook.results.leaves import fungicide, leaves
from fieldbook.results.looks_result import (
    FungicideResult,
    GapsResult,
    LeavesResult,
    OutlookResult,
    PollinationResult,
    RipeResult,
)
from fieldbook.results.outlook import outlook
from fieldbook.results.pollination import (
    has_late_silks,
    likeliest_silking,
    looks_at_flowering,
    pollination,
    silked_within,
    with_counted_silking,
)
from fieldbook.results.ripe import ripe
from fieldbook.results.weighed import weighed_yield
from fieldbook.results.yield_result import WeighedYield
from fieldbook.settings.settings import Settings
from fieldbook.weather.weather import StationWeather


@dataclass(frozen=True, kw_only=True)
class FieldParts:
    """What was worked out of a field: of its visits, ``seen`` by that day, and its weather.

    ``short_counts`` are those after the count that is used, with too few stops to replace it.
    """

    seen: list[StoredVisit]
    counted: CountedVisit | None
    short_counts: tuple[CountedVisit, ...]
    weighed: WeighedYield | None
    ahead: Ahead
    flowered: PollinationResult | None
    silked: DayRange | None
    missing: GapsResult | None
    sick: LeavesResult | None
    ripened: RipeResult | None
    coming: OutlookResult
    spray: FungicideResult


def field_parts(
    field: Field,
    seen: list[StoredVisit],
    weather: StationWeather | None,
    settings: Settings,
    figures: Figures,
    as_of: date,
) -> FieldParts:
    """Work every part out as known on `as_of`; no visit in ``seen`` is later."""
    counts = _counts(seen, field, figures, settings)
    counted = count_to_use(counts)
    flowered = pollination(seen, figures)
    ahead = look_ahead(field, seen, weather, figures, as_of)
    ahead = replace(ahead, stages=with_counted_silking(ahead.stages, flowered, as_of))
    silked = silked_within(flowered, ahead.stages)
    sick = leaves(field, seen, settings, ahead.weather, figures)
    ripened = ripe(seen, figures)
    coming = _coming(ahead, flowered, silked, ripened, figures, as_of)
    if field.use == SILAGE:  # cut weeks before grain is dry
        coming = replace(coming, dry=None)
    stage = _stage_seen(seen)
    return FieldParts(
        seen=seen,
        counted=counted,
        short_counts=counts_after(counts, counted),
        weighed=_latest_weighed(seen, field, figures),
        ahead=ahead,
        flowered=flowered,
        silked=silked,
        missing=_gaps(seen, counted, flowered, silked, ahead, figures),
        sick=sick,
        ripened=ripened,
        coming=coming,
        spray=fungicide(
            field, ahead.stages, stage, sick, coming, settings, as_of=as_of, figures=figures
        ),
    )


def _coming(
    ahead: Ahead,
    flowered: PollinationResult | None,
    silked: DayRange | None,
    ripened: RipeResult | None,
    figures: Figures,
    as_of: date,
) -> OutlookResult:
    return outlook(
        ahead.stages,
        as_of=as_of,
        silked=likeliest_silking(flowered, silked),
        late_silks=has_late_silks(flowered),
        measured=ripened,
        weather=ahead.weather,
        own=ahead.own,
        years=ahead.years,
        figures=figures,
    )


def _counts(
    visits: list[StoredVisit], field: Field, figures: Figures, settings: Settings
) -> tuple[CountedVisit, ...]:
    return tuple(
        counted_visits(
            visits,
            {field.field_id: field},
            figures,
            wanted_half_width_bu_ac=settings.wanted_half_width_bu_ac,
            own_counts=settings.own_counts,
        )
    )


def _latest_weighed(
    visits: list[StoredVisit], field: Field, figures: Figures
) -> WeighedYield | None:
    ripe_visits = (visit for visit in reversed(visits) if visit.round == RIPENING.name)
    found = (weighed_yield(visit, field, figures) for visit in ripe_visits)
    return next((one for one in found if one is not None), None)


def _gaps(
    visits: Sequence[StoredVisit],
    counted: CountedVisit | None,
    flowered: PollinationResult | None,
    silked: DayRange | None,
    ahead: Ahead,
    figures: Figures,
) -> GapsResult | None:
    if counted is None:
        return None
    used = [stop for stop in counted.stops if stop.left_out is None]
    stands = [stop.ears_per_ac for stop in used if stop.ears_per_ac is not None]
    inside = {stop.stop for stop in counted.stops if stop.place == INTERIOR}
    return gaps(
        [ear for ear in counted.visit.records["ears"] if ear.stop in inside],
        ears_per_ac=sum(stands) / len(stands) if stands else None,
        yield_=counted.yield_,
        silked=silked,
        looks=looks_at_flowering(visits),
        plant_spread_days=(flowered.silking.spread_days if flowered and flowered.silking else None),
        weather=ahead.weather,
        figures=figures,
    )


def _stage_seen(visits: Iterable[StoredVisit]) -> str | None:
    """Return the stage that the latest visit with one saw."""
    return next((stage for visit in reversed([*visits]) if (stage := visit_stage(visit))), None)
