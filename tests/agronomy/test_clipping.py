"""Silk clipping lines: three conditions, each holding, failing or not known."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.clipping import (
    BEETLES_ON,
    JAPANESE_EAR,
    JAPANESE_PLANT,
    ROOTWORM_EAR,
    ROOTWORM_PLANT,
    ClippingLine,
    clipping_lines,
)
from fieldbook.agronomy.ranges import Span


def lines(
    silk: float | None,
    pollinated: tuple[float, float] | None,
    beetles: float | None,
    on: str | None,
) -> dict[str, ClippingLine]:
    span = None if pollinated is None else Span(low=pollinated[0], high=pollinated[1])
    found = clipping_lines(silk_length_in=silk, pollinated_pct=span, beetles=beetles, beetles_on=on)
    return {one.name: one for one in found}


def test_one_failing_condition_settles_a_line() -> None:
    """Long silks fail a line even where nothing else is known; a gap leaves it open."""
    failed = lines(2, None, None, ROOTWORM_PLANT)["south-dakota-rootworm"]
    assert (failed.short, failed.open, failed.beetles) == (False, None, None)
    assert failed.reached is False
    assert lines(0.2, (30, 30), None, ROOTWORM_PLANT)["south-dakota-rootworm"].reached is None


def test_pollinated_range_across_the_line_cannot_tell() -> None:
    """Only a share wholly under half, or wholly over it, decides."""
    opened = [
        lines(0.2, share, 4, JAPANESE_EAR)["purdue-japanese"].open
        for share in [(20, 49), (40, 50), (50, 50), (60, 90)]
    ]
    assert opened == [True, None, False, False]


def test_beetles_inside_a_printed_range_cannot_tell() -> None:
    """Five to ten on an ear: under five is under the line, ten is over it, seven is neither."""
    enough = [
        lines(0.2, (10, 10), n, ROOTWORM_EAR)["nebraska-rootworm"].beetles for n in (4, 5, 7, 10)
    ]
    assert enough == [False, None, None, True]


def test_sources_that_differ_are_both_told() -> None:
    """Silks of 0.7 in are clipped by one source and not by the other."""
    found = lines(0.7, (30, 30), 5, JAPANESE_EAR)
    assert found["purdue-japanese"].reached is False
    assert found["iowa-state-japanese"].reached is True


def test_no_line_for_japanese_beetles_by_the_plant() -> None:
    """No source has a line by the plant, and beetles not counted have none either."""
    assert lines(0.2, (10, 10), 9, JAPANESE_PLANT) == {}
    assert lines(0.2, (10, 10), None, None) == {}
    with pytest.raises(ValueError, match="no line for beetles"):
        lines(0.2, (10, 10), 9, "grasshopper")


@given(
    silk=st.floats(0, 6),
    share=st.floats(0, 100),
    beetles=st.floats(0, 30),
    on=st.sampled_from(BEETLES_ON),
    shorter=st.floats(0, 1),
    more=st.floats(0, 10),
)
def test_worse_clipping_never_leaves_a_line(
    silk: float, share: float, beetles: float, on: str, shorter: float, more: float
) -> None:
    """A line that is reached stays reached with shorter silks and more beetles."""
    now = lines(silk, (share, share), beetles, on)
    worse = lines(silk * shorter, (share, share), beetles + more, on)
    for name, line in now.items():
        if line.reached:
            assert worse[name].reached
