"""Which figures a field's results rest on."""

from fieldbook.agronomy.shake import EARLY, LATE, MAIN, TOO_EARLY
from fieldbook.agronomy.timing import EARLY_LOSS, SIDE_STRESS, SILKS_STOPPED, STRESS_FIRST
from fieldbook.results.looks_result import GapsResult, OutlookResult, PollinationResult
from fieldbook.results.yield_result import YieldResult

_KERNELS = "kernels.{grain_fill}_thousand_per_bu"
_COUNTED = (
    "bushel.weight_lb",
    "bushel.moisture_pct",
    "sampling.confidence_pct",
    "sampling.ac_per_stop",
    "ears.tip_allowance_in",
    "ears.pattern_least_share",
)
_HEAT = ("heat.base_f", "heat.cap_f", "heat.first_day_after_planting")
_AHEAD = ("fill.fractions", "late_planting.black_layer_gdd_f_per_day", "forecast.percentiles")
_BY_MATURITY = ("hybrid.silk_slope_gdd_f_per_day", "hybrid.black_layer_slope_gdd_f_per_day")
_BY_MILK_LINE = ("milk_line.days_to_next",)
_SILKED = ("silk.plant_spread_days",)
_SHED = ("tassel.whole_spike_days", "tassel.plant_shed_days", "tassel.field_shed_days")
_GAP = ("tassel.silk_gap_stress_days",)
_SHAKEN = {
    TOO_EARLY: ("shake.useful_from_days",),
    EARLY: ("shake.main_days",),
    MAIN: ("shake.main_days",),
    LATE: ("shake.final_days",),
}
_TICKED = ("shake.all_fallen_pct",)
_TOO_FEW = ("shake.least_ears", "shake.least_stops")
_TIMELINE = ("silk.span_days", "silk.first_position", "silk.base_lag_days", "silk.receptive_days")
_DATED = (
    "gaps.widest_date_days",
    "weather.hot_day_f",
    "weather.warm_night_f",
    "weather.wet_day_in",
)
_BY_READING = {
    SILKS_STOPPED: ("silk.growth_stop_lead_days",),
    EARLY_LOSS: ("silk.early_loss_days",),
    STRESS_FIRST: ("silk.abortion_days",),
    SIDE_STRESS: ("silk.one_sided_days",),
}
_FREEZES = ("frost.killing_f", "frost.possible_f")
_LOSS = ("frost.loss_whole_plant_pct",)
_DRY = (
    "harvest.target_moisture_pct",
    "forecast.percentiles",
    "dry_down.start_pct",
    "dry_down.wet_gdd_f_per_pct",
    "dry_down.dry_gdd_f_per_pct",
)
_MOULD = ("gibberella.wet_days", "gibberella.mean_f", "gibberella.follow_up_days")
_HOT_AND_DRY = ("aspergillus.mean_f", "aspergillus.rain_in_per_week")
_BY_DAYS = tuple(f"days_after_silk.r{number}" for number in range(2, 7))


def used_figures(
    *,
    counted: YieldResult | None,
    heat: bool,
    ahead: bool,
    by_maturity: bool,
    by_milk_line: bool,
    by_days: bool,
    pollination: PollinationResult | None,
    gaps: GapsResult | None,
    outlook: OutlookResult,
) -> tuple[str, ...]:
    """Return the keys of the figures that a field's results rest on."""
    return (
        *_counted_keys(counted),
        *(_HEAT if heat else ()),
        *(_AHEAD if ahead else ()),
        *(_BY_MATURITY if by_maturity else ()),
        *(_BY_MILK_LINE if by_milk_line else ()),
        *(_BY_DAYS if by_days else ()),
        *_pollination_keys(pollination),
        *_gap_keys(gaps),
        *_outlook_keys(outlook),
    )


def _counted_keys(found: YieldResult | None) -> tuple[str, ...]:
    if found is None:
        return ()
    kernels = () if found.own_of else (_KERNELS.format(grain_fill=found.grain_fill),)
    return (*kernels, *_COUNTED)


def _pollination_keys(found: PollinationResult | None) -> tuple[str, ...]:
    if found is None:
        return ()
    ears = found.shaken.ears if found.shaken else None
    time = found.shaken.time if found.shaken else None
    return (
        *(_SILKED if found.silking else ()),
        *(_SHED if found.shed else ()),
        *(_GAP if found.gap_points_to_stress else ()),
        *(_SHAKEN[time.kind] if time and time.kind else ()),
        *(_TICKED if ears and ears.ticked else ()),
        *(_TOO_FEW if ears and not ears.enough else ()),
        *(key for line in found.clipping for key in line.sources),
    )


def _gap_keys(found: GapsResult | None) -> tuple[str, ...]:
    if found is None or not found.dated:
        return ()
    named = [_BY_READING.get(dated.reading.reading, ()) for dated in found.dated]
    return (*_TIMELINE, *_DATED, *(key for keys in named for key in keys))


def _outlook_keys(found: OutlookResult) -> tuple[str, ...]:
    return (
        *(_FREEZES if found.freezes else ()),
        *(_LOSS if found.freezes and found.freeze_loss_pct else ()),
        *(_DRY if found.dry else ()),
        *(_MOULD if found.gibberella else ()),
        *(_HOT_AND_DRY if found.hot_and_dry else ()),
    )
