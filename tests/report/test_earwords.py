"""What the ears say: one ear is one ear, and one bare cob is one."""

from dataclasses import replace

import pytest

from fieldbook.report.earwords import bare_cobs, ear_caption
from report import factory


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
    ("ears", "words"),
    [(1, "The one ear holds a kernel from place "), (24, "At least half of the 24 ears hold a ")],
)
def test_the_picture_is_of_one_ear_or_of_many(ears: int, words: str):
    """Half of one ear would say nothing."""
    assert ear_caption(replace(factory.EARS, complete_ears=ears), "en").startswith(words)
