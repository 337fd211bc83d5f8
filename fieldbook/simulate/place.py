"""An invented place: growers, fields, hybrids, scouts. None of them exists.

The fields stand in ``place.toml``: each as the roster has it, with a trouble of its own and the
one-line story of what it shows. Beside them stand the strips of trials, which nobody walks: they
are weighed at harvest.
"""

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from importlib.resources import files
from typing import Any, TypedDict

from fieldbook.forms.roster import GRAIN, RosterRow
from fieldbook.forms.stops import INTERIOR

NAME = "Marrow Creek"
YEAR = 2026
STATION = "marrow-creek"
FIRST_WEATHER_YEAR = YEAR - 12
SEASON_END = date(YEAR, 11, 7)
SCOUTS = (("ana", "Ana Veldt"), ("joss", "Joss Pemberly"), ("mirek", "Mirek Sandahl"))


class SpellArgs(TypedDict):
    """A stated piece of the year's weather, as the weather's spells are given."""

    first: date
    last: date
    warmer_f: float
    rain_factor: float


SPELLS: tuple[SpellArgs, ...] = (
    SpellArgs(first=date(YEAR, 7, 12), last=date(YEAR, 7, 23), warmer_f=6.0, rain_factor=0.1),
    SpellArgs(first=date(YEAR, 7, 26), last=date(YEAR, 8, 8), warmer_f=-8.0, rain_factor=3.0),
)


@dataclass(frozen=True, kw_only=True)
class Infection:
    """A leaf disease in a field, as it goes in average weather.

    Attributes
    ----------
    half_d
        Days after silking when half of the plants that will ever have it do; below zero: before.
    ceiling
        Share of plants that have it in the end, 0..1.
    climb_d
        Days from then until half of these have it on the third leaf below the ear leaf.
    ear_leaf_pct
        Share of the ear leaf's area with lesions at the end of the season [%].
    """

    disease: str
    half_d: int
    ceiling: float
    climb_d: float
    ear_leaf_pct: float


@dataclass(frozen=True, kw_only=True)
class Trouble:
    """What a field has of its own, beside the weather of the year.

    Attributes
    ----------
    soil_in
        Water that the root zone holds for plants [in].
    rain_share
        Share of the station's summer rain that fell here too.
    pollen_late_d
        Days by which pollen came after (below zero: before) the usual day.
    late_silks
        Share of plants that silk a week after the others.
    clipping
        Share of silks that insects keep too short to catch pollen.
    beetles
        Which insects do that: ``rootworm`` where nothing is said, or ``japanese``.
    nitrogen_short
        0 enough, 1 very short in grain fill.
    one_sided
        Share of ears that lost kernels on one side.
    barren
        Share of plants without an ear, beside the usual ones.
    stalk_rot
        Share of stalks that fail the test two weeks after black layer.
    moulds
        Share of ears with a mould at harvest, by kind.
    places
        What kind of place a stop is, by stop number; all others are interior.
    """

    soil_in: float = 9.0
    rain_share: float = 1.0
    pollen_late_d: float = 0.0
    late_silks: float = 0.0
    clipping: float = 0.0
    beetles: str | None = None
    nitrogen_short: float = 0.0
    one_sided: float = 0.0
    barren: float = 0.0
    stalk_rot: float = 0.03
    moulds: Mapping[str, float] = field(default_factory=dict)
    infections: tuple[Infection, ...] = ()
    places: Mapping[int, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Plot:
    """A field as the roster has it, and what grows there.

    ``rings`` and ``kernel_mg`` (weight of a kernel at 15.5 % moisture) are what an ear makes
    without stress. ``spread_between_stops`` is the relative standard deviation of the ground.
    """

    row: RosterRow
    story: str
    stand_per_ac: float
    rows_around: int = 16
    rings: int
    kernel_mg: float = 305.0
    spread_between_stops: float = 0.07
    trouble: Trouble = Trouble()
    more_rows: tuple[RosterRow, ...] = ()

    @property
    def field_id(self) -> str:
        """Give the field's code in the roster."""
        return str(self.row.field_id)

    @property
    def planted(self) -> date:
        """Give the day of planting; every invented field has one."""
        if self.row.planted is None:
            raise ValueError(f"field {self.row.field_id} has no planting date")
        return self.row.planted

    def place_of(self, stop: int) -> str:
        """Say what kind of place a stop is."""
        return self.trouble.places.get(stop, INTERIOR)


def _read() -> dict[str, Any]:
    text = files("fieldbook.simulate").joinpath("place.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


_PLACE = _read()
HYBRIDS: Mapping[str, Mapping[str, Any]] = _PLACE["hybrids"]


def roster_row(field_id: str, **entries: Any) -> RosterRow:
    """Make a roster row: the hybrid's own numbers and the usual answers under what is given."""
    usual = {"row_width_in": 30.0, "use": GRAIN, "station": STATION}
    return RosterRow(**{**usual, **HYBRIDS[entries["hybrid"]], **entries, "field_id": field_id})


def _row(field_id: str, table: Mapping[str, Any]) -> RosterRow:
    return roster_row(field_id, **table, grower=_PLACE["growers"][table["grower_id"]])


def _trouble(table: Mapping[str, Any]) -> Trouble:
    infections = tuple(Infection(**one) for one in table.get("infections", ()))
    places = {int(stop): place for stop, place in table.get("places", {}).items()}
    return Trouble(**{**table, "infections": infections, "places": places})


def _plot(field_id: str, table: Mapping[str, Any]) -> Plot:
    made = {
        "row": _row(field_id, table["row"]),
        "more_rows": tuple(_row(field_id, row) for row in table.get("more_rows", ())),
        "trouble": _trouble(table.get("trouble", {})),
    }
    return Plot(**{**table, **made})


def _strips(trial: str, table: Mapping[str, Any]) -> Iterator[Plot]:
    """Make the strips of a trial: each a field of its own, side by side in its block."""
    for number, (field_id, (block, treatment)) in enumerate(table["strips"].items(), start=1):
        grown = dict(table["treatments"][treatment])
        row = {
            **table["row"],
            "field": f"{table['row']['field']}, strip {number}",
            "hybrid": grown.pop("hybrid"),
            "trial": trial,
            "treatment": treatment,
            "block": block or None,
        }
        better = table["ground"][block]
        yield Plot(
            row=_row(field_id, row),
            story=f"{table['story']} This one: {treatment}.",
            stand_per_ac=table["stand_per_ac"],
            rings=table["rings"],
            kernel_mg=better * grown.pop("kernel_mg"),
            **grown,
        )


PLOTS: tuple[Plot, ...] = tuple(_plot(name, table) for name, table in _PLACE["fields"].items())
STRIPS: tuple[Plot, ...] = tuple(
    strip for name, table in _PLACE["trials"].items() for strip in _strips(name, table)
)
