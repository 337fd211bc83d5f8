"""Edges over all ears, likely days and named causes, on ears made by hand."""

from datetime import date, timedelta

import pytest

from fieldbook.agronomy.ears import BASE, SCATTERED, TIP_ABORTED, TIP_UNSET, EarRings
from fieldbook.agronomy.gap_causes import (
    AGAINST_LATE_POLLEN,
    LOST_AFTER_SET,
    NO_SILKING_DATE,
    TOO_WIDE,
    causes,
)
from fieldbook.agronomy.gap_dates import explained, likely_days
from fieldbook.agronomy.gap_edges import edges_seen
from fieldbook.agronomy.gap_looks import FlowerLooks
from fieldbook.agronomy.gaps import SeenEar
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.timing import (
    EARLY_LOSS,
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SILKS_STOPPED,
)
from fieldbook.figures import shipped_figures

SILK = date(2026, 7, 20)
SILKED = DayRange(earliest=SILK, latest=SILK)
RINGS = 40


def ear(*, base: int = 0, inside: int = 0, unset: int = 0, aborted: int = 0) -> SeenEar:
    kept = RINGS - base - inside - unset - aborted
    rings = EarRings(base=base, set=kept, inside=inside, tip_unset=unset, tip_aborted=aborted)
    return SeenEar(stop=1, rings=rings)


FULL = [ear(unset=2, aborted=1)] * 25
LATE = [ear(base=base) for base in (0, 0, 10, 12, 14, 16, 18, 18, 20, 22, 24, 26, 30)]
ENDED = [ear(unset=unset) for unset in (0, 3, 8, 10, 12, 14, 16, 16, 18, 20, 22, 26, 30)]
STOPPED = [ear(unset=unset) for unset in (19, 20, 20, 20, 20, 21, 20, 19, 20, 21, 20, 20, 20)]
SHORT = [ear(unset=2, aborted=aborted) for aborted in (5, 6, 7, 8, 8, 9, 9, 10, 10, 11, 12, 13, 14)]
CLIPPED = [
    ear(base=1, inside=inside) for inside in (6, 7, 8, 9, 10, 11, 12, 12, 13, 14, 15, 16, 17)
]
FEW_LATE = [*FULL[:10], ear(base=12), ear(base=14)]
FEW_ENDED = [*FULL[:11], ear(unset=9), ear(unset=12)]
RAGGED = [ear(unset=at, inside=5 if at % 4 else 0) for at in (6, 8, 10, 12, 14, 15, 16, 20, 22, 26)]
MIXED_LATE = [ear(base=3, inside=9)] * 4 + [ear(base=5, inside=13)] * 4


def days(found: DayRange | None) -> tuple[int, int]:
    assert found is not None
    assert found.earliest is not None
    assert found.latest is not None
    return (found.earliest - SILK).days, (found.latest - SILK).days


@pytest.mark.parametrize(
    ("ears", "pattern", "key"),
    [
        (LATE, BASE, POLLEN_LATE),
        (ENDED, TIP_UNSET, POLLEN_ENDED),
        (STOPPED, TIP_UNSET, SILKS_STOPPED),
        (SHORT, TIP_ABORTED, LOST_AFTER_SET),
        (CLIPPED, SCATTERED, POLLEN_BROKEN),
    ],
)
def test_plain_patterns_are_named(ears: list[SeenEar], pattern: str, key: str) -> None:
    """Each plain pattern gets its one name, with all readings of that place beside it."""
    (found,) = causes(ears, SILKED)
    assert (found.pattern, found.key) == (pattern, key)
    assert all(one.place == pattern for one in found.readings)


@pytest.mark.parametrize("ears", [[], FULL, [SeenEar(stop=1, bare_cob=True)] * 5])
def test_nothing_is_named_without_ground(ears: list[SeenEar]) -> None:
    """No ears, ordinary ears and bare cobs alone point to no cause."""
    assert causes(ears, SILKED) == ()


def test_a_base_gap_and_a_tip_gap_give_both() -> None:
    """Late pollen and a loss after set stand side by side; the base has a date, the tip none."""
    ears = [ear(base=base, aborted=12) for base in (0, 8, 10, 12, 12, 14, 14, 16, 18, 20, 22)]
    first, second = causes(ears, SILKED)
    assert (first.key, second.key) == (POLLEN_LATE, LOST_AFTER_SET)
    assert {one.reading for one in first.readings if one.likely and one.told} == {POLLEN_LATE}
    assert not any(one.told for one in second.readings)


@pytest.mark.parametrize(
    ("ears", "saw", "alone", "keys"),
    [
        (FEW_LATE, FlowerLooks(not_yet=SILK), [], [POLLEN_LATE]),
        (ENDED, FlowerLooks(not_yet=SILK), [POLLEN_ENDED], [LOST_AFTER_SET]),
        (RAGGED, FlowerLooks(clipped=SILK), [POLLEN_ENDED], [POLLEN_BROKEN, POLLEN_ENDED]),
        (RAGGED, FlowerLooks(whole=SILK), [POLLEN_ENDED], [POLLEN_ENDED]),
        (RAGGED, FlowerLooks(beetles=SILK), [POLLEN_ENDED], [POLLEN_BROKEN, POLLEN_ENDED]),
        (MIXED_LATE, FlowerLooks(shed_early=SILK), [POLLEN_LATE], [POLLEN_BROKEN]),
        (CLIPPED, FlowerLooks(not_yet=SILK), [POLLEN_BROKEN], [POLLEN_LATE]),
        (STOPPED, FlowerLooks(finished=SILK), [SILKS_STOPPED], [SILKS_STOPPED]),
        (FEW_ENDED, FlowerLooks(finished=SILK), [], [POLLEN_ENDED]),
    ],
)
def test_what_visits_saw_moves_the_lines(
    ears: list[SeenEar], saw: FlowerLooks, alone: list[str], keys: list[str]
) -> None:
    """Tassels, silks and beetles seen raise a reading that they fit and lower one they do not."""
    assert [one.key for one in causes(ears, SILKED)] == alone
    assert [one.key for one in causes(ears, SILKED, saw=saw)] == keys


def test_what_visits_saw_alone_names_nothing() -> None:
    """Full ears show no gap, whatever tassels and silks looked like."""
    saw = FlowerLooks(not_yet=SILK, clipped=SILK, beetles=SILK)
    assert causes(FULL, SILKED, saw=saw) == ()


def test_what_visits_saw_moves_no_date() -> None:
    """The days come from the ears; what was seen only moves what is named."""
    saw = FlowerLooks(finished=SILK)
    assert causes(ENDED, SILKED, saw=saw) == causes(ENDED, SILKED)


def test_a_tip_never_set_under_late_pollen_has_no_date() -> None:
    """Late pollen came after the tip had silked: no earlier end of pollen is dated beside it."""
    ears = [ear(base=base, unset=12) for base in (0, 8, 10, 12, 12, 14, 14, 16, 18, 20, 22)]
    _, tip = causes(ears, SILKED)
    assert (tip.pattern, tip.key) == (TIP_UNSET, LOST_AFTER_SET)
    why = {one.reading: one.why for one in tip.readings}
    assert why == {
        POLLEN_ENDED: AGAINST_LATE_POLLEN,
        SILKS_STOPPED: AGAINST_LATE_POLLEN,
        EARLY_LOSS: TOO_WIDE,
    }
    assert not any(one.told for one in tip.readings)


def test_a_tip_gap_always_carries_its_other_readings() -> None:
    """Pollen that ended, silks that stopped and early loss stand beside each other."""
    (found,) = causes(ENDED, SILKED)
    told = {one.reading: one.told for one in found.readings}
    assert told == {POLLEN_ENDED: True, SILKS_STOPPED: True, EARLY_LOSS: False}


def test_open_silking_date_gives_no_date() -> None:
    """Without both ends of the silking date a cause is named and no date told."""
    (found,) = causes(LATE, DayRange(earliest=SILK))
    assert {(one.likely, one.told, one.why) for one in found.readings} == {
        (None, False, NO_SILKING_DATE)
    }


def test_wide_silking_date_is_too_wide_to_tell() -> None:
    """Two weeks of doubt about silking leave more than eight days: the reason is given."""
    (found,) = causes(ENDED, DayRange(earliest=SILK, latest=SILK + timedelta(days=14)))
    assert {one.why for one in found.readings} == {TOO_WIDE}


def test_likely_days_of_a_known_field() -> None:
    """Silks stopped with the upper half bare: the middle silked on day 1 to 3, stopped two later.

    By the typical figures the ring at 0.5 silks 2.0 days after the first, so growth stopped on
    day 4 of an average plant, half a day on from the morning of R1.
    """
    seen = edges_seen(STOPPED, TIP_UNSET)
    found = explained(seen, same_age=True)
    low, high = days(likely_days(found, 2.0, SILKED))
    assert low <= 4 <= high
    assert 1 <= high - low <= 4


@pytest.mark.parametrize(("earliest", "latest"), [(SILK, None), (None, SILK), (None, None)])
def test_no_days_are_likely_where_silking_has_an_open_end(
    earliest: date | None, latest: date | None
) -> None:
    """A field that was seen silked once may have silked any day before."""
    found = explained(edges_seen(ENDED, TIP_UNSET))
    assert likely_days(found, 0.0, DayRange(earliest=earliest, latest=latest)) is None


def test_likely_days_follow_the_silking_date() -> None:
    """A later silking date moves the range; an uncertain one widens it."""
    found = explained(edges_seen(ENDED, TIP_UNSET))
    now = days(likely_days(found, 0.0, SILKED))
    week = timedelta(days=7)
    moved = days(likely_days(found, 0.0, DayRange(earliest=SILK + week, latest=SILK + week)))
    wide = days(likely_days(found, 0.0, DayRange(earliest=SILK, latest=SILK + week)))
    assert moved == (now[0] + 7, now[1] + 7)
    assert wide[1] - wide[0] > now[1] - now[0]


def test_draws_are_the_same_every_time() -> None:
    """The same ears give the same range, whatever else was computed before."""
    assert causes(LATE, SILKED) == causes(LATE, SILKED)


def test_spread_of_edges_tells_silks_stopped_from_pollen_ended() -> None:
    """The same ring on all ears is likelier under silks that stopped; scattered ones are not."""
    for ears, stopped in ((STOPPED, True), (ENDED, False)):
        seen = edges_seen(ears, TIP_UNSET)
        apart = explained(seen, same_age=True).log_evidence - explained(seen).log_evidence
        assert (apart > 0) is stopped


def test_bare_cobs_move_the_end_of_pollen_forward() -> None:
    """Plants without a kernel silked after the last pollen: more of them, and it ended sooner."""
    bare = [SeenEar(stop=1, bare_cob=True)] * 8
    with_bare, without = (
        days(likely_days(explained(edges_seen(ears, TIP_UNSET)), 0.0, SILKED))
        for ears in ([*ENDED, *bare], ENDED)
    )
    assert sum(with_bare) < sum(without)


def test_edges_over_all_ears() -> None:
    """Edges count gaps inside, ears without a gap, bare cobs and ears with hardly a kernel."""
    ears = [
        ear(base=6, inside=6),
        ear(base=3),
        ear(base=37),
        SeenEar(stop=1, bare_cob=True),
        SeenEar(stop=1, rings=EarRings(base=9, set=20)),
    ]
    base = edges_seen(ears, BASE)
    assert base.at == (0.3,)
    assert (base.without, base.bare, base.share) == (1, 2, 0.5)
    tip = edges_seen([ear(unset=6, inside=2), ear(unset=5)], TIP_UNSET)
    assert tip.at == (pytest.approx(0.8),)
    assert tip.free == pytest.approx(5 / RINGS)
    alone = edges_seen([ear(unset=6, inside=2)], TIP_UNSET, scattered=True)
    assert alone.at == (pytest.approx(0.85),)
    with pytest.raises(ValueError, match="no edge"):
        edges_seen(ears, SCATTERED)


def test_no_likely_day_is_told_wider_than_the_line() -> None:
    """The line of eight days is a figure: with one of one day nothing is told."""
    strict = shipped_figures().changed({"cause.most_told_days": 1})
    (found,) = causes(LATE, SILKED, figures=strict)
    assert not any(one.told for one in found.readings)
