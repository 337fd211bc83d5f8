"""What the demo says of the books of a round."""

from pathlib import Path

import pytest

from fieldbook.demo.run import _round_line
from fieldbook.forms.rounds import HARVEST
from fieldbook.season.taken import Taken


def taken(*visits: str, accepted: bool = True) -> Taken:
    """Stand for a file that came back."""
    return Taken(path=Path("a.xlsx"), accepted=accepted, verdict=None, problems=(), visits=visits)


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ([taken("A1.H1")], "one book came back, one field."),
        ([taken("A1.H1"), taken("A2.H1")], "2 books came back, 2 fields."),
        ([taken("A1.H1"), taken(accepted=False)], "one field; one other file set aside."),
    ],
)
def test_one_book_and_one_field_are_said_as_one(sent: list[Taken], words: str) -> None:
    """Several are counted."""
    assert _round_line(HARVEST, sent).endswith(words)
