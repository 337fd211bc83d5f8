"""Every section and drawing of a report as text, held against what was looked at and kept.

After a change that is meant, look at the pages, then renew with ``python tests/snapshots.py``.
"""

import pytest
from snapshots import KEPT, drawing_text, section_text, shown_fields


@pytest.mark.parametrize("name", sorted(shown_fields()))
def test_the_words_of_every_section_are_those_that_were_looked_at(name: str):
    """Headings, sentences, lines and steps, in their order on the pages."""
    assert section_text(name) == (KEPT / f"{name}.txt").read_text("utf-8")


@pytest.mark.parametrize("name", sorted(shown_fields()))
def test_the_words_of_every_drawing_are_those_that_were_looked_at(name: str):
    """Its alternative, its labels and how many shapes of each role it has, in both widths."""
    assert drawing_text(name) == (KEPT / f"{name}-drawings.txt").read_text("utf-8")
