"""How well gaps are named and dated on simulated fields: run it to print all rates as tables.

Every field has planted causes, known days, silk counts of two visits and 5 ears at each of 5 stops,
read with errors. Give the number of fields a cause, 300 if none is given.
"""

import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean, median

from fieldbook.agronomy.ears import EarRings
from fieldbook.agronomy.gap_causes import LOST_AFTER_SET, Cause, causes
from fieldbook.agronomy.gaps import SeenEar
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.silking import SilkCount, silking_date
from fieldbook.agronomy.timing import (
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SILKS_STOPPED,
    DatedReading,
)
from fieldbook.simulate import causes as sim
from fieldbook.simulate.causes import Planted, ReadEar, count_silks, plant, read_ears

R1 = date(2026, 7, 20)
SEED = "held out"  # no line or figure was chosen on these fields
KEYS = {
    sim.LATE: POLLEN_LATE,
    sim.ENDED: POLLEN_ENDED,
    sim.STOPPED: SILKS_STOPPED,
    sim.CLIPPED: POLLEN_BROKEN,
    sim.SHORT: LOST_AFTER_SET,
}
SINGLES = ((sim.LATE,), (sim.ENDED,), (sim.STOPPED,), (sim.CLIPPED,), (sim.SHORT,))
NOTHING = ((sim.NOTHING,), (sim.THREE_LATE,))
ALL = (*SINGLES, *sim.PAIRS, *NOTHING)


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One field: what was planted in it and what was named."""

    field: Planted
    named: tuple[Cause, ...]

    @property
    def right(self) -> bool:
        """Whether exactly the planted causes are named."""
        return {one.key for one in self.named} == planted_keys(self.field.causes)

    def dated(self, cause: str) -> DatedReading | None:
        """Return the reading of a planted cause, where it is the one that is named."""
        for one in self.named:
            if one.key == KEYS.get(cause):
                return next((two for two in one.readings if two.reading == one.key), None)
        return None

    def holds(self, cause: str) -> bool:
        """Whether the planted day lies in the likely range."""
        found = self.dated(cause)
        day = R1 + timedelta(days=self.field.day_of(cause))
        return found is not None and found.likely is not None and found.likely.holds(day)


def planted_keys(planted: Sequence[str]) -> set[str]:
    return {KEYS[one] for one in planted if one in KEYS}


def as_seen(ear: ReadEar) -> SeenEar:
    if ear.rings is None:
        return SeenEar(stop=ear.stop, bare_cob=True)
    parts = ear.rings
    rings = EarRings(
        base=parts.base_blank,
        set=parts.kernels_set,
        inside=parts.inside_blank,
        tip_unset=parts.tip_unset,
        tip_aborted=parts.tip_aborted,
    )
    return SeenEar(stop=ear.stop, rings=rings)


def judge(planted: Sequence[str], seed: str) -> Judged:
    """Make one field, look at it as a scout does, and name and date what is planted."""
    field = plant(planted, seed=seed)
    counts = [
        SilkCount(day=R1 + timedelta(days=day), silked=silked, of=of)
        for day, silked, of in count_silks(field, seed=seed)
    ]
    silking = silking_date(counts)
    assert silking is not None
    ears = [as_seen(one) for one in read_ears(field, seed=seed)]
    return Judged(field=field, named=causes(ears, silking.within))


def fields(planted: Sequence[str], count: int, seed: str = SEED) -> list[Judged]:
    return [judge(planted, f"{seed}-{number}") for number in range(count)]


def told(judged: Sequence[Judged], cause: str) -> list[DatedReading]:
    """Return the readings of a cause that have a date."""
    found = [one.dated(cause) for one in judged]
    return [one for one in found if one is not None and one.told]


def width_days(reading: DatedReading) -> int:
    """Return the days from the first to the last day of the likely range."""
    days = reading.likely
    assert days is not None
    assert days.earliest is not None
    assert days.latest is not None
    return (days.latest - days.earliest).days


BAR_NAMED, BAR_FALSE, BAR_HELD = 0.85, 0.05, (0.88, 0.97)
BAR_WIDTH_DAYS = {sim.LATE: 5, sim.ENDED: 4, sim.STOPPED: 4}
SAID = {
    POLLEN_LATE: "late pollen",
    POLLEN_ENDED: "pollen ended",
    SILKS_STOPPED: "silks stopped",
    POLLEN_BROKEN: "clipped",
    LOST_AFTER_SET: "lost after set",
}


def table(heads: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    lines = [heads, ["---"] * len(heads), *rows]
    return "\n".join("| " + " | ".join(map(str, line)) + " |" for line in lines)


def named_row(judged: Sequence[Judged]) -> list[object]:
    """Return how many fields got just their planted causes, and how many nothing else."""
    planted = judged[0].field.causes
    share = fmean(one.right for one in judged)
    ordinary = planted in NOTHING
    bar = f"at least {1 - BAR_FALSE:.0%}" if ordinary else f"at least {BAR_NAMED:.0%}"
    met = share >= (1 - BAR_FALSE if ordinary else BAR_NAMED)
    only = fmean({c.key for c in one.named} <= planted_keys(planted) for one in judged)
    cells = [f"{share:.1%}", bar, "yes" if met else "**no**", f"{only:.1%}"]
    return [" + ".join(planted), len(judged), *cells]


def date_row(judged: Sequence[Judged], cause: str) -> list[object]:
    """Return how often the planted day lies in the range that is told, and how wide that is."""
    dated = [one for one in judged if (found := one.dated(cause)) and found.told]
    held = fmean(one.holds(cause) for one in dated)
    found = told(judged, cause)
    width = median(map(width_days, found))
    outer = median(((two.latest or R1) - (two.earliest or R1)).days for two in _outer(found))
    met = BAR_HELD[0] <= held <= BAR_HELD[1] and width <= BAR_WIDTH_DAYS[cause]
    wide = sum(one.dated(cause) is not None for one in judged) - len(dated)
    cells = [f"{held:.1%}", width, f"{fmean(map(width_days, found)):.1f}", outer, wide]
    planted = " + ".join(judged[0].field.causes)
    return [planted, cause, len(dated), *cells, "yes" if met else "**no**"]


def _outer(found: Sequence[DatedReading]) -> list[DayRange]:
    return [one.within for one in found]


def confusion_rows(all_judged: Sequence[Sequence[Judged]]) -> tuple[list[str], list[list[object]]]:
    """Return the names given as columns and one row a planted cause."""
    given = [
        [" + ".join(SAID[c.key] for c in one.named) or "none" for one in js] for js in all_judged
    ]
    names = [name for name, _ in Counter(name for row in given for name in row).most_common()]
    rows: list[list[object]] = []
    for judged, row in zip(all_judged, given, strict=True):
        seen = Counter(row)
        rows.append([" + ".join(judged[0].field.causes), *(seen[name] or "" for name in names)])
    return names, rows


def main(count: int) -> str:
    """Return all tables for so many fields a cause, as Markdown."""
    judged = [fields(planted, count) for planted in ALL]
    names, confusion = confusion_rows(judged)
    dates = [
        date_row(one, cause)
        for one in judged
        for cause in one[0].field.causes
        if cause in BAR_WIDTH_DAYS
    ]
    never = [
        [
            " + ".join(one[0].field.causes),
            cause,
            sum(KEYS[cause] in {c.key for c in r.named} for r in one),
            sum(
                c.key == KEYS[cause] and any(d.told for d in c.readings)
                for r in one
                for c in r.named
            ),
        ]
        for one in judged
        for cause in one[0].field.causes
        if cause in (sim.CLIPPED, sim.SHORT)
    ]
    named_heads = ("planted", "fields", "named exactly", "bar", "met", "named nothing else")
    date_heads = ("planted", "date of", "dates told", "day in range", "median width", "mean width")
    return "\n\n".join(
        (
            "## Causes named",
            table(named_heads, [named_row(one) for one in judged]),
            "## Days, where the cause is named",
            "Width is the last day less the first. Outer is the exact range.",
            table((*date_heads, "median outer", "too wide to tell", "met"), dates),
            "## Causes without a date",
            table(("planted", "cause", "named", "dates told"), never),
            "## Given (columns) for what was planted (rows)",
            table(("planted", *names), confusion),
        )
    )


if __name__ == "__main__":
    sys.stdout.write(main(int(sys.argv[1]) if len(sys.argv) > 1 else 300) + "\n")
