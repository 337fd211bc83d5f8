"""How much of an ear is pollinated: the share of its silks that fall when it is shaken.

A silk lets go one to four days after it has done its work, so the reading lags; and it proves
fertilization, not that the kernel lives. Thirds are thirds of the rings.
"""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from statistics import fmean, stdev

from fieldbook.agronomy.ranges import DayRange, Span, Triple
from fieldbook.agronomy.sampling import Sample, sample
from fieldbook.figures import Figures, shipped_figures

TOO_EARLY, EARLY, MAIN, LATE = "too-early", "early", "main", "late"
STOPS, EARS = "stops", "ears"
_ALL_PCT = 100
_EVEN = (1.0, 1.0, 1.0)


@dataclass(frozen=True, kw_only=True)
class ShakenEar:
    """Silks that fell from the base, middle and tip third of an ear [%]; None: not looked at.

    ``all_fallen`` is the tick "all over 90 %"; numbers given beside it go first. ``pale_tip_pct``
    is the share of the silks left at the tip that are pale. ``rings`` are the kernel places in
    the thirds where they were counted; else the thirds are equal.
    """

    stop: int
    base_pct: float | None = None
    middle_pct: float | None = None
    tip_pct: float | None = None
    all_fallen: bool = False
    pale_tip_pct: float | None = None
    rings: tuple[float, float, float] = _EVEN

    def __post_init__(self) -> None:
        """Refuse shares beyond 0 to 100 %, and thirds without a ring."""
        shares = (self.base_pct, self.middle_pct, self.tip_pct, self.pale_tip_pct)
        if any(share is not None and not 0 <= share <= _ALL_PCT for share in shares):
            raise ValueError("a share must be from 0 to 100 %")
        if min(self.rings) < 0 or not sum(self.rings):
            raise ValueError("the thirds of an ear need rings")


@dataclass(frozen=True, kw_only=True)
class PollinatedField:
    """The pollinated share of a field's ears [%].

    ``mean`` has the mean and its interval over ``units``: the stops, or the ears where there is
    but one stop. ``bounds`` is the mean with every tick at its lowest and at its highest.
    ``ears_sd`` is the spread over all ears. ``enough`` is False under the floor of ears and stops.
    ``receptive_pct`` is the share of all silks still hanging pale at the tip, over the
    ``receptive_ears`` where that was looked at.
    """

    mean: Sample
    units: str
    bounds: Span
    ears: int
    stops: int
    ears_sd: float | None
    ticked: int
    enough: bool
    receptive_pct: float | None
    receptive_ears: int


@dataclass(frozen=True, kw_only=True)
class ShakeTime:
    """When ears were shaken, in days after silking, and what that makes of the reading.

    ``too-early``: silks hang on whatever happened. ``early``: reads low. ``main``: the reading to
    go by. ``late``: dead silks may break off. ``days`` None and ``kind`` None where the silking
    date is open.
    """

    kind: str | None
    days: Span | None


def pollinated_pct(ear: ShakenEar, *, figures: Figures | None = None) -> Triple | None:
    """Return the pollinated share of an ear [%]: its thirds, weighted by their rings.

    A tick stands for the stated range; counted shares have three equal values. None where a third
    is missing and there is no tick.
    """
    thirds = [_third(share, ear.all_fallen, figures) for share in _thirds(ear)]
    known = [third for third in thirds if third is not None]
    if len(known) < len(thirds):
        return None
    low, typical, high = (
        sum(share * rings for share, rings in zip(shares, ear.rings, strict=True)) / sum(ear.rings)
        for shares in zip(*((t.low, t.typical, t.high) for t in known), strict=True)
    )
    return Triple(low=low, typical=typical, high=high)


def receptive_pct(ear: ShakenEar, *, figures: Figures | None = None) -> float | None:
    """Return the share of an ear's silks that still hang pale at the tip [%]; None: not known."""
    tip = _third(ear.tip_pct, ear.all_fallen, figures)
    if tip is None or ear.pale_tip_pct is None:
        return None
    hanging = (_ALL_PCT - tip.typical) * ear.rings[-1] / sum(ear.rings)
    return hanging * ear.pale_tip_pct / _ALL_PCT


def pollinated_field(
    ears: Sequence[ShakenEar], *, figures: Figures | None = None
) -> PollinatedField | None:
    """Return the pollinated share of a field; None without a complete ear.

    The mean of the stops' means, since ears of one stop are alike.
    """
    known = figures or shipped_figures()
    read = [(ear, share) for ear in ears if (share := pollinated_pct(ear, figures=known))]
    if not read:
        return None
    by_stop = _by_stop(read)
    typical = [fmean(share.typical for share in group) for group in by_stop]
    each = [share.typical for _, share in read]
    several = len(by_stop) > 1
    mean = sample(typical if several else each, figures=known)
    assert mean is not None
    least = known.number("shake.least_stops"), known.number("shake.least_ears")
    fewest = sorted(len(group) for group in by_stop)[-int(least[0]) :]
    pale = [one for ear in ears if (one := receptive_pct(ear, figures=known)) is not None]
    return PollinatedField(
        mean=mean,
        units=STOPS if several else EARS,
        bounds=Span(
            low=fmean(fmean(share.low for share in group) for group in by_stop),
            high=fmean(fmean(share.high for share in group) for group in by_stop),
        ),
        ears=len(read),
        stops=len(by_stop),
        ears_sd=stdev(each) if len(each) > 1 else None,
        ticked=sum(ear.all_fallen for ear, _ in read),
        enough=len(fewest) >= least[0] and fewest[0] >= least[1],
        receptive_pct=fmean(pale) if pale else None,
        receptive_ears=len(pale),
    )


def shake_time(
    day: datetime.date, silked: DayRange, *, figures: Figures | None = None
) -> ShakeTime:
    """Say how the day of a shake lies to silking; by the fewest days where that is a range."""
    if silked.earliest is None or silked.latest is None:
        return ShakeTime(kind=None, days=None)
    known = figures or shipped_figures()
    days = Span(low=(day - silked.latest).days, high=(day - silked.earliest).days)
    if days.low > known.number("shake.final_days"):
        kind = LATE
    elif days.low >= known.numbers("shake.main_days")[0]:
        kind = MAIN
    elif days.low >= known.number("shake.useful_from_days"):
        kind = EARLY
    else:
        kind = TOO_EARLY
    return ShakeTime(kind=kind, days=days)


def _thirds(ear: ShakenEar) -> tuple[float | None, ...]:
    return ear.base_pct, ear.middle_pct, ear.tip_pct


def _third(share: float | None, all_fallen: bool, figures: Figures | None) -> Triple | None:
    if share is not None:
        return Triple(low=share, typical=share, high=share)
    return Triple.of("shake.all_fallen_pct", figures or shipped_figures()) if all_fallen else None


def _by_stop(read: Sequence[tuple[ShakenEar, Triple]]) -> list[list[Triple]]:
    ordered = sorted(read, key=lambda pair: pair[0].stop)
    groups = groupby(ordered, key=lambda pair: pair[0].stop)
    return [[share for _, share in group] for _, group in groups]
