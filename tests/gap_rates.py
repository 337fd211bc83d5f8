"""How well gaps are named and dated on simulated fields: run it to print all rates as tables.

Every field has planted causes, known days, silk counts of two visits and 5 ears at each of 5 stops,
read with errors. Causes are named three times: from the ears alone; with what the two visits saw of
tassels, silks and beetles as well; and with a walk 3 to 10 days after silking too, as a season's
plan lays it out. Give the number of fields a cause and seed, 300 if none is given.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean, median

from fieldbook.agronomy.ears import EarRings
from fieldbook.agronomy.gap_causes import LOST_AFTER_SET, Cause, causes
from fieldbook.agronomy.gap_looks import StopLook, flower_looks
from fieldbook.agronomy.gaps import SeenEar
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.silk_curve import SilkCount
from fieldbook.agronomy.silking import silking_date
from fieldbook.agronomy.timing import (
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SILKS_STOPPED,
    DatedReading,
)
from fieldbook.simulate import causes as sim
from fieldbook.simulate.causes import Planted, ReadEar, count_silks, plant, read_ears
from fieldbook.simulate.looks import look_at_stops

R1 = date(2026, 7, 20)
SEEDS = ("held out", "held out again")  # no line was chosen on these fields
SEED = SEEDS[0]
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
EARS, VISITS, WALK = "ears alone", "and what the visits saw", "and a walk after silking"
SIGHTS = (EARS, VISITS, WALK)
_WALK_DAYS = (3, 10)  # after silking: the plan's window of the pollination round


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


def judge(planted: Sequence[str], seed: str, sight: str = EARS) -> Judged:
    """Make one field, look at it as a scout does, and name and date what is planted."""
    field = plant(planted, seed=seed)
    counted = count_silks(field, seed=seed)
    counts = [
        SilkCount(day=R1 + timedelta(days=day), silked=silked, of=of) for day, silked, of in counted
    ]
    silking = silking_date(counts)
    assert silking is not None
    ears = [as_seen(one) for one in read_ears(field, seed=seed)]
    days = [day for day, _, _ in counted] if sight != EARS else []
    if sight == WALK:
        days.append(random.Random(f"{seed}/walk").randint(*_WALK_DAYS))
    saw = flower_looks(looks(field, days, seed), silking.within)
    return Judged(field=field, named=causes(ears, silking.within, saw=saw))


def looks(field: Planted, days: Iterable[int], seed: str) -> list[StopLook]:
    """Look at every stop on these days after R1."""
    return [
        StopLook(
            stop=one.stop,
            day=R1 + timedelta(days=one.day),
            tassel=one.tassel,
            silk_length_in=one.silk_length_in,
            beetles=one.beetles,
        )
        for day in days
        for one in look_at_stops(field, day, seed=seed)
    ]


def fields(planted: Sequence[str], count: int, seed: str = SEED, sight: str = EARS) -> list[Judged]:
    return [judge(planted, f"{seed}-{number}", sight) for number in range(count)]


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


Found = Mapping[tuple[tuple[str, ...], str], Sequence[Judged]]


def judged_all(count: int, seeds: Sequence[str]) -> Found:
    """Judge so many fields of every cause and seed by every sight, on all cores."""
    jobs = [(planted, sight, seed) for planted in ALL for sight in SIGHTS for seed in seeds]
    found: Found = {}
    with ProcessPoolExecutor() as pool:
        done = pool.map(fields, *zip(*((p, count, seed, s) for p, s, seed in jobs), strict=True))
        for (planted, sight, _), judged in zip(jobs, done, strict=True):
            found[planted, sight] = [*found.get((planted, sight), ()), *judged]
    return found


def right_share(judged: Sequence[Judged]) -> float:
    return fmean(one.right for one in judged)


def bar_of(planted: tuple[str, ...]) -> float:
    """Return the share of fields that must get just their planted causes, or none."""
    return 1 - BAR_FALSE if planted in NOTHING else BAR_NAMED


def named_row(planted: tuple[str, ...], found: Found) -> list[object]:
    """Return how many fields got just their planted causes, by each sight."""
    bar = bar_of(planted)
    shares = [right_share(found[planted, sight]) for sight in SIGHTS]
    cells = [f"{share:.1%}" if share >= bar else f"**{share:.1%}**" for share in shares]
    each = " / ".join(f"{right_share(one):.1%}" for one in by_seed(found[planted, WALK]))
    return [" + ".join(planted), len(found[planted, EARS]), f"at least {bar:.0%}", *cells, each]


def by_seed(judged: Sequence[Judged]) -> list[Sequence[Judged]]:
    """Part the fields of a cause by their seeds, as `judged_all` put them together."""
    each = len(judged) // len(SEEDS)
    return [judged[at * each : (at + 1) * each] for at in range(len(SEEDS))]


def failing(found: Found) -> Iterator[str]:
    """Say which bars are not reached, and what was named instead."""
    for (planted, sight), judged in found.items():
        share = right_share(judged)
        if share < bar_of(planted):
            names = Counter(given(one) for one in judged if not one.right).most_common(3)
            instead = ", ".join(f"{name} in {many}" for name, many in names)
            yield f"- {' + '.join(planted)}, {sight}: {share:.1%}. Named instead: {instead}."


def given(judged: Judged) -> str:
    return " + ".join(SAID[one.key] for one in judged.named) or "none"


def date_row(judged: Sequence[Judged], cause: str, sight: str) -> list[object]:
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
    return [planted, cause, sight, len(dated), *cells, "yes" if met else "**no**"]


def _outer(found: Sequence[DatedReading]) -> list[DayRange]:
    return [one.within for one in found]


def confusion_rows(all_judged: Sequence[Sequence[Judged]]) -> tuple[list[str], list[list[object]]]:
    """Return the names given as columns and one row a planted cause."""
    told = [[given(one) for one in judged] for judged in all_judged]
    names = [name for name, _ in Counter(name for row in told for name in row).most_common()]
    rows: list[list[object]] = []
    for judged, row in zip(all_judged, told, strict=True):
        seen = Counter(row)
        rows.append([" + ".join(judged[0].field.causes), *(seen[name] or "" for name in names)])
    return names, rows


def date_rows(found: Found) -> list[list[object]]:
    return [
        date_row(judged, cause, sight)
        for (planted, sight), judged in found.items()
        for cause in planted
        if cause in BAR_WIDTH_DAYS and sight != VISITS
    ]


def undated_rows(found: Found) -> list[list[object]]:
    """Return how often causes that leave no edge in time are named, and how often dated."""
    return [
        [
            " + ".join(planted),
            cause,
            sum(c.key == KEYS[cause] for c in named),
            sum(map(dated, named)),
        ]
        for planted in ALL
        for cause in planted
        if cause in (sim.CLIPPED, sim.SHORT)
        for named in [[c for r in found[planted, EARS] for c in r.named if c.key == KEYS[cause]]]
    ]


def dated(cause: Cause) -> bool:
    return any(one.told for one in cause.readings)


def named_parts(found: Found, count: int) -> Iterator[str]:
    seeds = " and ".join(f"`{seed}`" for seed in SEEDS)
    yield f"Seeds {seeds}, {count} fields a cause of each; no line was chosen on these fields."
    yield "### Causes named"
    yield (
        "Shares of fields with exactly the planted causes named; bold ones are under their bar. The"
        "\nlast column has the walk's rates for each seed alone."
    )
    yield table(
        ("planted", "fields", "bar", *SIGHTS, "by seed"), [named_row(one, found) for one in ALL]
    )
    yield "\n".join(failing(found)) or "Every bar is reached."


def main(count: int) -> str:
    """Return all tables for so many fields a cause and seed, as Markdown."""
    found = judged_all(count, SEEDS)
    dates = ("planted", "date of", "named by", "dates told", "day in range", "median width")
    parts = [
        *named_parts(found, count),
        "### Days, where the cause is named",
        "Width is the last day less the first. Outer is the exact range. What visits saw never"
        "\nmoves a date, only the fields in which the cause is named.",
        table((*dates, "mean width", "median outer", "too wide to tell", "met"), date_rows(found)),
        "### Causes without a date",
        table(("planted", "cause", "named by ears alone", "dates told"), undated_rows(found)),
    ]
    for sight in (EARS, WALK):
        names, rows = confusion_rows([found[planted, sight] for planted in ALL])
        parts.append(f"### Given (columns) for what was planted (rows), {sight}")
        parts.append(table(("planted", *names), rows))
    return "\n\n".join(parts)


if __name__ == "__main__":
    sys.stdout.write(main(int((sys.argv[1:] or ["300"])[0])) + "\n")
