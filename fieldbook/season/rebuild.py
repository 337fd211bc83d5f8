"""Make the ledger anew from the kept events, where it is or in another place.

The new ledger is made beside the old one and takes its place only when every event could be
replayed: a season whose kept folder was lost keeps the ledger that it has.
"""

from contextlib import ExitStack
from dataclasses import replace

import sqlalchemy as sa

from fieldbook.ledger.database import (
    Database,
    drop_schema,
    open_engine,
    season_database,
    take_place,
)
from fieldbook.ledger.disk import must_be_local
from fieldbook.ledger.events import event_paths
from fieldbook.ledger.folder import SeasonFolder
from fieldbook.ledger.kept import BESIDE_THE_LEDGER, kept_problems
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.tables import EVENTS
from fieldbook.ledger.turn import season_turn
from fieldbook.problems import Problem, problem
from fieldbook.season.season import Season
from fieldbook.settings.rules import DATABASE_URL, UnfitError


def moved(season: Season, place: str) -> SeasonFolder | None:
    """Return the season's folder with its ledger in another place; None where none can be."""
    if place == season.folder.ledger.name:
        return replace(season.folder, database=None)
    try:
        url = DATABASE_URL.read(place)
    except UnfitError:
        return None
    database = season_database(url, season.settings.season_id)
    return replace(season.folder, database=database)


def rebuild(folder: SeasonFolder, *, to: SeasonFolder | None = None) -> tuple[int, list[Problem]]:
    """Replay the ledger from the kept events; return how many, and what is wrong with the kept.

    `to` is the same folder with another place of the ledger, to move the season there; the ledger
    in the former place stays as it is.
    """
    target = to or folder
    with ExitStack() as held:
        for one in dict.fromkeys((folder, target)):
            held.enter_context(season_turn(one))
        problems = kept_problems(folder)
        if any(found.code not in BESIDE_THE_LEDGER for found in problems):
            return 0, problems
        events = len(event_paths(folder))
        if not events and _has_ledger(target):
            return 0, [problem("kept-empty")]
        if target.database is None:
            _in_file(target)
        else:
            _in_database(target, target.database)
        return events, problems


def _has_ledger(folder: SeasonFolder) -> bool:
    if folder.database is None:
        return folder.ledger.exists()
    engine = open_engine(folder.database)
    try:
        with engine.connect() as connection:
            made = sa.inspect(connection).has_table(EVENTS.name, folder.database.schema)
            return made and connection.execute(sa.select(EVENTS)).first() is not None
    finally:
        engine.dispose()


def _in_file(folder: SeasonFolder) -> None:
    must_be_local(folder.path)
    fresh = folder.rebuilt
    fresh.unlink(missing_ok=True)
    with Ledger(folder, path=fresh):
        pass
    fresh.replace(folder.ledger)


def _in_database(folder: SeasonFolder, database: Database) -> None:
    engine = open_engine(database)
    try:
        with engine.begin() as connection:
            drop_schema(connection, database.beside)
        with Ledger(replace(folder, database=database.beside)):
            pass
        with engine.begin() as connection:
            take_place(connection, database)
    finally:
        engine.dispose()
