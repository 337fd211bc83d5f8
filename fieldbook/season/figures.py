"""The figures of a season: the shipped ones with what season.toml sets, and which were used."""

from fieldbook.figures import Figures, shipped_figures
from fieldbook.season.settings import Settings

_COUNTED = (
    "kernels.{grain_fill}_thousand_per_bu",
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
_BY_DAYS = tuple(f"days_after_silk.r{number}" for number in range(2, 7))


def season_figures(settings: Settings) -> Figures:
    """Return the figures that this season computes with."""
    return shipped_figures().changed(settings.figures)


def used_figures(
    *, grain_fill: str | None, heat: bool, ahead: bool, by_maturity: bool, by_days: bool
) -> tuple[str, ...]:
    """Return the keys of the figures that a field's results rest on."""
    counted = tuple(key.format(grain_fill=grain_fill) for key in _COUNTED) if grain_fill else ()
    return (
        *counted,
        *(_HEAT if heat else ()),
        *(_AHEAD if ahead else ()),
        *(_BY_MATURITY if by_maturity else ()),
        *(_BY_DAYS if by_days else ()),
    )
