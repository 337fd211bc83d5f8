"""How an event stands in its file."""

import json
from datetime import date

import pytest

from fieldbook.check.verdict import CheckedBook, Reading, Status
from fieldbook.entries import Identity
from fieldbook.ledger.events import BookEvent, event_from_json, event_json

ODD = ("5], [", "5", '"], ["', '\\"], [\\"', "], [", '["', "Kühe\n]", "")


def reading(typed: str, value: object, row: tuple[int, ...] = (1, 2)) -> Reading:
    """Make a reading of a remark."""
    return Reading("v1", "ears", row, "remark", typed, value, Status.USED, "M5")


def event(*readings: Reading) -> BookEvent:
    """Make an event of a book with these readings."""
    identity = Identity(
        book_id="KC26-1",
        season_id="north-2026",
        round="kernels",
        full=True,
        form_version=2,
        units="us",
        language="en",
        scout="Ida Holm",
        visits=(),
    )
    return BookEvent(
        sequence=7,
        sha256="0" * 64,
        file="book.xlsx",
        source="folder",
        sender=None,
        message=None,
        sent_by=None,
        received="2026-08-25T09:00:00Z",
        tool="1",
        judged_against={},
        identity=identity,
        verdict=CheckedBook(readings=readings, questions=(), problems=()),
    )


@pytest.mark.parametrize("text", ODD)
def test_whatever_a_scout_types_a_reading_is_one_line(text: str) -> None:
    """Texts that look like the ends of readings tear none of them apart."""
    told = event(reading(text, text), reading("22 Jul", date(2026, 7, 22)), reading(text, 3, ()))
    written = event_json(told)
    assert event_from_json(written) == told
    lines = written.splitlines()
    start = lines.index(' "readings": [') + 1
    kept = [json.loads(line.rstrip(",")) for line in lines[start : start + 3]]
    assert [(one[2], one[4]) for one in kept] == [
        ([1, 2], text),
        ([1, 2], "22 Jul"),
        ([], text),
    ]
    assert lines[start + 3] == " ],"
