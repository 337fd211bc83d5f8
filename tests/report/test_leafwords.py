"""Leaf disease as a grower reads it: plants, height, trend, and what the named rule says."""

import re
from dataclasses import replace
from datetime import date

import pytest

from fieldbook.agronomy.leafrules import DELAWARE_2014, NEVER_RAISE, Risks
from fieldbook.figures import shipped_figures
from fieldbook.forms.leaves import DISEASES, HEIGHTS
from fieldbook.report.amounts import Amounts
from fieldbook.report.leafwords import LEAF_FIGURES, ladder_caption, ladder_rows, leaf_sentences
from fieldbook.report.rulewords import disease_words, height_words
from fieldbook.results.looks_result import LeavesResult
from fieldbook.units import System
from report import factory
from report.test_page import STATISTICIANS_WORDS

US = Amounts(units=System.US)
GRAY = "gray-leaf-spot"
MANY = [(18, 16), (17, 15), (18, 17), (17, 16), (18, 17)]
NEAR = [(13, 12), (12, 9), (14, 13), (11, 9), (13, 12)]
FEW = [(3, 1), (2, 1), (4, 1), (3, 2), (2, 0)]
ALL_RISKS = Risks(history=True, corn_after_corn=True, residue_pct=40, warm_humid=True)


def said(found: LeavesResult | None, **more: object) -> str:
    result = factory.full(leaves=found, **more)
    return " ".join(leaf_sentences(result, US, shipped_figures()))


def rated(rating: str | None, stops: list[tuple[int, int]] = MANY, **more: object) -> LeavesResult:
    rows = factory.leaf(GRAY, stops, highest_leaf="ear-leaf", severity_pct=4.0)
    return factory.leaves(rows, stage="VT", ratings={GRAY: rating}, **more)


# ---- what was seen -------------------------------------------------------------------------


def test_nobody_looked_and_no_date_is_known():
    """One line, without a hole."""
    assert said(None) == "Leaf disease: not looked at yet."


def test_nobody_looked_and_tassel_is_ahead():
    """The line says when to look."""
    silk = factory.stage("R1", date(2026, 8, 20), (date(2026, 8, 18), date(2026, 8, 23)))
    assert said(None, stages=(silk,)) == (
        "Leaf disease: not looked at yet; due around tassel, about Thu 20 August (18 to 23 August)."
    )


def test_no_disease_is_one_line():
    """Whoever looked and saw none is not told of rules."""
    clean = factory.leaves(factory.leaf("none", [(0, 0)] * 5))
    assert said(clean) == "Leaf disease: none seen on Tue 14 July."


@pytest.mark.parametrize("stage", ["R4", "R5", "R6"])
def test_no_disease_and_a_closed_window_share_a_line(stage: str):
    """Where it is too late and nothing was seen, that is all."""
    clean = factory.leaves(factory.leaf("none", [(0, 0)] * 5))
    assert said(clean, fungicide=factory.asked(seen=stage)) == (
        "Leaf disease: none seen on Tue 14 July; the window is closed."
    )


def test_a_disease_is_so_many_plants_up_to_a_leaf():
    """Share with range, day, highest leaf, and how much of the ear leaf."""
    text = said(rated("resistant", NEAR))
    assert (
        "Gray leaf spot: on about 6 in 10 plants (5 to 7) on Tue 14 July, up to the ear leaf."
        in text
    )
    assert "About 4 % of the ear leaf is diseased." in text
    assert "Not seen: northern leaf blight." in text


def test_the_worst_stop_is_named_where_stops_differ():
    """Mean and worst stand together."""
    rows = factory.leaf(GRAY, MANY, severity_pct=4.0)
    rows[0] = replace(rows[0], severity_pct=14.0)
    text = said(factory.leaves(rows))
    assert "On average 6 % of the ear leaf is diseased, 14 % at the worst stop." in text


def test_severity_that_nobody_read_is_not_told_as_none():
    """Where no stop, or not every stop with the disease, was read, no share of the leaf is told."""
    rows = factory.leaf(GRAY, [*MANY, (0, 0)])
    result = factory.full(leaves=factory.leaves(rows))
    metric = Amounts(units=System.METRIC, language="es")
    english, spanish = (
        " ".join(leaf_sentences(result, amounts, shipped_figures())) for amounts in (US, metric)
    )
    assert "How much of the ear leaf is diseased was not looked at." in english
    assert "No se miró cuánto de la hoja de la mazorca está enfermo." in spanish
    assert "% of the ear leaf" not in english
    rows[0] = replace(rows[0], severity_pct=14.0)
    part = said(factory.leaves(rows))
    assert "How much of the ear leaf is diseased on average is not known." in part
    assert "% of the ear leaf" not in part


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        (FEW, MANY, "It has risen."),
        (MANY, FEW, "It has fallen."),
        (NEAR, NEAR, "Whether it rises cannot be told."),
    ],
)
def test_two_visits_say_whether_it_rises(
    first: list[tuple[int, int]], second: list[tuple[int, int]], words: str
):
    """Both days are said, and whether the difference can be told."""
    text = said(
        factory.leaves(factory.leaf(GRAY, first), factory.leaf(GRAY, second, factory.LATER))
    )
    assert "on Tue 14 July and on about" in text
    assert "on Sat 8 August" in text
    assert words in text


def test_plants_that_nobody_counted_are_said():
    """A disease written down without a count was seen."""
    rows = [replace(row, with_it=None, high=None) for row in factory.leaf(GRAY, MANY)]
    text = said(factory.leaves(rows))
    assert "Gray leaf spot: seen on Tue 14 July, plants not counted." in text
    assert "were not counted" in text


# ---- what the rule says --------------------------------------------------------------------


def test_a_susceptible_hybrid_over_the_line_is_worth_weighing():
    """The rule is named, it weighs and does not order, and its reasons are in words."""
    assert (
        "Gray leaf spot: the rule of Illinois (2015) says that a fungicide is worth weighing: the "
        "hybrid is rated susceptible; about 8 in 10 plants (7 to 9) have it on the third leaf "
        "below the ear leaf or higher, over the line of 50 %."
    ) in said(rated("susceptible"))


def test_the_line_is_the_season_s():
    """A season that sets another line reads that one."""
    figures = shipped_figures().changed({"leaf_rule.high_plants_pct": 40.0})
    result = factory.full(leaves=rated("susceptible"))
    assert "over the line of 40 %" in " ".join(leaf_sentences(result, US, figures))


def test_a_resistant_hybrid_is_not_asked():
    """Its rating is the reason."""
    assert ("does not ask for a fungicide: the hybrid is rated resistant.") in said(
        rated("resistant")
    )


def test_an_intermediate_hybrid_needs_all_risks():
    """Met with all of them; one that fails is the reason against it."""
    met = said(rated("intermediate", risks=ALL_RISKS))
    assert "worth weighing: for this hybrid, rated intermediate, it asks more" in met
    assert "corn follows corn; at least 35 % of the ground is under residue" in met
    dry = said(rated("intermediate", risks=replace(ALL_RISKS, warm_humid=False)))
    assert "does not ask for a fungicide" in dry
    assert "the two weeks before were not both warm and wet." in dry


def test_what_is_not_known_cannot_be_told():
    """A rating or a risk that the roster leaves open is named as such."""
    assert "cannot be told: the roster does not say how the hybrid is rated." in said(rated(None))
    text = said(rated("intermediate", risks=replace(ALL_RISKS, residue_pct=None)))
    assert "cannot be told" in text
    assert "the roster does not say how much residue there is." in text


def test_a_share_near_the_line_cannot_be_told():
    """A sample whose range holds the line does not decide."""
    text = said(rated("susceptible", NEAR))
    assert "cannot be told: about 6 in 10 plants (5 to 6)" in text
    assert "too near the line of 50 % to tell." in text


def test_the_stricter_rule_asks_for_severity():
    """Its name stands there, what it asks for in its own terms, and what lessens the need."""
    text = said(
        rated("susceptible", rule=DELAWARE_2014, risks=replace(ALL_RISKS, corn_after_corn=False))
    )
    assert "what the rule of Delaware (2014) says cannot be told" in text
    assert "more than 5 % of any of the three leaves below the ear" in text
    assert "on at least 50 % of the plants, and only the ear leaf is read" in text
    assert "The need is less, since corn does not follow corn." in text


def test_a_look_after_tassel_is_a_hint():
    """The caution stands once, and not before silk."""
    rows = factory.leaf(GRAY, MANY) + factory.leaf("northern-leaf-blight", MANY)
    assert said(factory.leaves(rows, stage="R1")).count("this one came later") == 1
    assert "this one came later" not in said(factory.leaves(rows, stage="VT"))


@pytest.mark.parametrize("disease", ["tar-spot", "southern-rust"])
def test_no_number_is_published_for_some(disease: str):
    """Tar spot and southern rust have no line, and none is made up."""
    text = said(factory.leaves(factory.leaf(disease, MANY)))
    name = disease.replace("-", " ")
    assert f"No number is published from which a fungicide pays against {name}" in text
    assert "worth weighing" not in text


@pytest.mark.parametrize("disease", NEVER_RAISE)
def test_some_diseases_never_raise_the_question(disease: str):
    """However many plants have them."""
    text = said(factory.leaves(factory.leaf(disease, [(20, 20)] * 5)))
    assert "worth weighing" not in text
    bacterial = disease in ("goss-wilt", "bacterial-streak")
    assert ("no fungicide works on them" in text) == bacterial
    assert ("No rule here asks for a fungicide against" in text) != bacterial


def test_lesions_without_a_name_go_to_a_clinic():
    """They may be either disease with a rule, which is said once for both."""
    text = said(factory.leaves(factory.leaf("unknown", [(2, 2)] * 5)))
    assert "send leaves to a plant clinic" in text
    assert text.count("some of the lesions that nobody could name may be it") == 1
    assert "Gray leaf spot and northern leaf blight: what the rule" in text


def test_once_the_window_is_closed_no_rule_speaks():
    """What was seen stands; what could have been done does not."""
    text = said(rated("susceptible"), fungicide=factory.asked(seen="R5"))
    assert "Gray leaf spot: on about 9 in 10 plants" in text
    assert "rule" not in text


def test_no_statistician_speaks():
    """Ranges and doubts are in plain words, whatever the rule says."""
    for rating in ("susceptible", "intermediate", "resistant", None):
        for stops in (FEW, NEAR, MANY):
            assert not re.search(STATISTICIANS_WORDS, said(rated(rating, stops)))


# ---- words and the ladder ------------------------------------------------------------------


@pytest.mark.parametrize("disease", [one.key for one in DISEASES])
def test_every_disease_has_a_name(disease: str):
    """No key of the form is printed as it is, and Goss keeps his capital."""
    assert "-" not in disease_words(disease, "en")
    assert disease_words("goss-wilt", "en") == "Goss's wilt"


@pytest.mark.parametrize("height", [one.key for one in HEIGHTS])
def test_every_leaf_of_the_form_has_words(height: str):
    """Each is counted from the ear leaf."""
    assert "ear leaf" in height_words(height, "en")


def test_the_ladder_holds_what_was_seen_last():
    """A disease without a highest leaf, or gone at the last look, is not on it."""
    first = factory.leaf(GRAY, FEW, highest_leaf="below-3")
    first += factory.leaf("eyespot", FEW, highest_leaf="lower") + factory.leaf("tar-spot", FEW)
    later = factory.leaf(GRAY, MANY, factory.LATER, highest_leaf="ear-leaf")
    later += factory.leaf("eyespot", [(0, 0)] * 5, factory.LATER, highest_leaf="lower")
    found = factory.leaves(first, later)
    rows = ladder_rows(found, US)
    assert [(row.name, row.leaf, row.words) for row in rows] == [
        ("gray leaf spot", "ear-leaf", "9 in 10 plants")
    ]
    assert "Sat 8 August" in ladder_caption(found, US)


def test_the_figures_exist():
    """Every key that the part names is a figure."""
    for key in LEAF_FIGURES:
        shipped_figures().entry(key)
