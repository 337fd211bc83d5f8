"""The roster: one row a field, hybrid and planting date."""

from dataclasses import dataclass
from datetime import date

from fieldbook.cross_rules import AtMost, NeedsAlso
from fieldbook.forms.layout import SheetForm
from fieldbook.schema import Choice, Limits, Sheet, choice, day, number, text, tick, whole
from fieldbook.units import AREA, DEGREES, HEAT, PERCENT, ROW_WIDTH, YIELD

GRAIN, SILAGE = "grain", "silage"
USES = (
    Choice(key=GRAIN, label="Grain"),
    Choice(key=SILAGE, label="Silage"),
    Choice(key="seed", label="Seed corn"),
    Choice(key="sweet", label="Sweet corn"),
    Choice(key="popcorn", label="Popcorn"),
)
OTHER_CORN = ("seed", "sweet", "popcorn")
FROM_EMERGENCE = "emergence"
GDD_FROM = (
    Choice(key="planting", label="Planting"),
    Choice(key=FROM_EMERGENCE, label="Emergence"),
)
RATINGS = (
    Choice(key="susceptible", label="Susceptible"),
    Choice(key="intermediate", label="Intermediate"),
    Choice(key="resistant", label="Resistant"),
)


@dataclass(frozen=True, kw_only=True)
class RosterRow:
    """One field, or the part of it with one hybrid and one planting date."""

    grower_id: str | None = text(
        "Grower ID", width=11, needed=True, help="A short code that stays for ever, e.g. G01."
    )
    grower: str | None = text("Grower", width=22, needed=True, help="Name as on a report.")
    field_id: str | None = text(
        "Field ID", width=9, needed=True, help="A short code that is never given twice, e.g. D14."
    )
    field: str | None = text("Field", width=20, needed=True, help="What the grower calls it.")
    acres: float | None = number(
        "Area",
        unit=AREA,
        width=8,
        needed=True,
        limits=Limits(
            least=0.1, most=5000, usual_least=1, usual_most=700, why="a field is a real area"
        ),
    )
    row_width_in: float | None = number(
        "Row width",
        unit=ROW_WIDTH,
        width=8,
        needed=True,
        limits=Limits(
            least=5,
            most=80,
            usual_least=15,
            usual_most=40,
            why="corn is planted in rows wide enough for a wheel",
        ),
    )
    planted: date | None = day("Planted", width=13, needed=True)
    hybrid: str | None = text("Hybrid", width=14)
    relative_maturity: float | None = number(
        "Maturity",
        width=9,
        limits=Limits(
            least=60, most=140, usual_least=75, usual_most=122, why="relative maturity in days"
        ),
        help="Relative maturity in days. Only used where heat units are not given.",
    )
    silk_gdd_f: float | None = number(
        "Heat to silk",
        unit=HEAT,
        width=9,
        limits=Limits(least=800, most=2000, why="hybrids differ, but not by more"),
        help="Heat units to silking, as rated for the hybrid.",
    )
    black_layer_gdd_f: float | None = number(
        "Heat to ripe",
        unit=HEAT,
        width=9,
        limits=Limits(least=1500, most=3600, why="hybrids differ, but not by more"),
        help="Heat units to black layer, as rated for the hybrid.",
    )
    gdd_from: str | None = choice(
        "Rated from", GDD_FROM, width=11, help="Are the heat units rated from planting?"
    )
    use: str | None = choice("Use", USES, width=11)
    irrigated: str | None = tick("Irrigated", width=9)
    previous_crop: str | None = text("Last crop", width=12)
    residue_pct: float | None = number(
        "Residue",
        unit=PERCENT,
        width=8,
        limits=Limits(least=0, most=100, why="a share of the ground"),
    )
    disease_history: str | None = text("Disease before", width=16)
    gray_leaf_spot_rating: str | None = choice("Gray leaf spot", RATINGS, width=12)
    northern_blight_rating: str | None = choice("Northern blight", RATINGS, width=12)
    latitude: float | None = number(
        "Latitude",
        unit=DEGREES,
        width=11,
        limits=Limits(least=-90, most=90, why="a latitude lies between -90 and 90 degrees"),
        help="Near the middle of the field, e.g. 41.7312.",
    )
    longitude: float | None = number(
        "Longitude",
        unit=DEGREES,
        width=11,
        limits=Limits(least=-180, most=180, why="a longitude lies between -180 and 180 degrees"),
        help="West is minus, e.g. -93.6021.",
    )
    scout: str | None = text("Scout", width=10, help="Who walks it: a scout of season.toml.")
    station: str | None = text("Station", width=12, help="A weather station of season.toml.")
    own_average_bu_ac: float | None = number(
        "Own average",
        unit=YIELD,
        width=9,
        limits=Limits(
            least=10, most=400, usual_least=60, usual_most=300, why="a yield of dry corn"
        ),
        help="What this field usually yields.",
    )
    sprayed_on: date | None = day("Sprayed on", width=13)
    product: str | None = text("Product", width=14)
    reentry_ends: date | None = day(
        "May walk from", width=13, help="The day on which the label lets people in again."
    )
    pre_harvest_days: int | None = whole(
        "Days to harvest",
        width=9,
        limits=Limits(least=0, most=120, why="a label gives some days or weeks"),
        help="The pre-harvest interval on the label: days from spraying to harvest.",
    )
    stops_wanted: int | None = whole(
        "Stops",
        width=7,
        limits=Limits(least=3, most=40, why="fewer than 3 stops give no range"),
        help="Only if this field should get another number of stops.",
    )
    trial: str | None = text(
        "Trial", width=14, help="The name of a strip trial: each strip is a field of its own."
    )
    treatment: str | None = text("Treatment", width=14, help="What this strip got, e.g. a hybrid.")
    block: str | None = text(
        "Block", width=8, help="Strips that lie side by side, every treatment once, e.g. 1."
    )
    formerly: str | None = text(
        "Formerly",
        width=18,
        help="The name that the field or its grower had before, if it changed this season. "
        "Two names: put ; between them.",
        late=True,
    )
    remark: str | None = text("Remark", width=20)


ROSTER = Sheet(
    name="roster",
    label="Roster",
    hint="One row a field. A field with two hybrids or planting dates gets two rows.",
    record=RosterRow,
    rules=(
        AtMost(column="silk_gdd_f", other="black_layer_gdd_f", code="silk-after-ripe"),
        NeedsAlso(column="latitude", needs="longitude"),
        NeedsAlso(column="longitude", needs="latitude"),
        NeedsAlso(column="trial", needs="treatment"),
        NeedsAlso(column="treatment", needs="trial"),
        NeedsAlso(column="block", needs="trial"),
        NeedsAlso(column="field_id", needs="grower_id"),
        NeedsAlso(column="field_id", needs="acres"),
        NeedsAlso(column="field_id", needs="row_width_in"),
        NeedsAlso(column="field_id", needs="planted"),
    ),
)

ROSTER_FORM = SheetForm(sheet=ROSTER, names=tuple(column.name for column in ROSTER.entries))
