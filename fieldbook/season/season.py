"""An opened season: its settings and roster, and what a book is judged against."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from fieldbook.check.context import Context
from fieldbook.check.history import PastVisit
from fieldbook.check.roster import Roster, check_roster
from fieldbook.figures import shipped_figures
from fieldbook.ledger.database import Database, season_database
from fieldbook.ledger.folder import SeasonFolder, digest
from fieldbook.problems import Param, Place, Problem, Weight, problem
from fieldbook.settings.read import read_settings
from fieldbook.settings.rules import nearest
from fieldbook.settings.settings import Settings
from fieldbook.weather.temps import SeasonTemps
from fieldbook.words import Phrase, phrase
from fieldbook.workbook.read import read_roster


@dataclass(frozen=True, kw_only=True)
class Season:
    """A season that can be worked in."""

    folder: SeasonFolder
    settings: Settings
    roster: Roster
    problems: tuple[Problem, ...]

    @property
    def language(self) -> str:
        """The season's language."""
        return self.settings.language

    def language_of(self, scout: str | None) -> str:
        """Return the language of a scout's books and messages: the scout's own, or the season's."""
        return self.settings.language_of(scout)

    def hashes(self) -> dict[str, str]:
        """Return the hashes of the files that a book is judged against."""
        files = [path for path in (self.folder.settings, self.folder.roster) if path]
        found = {path.name: digest(path.read_bytes()) for path in files}
        weather = sorted(path for path in self.folder.weather.glob("*.*") if path.is_file())
        return found | {f"weather/{path.name}": digest(path.read_bytes()) for path in weather}

    def temps(self, through: date) -> SeasonTemps:
        """Return what gives the fields' temperatures through a day."""
        stations, folder = self.settings.stations, self.folder.weather
        return SeasonTemps(stations, folder, through=through)

    def context(
        self,
        past: Mapping[str, tuple[PastVisit, ...]],
        *,
        today: date,
        received: date | None,
        temps: SeasonTemps | None = None,
        sent_by: str | None = None,
    ) -> Context:
        """Return what the checks may know.

        `temps` saves reading the weather anew for every book of one intake; `sent_by` is the scout
        who mailed the book.
        """
        return Context(
            season_id=self.settings.season_id,
            year=self.settings.year,
            language=self.language,
            units=self.settings.units,
            roster=self.roster,
            today=today,
            received=received,
            past=past,
            temps=temps or self.temps(today),
            sent_by=sent_by,
        )


def open_season(path: Path) -> tuple[Season | None, tuple[Problem, ...]]:
    """Open a season folder; None with the reasons where it cannot be worked in."""
    folder = SeasonFolder(path)
    if not folder.settings.is_file():
        code = "season-missing" if path.exists() else "season-nowhere"
        return None, (problem(code, folder=str(path)),)
    settings, problems = read_settings(folder.settings, figure_keys=set(shipped_figures()))
    if settings is None:
        return None, problems
    folder = replace(folder, database=_database(settings))
    if folder.roster is None:
        return None, (*problems, problem("roster-missing"))
    roster, more = _roster(folder.roster, settings)
    if roster is None or not roster.fields:
        return None, (*problems, *more)
    problems = (*problems, *more, *_unknown_in_roster(roster, settings))
    return Season(folder=folder, settings=settings, roster=roster, problems=problems), ()


def _database(settings: Settings) -> Database | None:
    url = settings.ledger_url
    return season_database(url, settings.season_id) if url else None


def _roster(path: Path, settings: Settings) -> tuple[Roster | None, tuple[Problem, ...]]:
    try:
        data = path.read_bytes()
    except OSError as fault:
        place = Place(file=path.name)
        return None, (problem("file-unreadable", place, detail=fault.strerror or "unknown"),)
    read = read_roster(data, path.name)
    if read.sheet is None:
        return None, read.problems
    roster, problems = check_roster(
        read.sheet, path.name, read.units or settings.units, settings.language
    )
    asked = (found for found in read.problems if found.weight is not Weight.NOTE)
    names = _unknown_names(roster, settings, path.name)
    return roster, (*asked, *problems, *names, *_other_years(roster, settings, path.name))


def _other_years(roster: Roster, settings: Settings, file: str) -> Iterator[Problem]:
    """Tell of fields that were planted in another year, as last year's roster has them."""
    for field in roster.fields.values():
        for planting in field.plantings:
            if planting.planted.year != settings.year:
                params: dict[str, Param] = {
                    "planted": planting.planted.isoformat(),
                    "year": settings.year,
                }
                name = f"{field.field_id} {field.field}"
                yield problem("roster-other-year", Place(file=file), field=name, **params)


def _unknown_in_roster(roster: Roster, settings: Settings) -> Iterator[Problem]:
    """Tell of settings for what the roster lacks; a field that is left out may have it."""
    if not roster.left_out:
        yield from _unknown_hybrids(roster, settings)
        yield from _unknown_growers(roster, settings)


def _unknown_hybrids(roster: Roster, settings: Settings) -> Iterator[Problem]:
    """Tell of kernel counts that no field uses: their hybrid may be written otherwise."""
    grown = {
        planting.hybrid
        for field in roster.fields.values()
        for planting in field.plantings
        if planting.hybrid
    }
    for own in settings.hybrids:
        if own.hybrid not in grown:
            hint = _hint(own.hybrid, grown)
            yield problem("season-hybrid-unknown", typed=own.hybrid, suggestion=hint)


def _unknown_growers(roster: Roster, settings: Settings) -> Iterator[Problem]:
    """Tell of growers' settings that no grower of the roster has."""
    known = {field.grower_id for field in roster.fields.values()}
    for own in settings.growers:
        if own.grower_id not in known:
            hint = _hint(own.grower_id, known)
            yield problem("season-grower-unknown", typed=own.grower_id, suggestion=hint)


def _hint(typed: str, known: Collection[str]) -> Phrase | str:
    near = nearest(typed, known)
    return phrase("Did you mean '{key}'?", key=near) if near else ""


def _unknown_names(roster: Roster, settings: Settings, file: str) -> list[Problem]:
    scouts = {scout.scout_id for scout in settings.scouts}
    problems = []
    for name in dict.fromkeys(field.scout for field in roster.fields.values() if field.scout):
        if name not in scouts:
            params: dict[str, Param] = {"typed": name, "suggestion": _hint(name, scouts)}
            problems.append(problem("roster-unknown-scout", Place(file=file), **params))
    stations = dict.fromkeys(field.station for field in roster.fields.values() if field.station)
    for name in stations:
        if name not in settings.stations:
            params = {"typed": name, "suggestion": _hint(name, settings.stations)}
            problems.append(problem("roster-unknown-station", Place(file=file), **params))
    return problems
