"""Which visit a walk belongs to: another day is another walk, unless the day alone was mended."""

from datetime import date

from fieldbook.check.walks import DAY, KnownWalk, Walk, visit_of, walk_of

FIRST, LATER = date(2026, 8, 24), date(2026, 9, 7)
COUNTS = {("ears", f"1, {ear}", "kernels_set"): 30 + ear for ear in range(1, 11)}
OTHERS = {cell: count - 9 for cell, count in COUNTS.items()}


def walk(day: date | None, counts: dict[tuple[str, str, str], int]) -> Walk:
    """Make a walk of a day and of counts."""
    return walk_of({DAY: day, **counts})


def known(visit_id: str, book_id: str, found: Walk) -> KnownWalk:
    """Make a walk that one book brought."""
    return KnownWalk(visit_id=visit_id, book_ids=frozenset([book_id]), walk=found)


TAKEN = known("A1.KC1", "quick", walk(FIRST, COUNTS))


def test_a_visit_that_nobody_walked_is_the_books_own() -> None:
    """Nothing is known of it, so nothing speaks against it."""
    assert visit_of("A1.KC1", "quick", walk(LATER, COUNTS), []) == "A1.KC1"
    assert visit_of("A1.KC2", "other", walk(FIRST, OTHERS), [TAKEN]) == "A1.KC2"


def test_another_book_of_the_same_day_tells_of_the_same_walk() -> None:
    """Two tablets, or a quick and a full book, may share one walk."""
    assert visit_of("A1.KC1", "full", walk(FIRST, OTHERS), [TAKEN]) == "A1.KC1"


def test_another_book_of_another_day_is_a_walk_of_its_own() -> None:
    """However alike the counts are; it gets the next number that no visit has."""
    later = walk(LATER, COUNTS)
    assert visit_of("A1.KC1", "full", later, [TAKEN]) == "A1.KC2"
    second = known("A1.KC2", "third", walk(date(2026, 8, 30), OTHERS))
    assert visit_of("A1.KC1", "full", later, [TAKEN, second]) == "A1.KC3"


def test_a_book_filled_anew_is_a_walk_of_its_own_and_one_with_its_day_mended_is_not() -> None:
    """More than a fifth of what both have tells them apart."""
    assert visit_of("A1.KC1", "quick", walk(LATER, OTHERS), [TAKEN]) == "A1.KC2"
    assert visit_of("A1.KC1", "quick", walk(LATER, COUNTS), [TAKEN]) == "A1.KC1"
    cells = list(COUNTS)
    few = {**COUNTS, **{cell: OTHERS[cell] for cell in cells[:2]}}
    assert visit_of("A1.KC1", "quick", walk(LATER, few), [TAKEN]) == "A1.KC1"
    more = {**few, cells[2]: OTHERS[cells[2]]}
    assert visit_of("A1.KC1", "quick", walk(LATER, more), [TAKEN]) == "A1.KC2"


def test_a_later_copy_finds_the_visit_that_its_walk_became() -> None:
    """By its day, or where that was mended, by its counts."""
    second = known("A1.KC2", "quick", walk(LATER, OTHERS))
    assert visit_of("A1.KC1", "quick", walk(LATER, OTHERS), [TAKEN, second]) == "A1.KC2"
    mended = walk(date(2026, 9, 8), OTHERS)
    assert visit_of("A1.KC1", "quick", mended, [TAKEN, second]) == "A1.KC2"


def test_a_day_that_nobody_knows_tells_no_walks_apart() -> None:
    """Neither where the book lacks it nor where the visit does."""
    assert visit_of("A1.KC1", "full", walk(None, OTHERS), [TAKEN]) == "A1.KC1"
    undated = known("A1.KC1", "quick", walk(None, COUNTS))
    assert visit_of("A1.KC1", "full", walk(LATER, OTHERS), [undated]) == "A1.KC1"


def test_books_without_a_reading_in_common_tell_of_one_walk() -> None:
    """A scout may fill one book on two days, half the stops on each."""
    rest = {("ears", "2, 1", "kernels_set"): 31}
    assert visit_of("A1.KC1", "quick", walk(LATER, rest), [TAKEN]) == "A1.KC1"
