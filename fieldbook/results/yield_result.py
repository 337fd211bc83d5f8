"""Plain records of what counts of ears, and grain that was weighed, amount to."""

import datetime
from dataclasses import dataclass


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
