"""The worked-out columns of the fields' table: yield, ears, and the season around them."""

from fieldbook.export.worked import (
    day_column,
    number_column,
    whole_column,
    worked_column,
    yield_column,
)
from fieldbook.forms.fields import GRAIN_FILL
from fieldbook.schema import Choice, Kind
from fieldbook.units import HEAT, PER_BUSHEL, PERCENT

_PATTERNS = (
    Choice(key="base", label="Base bare"),
    Choice(key="scattered", label="Scattered"),
    Choice(key="tip-unset", label="Tip bare"),
    Choice(key="tip-aborted", label="Tip shrunken"),
    Choice(key="mixed", label="Mixed"),
    Choice(key="none", label="None"),
    Choice(key="unknown", label="Not looked at"),
)
_WATCH = (
    Choice(key="raised", label="Raised"),
    Choice(key="some", label="Some"),
    Choice(key="no-signal", label="No signal"),
    Choice(key="unknown", label="Unknown"),
)


YIELD_COLUMNS = (
    yield_column(
        "yield_likely",
        "yield.likely_bu_ac",
        "Yield likely",
        "From the latest kernel count: the mean of its stops at the likely kernel weight.",
    ),
    yield_column(
        "yield_low",
        "yield.range_bu_ac.0",
        "Yield low",
        "Low end of the range that holds the doubt of counting and of kernel weight together.",
    ),
    yield_column("yield_high", "yield.range_bu_ac.1", "Yield high", "High end of the same range."),
    yield_column(
        "yield_light_kernels",
        "yield.low_bu_ac",
        "With light kernels",
        "The mean of the stops if kernels stay light.",
    ),
    yield_column(
        "yield_heavy_kernels",
        "yield.high_bu_ac",
        "With heavy kernels",
        "The mean of the stops if kernels get heavy.",
    ),
    yield_column(
        "yield_counting_half_width",
        "yield.counting_half_width_bu_ac",
        "Counting, plus or minus",
        "Half the 95 % interval of counting alone; empty under three stops.",
    ),
    number_column(
        "thousand_kernels_per_bu",
        "yield.thousand_kernels_per_bu.1",
        "Kernels taken",
        "Thousand kernels in a bushel, or in a tonne, at the likely kernel weight.",
        PER_BUSHEL,
    ),
    worked_column(
        "grain_fill",
        "yield.grain_fill",
        "Grain fill taken",
        Kind.CHOICE,
        "The grain fill that the kernel weights were taken for.",
        choices=GRAIN_FILL,
    ),
    worked_column(
        "grain_fill_stated",
        "yield.grain_fill_stated",
        "Grain fill stated",
        Kind.TICK,
        "True where a scout said how kernels fill; false where average was taken.",
    ),
    whole_column("stops_used", "yield.stops_used", "Stops used", "Stops in the yield."),
    whole_column(
        "stops_left_out", "yield.stops_left_out", "Stops left out", "Stops not in the yield."
    ),
    whole_column(
        "stops_still_needed",
        "yield.stops_still_needed",
        "Stops still needed",
        "More stops to count until the yield is as sure as season.toml wants it.",
    ),
    yield_column(
        "sd_between_stops",
        "yield.sd_between_stops_bu_ac",
        "Spread between stops",
        "Standard deviation between stops.",
    ),
    yield_column(
        "one_kernel_per_row",
        "yield.one_kernel_per_row_bu_ac",
        "One kernel a row",
        "What one kernel more along every row would be worth.",
    ),
    yield_column(
        "weighed",
        "weighed.mean_bu_ac",
        "Weighed yield",
        "From bags of grain at the ripening visit; not from the scale at harvest.",
    ),
    yield_column(
        "weighed_low",
        "weighed.interval_95_bu_ac.0",
        "Weighed low",
        "Low end of the 95 % interval over the stops with a bag.",
    ),
    yield_column(
        "weighed_high",
        "weighed.interval_95_bu_ac.1",
        "Weighed high",
        "High end of the same interval.",
    ),
    yield_column(
        "weighed_less_counted",
        "weighed_beside_counted.difference_bu_ac",
        "Weighed less counted",
        "The weighed yield minus the counted one.",
    ),
)
EAR_COLUMNS = (
    number_column(
        "kernels_per_ear", "kernels_per_ear", "Kernels an ear", "Mean of the latest kernel count."
    ),
    number_column(
        "kernels_per_ear_sd",
        "ears.kernels_per_ear_sd",
        "Spread of kernels",
        "Standard deviation of kernels an ear.",
    ),
    number_column(
        "kernel_set_pct",
        "kernel_set_pct",
        "Kernel set",
        "Places along the row that hold a kernel, of all places, on ears looked at in full.",
        PERCENT,
    ),
    number_column("rows_around", "ears.rows_around", "Rows around, mean", "Mean over the ears."),
    number_column(
        "kernels_per_row", "ears.kernels_per_row", "Kernels in row, mean", "Mean over ears."
    ),
    number_column(
        "places_in_row",
        "ears.rings",
        "Places in row, mean",
        "Kernel places along one row, filled or not, on ears looked at in full.",
    ),
    number_column(
        "base_blank", "loss_rings.base", "Base bare, mean", "Missing kernels at the butt, a row."
    ),
    number_column(
        "inside_blank",
        "loss_rings.inside",
        "Gaps inside, mean",
        "Missing kernels between set ones, a row.",
    ),
    number_column(
        "tip_unset",
        "loss_rings.tip_unset",
        "Tip bare, mean",
        "Kernels at the tip that were never set, a row.",
    ),
    number_column(
        "tip_aborted",
        "loss_rings.tip_aborted",
        "Tip shrunken, mean",
        "Kernels at the tip that were set and lost, a row.",
    ),
    worked_column(
        "ear_pattern",
        "ears.pattern",
        "Pattern of ears",
        Kind.CHOICE,
        "The place that more ears show than any other, where enough do.",
        choices=_PATTERNS,
    ),
    whole_column("ears_counted", "ears.count", "Ears counted", "Ears of the latest kernel count."),
    whole_column(
        "ears_in_full", "ears.complete", "Ears in full", "Ears whose every part was looked at."
    ),
    whole_column("bare_cobs", "ears.bare_cobs", "Bare cobs", "Ears without any kernel."),
    yield_column(
        "gaps",
        "gaps.found.bu_ac",
        "Gaps, at most",
        "What the missing kernels may cost at the most; the usual bare tip is not priced.",
    ),
)
SEASON_COLUMNS = (
    day_column(
        "half_silked",
        "pollination.silking.day",
        "Half silked",
        "The day on which half of the plants showed silks, where counts tell it.",
    ),
    day_column(
        "half_silked_earliest",
        "pollination.silking.within.earliest",
        "Half silked, earliest",
        "The first day on which it may have been.",
    ),
    day_column(
        "half_silked_latest",
        "pollination.silking.within.latest",
        "Half silked, latest",
        "The last day on which it may have been.",
    ),
    day_column(
        "shaken_on",
        "pollination.shaken.day",
        "Ears shaken on",
        "The latest visit with shaken ears.",
    ),
    number_column(
        "silks_fallen_pct",
        "pollination.shaken.ears.mean.mean",
        "Silks fallen, mean",
        "Silks that let go when ears were shaken; too early, they hang on whatever happened.",
        PERCENT,
    ),
    number_column(
        "gdd_since_planting_f",
        "gdd_since_planting_f",
        "Heat since planting",
        "Growing degree days since planting, both temperatures clipped.",
        HEAT,
    ),
    day_column("weather_through", "weather.through", "Weather through", "The last day on file."),
    whole_column(
        "weather_years", "weather.past_years", "Past years", "Past years of weather at the station."
    ),
    whole_column(
        "weather_days_filled",
        "weather.days_filled",
        "Days filled",
        "Days of weather that were filled in from their neighbors.",
    ),
    whole_column(
        "weather_days_missing", "weather.days_missing", "Days missing", "Days without any weather."
    ),
    yield_column(
        "break_even",
        "fungicide.break_even_bu_ac",
        "Fungicide break-even",
        "Gain that pays product and application, at the price and cost of season.toml.",
    ),
    day_column(
        "ripening_on", "ripe.day", "Ripening visit", "The day of the latest ripening visit."
    ),
    number_column(
        "stalks_failed_pct",
        "ripe.stalks.share.pct",
        "Stalks failed",
        "Stalks that gave way, of all tried.",
        PERCENT,
    ),
    number_column(
        "ears_mouldy_pct",
        "ripe.mouldy.share.pct",
        "Ears mouldy",
        "Ears with any mould, of all opened. It tells nothing of toxins: test the grain.",
        PERCENT,
    ),
    number_column(
        "grain_moisture_pct", "ripe.moisture_pct", "Grain moisture", "Mean of the bags.", PERCENT
    ),
    day_column("dry_on", "outlook.dry.date", "Dry about", "Likely day at the moisture beside it."),
    day_column("dry_earliest", "outlook.dry.earliest", "Dry, earliest", "Early end of its spread."),
    day_column("dry_latest", "outlook.dry.latest", "Dry, latest", "Late end of its spread."),
    number_column(
        "dry_to_pct",
        "outlook.dry_to_pct",
        "Dry means",
        "Moisture that those days speak of.",
        PERCENT,
    ),
    worked_column(
        "mould_watch",
        "outlook.gibberella.level",
        "Mould watch",
        Kind.CHOICE,
        "How the weather after silking suits pink ear mould; a reason to look, never a verdict.",
        choices=_WATCH,
    ),
    whole_column("visits", "visits", "Visits", "Visits taken in."),
    whole_column(
        "open_questions", "questions", "Open questions", "Questions that nobody answered yet."
    ),
)
