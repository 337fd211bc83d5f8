"""A season of any size: fields in books of ten, every book filled without a fault."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

from seasons import NOW, ROWS, good_visit, small_season

from fieldbook.engines import using
from fieldbook.forms.roster import RosterRow
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.jobs import many
from fieldbook.season.blank import Order, book_plans, keep_identity
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.workbook.write import write_book

AS_OF = NOW.date()
FIELDS_A_BOOK = 10  # as the product has it
_FIELDS_A_GROWER = 8
_FIRST_YEAR = 2016


def grown(path: Path, count: int) -> Season:
    """Make a season of so many fields with weather of this year and of ten before it."""
    season = small_season(path, rows=tuple(_row(number) for number in range(count)))
    days = daily_weather(date(_FIRST_YEAR, 1, 1), AS_OF, seed="bench")
    season.folder.weather.mkdir(exist_ok=True)
    (season.folder.weather / "home.csv").write_text(weather_csv(days), "utf-8")
    return season


def _row(number: int) -> RosterRow:
    grower = number // _FIELDS_A_GROWER
    return replace(
        ROWS[0],
        grower_id=f"G{grower}",
        grower=f"Grower {grower}",
        field_id=f"F{number}",
        field=f"Field {number}",
        planted=date(2026, 4, 20) + timedelta(days=number % 20),
        scout="ana",
        latitude=41.0 + number % 40 / 100,
        longitude=-93.0 - number // 40 % 40 / 100,
    )


def filled(season: Season, folder: Path) -> list[Path]:
    """Write every field's kernel count into books as scouts return them; returns these."""
    folder.mkdir()
    paths = []
    entries = {field: good_visit(field) for field in season.roster.fields}
    plans = [*book_plans(season, Order(round_=KERNEL_COUNT), entries=entries)]
    for plan in plans:
        keep_identity(season, plan)
    for number, made in enumerate(many(write_book, plans)):
        paths.append(folder / f"book-{number}.xlsx")
        paths[-1].write_bytes(made)
    return paths


def taken(season: Season, books: list[Path]) -> Iterator[bool]:
    """Take books in, in one process; yields whether each was accepted."""
    with using(workers=1):
        for one in take_in(season, books, now=NOW):
            yield one.accepted
