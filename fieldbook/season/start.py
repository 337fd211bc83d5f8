"""Begin a season: its folder, a season.toml to look into, a roster to fill."""

from collections.abc import Iterable
from pathlib import Path
from unicodedata import combining, normalize

from fieldbook.forms.roster import RosterRow
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Problem, problem
from fieldbook.settings.fresh import settings_text
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.units import System
from fieldbook.words import ENGLISH, say
from fieldbook.workbook.roster import write_roster

TIME_ZONE = "America/Chicago"
_LONGEST_NAME, _LONGEST_STEM = 80, 30


def new_season(
    path: Path, *, year: int, name: str | None, units: System, language: str = ENGLISH
) -> Problem | None:
    """Make a season folder in a new or empty place; return why not, otherwise.

    The season's id comes from the folder: two seasons of a year that lie side by side have two, so
    that the books of one, such as a rehearsal, never get into the other.
    """
    if path.is_file() or (path.is_dir() and any(path.iterdir())):
        return problem("season-exists", folder=str(path))
    called = " ".join((name or say("Season {year}", language, year=year)).split())[:_LONGEST_NAME]
    settings = Settings(
        season_id=_season_id(path.resolve().name, year),
        name=called,
        year=year,
        units=units,
        language=language,
        paper="a4" if units is System.METRIC else "letter",
        time_zone=TIME_ZONE,
        stations={"home": Station(name="home", units=units)},
        scouts=(Scout(scout_id="scout1", name=say("First scout", language)),),
    )
    begin_season(path, settings)
    return None


def _season_id(folder: str, year: int) -> str:
    letters = (one for one in normalize("NFKD", folder.lower()) if not combining(one))
    plain = "".join(one if one.isascii() and one.isalnum() else "-" for one in letters)
    words = [word for word in plain.split("-") if word]
    stem = "-".join(word for word in words if word != str(year))[:_LONGEST_STEM].strip("-")
    return f"{stem or 'season'}-{year}"


def begin_season(path: Path, settings: Settings, rows: Iterable[RosterRow] = ()) -> None:
    """Write a season's first files; the demo brings its own roster."""
    folder = SeasonFolder(path)
    folder.make()
    write_safely(folder.settings, settings_text(settings).encode("utf-8"))
    roster = write_roster(
        rows,
        year=settings.year,
        units=settings.units,
        language=settings.language,
        paper=settings.paper,
    )
    write_safely(path / "roster.xlsx", roster)
