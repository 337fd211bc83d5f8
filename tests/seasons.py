"""Small invented seasons and books for tests."""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from fieldbook.forms.roster import RosterRow
from fieldbook.forms.rounds import KERNEL_COUNT, Round
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.units import System
from fieldbook.workbook.plan import BookPlan, EntryKey, EntryValue
from fieldbook.workbook.write import write_book

NOW = datetime(2026, 8, 20, 18, 0, tzinfo=UTC)
VISIT_DAY = date(2026, 8, 12)

ROWS = (
    RosterRow(
        grower_id="G1",
        grower="Oda Fenwick",
        field_id="A1",
        field="Long eighty",
        acres=80,
        row_width_in=30,
        planted=date(2026, 4, 28),
        hybrid="Larkspur 108",
        silk_gdd_f=1330,
        black_layer_gdd_f=2590,
        scout="ana",
        station="home",
        latitude=41.5,
        longitude=-93.5,
        own_average_bu_ac=190,
    ),
    RosterRow(
        grower_id="G1",
        grower="Oda Fenwick",
        field_id="A2",
        field="Short forty",
        acres=40,
        row_width_in=20,
        planted=date(2026, 5, 8),
        hybrid="Tamsin 104",
        relative_maturity=104,
        scout="ana",
        station="home",
    ),
    RosterRow(
        grower_id="G2",
        grower="Tamar O'Neill & Sons",
        field_id="B7",
        field="Behind the barn",
        acres=24,
        row_width_in=30,
        planted=date(2026, 5, 20),
        scout="joss",
    ),
)


_BEGUN: dict[str, dict[Path, bytes | None]] = {}  # files, and folders as None


def begun(path: Path, settings: Settings, rows: Iterable[RosterRow]) -> Season:
    """Make and open a season folder: a copy of an equal one that this process has made once.

    A roster takes longer to write than most of what is done with it.
    """
    rows = tuple(rows)
    equal = repr((settings, rows))
    if equal not in _BEGUN:
        with TemporaryDirectory() as place:
            begin_season(Path(place), settings, rows)
            _BEGUN[equal] = {
                one.relative_to(place): one.read_bytes() if one.is_file() else None
                for one in sorted(Path(place).rglob("*"))
            }
    path.mkdir(parents=True, exist_ok=True)
    for name, data in _BEGUN[equal].items():
        if data is None:
            (path / name).mkdir(exist_ok=True)
        else:
            (path / name).write_bytes(data)
    season, problems = open_season(path)
    assert season is not None, problems
    return season


def small_season(
    path: Path, *, units: System = System.US, rows: tuple[RosterRow, ...] = ROWS
) -> Season:
    """Make and open a season folder of three fields."""
    settings = Settings(
        season_id="test-2026",
        name="Test season 2026",
        year=2026,
        units=units,
        time_zone=TIME_ZONE,
        stations={"home": Station(name="home", units=System.US)},
        scouts=(Scout(scout_id="ana", name="Ana"), Scout(scout_id="joss", name="Joss")),
    )
    return begun(path, settings, rows)


def with_lines(season: Season, lines: str | None) -> Season:
    """Append lines to a season's settings and open it again."""
    assert lines is not None
    settings = season.folder.settings
    settings.write_text(settings.read_text() + "\n" + lines)
    again, problems = open_season(season.folder.path)
    assert again is not None, problems
    return again


def book_plan(
    season: Season,
    *,
    scout: str = "ana",
    full: bool = False,
    round_: Round = KERNEL_COUNT,
    entries: Mapping[str, Mapping[EntryKey, EntryValue]] | None = None,
) -> BookPlan:
    """Plan one scout's book."""
    order = Order(round_=round_, full=full, scout=scout)
    return next(iter(book_plans(season, order, entries=entries)))


def write_filled(
    path: Path,
    season: Season,
    entries: Mapping[EntryKey, EntryValue],
    *,
    scout: str = "ana",
    full: bool = False,
    round_: Round = KERNEL_COUNT,
) -> Path:
    """Write a book with these entries in place."""
    plan = book_plan(season, scout=scout, full=full, round_=round_, entries={"A1": entries})
    path.write_bytes(write_book(plan))
    return path


def good_stop(
    field_id: str, stop: int, *, ears: int = 30, rows: int = 16, along: int = 36, pulled: int = 3
) -> dict[EntryKey, EntryValue]:
    """Fill one stop and its ears without a fault: no two ears alike, `along` in the middle."""
    entries: dict[EntryKey, EntryValue] = {("stops", (field_id, stop), "ears"): ears}
    for ear in range(1, pulled + 1):
        key = (field_id, stop, ear)
        entries["ears", key, "rows_around"] = rows
        entries["ears", key, "kernels_set"] = along + ear - (pulled + 1) // 2
        entries["ears", key, "tip_unset"] = 2
        entries["ears", key, "tip_aborted"] = 1
        entries["ears", key, "no_other_gaps"] = "yes"
    return entries


def good_visit(field_id: str, *, stops: int = 5, pulled: int = 3) -> dict[EntryKey, EntryValue]:
    """Fill one field without a fault."""
    entries: dict[EntryKey, EntryValue] = {
        ("fields", (field_id,), "visit_date"): VISIT_DAY,
        ("fields", (field_id,), "stage"): "R4",
        ("fields", (field_id,), "grain_fill"): "average",
    }
    for stop in range(1, stops + 1):
        entries |= good_stop(field_id, stop, ears=28 + stop, along=34 + stop, pulled=pulled)
    return entries
