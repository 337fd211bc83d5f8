"""Which field is walked on which day: windows, ways and a daily limit, laid out by one plain rule.

A day begins at the open field whose window closes first. From there the scout goes to the nearest
open field, unless that would cost another field its window; then the nearest that costs none.
Closing soonest first reaches as many fields as can be reached at all, and the days that the rule
gives away to shorter ways are only those to spare.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from math import inf

from fieldbook.agronomy.lengths import miles_between

Spot = tuple[float, float]


@dataclass(frozen=True, kw_only=True)
class Walk:
    """One round of one field, to be walked on a day from ``opens`` to ``closes``, both included.

    ``spot`` is its latitude and longitude, None where nobody gave them.
    """

    field_id: str
    round: str
    opens: date
    closes: date
    spot: Spot | None = None


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A walk on its day: the ``number``-th of that day, ``miles`` from the one before it."""

    walk: Walk
    day: date
    number: int
    miles: float | None


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Walks on their days, in walking order, and those that no day is left for."""

    placed: tuple[Placed, ...]
    unreached: tuple[Walk, ...]


def lay_out(walks: Iterable[Walk], *, first: date, fields_a_day: int) -> Layout:
    """Lay out one scout's walks by day, from `first` on.

    Raises
    ------
    ValueError
        If less than one field a day may be walked.
    """
    if fields_a_day < 1:
        raise ValueError("a scout walks at least one field a day")
    waiting = list(walks)
    placed: list[Placed] = []
    day = first
    while any(walk.closes >= day for walk in waiting):
        for one in _day(waiting, day, fields_a_day):
            placed.append(one)
            waiting.remove(one.walk)
        day += timedelta(days=1)
    return Layout(placed=tuple(placed), unreached=tuple(waiting))


def _day(waiting: Sequence[Walk], day: date, room: int) -> list[Placed]:
    left, chosen = list(waiting), list[Placed]()
    for number in range(1, room + 1):
        before = chosen[-1].walk if chosen else None
        walk = _next(left, before, day, (room - number, room))
        if walk is None:
            break
        left.remove(walk)
        miles = _miles(before, walk)
        way = None if miles == inf else miles
        chosen.append(Placed(walk=walk, day=day, number=number, miles=way))
    return chosen


def _next(
    left: Sequence[Walk], before: Walk | None, day: date, rooms: tuple[int, int]
) -> Walk | None:
    """Choose the next walk of a day; `rooms` is what this day holds after it, and a later day."""
    open_now = [walk for walk in left if walk.opens <= day <= walk.closes]
    open_now.sort(key=lambda walk: walk.closes)
    if not open_now or before is None:
        return open_now[0] if open_now else None
    today, daily = rooms
    best = _reachable(left, day, today + 1, daily) - 1
    near = sorted(open_now, key=lambda walk: _miles(before, walk))
    return next(walk for walk in near if _reachable(_without(left, walk), day, *rooms) == best)


def _without(walks: Iterable[Walk], taken: Walk) -> list[Walk]:
    return [walk for walk in walks if walk is not taken]


def _reachable(walks: Iterable[Walk], day: date, today: int, daily: int) -> int:
    """Count the walks that can be made: the one that closes first on every place that is left.

    No other order makes more of them (F. Glover 1967, maximum matching in a convex graph).
    """
    waiting = sorted((w for w in walks if w.closes >= day), key=lambda walk: walk.closes)
    count, room = 0, today
    while waiting:
        taken = [walk for walk in waiting if walk.opens <= day][:room]
        count += len(taken)
        done = set(map(id, taken))
        day += timedelta(days=1)
        waiting = [walk for walk in waiting if id(walk) not in done and walk.closes >= day]
        room = daily
    return count


def _miles(a: Walk | None, b: Walk) -> float:
    if a is None or a.spot is None or b.spot is None:
        return inf
    return miles_between(a.spot, b.spot)
