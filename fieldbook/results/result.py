"""What is known of one field on one day: plain frozen data, in stored units.

Reports, JSON and tables are views of these records; nothing below computes anything.
"""

import datetime
from dataclasses import dataclass, replace

from fieldbook.agronomy.windows import WeatherDay
from fieldbook.forms.roster import SILAGE
from fieldbook.forms.rounds import HARVEST
from fieldbook.problems import Problem
from fieldbook.results.harvest import HarvestResult
from fieldbook.results.looks_result import (
    FungicideResult,
    GapsResult,
    LeavesResult,
    OutlookResult,
    PhotoResult,
    PollinationResult,
    RipeResult,
)
from fieldbook.results.yield_result import (
    EarsResult,
    Methods,
    StopResult,
    WeighedYield,
    YieldResult,
)
from fieldbook.words import Phrase

LEFT_OUT = "visit-left-out"


@dataclass(frozen=True, kw_only=True)
class StageResult:
    """A stage and its date: ``date`` is None where only a range can be given.

    ``basis`` is one of ``seen``, ``heat units``, ``days after silking`` and, for R1 alone,
    ``silks counted``; ``years`` is the number of past years behind the range; ``anchor`` the stage
    and day that the forecast starts from.
    ``passed`` is True where the date lies on or before the day of the report.
    """

    stage: str
    date: datetime.date | None
    earliest: datetime.date | None
    latest: datetime.date | None
    basis: str
    years: int
    anchor_stage: str | None
    anchor_date: datetime.date | None
    passed: bool


@dataclass(frozen=True, kw_only=True)
class HeatResult:
    """Heat since planting, and from which weather."""

    station: str
    gdd_since_planting_f: float | None
    weather_through: datetime.date | None
    past_years: int
    days_filled: int
    days_missing: int


@dataclass(frozen=True, kw_only=True)
class HeatCurve:
    """Sums of heat since planting, a value a day from then on [GDD F].

    ``own_f`` ends with the weather on file, the others go on. ``low_f`` and ``high_f`` hold
    ``held_pct`` of the past years, with few years all of them [%].
    """

    planted: datetime.date
    own_f: tuple[float, ...]
    low_f: tuple[float, ...]
    middle_f: tuple[float, ...]
    high_f: tuple[float, ...]
    years: int
    held_pct: float


@dataclass(frozen=True, kw_only=True)
class VisitResult:
    """One visit as taken in."""

    visit_id: str
    round: str
    date: datetime.date | None
    scout: str
    stage: str | None
    grain_fill: str | None
    remark: str | None
    stops: int
    ears: int


@dataclass(frozen=True, kw_only=True)
class PlantingResult:
    """One hybrid and planting date of the field, and its area."""

    hybrid: str | None
    planted: datetime.date
    acres: float


@dataclass(frozen=True, kw_only=True)
class FieldResult:
    """Everything that is known of one field on ``as_of``.

    ``questions`` are open errors and asks; ``notes`` what a careful reader should know.
    ``figures`` are the keys of every constant that a number here rests on.
    ``around_silking`` is the weather day by day, from ten days before silking on.
    ``count_visit`` is the visit that yield, stops and ears are of.
    ``use`` is what the corn is grown for, as a key of the roster.
    ``harvest`` is what came over the scale, None where that is not settled too.
    Parts that nobody looked at yet are None.
    """

    season_name: str
    year: int
    as_of: datetime.date
    units: str
    field_id: str
    field: str
    grower_id: str
    grower: str
    acres: float
    row_width_in: float
    plantings: tuple[PlantingResult, ...]
    forecast_planting: PlantingResult
    own_average_bu_ac: float | None
    visits: tuple[VisitResult, ...]
    yield_: YieldResult | None
    weighed: WeighedYield | None
    methods: Methods | None
    stops: tuple[StopResult, ...]
    ears: EarsResult | None
    heat: HeatResult | None
    stages: tuple[StageResult, ...]
    pollination: PollinationResult | None
    gaps: GapsResult | None
    leaves: LeavesResult | None
    fungicide: FungicideResult
    ripe: RipeResult | None
    outlook: OutlookResult
    may_enter: Phrase
    count_visit: str | None = None
    use: str | None = None
    harvest: HarvestResult | None = None
    around_silking: tuple[WeatherDay, ...] = ()
    photos: tuple[PhotoResult, ...] = ()
    heat_curve: HeatCurve | None = None
    questions: tuple[Problem, ...] = ()
    notes: tuple[Problem, ...] = ()
    confirmed: tuple[Problem, ...] = ()
    figures: tuple[str, ...] = ()

    @property
    def is_silage(self) -> bool:
        """Say whether the whole plant is cut: then nothing is said of dry grain."""
        return self.use == SILAGE

    @property
    def is_harvested(self) -> bool:
        """Say whether a harvest of the field was taken in: then nothing of it lies ahead."""
        return any(visit.round == HARVEST.name for visit in self.visits)

    @property
    def harvested_on(self) -> datetime.date | None:
        """The last day of its harvest; None before it, and where nobody typed the day."""
        days = [one.date for one in self.visits if one.round == HARVEST.name and one.date]
        return max(days, default=None)

    @property
    def has_left_out(self) -> bool:
        """Say whether a visit under the field's ID is left out, as its book has other names."""
        return any(found.code == LEFT_OUT for found in self.questions)


def for_team(result: FieldResult) -> FieldResult:
    """Return a field's results as far as the pages of all fields show them, which is little.

    Of its stops one stands for all.
    """
    ears = result.ears
    return replace(
        result,
        stops=result.stops[:1],
        ears=ears
        and replace(ears, share_set=(), share_unset=(), share_aborted=(), share_scattered=()),
        weighed=None,
        methods=None,
        pollination=None,
        gaps=None,
        leaves=None,
        around_silking=(),
        photos=(),
        heat_curve=None,
        notes=(),
        confirmed=(),
        figures=(),
    )
