"""The yield from weighed grain, from black layer on, beside the yield from counts. Pure."""

from fieldbook.agronomy.lengths import per_acre
from fieldbook.agronomy.sampling import sample
from fieldbook.agronomy.yields import field_correction, grain_weight_yield_bu_ac
from fieldbook.check.roster import Field
from fieldbook.figures import Figures
from fieldbook.forms.stalks import Stalk
from fieldbook.forms.stops import INTERIOR, Stop, standard_length_ft
from fieldbook.ledger.stored import StoredVisit, visit_day, visit_stage
from fieldbook.results.yield_result import Methods, WeighedStop, WeighedYield, YieldResult
from fieldbook.units import System

_RIPE = "R6"


def weighed_yield(visit: StoredVisit, field: Field, figures: Figures) -> WeighedYield | None:
    """Work out the yield from the bags of one ripening visit.

    ``ears per acre x lb per ear x (100 - M) / (100 - 15.5) / 56`` at every stop: no kernel
    weight is assumed. None before black layer, when kernels still fill, and without a bag.
    """
    if visit_stage(visit) != _RIPE:
        return None
    stops = {stop.stop: stop for stop in visit.records["stops"]}
    made = [_stop(bag, stops.get(bag.stop), visit, field, figures) for bag in _bags(visit)]
    used = [stop.yield_bu_ac for stop in made if stop.left_out is None]
    found = sample([one for one in used if one is not None], figures=figures)
    if found is None:
        return None
    has_ends = found.low is not None and found.high is not None
    return WeighedYield(
        visit_id=visit.visit_id,
        day=visit_day(visit),
        mean_bu_ac=found.mean,
        interval_95_bu_ac=(max(0.0, found.low or 0.0), found.high or 0.0) if has_ends else None,
        stops=tuple(made),
    )


def beside(weighed: WeighedYield, counted: YieldResult) -> Methods | None:
    """Hold the bags against the count; None where the bags held nothing."""
    if not weighed.mean_bu_ac > 0:
        return None
    assumed = counted.thousand_kernels_per_bu[1]
    return Methods(
        weighed_bu_ac=weighed.mean_bu_ac,
        counted_bu_ac=counted.likely_bu_ac,
        difference_bu_ac=weighed.mean_bu_ac - counted.likely_bu_ac,
        assumed_thousand=assumed,
        fitting_thousand=field_correction(assumed, counted.likely_bu_ac, weighed.mean_bu_ac),
        may_be_chance=_meet(weighed.interval_95_bu_ac, counted.interval_95_bu_ac),
    )


def _meet(one: tuple[float, float] | None, two: tuple[float, float] | None) -> bool | None:
    if one is None or two is None:
        return None
    return one[0] <= two[1] and two[0] <= one[1]


def _bags(visit: StoredVisit) -> list[Stalk]:
    def is_whole(bag: Stalk) -> bool:
        return None not in (bag.bag_ears, bag.bag_grain_lb, bag.bag_moisture_pct)

    return [bag for bag in visit.records["stalks"] if is_whole(bag)]


def _stop(
    bag: Stalk, stop: Stop | None, visit: StoredVisit, field: Field, figures: Figures
) -> WeighedStop:
    assert bag.bag_ears
    assert bag.bag_grain_lb is not None
    assert bag.bag_moisture_pct is not None
    usual_ft = standard_length_ft(visit.row_width_in, System(visit.units))
    ears = stop.ears if stop else None
    length_ft = (stop.length_ft if stop else None) or usual_ft
    ears_per_ac = None if ears is None else per_acre(ears, length_ft, field.row_width_in)
    each_lb = bag.bag_grain_lb / bag.bag_ears
    place = (stop.place if stop else None) or INTERIOR
    made = None
    if ears_per_ac is not None:
        made = grain_weight_yield_bu_ac(ears_per_ac, each_lb, bag.bag_moisture_pct, figures=figures)
    return WeighedStop(
        stop=bag.stop,
        ears_per_ac=ears_per_ac,
        grain_lb_per_ear=each_lb,
        moisture_pct=bag.bag_moisture_pct,
        yield_bu_ac=made,
        left_out=place if place != INTERIOR else "no-count" if made is None else None,
    )
