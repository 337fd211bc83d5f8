"""Every visit's estimate of a yield beside what was harvested."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from fieldbook.check.roster import Field
from fieldbook.figures import Figures
from fieldbook.forms.rounds import RIPENING
from fieldbook.ledger.stored import StoredVisit, visit_day, visit_stage
from fieldbook.results.counts import counted_visits, counts_in_use, the_hybrid
from fieldbook.results.harvest import HarvestResult
from fieldbook.results.weighed import weighed_yield
from fieldbook.season.season import Season

COUNTED, WEIGHED = "counted", "weighed"


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """One visit's yield beside what was harvested.

    ``method`` is ``counted`` or ``weighed``. ``hybrid`` is None where the field has several.
    ``miss_bu_ac`` and ``miss_pct`` are estimate minus harvest. ``held`` says whether the harvest
    lay in the range that was told, None without one. ``in_use`` says whether it is the count that
    the field's figures came from on the eve of the harvest.
    """

    year: int
    field_id: str
    field: str
    hybrid: str | None
    scout: str
    visit_id: str
    round: str
    stage: str | None
    method: str
    day: date | None
    estimated_bu_ac: float
    range_bu_ac: tuple[float, float] | None
    harvested_bu_ac: float
    miss_bu_ac: float
    miss_pct: float
    held: bool | None
    in_use: bool
    grain_fill: str | None
    thousand_kernels: float | None
    corrected_thousand: float | None


def estimates_before(
    visits: Sequence[StoredVisit],
    cut: Mapping[str, HarvestResult],
    season: Season,
    figures: Figures,
) -> tuple[Estimate, ...]:
    """Return the estimates that visits made before the harvests of their fields.

    They stand in the order of the roster, a field's by their days. ``cut`` are the harvests by
    field; one without a harvest has no estimate here.
    """
    fields = season.roster.fields
    before = [
        one
        for one in visits
        if (harvest := cut.get(one.field_id))
        and _was_before(one, harvest)
        and one.field_id in fields
    ]
    made = [*_counted(before, season, figures), *_weighed(before, season, figures)]
    order = {field_id: at for at, field_id in enumerate(fields)}
    made.sort(key=lambda one: (order[one.visit.field_id], visit_day(one.visit) or date.min))
    return tuple(
        _estimate(one, cut[one.visit.field_id], fields[one.visit.field_id], season) for one in made
    )


@dataclass(frozen=True, kw_only=True)
class _Made:
    """An estimate as a visit made it, before anybody knew the harvest."""

    visit: StoredVisit
    method: str
    likely_bu_ac: float
    range_bu_ac: tuple[float, float] | None
    in_use: bool = False
    thousand_kernels: float | None = None
    grain_fill: str | None = None


def _counted(visits: Sequence[StoredVisit], season: Season, figures: Figures) -> Iterator[_Made]:
    wanted = season.settings.wanted_half_width_bu_ac
    own = season.settings.own_counts
    fields = season.roster.fields
    found = counted_visits(visits, fields, figures, wanted_half_width_bu_ac=wanted, own_counts=own)
    counts = list(found)
    used = {one.visit.visit_id for one in counts_in_use(counts).values()}
    for made in counts:
        if made.yield_:
            yield _Made(
                visit=made.visit,
                method=COUNTED,
                likely_bu_ac=made.yield_.likely_bu_ac,
                range_bu_ac=made.yield_.range_bu_ac,
                in_use=made.visit.visit_id in used,
                thousand_kernels=made.yield_.thousand_kernels_per_bu[1],
                grain_fill=made.yield_.grain_fill,
            )


def _weighed(visits: Sequence[StoredVisit], season: Season, figures: Figures) -> Iterator[_Made]:
    for visit in visits:
        field = season.roster.fields.get(visit.field_id)
        if visit.round != RIPENING.name or field is None:
            continue
        made = weighed_yield(visit, field, figures)
        if made:
            yield _Made(
                visit=visit,
                method=WEIGHED,
                likely_bu_ac=made.mean_bu_ac,
                range_bu_ac=made.interval_95_bu_ac,
            )


def _was_before(visit: StoredVisit, harvest: HarvestResult) -> bool:
    day = visit_day(visit)
    return day is None or harvest.day is None or day < harvest.day


def _estimate(made: _Made, harvest: HarvestResult, field: Field, season: Season) -> Estimate:
    visit, cut = made.visit, harvest.yield_bu_ac
    names = {scout.scout_id: scout.name for scout in season.settings.scouts}
    ends, thousand = made.range_bu_ac, made.thousand_kernels
    head = next(iter(visit.records["fields"]), None)
    return Estimate(
        year=season.settings.year,
        field_id=field.field_id,
        field=field.field,
        hybrid=the_hybrid(field),
        scout=(head.scout if head else None) or names.get(visit.scout, visit.scout),
        visit_id=visit.visit_id,
        round=visit.round,
        stage=visit_stage(visit),
        method=made.method,
        day=visit_day(visit),
        estimated_bu_ac=made.likely_bu_ac,
        range_bu_ac=ends,
        harvested_bu_ac=cut,
        miss_bu_ac=made.likely_bu_ac - cut,
        miss_pct=100 * (made.likely_bu_ac / cut - 1),
        held=None if ends is None else ends[0] <= cut <= ends[1],
        in_use=made.in_use,
        grain_fill=made.grain_fill,
        thousand_kernels=thousand,
        corrected_thousand=None if thousand is None else thousand * made.likely_bu_ac / cut,
    )
