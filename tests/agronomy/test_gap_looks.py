"""What visits saw while a field flowered, and how it bears on the readings of a gap."""

from datetime import date, timedelta

import pytest

from fieldbook.agronomy.gap_looks import FlowerLooks, StopLook, flower_looks
from fieldbook.agronomy.gap_signs import (
    MANY_BEETLES,
    NOT_YET_SHEDDING,
    SHED_AT_SILKING,
    SHED_OVER,
    SILKS_CLIPPED,
    SILKS_WHOLE,
    STILL_SHEDDING,
    signs,
)
from fieldbook.agronomy.ranges import DayRange
from fieldbook.agronomy.timing import (
    POLLEN_BROKEN,
    POLLEN_ENDED,
    POLLEN_LATE,
    SILKS_LOST,
    SILKS_STOPPED,
)

SILK = date(2026, 7, 20)
SILKED = DayRange(earliest=SILK, latest=SILK)


def on(day: int) -> date:
    return SILK + timedelta(days=day)


def tassels(day: int, *readings: str) -> list[StopLook]:
    return [StopLook(stop=at, day=on(day), tassel=one) for at, one in enumerate(readings)]


def silks(day: int, beetles: float, *lengths: float) -> list[StopLook]:
    return [
        StopLook(stop=at, day=on(day), silk_length_in=one, beetles=beetles)
        for at, one in enumerate(lengths)
    ]


def test_tassels_shut_at_silking_fit_late_pollen() -> None:
    """Half of the stops decide; the last such day counts, and one before silking tells nothing."""
    seen = [*tassels(1, "not-yet", "not-yet"), *tassels(4, "not-yet", "middle")]
    saw = flower_looks(seen, SILKED)
    assert saw.not_yet == on(4)
    assert flower_looks(tassels(-1, "not-yet"), SILKED) == FlowerLooks()
    assert flower_looks(tassels(1, "not-yet", "middle", "middle"), SILKED).not_yet is None


def test_pollen_on_the_first_silks_speaks_against_late_pollen() -> None:
    """Tassels that shed while the first silks still took pollen came in time; later ones do not."""
    assert flower_looks(tassels(3, "whole-spike"), SILKED).late is False
    assert flower_looks(tassels(7, "whole-spike"), SILKED).late is None
    assert flower_looks(tassels(1, "not-yet"), SILKED).late is True


def test_tassels_that_tell_both_tell_nothing() -> None:
    """A field half of whose stops shed and half do not is neither late nor in time."""
    assert flower_looks(tassels(2, "not-yet", "middle"), SILKED).late is None


def test_finished_counts_only_before_the_last_silks_and_for_good() -> None:
    """Tassels finished within six days of silking end early; if they shed again, that was wrong."""
    assert flower_looks(tassels(3, "finished", "finished"), SILKED).finished == on(3)
    assert flower_looks(tassels(9, "finished"), SILKED).finished is None
    again = [*tassels(3, "finished"), *tassels(5, "branches")]
    assert flower_looks(again, SILKED).finished is None


def test_short_silks_with_beetles_are_clipped() -> None:
    """Two stops in five with short silks, a day after silking at the soonest, and beetles."""
    lengths = (0.5, 0.25, 2.0, 2.0, 3.0)
    assert flower_looks(silks(3, 1.0, *lengths), SILKED).clipped == on(3)
    assert flower_looks(silks(0, 1.0, *lengths), SILKED).clipped is None
    without = flower_looks(silks(3, 0.0, *lengths), SILKED)
    assert (without.clipped, without.whole) == (None, on(3))
    longer = flower_looks(silks(3, 1.0, 2.0, 2.0, 2.0), SILKED)
    assert (longer.clipped, longer.beetles, longer.whole) == (None, None, on(3))


def test_many_beetles_are_a_sign_of_their_own() -> None:
    """Three beetles or more on the silks put them at risk, from silking on."""
    saw = flower_looks(silks(0, 3.0, 1.0), SILKED)
    assert (saw.beetles, saw.silks_at_risk) == (on(0), True)
    assert not flower_looks(silks(-3, 9.0, 1.0), SILKED).silks_at_risk


def test_nothing_is_told_without_looks_or_a_silking_date() -> None:
    """An open silking date and stops not looked at leave everything open."""
    assert flower_looks(tassels(1, "not-yet"), DayRange(earliest=SILK)) == FlowerLooks()
    assert flower_looks([StopLook(stop=1, day=on(2))], SILKED) == FlowerLooks()
    with pytest.raises(ValueError, match="no tassel reading"):
        StopLook(stop=1, day=SILK, tassel="open")


@pytest.mark.parametrize(
    ("reading", "saw", "told"),
    [
        (POLLEN_LATE, FlowerLooks(not_yet=on(2)), [(NOT_YET_SHEDDING, True)]),
        (POLLEN_LATE, FlowerLooks(shed_early=on(2)), [(SHED_AT_SILKING, False)]),
        (POLLEN_LATE, FlowerLooks(not_yet=on(2), shed_early=on(2)), []),
        (POLLEN_ENDED, FlowerLooks(finished=on(3)), [(SHED_OVER, True)]),
        (POLLEN_ENDED, FlowerLooks(not_yet=on(2)), [(NOT_YET_SHEDDING, False)]),
        (POLLEN_ENDED, FlowerLooks(shed_last=on(5)), [(STILL_SHEDDING, False)]),
        (POLLEN_ENDED, FlowerLooks(shed_last=on(4)), []),
        (POLLEN_BROKEN, FlowerLooks(clipped=on(3), beetles=on(2)), [(SILKS_CLIPPED, True)]),
        (SILKS_LOST, FlowerLooks(beetles=on(2), whole=on(3)), [(MANY_BEETLES, True)]),
        (POLLEN_BROKEN, FlowerLooks(whole=on(3)), [(SILKS_WHOLE, False)]),
        (SILKS_LOST, FlowerLooks(whole=on(3)), []),
        (SILKS_STOPPED, FlowerLooks(finished=on(3), clipped=on(3)), []),
    ],
)
def test_signs_fit_a_reading_or_speak_against_it(
    reading: str, saw: FlowerLooks, told: list[tuple[str, bool]]
) -> None:
    """Each reading takes what bears on it, with its day; for other readings nothing is told."""
    found = signs(reading, DayRange(earliest=on(1), latest=on(4)), saw)
    assert [(one.seen, one.fits) for one in found] == told
    assert all(one.reading == reading for one in found)
