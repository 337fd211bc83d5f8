"""A share of the many messages and of the kills; the full run is `python tests/mailed.py`."""

from pathlib import Path

import mailed
from mailserver import dovecot_missing
from parts import need


def test_good_books_among_messages_of_all_kinds_are_taken_in_once(tmp_path: Path) -> None:
    """Each good book once, nothing of the rest, the mailbox as it was, no secret anywhere."""
    need(dovecot_missing())
    found = mailed.flood(tmp_path, count=48, good=8, seed="share")
    assert found.wrong == ()
    assert found.events["taken"] == 8
    assert found.events["aside"] > 10
    assert found.peak_mb < 500


def test_killed_in_the_middle_no_book_is_lost_and_no_answer_sent_twice(tmp_path: Path) -> None:
    """Signal 9 while taking in and while sending, and run again to the end."""
    need(dovecot_missing())
    found = mailed.kills(tmp_path, moments=4, count=24, good=4, seed="share")
    assert found.wrong == ()
    assert found.killed >= 2
    assert found.answers >= 4
