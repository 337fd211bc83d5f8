"""What is known of one field on one day: plain frozen data, in stored units.

Reports, JSON and tables are views of these records; nothing below computes anything.
"""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, replace

from fieldbook.agronomy.clipping import ClippingLine
from fieldbook.agronomy.drying import DryDates
from fieldbook.agronomy.freeze import EarlyFreezes
from fieldbook.agronomy.fungicide import PreHarvest, PriceCostTable, SeverityClass, SprayWindow
from fieldbook.agronomy.gap_looks import FlowerLooks
from fieldbook.agronomy.gap_signs import Sign
from fieldbook.agronomy.gaps import Gaps
from fieldbook.agronomy.leafrules import RuleResult
from fieldbook.agronomy.leaves import LeafReading
from fieldbook.agronomy.ranges import DayRange, Span
from fieldbook.agronomy.shake import PollinatedField, ShakeTime
from fieldbook.agronomy.silking import SilkCount, Silking
from fieldbook.agronomy.stalks import Mould, WalkReading
from fieldbook.agronomy.tassel import ShedWindow
from fieldbook.agronomy.timing import DatedReading
from fieldbook.agronomy.wilson import Change
from fieldbook.agronomy.windows import GibberellaWatch, WeatherDay, WindowWeather
from fieldbook.problems import Problem
from fieldbook.words import Phrase


@dataclass(frozen=True, kw_only=True)
class StopResult:
    """One stop of the visit that the yield is taken from.

    ``left_out`` is None where the stop is in the field figure, else why not: one of
    ``end-rows``, ``edge``, ``low-ground``, ``replant``, ``no-count``, ``no-kernels``.
    ``yield_bu_ac`` is at the likely kernel weight. Its place is the planned one unless
    ``place_typed``: then the scout stood elsewhere.
    """

    stop: int
    place: str
    ears_per_ac: float | None
    plants_per_ac: float | None
    kernels_per_ear: float | None
    ears_used: int
    yield_bu_ac: float | None
    left_out: str | None
    remark: str | None = None
    latitude: float | None = None
    longitude: float | None = None
    place_typed: bool = False


@dataclass(frozen=True, kw_only=True)
class YieldResult:
    """A field's yield from counts.

    ``low``, ``likely`` and ``high`` are the mean of the stops at the light, likely and heavy
    kernel weight. ``interval_95_bu_ac`` is the sampling interval at the likely weight, None under
    three stops. ``range_bu_ac`` holds both doubts together: their half widths in quadrature.
    ``own_of`` is the hybrid whose own kernel counts season.toml has and this rests on.
    """

    low_bu_ac: float
    likely_bu_ac: float
    high_bu_ac: float
    interval_95_bu_ac: tuple[float, float] | None
    range_bu_ac: tuple[float, float]
    counting_half_width_bu_ac: float | None
    thousand_kernels_per_bu: tuple[float, float, float]
    grain_fill: str
    grain_fill_stated: bool
    own_of: str | None = None
    stops_used: int
    stops_left_out: int
    stops_still_needed: int | None
    wanted_half_width_bu_ac: float
    sd_between_stops_bu_ac: float | None
    sd_within_stops_bu_ac: float | None
    ring_worth_bu_ac: float | None


@dataclass(frozen=True, kw_only=True)
class WeighedStop:
    """One stop with a bag.

    ``left_out`` is None where the stop is in the field figure, else one of ``end-rows``,
    ``edge``, ``low-ground``, ``replant``, ``no-count``.
    """

    stop: int
    ears_per_ac: float | None
    grain_lb_per_ear: float
    moisture_pct: float
    yield_bu_ac: float | None
    left_out: str | None


@dataclass(frozen=True, kw_only=True)
class WeighedYield:
    """A field's yield from bags of grain, at market moisture.

    ``interval_95_bu_ac`` is over the stops in use, None under three.
    """

    visit_id: str
    day: datetime.date | None
    mean_bu_ac: float
    interval_95_bu_ac: tuple[float, float] | None
    stops: tuple[WeighedStop, ...]

    @property
    def stops_used(self) -> int:
        """How many stops are in the figure."""
        return sum(stop.left_out is None for stop in self.stops)


@dataclass(frozen=True, kw_only=True)
class Methods:
    """Weighed and counted side by side.

    ``fitting_thousand`` kernels in a bushel would have made the count equal the bags; the count
    was made with ``assumed_thousand``. ``may_be_chance`` says whether the sampling intervals
    of the two meet; None where one has none.
    """

    weighed_bu_ac: float
    counted_bu_ac: float
    difference_bu_ac: float
    assumed_thousand: float
    fitting_thousand: float
    may_be_chance: bool | None


@dataclass(frozen=True, kw_only=True)
class LossResult:
    """Mean missing kernels along one row, by place, and how many ears each rests on."""

    base_rings: float | None
    inside_rings: float | None
    tip_unset_rings: float | None
    tip_aborted_rings: float | None
    base_ears: int
    inside_ears: int
    tip_unset_ears: int
    tip_aborted_ears: int


@dataclass(frozen=True, kw_only=True)
class EarsResult:
    """What the ears of one visit show.

    ``kernel_set_pct`` and ``rings`` rest on ``complete_ears``, the ears whose every part was
    looked at. The ``share_`` tuples run base to tip, one number a ring position: which share of
    complete ears holds a set kernel, a never-set one, an aborted one, a scattered gap there.
    """

    ears: int
    bare_cobs: int
    kernels_per_ear: float | None
    kernels_per_ear_sd: float | None
    rows_around: float | None
    kernels_per_row: float | None
    complete_ears: int
    rings: float | None
    kernel_set_pct: float | None
    loss: LossResult
    pattern: str
    share_set: tuple[float, ...] = ()
    share_unset: tuple[float, ...] = ()
    share_aborted: tuple[float, ...] = ()
    share_scattered: tuple[float, ...] = ()


@dataclass(frozen=True, kw_only=True)
class StageResult:
    """A stage and its date: ``date`` is None where only a range can be given.

    ``basis`` is one of ``seen``, ``heat units``, ``days after silking``; ``years`` is the number
    of past years behind the range; ``anchor`` the stage and day that the forecast starts from.
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
class ShakenResult:
    """The shaken ears of the latest visit that has any; ``time`` is None without a silking date."""

    day: datetime.date
    ears: PollinatedField
    time: ShakeTime | None


@dataclass(frozen=True, kw_only=True)
class PollinationResult:
    """Where pollination stands, from all visits that looked at silks, tassels or shaken ears.

    ``gap_days`` is silk minus pollen. ``clipping`` holds the latest visit with beetles against
    each published line.
    """

    silk_counts: tuple[SilkCount, ...]
    silking: Silking | None
    shed: ShedWindow | None
    gap_days: Span | None
    gap_points_to_stress: bool | None
    shaken: ShakenResult | None
    clipping: tuple[ClippingLine, ...]


@dataclass(frozen=True, kw_only=True)
class DatedGap:
    """One reading of when a gap arose, its days, and the weather on file in those days.

    ``days`` are the likely ones where they are told, else all that are possible.
    """

    reading: DatedReading
    days: DayRange
    weather: WindowWeather | None


@dataclass(frozen=True, kw_only=True)
class GapsResult:
    """Where kernels are missing, which places stand out, and when those gaps may have arisen.

    ``causes`` are what the patterns along the ear point to, by pattern, with what visits saw while
    the field flowered; ``signs`` are what of that fits a reading or speaks against it.
    """

    found: Gaps
    standing_out: tuple[str, ...]
    causes: Mapping[str, str]
    dated: tuple[DatedGap, ...]
    saw: FlowerLooks
    signs: tuple[Sign, ...]


@dataclass(frozen=True, kw_only=True)
class LeavesResult:
    """Leaf disease: every reading by disease and visit, and one visit against the rules.

    ``day`` is that visit's. ``trends`` are the diseases read at two visits. ``unknown`` says that
    lesions were seen which nobody could name.
    """

    day: datetime.date
    readings: tuple[LeafReading, ...]
    judged: tuple[RuleResult, ...]
    trends: Mapping[str, Change]
    unknown: bool


@dataclass(frozen=True, kw_only=True)
class FungicideResult:
    """What belongs to the fungicide question; it weighs and never orders. None: not known.

    ``chance`` is of gaining at least the break-even, from the response that the season entered.
    ``severity`` is the published class of the worst ear-leaf severity, as context.
    """

    window: SprayWindow | None
    cost_per_ac: float | None
    price_per_bu: float | None
    break_even_bu_ac: float | None
    chance: float | None
    gain_bu_ac: float | None
    gain_sd_bu_ac: float | None
    gain_source: str | None
    table: PriceCostTable | None
    severity: SeverityClass | None
    pre_harvest: PreHarvest | None


@dataclass(frozen=True, kw_only=True)
class SeenMould:
    """A look of mould, at how many stops it was the main one, and what it may carry."""

    mould: Mould
    stops: int


@dataclass(frozen=True, kw_only=True)
class RipeResult:
    """Stalks, mouldy ears and grain moisture of the latest ripening visit."""

    day: datetime.date
    stalks: WalkReading | None
    mouldy: WalkReading | None
    moulds: tuple[SeenMould, ...]
    moisture_pct: float | None


@dataclass(frozen=True, kw_only=True)
class OutlookResult:
    """What lies ahead of grain fill: frost, dry-down and the mould watch; None: cannot be told.

    ``freezes`` counts past years whose first cold nights came before black layer. ``dry`` is the
    first likely date at ``dry_to_pct`` moisture. ``fill`` is the weather from silking to dent.
    """

    freezes: EarlyFreezes | None
    freeze_loss_pct: float | None
    dry_to_pct: float
    dry: DryDates | None
    gibberella: GibberellaWatch | None
    fill: WindowWeather | None
    hot_and_dry: bool | None


@dataclass(frozen=True, kw_only=True)
class PhotoResult:
    """One picture of a visit, kept under its hash, and what its scout says of it."""

    visit_id: str
    photo: int
    day: datetime.date | None
    scout: str
    stop: int | None
    remark: str | None
    sha256: str
    width_px: int
    height_px: int


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
    ``use`` is what the corn is grown for, as a key of the roster.
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
    use: str | None = None
    around_silking: tuple[WeatherDay, ...] = ()
    photos: tuple[PhotoResult, ...] = ()
    heat_curve: HeatCurve | None = None
    questions: tuple[Problem, ...] = ()
    notes: tuple[Problem, ...] = ()
    confirmed: tuple[Problem, ...] = ()
    figures: tuple[str, ...] = ()


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
