"""The look for ear mould has one day, wherever a report or the board tells it."""

import re
from dataclasses import replace
from datetime import date

import pytest
from babel.dates import format_date

from fieldbook.agronomy.windows import NO_SIGNAL, RAISED, SOME, UNKNOWN
from fieldbook.figures import shipped_figures
from fieldbook.report.aheadwords import ahead_sentences
from fieldbook.report.amounts import Amounts
from fieldbook.report.boardwords import board_row
from fieldbook.report.duewords import BoardField
from fieldbook.report.ripewords import mould_sentences
from fieldbook.report.steps import steps
from fieldbook.results.due import FieldRounds
from fieldbook.results.result import FieldResult
from fieldbook.units import System
from report import factory

US, FIGURES = Amounts(units=System.US), shipped_figures()
WATCHED, RIPE = date(2026, 8, 25), date(2026, 9, 12)


def told(result: FieldResult) -> dict[str, str]:
    """Return the sentence, line or cell of each place that asks for the look."""
    none = FieldRounds(windows=(), undated=None)
    on_board = BoardField(
        result=result, report="", scout=None, rounds=none, planned={}, sprayed_on=None,
        reentry_ends=None,
    )  # fmt: skip
    asked = [one for one in steps(result, US, FIGURES) if "mould" in one.what and "100" in one.what]
    return {
        "section": " ".join(mould_sentences(result, US, FIGURES)),
        "ahead": next(one for one in ahead_sentences(result, US, FIGURES) if "Husk 100" in one),
        "to do": " ".join(one.when.partition("(")[0] for one in asked),
        "board": " ".join(board_row(on_board, US).mould.lines[1:]),
    }


def watched(level: str, **more: object) -> FieldResult:
    watch = factory.OUTLOOK.gibberella
    assert watch is not None
    outlook = replace(factory.OUTLOOK, gibberella=replace(watch, level=level))
    return factory.full(outlook=outlook, **more)


@pytest.mark.parametrize("as_of", [factory.TODAY, date(2026, 10, 1)])
@pytest.mark.parametrize(
    ("level", "day"), [(RAISED, WATCHED), (SOME, WATCHED), (NO_SIGNAL, RIPE), (UNKNOWN, RIPE)]
)
def test_every_place_tells_the_same_day(level: str, day: date, as_of: date):
    """The watch's where it asks, else black layer's; ahead of it and late alike."""
    stages = tuple(
        replace(one, passed=bool(one.date and one.date <= as_of)) for one in factory.STAGES
    )
    for place, text in told(watched(level, as_of=as_of, stages=stages)).items():
        days = re.findall(r"\b(\d+ [A-Z][a-z]{2})", text)
        assert days == [format_date(day, "d MMM", "en")], (place, text)


def test_ears_that_were_opened_are_asked_for_no_more():
    """Where the watch asks, on its day or later; else on any day."""
    early, late = (replace(factory.ripening(), day=date(2026, 8, at)) for at in (24, 25))
    for level, ripe, is_asked in (
        (RAISED, early, True),
        (RAISED, late, False),
        (NO_SIGNAL, early, False),
    ):
        said = " ".join(ahead_sentences(watched(level, ripe=ripe), US, FIGURES))
        assert ("Husk 100 ears" in said) == is_asked


def test_without_any_day_the_look_is_asked_for_before_the_harvest():
    """No watch that asks, no date of black layer."""
    said = " ".join(ahead_sentences(watched(NO_SIGNAL, stages=()), US, FIGURES))
    assert "Husk 100 ears in 5 places before the harvest: only that" in said


def test_a_range_of_days_is_told_as_one():
    """Black layer without a likely day."""
    span = factory.stage("R6", None, (date(2026, 9, 5), date(2026, 9, 24)))
    found = told(watched(NO_SIGNAL, stages=(span,)))
    assert "Husk 100 ears in 5 places, 5 to 24 September:" in found["ahead"]
    assert found["section"].endswith("due 5 to 24 September.")
