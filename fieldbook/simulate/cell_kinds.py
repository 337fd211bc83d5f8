"""The kinds of typing mistake that one cell shows: it holds what its column can't, or nothing."""

from datetime import date

from fieldbook.simulate.mistake import Mistake, typed

IN_ONE_CELL: tuple[Mistake, ...] = (
    typed("an odd number of rows", "rows-odd", "ears.rows_around", 15),
    typed("a word beside the number", "not-a-number", "ears.rows_around", "16 rows"),
    typed("the unit beside the number", "not-a-number", "stalks.bag_grain_lb", "3.4 lb"),
    typed("a percent sign", "not-a-number", "ears.pale_tip_pct", "40 %"),
    typed("a cross for a count", "not-a-number", "ears.kernels_set", "x", filled=("rows_around",)),
    typed("about so many", "not-a-number", "stops.ears", "~30"),
    typed("the letter O for a zero", "not-a-number", "stops.ears", "3O"),
    typed("a decimal comma", "not-a-number", "stalks.bag_moisture_pct", "22,5"),
    typed("a fraction that became a date", "date-for-number", "stops.silked", date(2026, 2, 1)),
    typed("a number kept as text", "number-as-text", "stops.silked", "12"),
    typed("more than there can be", "out-of-range", "stops.silked", 25),
    typed("over a hundred percent", "out-of-range", "ears.pale_tip_pct", 140),
    typed("a minus sign", "out-of-range", "stops.ears", -28),
    typed("a digit too many", "out-of-range", "ears.rows_around", 166),
    typed("a share for percent", "out-of-range", "stalks.bag_moisture_pct", 0.22),
    typed("grams for pounds", "out-of-range", "stalks.bag_grain_lb", 1540),
    typed("centimeters for inches", "out-of-range", "ears.ear_length_in", 18.5),
    typed("millimeters for inches", "out-of-range", "ears.kernel_depth_in", 12),
    typed("half an ear", "not-whole", "stops.ears", 28.5),
    typed("half a plant", "not-whole", "leaves.with_it", 1.5, filled=("with_it",)),
    typed("a rare number of rows, not confirmed", "unusual", "ears.rows_around", 24),
    Mistake(
        name="far too many ears",
        code="unusual",
        sheet="stops",
        at="ears",
        to={"ears": 58, "plants": None},
    ),
    typed("meters for feet", "unusual", "stops.length_ft", 5.3),
    typed("a digit lost", "unusual", "stops.ears", 3),
    typed("a stage that does not exist", "not-on-list", "fields.stage", "R7"),
    typed("a short name for a disease", "not-on-list", "leaves.disease", "GLS"),
    typed("last year's date", "date-other-season", "fields.visit_date", date(2025, 8, 5)),
    typed("a day before planting", "date-before-planting", "fields.visit_date", date(2026, 3, 2)),
    typed("a day to come", "date-in-future", "fields.visit_date", date(2026, 12, 30)),
    typed("a date in two readings", "not-a-date", "fields.visit_date", "8/5"),
    typed(
        "a date in letters",
        "date-as-text",
        "fields.visit_date",
        "5 Aug 2026",
        rounds=("kernel-count",),
    ),
    typed("no date", "date-missing", "fields.visit_date", None),
)
