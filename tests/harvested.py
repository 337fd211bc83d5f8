"""Small invented seasons of strips and of fields that were cut."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from pathlib import Path

from seasons import ROWS, begun, good_visit

from fieldbook.forms.roster import RosterRow
from fieldbook.forms.rounds import HARVEST, KERNEL_COUNT, Round
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.season.start import TIME_ZONE
from fieldbook.season.taken import Taken
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.write import write_book

Entries = Mapping[EntryKey, EntryValue]
ACRES = 10.0
CUT = (10, 12)


@dataclass(frozen=True)
class Plot:
    """One strip or field: its treatment, block, hybrid, and what it yields [bu/ac]."""

    field_id: str
    bu_ac: float | None = None
    treatment: str | None = None
    block: str | None = None
    trial: str | None = "North"
    hybrid: str | None = "Larkspur 108"
    ripe_gdd_f: float = 2590


def strips(yields: Mapping[str, Iterable[float | None]], *, blocks: bool = True) -> list[Plot]:
    """Name the strips of a trial: one a treatment and block."""
    return [
        Plot(
            field_id=f"S{at}{block}",
            bu_ac=bu_ac,
            treatment=treatment,
            block=str(block) if blocks else None,
        )
        for at, (treatment, several) in enumerate(yields.items(), start=1)
        for block, bu_ac in enumerate(several, start=1)
    ]


def row(plot: Plot, *, year: int = 2026) -> RosterRow:
    """Write a plot as a row of the roster."""
    return replace(
        ROWS[0],
        field_id=plot.field_id,
        field=f"Strip {plot.field_id}",
        acres=ACRES,
        planted=date(year, 4, 28),
        hybrid=plot.hybrid,
        black_layer_gdd_f=plot.ripe_gdd_f,
        trial=plot.trial,
        treatment=plot.treatment,
        block=plot.block,
    )


def season_of(
    path: Path, plots: Iterable[Plot], *, year: int = 2026, units: System = System.US
) -> Season:
    """Make a season of these plots."""
    return begun(
        path,
        Settings(
            season_id=f"test-{year}",
            name=f"Test season {year}",
            year=year,
            units=units,
            time_zone=TIME_ZONE,
            stations={"home": Station(name="home", units=System.US)},
            scouts=(Scout(scout_id="ana", name="Ana"),),
        ),
        [row(plot, year=year) for plot in plots],
    )


def load(field_id: str, bu_ac: float, *, number: int = 1, acres: float = ACRES) -> Entries:
    """Write one load that makes this yield of dry bushels from the acres, at 20 % moisture."""
    wet_lb = bu_ac * 56 * (100 - 15.5) / (100 - 20) * acres
    key = (field_id, number)
    return {
        ("harvest", key, "ticket"): f"T{field_id}{number}",
        ("harvest", key, "wet_lb"): wet_lb,
        ("harvest", key, "moisture_pct"): 20,
        ("harvest", key, "test_weight_lb_bu"): 57,
    }


def harvest_of(field_id: str, bu_ac: float, *, year: int = 2026, acres: float = ACRES) -> Entries:
    """Fill a field's harvest without a fault."""
    return {
        ("fields", (field_id,), "visit_date"): date(year, *CUT),
        ("fields", (field_id,), "acres_cut"): acres,
        **load(field_id, bu_ac, acres=acres),
    }


def counted(field_id: str, *, year: int = 2026, ears: int = 28) -> Entries:
    """Fill a kernel count of another stand: 175.7 bu/ac at 28 to 32 ears a stop, more at more."""
    entries = dict(good_visit(field_id))
    entries["fields", (field_id,), "visit_date"] = date(year, 8, 12)
    for stop in range(1, 6):
        entries["stops", (field_id, stop), "ears"] = ears + stop
    return entries


def take(
    season: Season, filled: Mapping[str, Entries], round_: Round = HARVEST, *, name: str = "b"
) -> list[Taken]:
    """Write the books of a round with these fields filled, and take them in."""
    paths = []
    for at, plan in enumerate(book_plans(season, Order(round_=round_), entries=filled)):
        path = season.folder.path / f"{round_.name}-{name}{at}.xlsx"
        path.write_bytes(write_book(plan))
        paths.append(path)
    evening = datetime(season.settings.year, 11, 20, 20, tzinfo=UTC)
    return list(take_in(season, paths, now=evening))


def cut(season: Season, plots: Iterable[Plot]) -> None:
    """Take in the harvest of every plot that has a yield."""
    year = season.settings.year
    filled = {
        plot.field_id: harvest_of(plot.field_id, plot.bu_ac, year=year)
        for plot in plots
        if plot.bu_ac is not None
    }
    taken = take(season, filled)
    said = [found for one in taken for found in one.open_problems if found.weight != "note"]
    assert said == [], said


def count(season: Season, ears: Mapping[str, int]) -> None:
    """Take in a kernel count of every field named."""
    year = season.settings.year
    filled = {field_id: counted(field_id, year=year, ears=some) for field_id, some in ears.items()}
    take(season, filled, KERNEL_COUNT)
