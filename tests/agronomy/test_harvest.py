"""Stalks and ear mould against the published lines, and the order of harvest."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.harvest_order import Ripening, harvest_order
from fieldbook.agronomy.stalks import WalkReading, mould, mould_reading, stalk_reading
from fieldbook.agronomy.wilson import Count, Share, share
from fieldbook.figures import reference

LOOKS = ("pink-tip", "white-scattered", "white-mat", "olive-powder", "blue-green", "other")


def walk(*hits: int, looked: int = 20) -> list[Count]:
    """Make places of 20 plants."""
    return [Count(hits=one, looked=looked) for one in hits]


def sides(found: WalkReading | None) -> dict[str, str]:
    """Return where the share lies against each line."""
    assert found is not None
    return {one.figure: one.side for one in found.lines}


def hundred(hits: int) -> Share:
    """Return a share of a hundred plants at one place."""
    found = share([Count(hits=hits, looked=100)])
    assert found is not None
    return found


def test_twelve_failing_of_a_hundred() -> None:
    """12 % lies below North Dakota's line and cannot be told from Iowa's; it says what would."""
    found = stalk_reading(walk(3, 1, 4, 2, 2))
    assert sides(found) == {"stalks.line_pct": "cannot-tell", "stalks.high_line_pct": "below"}
    assert found is not None
    assert (found.plants_short, found.places_short) == (0, 0)
    near, far = (one.more for one in found.lines)
    # 1.959964^2 x 0.1 x 0.9 / 0.02^2 = 864.3 plants in all
    assert near is not None
    assert (near.plants, near.places) == (765, None)
    assert far is not None
    assert far.plants == 0


def test_many_failing_lie_above_both_lines() -> None:
    """Half of the stalks failing are over 10 and over 20 %."""
    assert set(sides(stalk_reading(walk(10, 9, 11, 10, 10))).values()) == {"above"}


def test_short_walk_says_what_is_missing() -> None:
    """Three places of 20 are 40 plants and 2 places short of the published walk."""
    found = stalk_reading(walk(0, 1, 0))
    assert found is not None
    assert (found.plants_short, found.places_short) == (40, 2)
    assert stalk_reading([]) is None


def test_mould_line() -> None:
    """10 mouldy ears of 100 lie on the line; 30 are over it, none are below."""
    found = mould_reading(walk(2, 2, 2, 2, 2))
    assert sides(found) == {"mould.line_pct": "cannot-tell"}
    assert found is not None
    assert found.lines[0].more is None
    assert sides(mould_reading(walk(6, 6, 6, 6, 6))) == {"mould.line_pct": "above"}
    assert sides(mould_reading(walk(0, 0, 0, 0, 0))) == {"mould.line_pct": "below"}


def test_what_moulds_may_carry() -> None:
    """Each look has its fungus and toxins; where no source names one, none is claimed absent."""
    carried = {look: mould(look).toxins for look in LOOKS}
    assert carried == {
        "pink-tip": ("deoxynivalenol", "zearalenone"),
        "white-scattered": ("fumonisin",),
        "white-mat": (),
        "olive-powder": ("aflatoxin",),
        "blue-green": None,
        "other": None,
    }
    with pytest.raises(ValueError, match="no mould"):
        mould("purple")


@pytest.mark.parametrize("look", LOOKS)
def test_published_moulds_have_sources(look: str) -> None:
    """A look said to be published names sources that exist; the others name none."""
    found = mould(look)
    assert bool(found.sources) == (found.kind == "published")
    assert [reference(key).key for key in found.sources] == list(found.sources)


def test_order_of_harvest() -> None:
    """Failing stalks first, then mould, then the driest; reasons and what decides are given."""
    queue = harvest_order(
        [
            Ripening(field_id="dry", stalks=hundred(2), mould=hundred(1), moisture_pct=18),
            Ripening(field_id="wet", stalks=hundred(3), mould=hundred(1), moisture_pct=27),
            Ripening(field_id="unseen"),
            Ripening(field_id="mouldy", stalks=hundred(4), mould=hundred(30), moisture_pct=30),
            Ripening(field_id="weak", stalks=hundred(15), mould=hundred(0), moisture_pct=30),
            Ripening(field_id="falling", stalks=hundred(60), mould=hundred(0), moisture_pct=32),
        ]
    )
    assert [(one.turn, one.field_id, one.ahead_by, one.ahead_for_sure) for one in queue] == [
        (1, "falling", "stalks", True),
        (2, "weak", "stalks", True),
        (3, "mouldy", "mould", True),
        (4, "dry", "moisture", False),
        (5, "wet", "moisture", False),
        (6, "unseen", None, False),
    ]
    assert queue[1].reasons == ("stalks-near-line", "mould-under-line")
    assert queue[2].reasons == ("stalks-under-line", "mould-over-line")
    assert queue[5].reasons == (
        "stalks-not-looked-at",
        "mould-not-looked-at",
        "moisture-not-measured",
    )


def test_order_between_near_shares_is_not_sure() -> None:
    """14 before 12 of 100 is an order without proof, and so is one before a field not tested."""
    queue = harvest_order(
        [
            Ripening(field_id="a", stalks=hundred(12)),
            Ripening(field_id="b", stalks=hundred(14)),
            Ripening(field_id="c"),
        ]
    )
    assert [(one.field_id, one.ahead_for_sure) for one in queue] == [
        ("b", False),
        ("a", False),
        ("c", False),
    ]


shares = st.one_of(st.none(), st.integers(0, 100).map(hundred))
fields = st.lists(
    st.builds(
        Ripening,
        field_id=st.text("abcdef", min_size=1, max_size=3),
        stalks=shares,
        mould=shares,
        moisture_pct=st.one_of(st.none(), st.floats(12, 40)),
    ),
    max_size=8,
    unique_by=lambda one: one.field_id,
)


@given(fields)
def test_order_holds_for_any_fields(many: list[Ripening]) -> None:
    """Each field has one turn, no order of entry matters, and no field over a line waits."""
    queue = harvest_order(many)
    assert queue == harvest_order(many[::-1])
    assert [one.turn for one in queue] == list(range(1, len(many) + 1))
    by_id = {one.field_id: one for one in many}
    row = [by_id[one.field_id] for one in queue]
    weak = [one.stalks is not None and one.stalks.hits > 10 for one in row]
    assert weak == sorted(weak, reverse=True)
    rest = row[sum(weak) :]
    mouldy = [one.mould is not None and one.mould.hits > 10 for one in rest]
    assert mouldy == sorted(mouldy, reverse=True)
    dry = [one.moisture_pct or 99 for one in rest[sum(mouldy) :]]
    assert dry == sorted(dry)
