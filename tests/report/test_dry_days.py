"""The day on which grain is dry, where not every past year has one."""

from dataclasses import replace

from fieldbook.figures import shipped_figures
from fieldbook.report.aheadwords import ahead_sentences
from fieldbook.report.amounts import Amounts
from fieldbook.report.steps import steps
from fieldbook.units import System
from report import factory

US = Amounts(units=System.US)


def test_an_open_late_end_leaves_the_early_one():
    """The day is told with its early end, in the list of what to do and in the sentence."""
    dry = factory.OUTLOOK.dry
    assert dry is not None
    outlook = replace(factory.OUTLOOK, dry=replace(dry, latest=None, years_short=2))
    result = factory.full(outlook=outlook)
    (when,) = [one.when for one in steps(result, US, shipped_figures()) if "harvest" in one.what]
    assert when == "about Fri 9 Oct, not before Mon 28 Sep"
    day = "about Fri 9 October (not before Mon 28 September)."
    said = ahead_sentences(result, US, shipped_figures())
    assert f"Grain is first likely to be at 20 % moisture {day}" in said
