"""All worked-out columns of the fields' table, those of the harvest behind the others."""

from fieldbook.export.field import EAR_COLUMNS, SEASON_COLUMNS, YIELD_COLUMNS
from fieldbook.export.worked import day_column, number_column, yield_column
from fieldbook.units import AREA, PERCENT

HARVEST_COLUMNS = (
    day_column("harvested_on", "harvest.day", "Harvested on", "The last day of the harvest."),
    yield_column(
        "harvested",
        "harvest.yield_bu_ac",
        "Harvested yield",
        "From the scale, at market moisture, on the area that was cut.",
    ),
    number_column(
        "harvested_acres",
        "harvest.acres",
        "Harvested area",
        "As typed with the loads, else the roster's.",
        AREA,
    ),
    number_column(
        "harvested_moisture_pct",
        "harvest.moisture_pct",
        "Harvested moisture",
        "Mean of the loads by their weight.",
        PERCENT,
    ),
)
FIELD_COLUMNS = (*YIELD_COLUMNS, *EAR_COLUMNS, *SEASON_COLUMNS, *HARVEST_COLUMNS)
