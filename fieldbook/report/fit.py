"""Guesses of what the first page holds, so that a picture never straddles it.

Paper is laid out long after the sections are made; a guess from letters and drawings is enough to
keep a report on its two pages.
"""

from collections.abc import Sequence
from math import ceil

from fieldbook.report.drawings import WIDE, Drawing

_PAGE_PT = {"letter": 792.0, "a4": 842.0}
_MARGINS_PT = 86.0
_HEADER_PT = 50.0
_LEAD_LETTERS, _LEAD_PT = 86, 15.6
_LETTERS, _LINE_PT = 84, 12.5
_HEADING_PT, _CAPTION_PT = 27.0, 15.0
_COLUMN_PT = {"letter": 367.0, "a4": 356.0}


def first_page_holds(
    lead: Sequence[str], parts: Sequence[tuple[Sequence[str], Drawing | None]], paper: str
) -> bool:
    """Guess, rather on the full side, whether the lead and these sections fit on one page."""
    scale = _COLUMN_PT[paper] / WIDE
    height = _HEADER_PT + _LEAD_PT * ceil(len(" ".join(lead)) / _LEAD_LETTERS)
    for sentences, drawing in parts:
        height += _HEADING_PT + _LINE_PT * ceil(len(" ".join(sentences)) / _LETTERS)
        height += drawing.height * scale + _CAPTION_PT if drawing else 0.0
    return height <= _PAGE_PT[paper] - _MARGINS_PT
