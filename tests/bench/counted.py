"""A season of any size whose ears stand in its ledger already: rows, and no books behind them."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from random import Random
from typing import Any

import pandas as pd
import sqlalchemy as sa
from grown import grown
from seasons import VISIT_DAY

from fieldbook.check.roster import Field
from fieldbook.forms.rounds import KERNEL_COUNT
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.tables import SHEET_TABLES, VISITS
from fieldbook.results.counts import counted_visits
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures

SHEETS = ("fields", "stops", "ears")


@dataclass(frozen=True, kw_only=True)
class Walk:
    """How much of a field was counted."""

    stops: int
    ears: int  # at each stop


def counted_season(path: Path, fields: int, walk: Walk) -> Season:
    """Make a season in which each field was counted once; ears differ from one another."""
    season, draw = grown(path, fields), Random("counted")
    engine = _engine(season)
    with Ledger(season.folder), engine.begin() as connection:
        for number in range(fields):
            for table, rows in _rows(season.roster.fields[f"F{number}"], walk, draw).items():
                connection.execute(table.insert(), rows)
    engine.dispose()
    return season


def _rows(field: Field, walk: Walk, draw: Random) -> dict[sa.Table, list[dict[str, Any]]]:
    visit = {"visit_id": f"{field.field_id}.{KERNEL_COUNT.code}1"}
    stops = [{**visit, "stop": stop} for stop in range(1, walk.stops + 1)]
    ears = [{**stop, "ear": ear} for stop in stops for ear in range(1, walk.ears + 1)]
    printed = {"field_id": field.field_id, "field": field.field, "grower": field.grower}
    head = {**printed, "round": KERNEL_COUNT.name, "scout": "ana", "units": "us"}
    return {
        VISITS: [{**visit, **head, "row_width_in": 30.0, "sequence": 1}],
        SHEET_TABLES["fields"]: [{**visit, "visit_date": VISIT_DAY, "stage": "R5"}],
        SHEET_TABLES["stops"]: [{**stop, "ears": draw.randint(26, 34)} for stop in stops],
        SHEET_TABLES["ears"]: [{**ear, **_ear(draw)} for ear in ears],
    }


def _ear(draw: Random) -> dict[str, int]:
    return {
        "rows_around": draw.choice((14, 16, 16, 18)),
        "kernels_set": draw.randint(28, 38),
        "base_blank": draw.randint(0, 2),
        "inside_blank": draw.randint(0, 3),
        "tip_unset": draw.randint(0, 6),
        "tip_aborted": draw.randint(0, 2),
    }


def yields_and_losses(season: Season) -> Iterator[tuple[float, int]]:
    """Work out yield and ears field by field; gives each likely yield and its ears."""
    settings, fields = season.settings, season.roster.fields
    figures = season_figures(settings)
    with Ledger(season.folder) as ledger:
        for visits in (one for some in ledger.by_field(fields) for one in some.values()):
            for made in counted_visits(
                visits,
                fields,
                figures,
                wanted_half_width_bu_ac=settings.wanted_half_width_bu_ac,
                own_counts=settings.own_counts,
            ):
                assert made.yield_
                assert made.ears
                yield made.yield_.likely_bu_ac, made.ears.ears


def bare_rows(season: Season) -> int:
    """Read the same rows with nothing but pandas; returns how many ears these are."""
    engine, tables = _engine(season), [VISITS, *(SHEET_TABLES[name] for name in SHEETS)]
    with engine.connect() as connection:
        frames = [pd.read_sql(sa.select(table), connection) for table in tables]
    engine.dispose()
    return len(frames[-1])


def _engine(season: Season) -> sa.Engine:
    return sa.create_engine(f"sqlite:///{season.folder.ledger}")
