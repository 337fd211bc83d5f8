"""Plain records of what looks at a field amount to: pollination, gaps, leaves, ripening, photos."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass

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
from fieldbook.agronomy.silk_curve import SilkCount
from fieldbook.agronomy.silking import Silking
from fieldbook.agronomy.stalks import Mould, WalkReading
from fieldbook.agronomy.tassel import ShedWindow
from fieldbook.agronomy.timing import DatedReading
from fieldbook.agronomy.wilson import Change
from fieldbook.agronomy.windows import GibberellaWatch, WindowWeather


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
