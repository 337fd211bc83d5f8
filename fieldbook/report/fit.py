"""Guesses of what the first page holds, so that a picture never straddles it.

Paper is laid out long after the sections are made; a guess from letters and drawings is enough to
keep a report on its two pages.
"""

from collections.abc import Sequence
from math import ceil

from fieldbook.report.drawings import WIDE, Drawing
from fieldbook.report.step import Step

_PAGE_PT = {"letter": 792.0, "a4": 842.0}
_MARGINS_PT = 86.0
_HEADER_PT = 50.0
_LEAD_LETTERS, _LEAD_PT = 86, 15.6
_LETTERS, _LINE_PT = 84, 12.5
_WHAT_LETTERS, _WHEN_LETTERS, _WHO_LETTERS = 39, 33, 24
_HEADING_PT, _CAPTION_PT = 27.0, 15.0
_HEADS_PT, _ROW_PT = 24.0, 2.4
_FACT_LETTERS, _NOTE_LETTERS = 25, 26
_TERM_PT, _NOTE_PT = 15.2, 11.0
_COLUMN_PT = {"letter": 367.0, "a4": 356.0}


def steps_lines(steps: Sequence[Step]) -> int:
    """Guess how many lines of print the steps take in their three columns."""
    return sum(
        max(
            ceil(len(step.what) / _WHAT_LETTERS),
            ceil(len(step.when) / _WHEN_LETTERS),
            ceil(len(step.who) / _WHO_LETTERS),
        )
        for step in steps
    )


def side_holds(
    lead: Sequence[str],
    steps: Sequence[Step],
    facts: Sequence[Sequence[str]],
    notes: Sequence[str],
    paper: str,
) -> bool:
    """Guess whether the notes still fit under the facts in the narrow column of the first page."""
    height = _opening_pt(lead, steps) + _HEADING_PT
    for lines in facts:
        height += _TERM_PT + _LINE_PT * sum(ceil(len(line) / _FACT_LETTERS) for line in lines)
    height += _NOTE_PT * sum(ceil(len(note) / _NOTE_LETTERS) for note in notes)
    return height <= _PAGE_PT[paper] - _MARGINS_PT


def _opening_pt(lead: Sequence[str], steps: Sequence[Step]) -> float:
    """Guess the height of what runs over both columns: the names, the lead, the steps."""
    said = _LEAD_PT * ceil(len(" ".join(lead)) / _LEAD_LETTERS)
    rows = _LINE_PT * steps_lines(steps) + _ROW_PT * len(steps)
    return _HEADER_PT + said + _HEADING_PT + _HEADS_PT + rows


def first_page_holds(
    lead: Sequence[str],
    steps: Sequence[Step],
    parts: Sequence[tuple[Sequence[str], Drawing | None]],
    paper: str,
) -> bool:
    """Guess, rather on the full side, whether lead, steps and these sections fit on one page."""
    scale = _COLUMN_PT[paper] / WIDE
    height = _opening_pt(lead, steps)
    for sentences, drawing in parts:
        height += _HEADING_PT + _LINE_PT * ceil(len(" ".join(sentences)) / _LETTERS)
        height += drawing.height * scale + _CAPTION_PT if drawing else 0.0
    return height <= _PAGE_PT[paper] - _MARGINS_PT
