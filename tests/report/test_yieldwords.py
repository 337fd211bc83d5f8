"""What is said beside a yield: how kernels are taken to fill."""

from dataclasses import replace

import pytest

from fieldbook.report.amounts import Amounts
from fieldbook.report.yieldwords import fill_words
from fieldbook.units import System
from report import factory


@pytest.mark.parametrize(
    ("language", "start"),
    [
        ("en", "Nobody said how kernels fill, so average is taken: "),
        ("es", "Nadie dijo cómo se llenan los granos, así que se supone regular: "),
    ],
)
def test_a_fill_that_nobody_stated_has_the_name_of_the_form(language: str, start: str):
    """The word that the scout's list has for it, in the reader's language."""
    assumed = replace(factory.YIELD, grain_fill_stated=False)
    assert fill_words(assumed, Amounts(units=System.US, language=language)).startswith(start)
