"""``season.toml``: what a person sets for a season, read into one frozen record.

Every key is declared once, in `fieldbook.settings.keys`. That table drives the reading,
the search for unknown keys and the fresh file (`fieldbook.settings.fresh`). There is no key for a
password.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

from fieldbook.agronomy.leafrules import RULES
from fieldbook.settings.keys import (
    DEFAULT_FIELDS_A_DAY,
    DEFAULT_HALF_WIDTH_BU_AC,
)
from fieldbook.settings.look import Look
from fieldbook.settings.mail import MailSettings
from fieldbook.units import System

Figure = int | float | tuple[int | float, ...]


@dataclass(frozen=True, kw_only=True)
class Station:
    """A weather station: its files in the weather folder and the unit system they are in.

    Without ``files`` it has one, named after the station: ``home.csv``.
    """

    name: str
    files: tuple[str, ...] = ()
    units: System
    latitude: float | None = None
    longitude: float | None = None

    def __post_init__(self) -> None:
        if not self.files:
            object.__setattr__(self, "files", (f"{self.name}.csv",))


@dataclass(frozen=True, kw_only=True)
class Scout:
    """A person who walks fields, under the short id that the roster names.

    ``language`` and ``fields_a_day`` are this scout's own, None where the season's hold.
    """

    scout_id: str
    name: str
    mail: str | None = None
    language: str | None = None
    fields_a_day: int | None = None


@dataclass(frozen=True, kw_only=True)
class Grower:
    """Where a grower's letters go and what the pages are to be like, by the roster's ID."""

    grower_id: str
    mail: str | None = None
    language: str | None = None
    look: Look = field(default_factory=Look)


@dataclass(frozen=True, kw_only=True)
class HybridCounts:
    """A hybrid's own thousands of kernels per bushel: heavy, likely, light."""

    hybrid: str
    thousand_kernels_per_bu: tuple[float, float, float]
    rests_on: str | None = None


@dataclass(frozen=True, kw_only=True)
class Settings:
    """Everything that ``season.toml`` sets.

    ``figures`` overrides constants of the program by their key; whether such a key exists is
    checked against ``figure_keys`` of `read_settings`.
    """

    season_id: str
    name: str
    year: int
    units: System
    language: str = "en"
    paper: str = "letter"
    time_zone: str
    price_per_bu: float | None = None
    wanted_half_width_bu_ac: float = DEFAULT_HALF_WIDTH_BU_AC
    fields_a_day: int = DEFAULT_FIELDS_A_DAY
    stations: Mapping[str, Station] = field(default_factory=dict)
    scouts: tuple[Scout, ...] = ()
    growers: tuple[Grower, ...] = ()
    hybrids: tuple[HybridCounts, ...] = ()
    mail: MailSettings = field(default_factory=MailSettings)
    figures: Mapping[str, Figure] = field(default_factory=dict)
    sender: str | None = None
    look: Look = field(default_factory=Look)
    keep_photo_position: bool = False
    ledger_url: str | None = None
    leaf_rule: str = RULES[0]
    fungicide_cost_per_ac: float | None = None
    fungicide_gain_bu_ac: float | None = None
    fungicide_gain_sd_bu_ac: float | None = None
    fungicide_gain_source: str | None = None

    def language_of(self, scout: str | None) -> str:
        """Return a scout's own language, or the season's."""
        own = {one.scout_id: one.language for one in self.scouts}
        return own.get(scout or "") or self.language

    def language_for(self, grower_id: str) -> str:
        """Return the language of a grower's pages: the grower's own, or the season's."""
        own = next((one.language for one in self.growers if one.grower_id == grower_id), None)
        return own or self.language

    @property
    def own_counts(self) -> dict[str, tuple[float, float, float]]:
        """Return the thousands of kernels per bushel of hybrids that have their own."""
        return {one.hybrid: one.thousand_kernels_per_bu for one in self.hybrids}
