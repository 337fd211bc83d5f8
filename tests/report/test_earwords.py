"""What the ears say: one ear is one ear, and one bare cob is one."""

from dataclasses import replace

import pytest

from fieldbook.report.amounts import Amounts
from fieldbook.report.earwords import bare_cobs, ear_caption, left_out, place_worth
from fieldbook.results.yield_result import EarsResult
from fieldbook.units import System
from report import factory

HALF_OF = "At least half of the 24 ears hold a kernel"
NEVER, SHRUNKEN = "never set, or lost in the first days", "shrunken, set first and lost later"
ONE_PLACE = "One kernel place lost all around every ear costs at most about"


@pytest.mark.parametrize(
    ("bare", "ears", "words"),
    [
        (0, 25, []),
        (1, 1, ["The one ear pulled was a bare cob."]),
        (1, 25, ["One of 25 ears pulled was a bare cob; it is not in the picture."]),
        (2, 25, ["2 of 25 ears pulled were bare cobs; they are not in the picture."]),
    ],
)
def test_bare_cobs_are_counted(bare: int, ears: int, words: list[str]):
    """None is not told."""
    assert [*bare_cobs(replace(factory.EARS, bare_cobs=bare, ears=ears), "en")] == words


@pytest.mark.parametrize(
    ("complete", "words"),
    [
        (0, []),
        (1, ["The picture holds one of 23 ears: the only one looked at in every part."]),
        (8, ["The picture holds 8 of 23 ears: those looked at in every part."]),
        (23, []),
    ],
)
def test_ears_that_are_not_in_the_picture_are_told(complete: int, words: list[str]):
    """The table has more ears than the picture, so the page says why; bare cobs are told apart."""
    ears = replace(factory.EARS, bare_cobs=2, ears=25, complete_ears=complete)
    assert [*left_out(ears, "en")] == words


@pytest.mark.parametrize(
    ("ears", "words"),
    [(1, "The one ear holds a kernel from place "), (24, "At least half of the 24 ears hold a ")],
)
def test_the_picture_is_of_one_ear_or_of_many(ears: int, words: str):
    """Half of one ear would say nothing."""
    assert ear_caption(replace(factory.EARS, complete_ears=ears), "en").startswith(words)


def ears_of(*filled: float, aborted: float = 0.0, ears: int = 24) -> EarsResult:
    """Make ears with these shares filled, place by place; `aborted` is of all that is not."""
    empty = [1 - share for share in filled]
    return replace(
        factory.EARS,
        complete_ears=ears,
        share_set=filled,
        share_unset=tuple(share * (1 - aborted) for share in empty),
        share_aborted=tuple(share * aborted for share in empty),
        share_scattered=tuple(0.0 for _ in filled),
    )


@pytest.mark.parametrize(
    ("ears", "words"),
    [
        (ears_of(0.4, 0.1), "At no place do half of the ears hold a kernel."),
        (ears_of(0, 0.5, 1), f"{HALF_OF} from place 2 to 3 of 3."),
        (ears_of(1, 0.5, 0.1), f"{HALF_OF} from place 1 to 2 of 3. Beyond it, mostly: {NEVER}."),
        (
            ears_of(1, 1, 0.1, aborted=0.8),
            f"{HALF_OF} from place 1 to 2 of 3. Beyond it, mostly: {SHRUNKEN}.",
        ),
        (ears_of(1, 0.2, 0.1, 0.9), f"{HALF_OF} at 2 of the places 1 to 4, of 4 in all."),
        (
            ears_of(1, 0, 1, ears=1),
            "The one ear holds a kernel at 2 of the places 1 to 3, of 3 in all.",
        ),
    ],
)
def test_the_caption_says_where_kernels_are(ears: EarsResult, words: str):
    """A gap in the middle is not told as filled; what is bare beyond is named by its kind."""
    assert ear_caption(ears, "en") == words


@pytest.mark.parametrize(
    ("worth", "system", "words"),
    [
        (None, System.US, []),
        (5.1, System.US, [f"{ONE_PLACE} 5 bu/ac."]),
        (5.1, System.METRIC, [f"{ONE_PLACE} 0.3 t/ha."]),
    ],
)
def test_a_place_around_the_ear_has_its_worth(
    worth: float | None, system: System, words: list[str]
):
    """In the unit of the season, and nothing where it is not known."""
    found = replace(factory.YIELD, ring_worth_bu_ac=worth)
    assert [*place_worth(found, Amounts(units=system))] == words
