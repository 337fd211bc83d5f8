"""The edges of gaps over a field's ears: how many show one, and what no ear can tell."""

import pytest

from fieldbook.agronomy.ears import BASE, SCATTERED, TIP_UNSET, EarRings
from fieldbook.agronomy.gap_edges import edges_seen
from fieldbook.agronomy.gaps import SeenEar


def ear(*, base: int = 0, tip: int = 0) -> SeenEar:
    """Make an ear of 40 rings with gaps at its ends, by hand."""
    return SeenEar(
        stop=1,
        rings=EarRings(base=base, set=40 - base - tip, inside=0, tip_unset=tip, tip_aborted=0),
    )


def test_the_edge_is_that_of_the_ears_that_show_the_gap() -> None:
    """Two of four butts are bare, over 20 and 24 of 40 rings: edges at 0.5 and 0.6."""
    seen = edges_seen([ear(base=20), ear(base=24), ear(), ear()], BASE)
    assert seen.share == 0.5
    edge = seen.edge
    assert edge is not None
    assert (edge.ears, edge.low, edge.high) == (2, 0.5, 0.6)
    assert edge.mean == pytest.approx(0.55)


def test_one_ear_has_an_edge_and_no_spread() -> None:
    """A spread takes two."""
    edge = edges_seen([ear(base=20), ear()], BASE).edge
    assert edge is not None
    assert edge.sd is None


@pytest.mark.parametrize("place", [BASE, TIP_UNSET])
def test_without_a_gap_there_is_no_edge(place: str) -> None:
    """Whole ears show none, and no ear at all shows none on none."""
    seen = edges_seen([ear(), ear()], place)
    assert (seen.edge, seen.share, seen.without) == (None, 0.0, 2)
    nothing = edges_seen([], place)
    assert (nothing.edge, nothing.share, nothing.without) == (None, 0.0, 0)


def test_a_gap_inside_has_no_edge_to_be_dated() -> None:
    """Only the base and the tip that was never set are bounded by a day."""
    with pytest.raises(ValueError, match="no edge"):
        edges_seen([ear()], SCATTERED)
