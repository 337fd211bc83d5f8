"""The fungicide question: it weighs, it never orders, and it vanishes where none is asked."""

import re
from datetime import date

import pytest

from fieldbook.agronomy.fungicide import pre_harvest, severity_class
from fieldbook.figures import shipped_figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.fungicidewords import (
    FUNGICIDE_FIGURES,
    fungicide_sentences,
    price_table,
    spray_caution,
)
from fieldbook.results.looks_result import FungicideResult, LeavesResult
from fieldbook.units import System
from report import factory
from report.test_page import STATISTICIANS_WORDS

US, METRIC = Amounts(units=System.US), Amounts(units=System.METRIC)
SICK = factory.leaves(factory.leaf("gray-leaf-spot", [(13, 12)] * 5))
CLEAN = factory.leaves(factory.leaf("none", [(0, 0)] * 5))
ORDERS = r"\b(you should|must spray|spray now|we recommend|apply)\b"


def said(found: FungicideResult, leaves: LeavesResult | None = None, amounts: Amounts = US) -> str:
    return " ".join(fungicide_sentences(factory.full(fungicide=found, leaves=leaves), amounts))


def test_an_open_window_says_its_days():
    """Fewest and most days until milk."""
    text = said(factory.asked())
    assert "The window for a fungicide is open" in text
    assert "8 to 12 days are left until milk (R3)." in text


@pytest.mark.parametrize(
    ("days", "words"),
    [
        ((5, 5), "5 days are left"),
        ((1, 1), "One day is left"),
        ((-2, 4), "At most 4 days are left"),
        ((-2, 1), "At most one day is left"),
    ],
)
def test_days_left_are_said_as_they_are_known(days: tuple[int, int], words: str):
    """One day, a day for sure, and a milk stage that may be there already."""
    assert words in said(factory.asked(r3=days))


def test_a_window_that_may_be_over_says_so():
    """What the dates allow stands beside what is sure."""
    text = said(factory.asked(r3=(-2, 4)))
    assert "By its dates the field may already be at milk (R3), where it ends." in text
    assert "By its dates" not in said(factory.asked())


def test_before_tassel_additives_are_warned_of():
    """Only then."""
    assert "stunted or missing ears" in said(factory.asked(seen="V"))
    assert "stunted or missing ears" not in said(factory.asked())


def test_late_sources_differ():
    """At dough the sources are told apart, where disease makes it a question at all."""
    text = said(factory.asked(seen="R4"), SICK)
    assert "Purdue and Ohio end at milk" in text
    assert "southern rust" in text
    assert said(factory.asked(seen="R4"), CLEAN) == ""


def test_a_closed_window_is_one_line_and_only_with_disease():
    """Nothing of money or trials; without disease nothing at all."""
    found = factory.asked(seen="R5", severity=severity_class(17))
    closed = "The window for a fungicide is closed: at dent (R5) or later it is too late."
    assert said(found, SICK) == f"{closed} {spray_caution('en')}"
    assert said(found, CLEAN) == said(found, None) == ""


def test_no_stage_is_said_only_where_it_matters():
    """Disease without a stage: the window is not known."""
    assert "is not known" in said(factory.NO_FUNGICIDE, SICK)
    assert said(factory.NO_FUNGICIDE) == ""


def test_break_even_is_in_bushels():
    """26 an acre at 4.50 a bushel: 5.8, as Illinois prints it."""
    assert (
        "At a cost of 26 an acre and a price of 4.50 a bushel a spray has to gain 5.8 bushels an "
        "acre to pay for itself."
    ) in said(factory.asked())


def test_break_even_in_metric_is_the_same_question():
    """Cost a hectare over price a tonne is the gain as printed."""
    text = said(factory.asked(), amounts=METRIC)
    found = re.search(r"cost of ([\d.]+) a hectare and a price of ([\d.]+) a tonne", text)
    assert found
    cost, price = map(float, found.groups())
    assert f"has to gain {cost / price:.2f} tonnes a hectare" in text


@pytest.mark.parametrize("lacking", ["cost", "price"])
def test_without_cost_or_price_nothing_speaks_of_money(lacking: str):
    """The window is said; money, gains and chances are not."""
    result = factory.full(fungicide=factory.asked(**{lacking: None}))
    text = " ".join(fungicide_sentences(result, US))
    assert "days are left" in text
    for word in ("cost", "price", "gain", "pay"):
        assert word not in text
    assert price_table(result, US) is None


def test_a_chance_names_its_trials():
    """Whose, their mean and their spread in plain words."""
    assert (
        "In the trials that this season goes by (Three county trials, 2021 to 2024) sprays gained "
        "4.5 on average, two in three from -1.5 to 10.5; by that about 4 in 10 such fields gain "
        "enough to pay."
    ) in said(factory.asked())
    assert "(whose is not said)" in said(factory.asked(gain_source=None))


@pytest.mark.parametrize(
    ("severity", "words"),
    [
        (3, "where less than 10 % of the ear leaf was diseased without a spray, 13 %"),
        (12, "where 10 % to under 15 % of the ear leaf was diseased without a spray, 50 %"),
        (40, "where 15 % or more of the ear leaf was diseased without a spray, 100 %"),
    ],
)
def test_published_shares_are_context(severity: float, words: str):
    """The class, the share, and that it is no forecast; without disease nothing."""
    found = factory.asked(severity=severity_class(severity))
    text = said(found, SICK)
    assert words in text
    assert "That was read weeks after spraying, so it is no forecast for this field." in text
    assert "For comparison" not in said(found, CLEAN)


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        (date(2026, 9, 20), date(2026, 10, 5), "at least 11 days before the first likely harvest"),
        (date(2026, 9, 1), date(2026, 9, 20), "may be ready up to 8 days before that"),
        (date(2026, 9, 10), date(2026, 10, 5), "at least one day before the first likely harvest"),
        (date(2026, 9, 8), date(2026, 9, 20), "may be ready up to one day before that"),
        (date(2026, 8, 20), date(2026, 8, 25), "harvest has to wait for it"),
    ],
)
def test_the_interval_is_held_against_harvest(first: date, last: date, words: str):
    """A sprayed field says it in any stage, with the day."""
    found = factory.asked(seen="R5", pre_harvest=pre_harvest(date(2026, 8, 10), 30, first, last))
    text = said(found)
    assert "pre-harvest interval of the label ends on Wed 9 September" in text
    assert words in text


def test_an_interval_that_is_over_is_short():
    """Past its last day only that is said."""
    over = pre_harvest(date(2026, 7, 1), 30, date(2026, 9, 20), None)
    assert "interval of the label ended on Fri 31 July." in said(
        factory.asked(seen="R5", pre_harvest=over)
    )


@pytest.mark.parametrize("stage", ["V", "VT", "R1", "R2", "R3", "R4", "R5", "R6"])
def test_the_caution_ends_every_word_on_spraying(stage: str):
    """Label, licence, re-entry and interval, once and last; no word is an order."""
    lines = fungicide_sentences(factory.full(fungicide=factory.asked(seen=stage), leaves=SICK), US)
    assert lines[-1] == spray_caution("en")
    assert lines.count(spray_caution("en")) == 1
    for word in ("label", "licensed", "re-entry", "pre-harvest interval"):
        assert word in lines[-1]
    text = " ".join(lines)
    assert not re.search(ORDERS, text, re.IGNORECASE)
    # The one interval that a grower knows is that of a label.
    assert not re.search(STATISTICIANS_WORDS, text.replace("pre-harvest interval", ""))


def test_the_price_table_is_cost_over_price():
    """A row a cost, a column a price, in the reader's units."""
    result = factory.full(fungicide=factory.asked())
    table = price_table(result, US)
    assert table is not None
    assert table.heads == ("Cost an acre", "3.60 a bushel", "4.50 a bushel", "5.40 a bushel")
    assert table.rows[1] == ("26", "7.2", "5.8", "4.8")
    metric = price_table(result, METRIC)
    assert metric is not None
    assert metric.heads[0] == "Cost a hectare"
    cost, *gains = metric.rows[1]
    prices = [float(head.split()[0]) for head in metric.heads[1:]]
    assert gains == [f"{float(cost) / price:.2f}" for price in prices]


def test_no_table_when_it_is_too_late():
    """A closed window has no prices to weigh."""
    assert price_table(factory.full(fungicide=factory.asked(seen="R5")), US) is None


def test_the_figures_exist():
    """Every key that the part names is a figure."""
    for key in FUNGICIDE_FIGURES:
        shipped_figures().entry(key)
