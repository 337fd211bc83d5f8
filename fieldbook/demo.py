"""An invented season, walked from roster to report in one go."""

import json
import shutil
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from pathlib import Path

from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.problems import line
from fieldbook.report.build import write_reports
from fieldbook.season.blank import Order, book_plans, write_books
from fieldbook.season.folder import write_safely
from fieldbook.season.intake import Taken, take_in
from fieldbook.season.season import Season, open_season
from fieldbook.season.settings import Scout, Station
from fieldbook.season.start import Beginning, begin_season
from fieldbook.simulate import place
from fieldbook.simulate.scout import Entries, Walk, walk_field, with_mistakes
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.write import write_book

MARK = ".silkbook-demo"
_SEED = "marrow-creek-1"
_NOW = datetime(2026, 8, 10, 20, 0, tzinfo=UTC)

_WALKS: Mapping[str, Walk] = {
    "D14": Walk(day=date(2026, 8, 5), stage="R3", grain_fill="good", stops=5, ears=5),
    "D15": Walk(
        day=date(2026, 8, 5),
        stage="R4",
        grain_fill="average",
        stops=5,
        ears=5,
        edge_stop=5,
        remark="Tips bare all over the west half",
    ),
    "T03": Walk(day=date(2026, 8, 6), stage="R4", grain_fill="average", stops=5, ears=5),
    "T04": Walk(day=date(2026, 8, 7), stage="R3", grain_fill="poor", stops=5, ears=3),
    "B21": Walk(day=date(2026, 8, 7), stage="R4", grain_fill=None, stops=2, ears=3),
}
_SPOILED = "T04"


class DemoRefusedError(Exception):
    """The folder holds something that the demo did not make."""


def run_demo(folder: Path) -> Iterator[str]:
    """Make the season and run it; yields lines to read. Overwrites only a folder it made."""
    _clear(folder)
    yield f"Making an invented season, {place.NAME} {place.YEAR}, in {folder}"
    season = _make(folder)
    order = Order(round_=KERNEL_COUNT)
    blanks = [path for path, _, _ in write_books(season, order)]
    yield f"Wrote {len(blanks)} blank books for the kernel count."
    books = _fill(season)
    yield f"Two scouts filled {len(books)} books and sent them back."
    taken = list(take_in(season, books, now=_NOW))
    yield from _taken_lines(taken)
    steps = list(write_reports(season, as_of=place.AS_OF, field_id=None, pdf=True, templates=None))
    missing = {found.code for step in steps for found in step.problems}
    kinds = "HTML pages" if missing else "reports as HTML and PDF"
    yield f"Wrote {len(steps)} {kinds}."
    yield from _where_to_look(folder, blanks[0], no_pdf=bool(missing))


def _clear(folder: Path) -> None:
    if not folder.exists():
        return
    if folder.is_file() or (any(folder.iterdir()) and not (folder / MARK).is_file()):
        raise DemoRefusedError(
            f"'{folder}' holds something that the demo did not make. Choose a new folder."
        )
    shutil.rmtree(folder)


def _make(folder: Path) -> Season:
    begin_season(
        folder,
        Beginning(
            season_id=f"marrow-creek-{place.YEAR}",
            name=f"{place.NAME} {place.YEAR}",
            year=place.YEAR,
            stations=(Station(name=place.STATION, units=System.US),),
            scouts=tuple(Scout(scout_id=short, name=name) for short, name in place.SCOUTS),
            rows=tuple(plot.row for plot in place.PLOTS),
        ),
    )
    write_safely(folder / MARK, b"made by 'silkbook demo'\n")
    first = date(place.FIRST_WEATHER_YEAR, 1, 1)
    days = (day for day in daily_weather(first, place.AS_OF, seed=_SEED) if day.day != _LOST_DAY)
    weather = weather_csv(days)
    write_safely(folder / "weather" / f"{place.STATION}.csv", weather.encode())
    season, problems = open_season(folder)
    if season is None:
        raise RuntimeError(f"the demo season can't be opened: {json.dumps(str(problems))}")
    return season


_LOST_DAY = date(2026, 6, 17)


def _fill(season: Season) -> list[Path]:
    """Fill the books as two scouts would: Ana the full form, Joss the quick one."""
    entries: dict[str, Entries] = {}
    for plot in place.PLOTS:
        field_id = str(plot.row.field_id)
        if field_id in _WALKS:
            entries[field_id] = walk_field(plot, _WALKS[field_id], seed=_SEED)
    entries[_SPOILED] = with_mistakes(entries[_SPOILED], _SPOILED)
    paths = []
    for scout, full in (("ana", True), ("joss", False)):
        order = Order(round_=KERNEL_COUNT, scout=scout, full=full)
        for plan in book_plans(season, order, entries=entries):
            path = season.folder.incoming / f"kernel count {scout}.xlsx"
            write_safely(path, write_book(plan))
            paths.append(path)
    return paths


def _taken_lines(taken: list[Taken]) -> Iterator[str]:
    visits = [visit for one in taken for visit in one.visits]
    yield f"Took in {len(visits)} field visits: {', '.join(visits)}."
    asked = [found for one in taken for found in one.open_problems]
    yield f"{len(asked)} things are questioned, as they would be in a real season:"
    for found in asked:
        yield f"  {found.weight.upper():5}  {line(found)}"


def _where_to_look(folder: Path, blank: Path, *, no_pdf: bool) -> Iterator[str]:
    suffix = "html" if no_pdf else "pdf"
    yield "Now open:"
    yield f"  {blank}  (a blank book, as a scout gets it)"
    yield f"  {folder / 'reports' / f'D15-schoolhouse-eighty.{suffix}'}  (a grower's report)"
    yield f"  {folder / 'reports' / 'T04-cemetery-corner.html'}  (one with open questions)"
