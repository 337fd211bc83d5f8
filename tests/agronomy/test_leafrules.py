"""Leaf disease summed up over stops, and what the named rules say of it."""

import datetime
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldbook.agronomy.leafrules import (
    DELAWARE_2014,
    ILLINOIS_2015,
    NEVER_RAISE,
    NO_NUMERIC_RULE,
    RATINGS,
    RULED,
    RULES,
    Risks,
    RuleResult,
    judge_visit,
    unknown_seen,
)
from fieldbook.agronomy.leaves import LeafCount, leaf_reading, leaf_readings, trend

JULY_20, JULY_27 = datetime.date(2026, 7, 20), datetime.date(2026, 7, 27)
GLS, NLB = "gray-leaf-spot", "northern-leaf-blight"
ALL_RISKS = Risks(history=True, corn_after_corn=True, residue_pct=60, warm_humid=True)


def row(stop: int = 1, disease: str = GLS, **more: Any) -> LeafCount:
    """Make a row of 20 plants looked at."""
    return LeafCount(
        **{"visit_date": JULY_20, "stop": stop, "disease": disease, "looked": 20} | more
    )


def rows(high: int, disease: str = GLS, stops: int = 5, **more: Any) -> list[LeafCount]:
    """Make stops alike, with as many plants high up as with the disease."""
    return [row(stop, disease, with_it=high, high=high, **more) for stop in range(1, stops + 1)]


def judged(counts: list[LeafCount], disease: str = GLS, **more: Any) -> RuleResult:
    """Judge a visit of a susceptible hybrid at tassel and return one disease."""
    usual: dict[str, Any] = {
        "stage": "VT",
        "ratings": dict.fromkeys(RULED, "susceptible"),
        "risks": Risks(),
        **more,
    }
    return {one.disease: one for one in judge_visit(counts, **usual)}[disease]


def test_incidence_over_stops() -> None:
    """A stop looked at without a word of the disease counts as free of it; "none" does too."""
    counts = [
        row(1, with_it=8, high=2, severity_pct=4, highest_leaf="below-2"),
        row(2, "none"),
        row(3, NLB, with_it=5, high=5),
        row(4, with_it=4, high=1, severity_pct=10, highest_leaf="ear-leaf"),
    ]
    found = leaf_reading(GLS, counts)
    assert found.incidence is not None
    assert found.high is not None
    assert (found.incidence.hits, found.incidence.looked, found.incidence.places) == (12, 80, 4)
    assert (found.high.hits, found.high.looked) == (3, 80)
    assert found.highest_leaf == "ear-leaf"
    assert (found.severity_pct, found.worst_pct, found.severity_stops) == (3.5, 10, 4)


def test_what_was_not_looked_at_is_left_out() -> None:
    """A stop that leaves a part open is missing from that part alone."""
    counts = [
        row(1, with_it=8),
        row(2, with_it=6, highest_leaf="lower"),
        row(3, with_it=0),
        row(4),
        row(5, looked=None, with_it=3),
    ]
    found = leaf_reading(GLS, counts)
    assert found.incidence is not None
    assert found.high is not None
    assert (found.incidence.hits, found.incidence.places) == (14, 3)
    assert (found.high.hits, found.high.places) == (0, 2)
    assert (found.severity_pct, found.worst_pct, found.severity_stops) == (None, None, 0)


def test_a_sick_stop_without_its_severity_leaves_no_mean() -> None:
    """Clean stops have none of the leaf diseased, which says nothing of those with the disease."""
    clean, sick = row(1, with_it=0), row(2, with_it=8)
    for more in ([], [row(3, with_it=5, severity_pct=10)]):
        found = leaf_reading(GLS, [clean, sick, *more])
        assert (found.severity_pct, found.worst_pct) == (None, None)
        assert found.severity_stops == len(more)
    whole = leaf_reading(GLS, [clean, replace(sick, severity_pct=6)])
    assert (whole.severity_pct, whole.worst_pct, whole.severity_stops) == (3, 6, 2)
    assert leaf_reading(GLS, [clean]).severity_pct == 0


@pytest.mark.parametrize("rule", [ILLINOIS_2015, DELAWARE_2014])
def test_rules_do_not_rest_on_the_severity_of_the_ear_leaf(rule: str) -> None:
    """A verdict is the same whether or not it was read."""
    read, unread = (judged(rows(16, severity_pct=pct), rule=rule) for pct in (9, None))
    assert (read.verdict, read.reasons) == (unread.verdict, unread.reasons)


def test_stop_with_two_rows_of_a_disease_counts_once() -> None:
    """Plants are counted once: the row with most of them stands."""
    found = leaf_reading(GLS, [row(1, with_it=3), row(1, with_it=9)])
    assert found.incidence is not None
    assert (found.incidence.hits, found.incidence.looked) == (9, 20)


def test_readings_by_disease_and_visit() -> None:
    """Every disease written down has a reading at every visit, and its trend can be told."""
    later = [replace(one, visit_date=JULY_27) for one in rows(14, "tar-spot")]
    readings = leaf_readings([*rows(1), *later])
    assert [(one.disease, one.visit_date) for one in readings] == [
        (GLS, JULY_20),
        (GLS, JULY_27),
        ("tar-spot", JULY_20),
        ("tar-spot", JULY_27),
    ]
    rising = trend(readings[2:])
    assert rising is not None
    assert (rising.points, rising.told) == (70, "above")
    assert trend(readings[:1]) is None
    with pytest.raises(ValueError, match="one disease"):
        trend(readings)
    with pytest.raises(ValueError, match="one visit"):
        leaf_reading(GLS, [*rows(1), *later])


@pytest.mark.parametrize(
    ("high", "rating", "risks", "verdict", "reasons"),
    [
        (16, "susceptible", Risks(), "met", ("plants-over-line",)),
        (3, "susceptible", Risks(), "not-met", ("plants-under-line",)),
        (11, "susceptible", Risks(), "cannot-tell", ("plants-near-line",)),
        (16, "resistant", ALL_RISKS, "not-met", ("resistant",)),
        (16, None, ALL_RISKS, "cannot-tell", ("rating-unknown",)),
        (3, None, ALL_RISKS, "not-met", ("plants-under-line",)),
        (
            16,
            "intermediate",
            ALL_RISKS,
            "met",
            ("plants-over-line", "history", "corn-after-corn", "residue", "warm-humid"),
        ),
        (
            16,
            "intermediate",
            replace(ALL_RISKS, residue_pct=35),
            "met",
            ("plants-over-line", "history", "corn-after-corn", "residue", "warm-humid"),
        ),
        (16, "intermediate", replace(ALL_RISKS, residue_pct=34), "not-met", ("no-residue",)),
        (
            16,
            "intermediate",
            replace(ALL_RISKS, residue_pct=None),
            "cannot-tell",
            ("residue-unknown",),
        ),
        (16, "intermediate", replace(ALL_RISKS, history=False), "not-met", ("no-history",)),
        (
            16,
            "intermediate",
            Risks(warm_humid=False),
            "not-met",
            ("no-warm-humid",),
        ),
    ],
)
@pytest.mark.parametrize("disease", RULED)
def test_illinois_rule(
    disease: str,
    high: int,
    rating: str | None,
    risks: Risks,
    verdict: str,
    reasons: tuple[str, ...],
) -> None:
    """Half the plants for a susceptible hybrid, risks too for an intermediate one, else never."""
    found = judged(rows(high, disease), disease, ratings={disease: rating}, risks=risks)
    assert (found.rule, found.verdict, found.reasons) == (ILLINOIS_2015, verdict, reasons)


def test_plants_not_counted_cannot_tell() -> None:
    """Without a count of plants high up nothing can be told of a susceptible hybrid."""
    found = judged([row(with_it=9)])
    assert (found.verdict, found.reasons) == ("cannot-tell", ("plants-not-counted",))


@pytest.mark.parametrize("severity", [None, 0, 5, 8, 100])
def test_delaware_rule_can_not_be_met_from_the_ear_leaf(severity: float | None) -> None:
    """It wants over 5 % of a leaf below the ear on half of the plants: the ear leaf can't say."""
    found = judged(rows(16, severity_pct=severity), rule=DELAWARE_2014)
    assert (found.rule, found.verdict) == (DELAWARE_2014, "cannot-tell")
    assert found.reasons == ("severity-below-ear-not-read",)


@pytest.mark.parametrize(
    ("high", "rating", "reason"),
    [(3, "susceptible", "plants-under-line"), (16, "resistant", "resistant")],
)
def test_delaware_rule_can_be_missed(high: int, rating: str, reason: str) -> None:
    """Fewer than half with any lesion there are fewer with 5 %; a resistant hybrid needs none."""
    found = judged(rows(high, severity_pct=50), rule=DELAWARE_2014, ratings={GLS: rating})
    assert (found.verdict, found.reasons) == ("not-met", (reason,))


def test_delaware_is_for_gray_leaf_spot_alone() -> None:
    """Northern leaf blight is judged by the Illinois rule even where Delaware's is chosen."""
    found = judged(rows(16, NLB), NLB, rule=DELAWARE_2014, risks=Risks(history=False))
    assert (found.rule, found.verdict, found.cautions) == (ILLINOIS_2015, "met", ())


def test_delaware_need_falls_where_risks_are_missing() -> None:
    """A missing risk stands beside Delaware's verdict and does not change it."""
    risks = Risks(history=False, residue_pct=10, warm_humid=None)
    found = judged(rows(16, severity_pct=9), rule=DELAWARE_2014, risks=risks)
    assert (found.verdict, found.cautions) == ("cannot-tell", ("no-history", "no-residue"))


def test_late_reading_is_said() -> None:
    """The rule is for counts up to tassel; a later count carries a caution."""
    assert judged(rows(16), stage="VT").cautions == ()
    assert judged(rows(16), stage=None).cautions == ()
    assert judged(rows(16), stage="R2").cautions == ("read-after-tassel",)


@pytest.mark.parametrize("disease", NEVER_RAISE)
@given(high=st.integers(0, 20), rule=st.sampled_from(RULES), rating=st.sampled_from(RATINGS))
def test_some_diseases_never_raise_the_question(
    disease: str, high: int, rule: str, rating: str
) -> None:
    """However much there is, bacteria and the minor diseases never raise it."""
    counts = rows(high, disease)
    found = judge_visit(
        counts, stage="VT", rule=rule, ratings=dict.fromkeys(RULED, rating), risks=ALL_RISKS
    )
    assert "met" not in {one.verdict for one in found}
    own = [one for one in found if one.disease == disease]
    assert [one.verdict for one in own] == (["never"] if high else [])
    bacterial = disease in ("bacterial-streak", "goss-wilt")
    assert all(one.reasons == ("bacterial" if bacterial else "never-raises",) for one in own)


@pytest.mark.parametrize("disease", NO_NUMERIC_RULE)
def test_no_numeric_rule(disease: str) -> None:
    """Tar spot and southern rust have no published number; incidence is there to report."""
    found = judged(rows(18, disease), disease)
    assert (found.verdict, found.rule, found.reasons) == ("no-rule", None, ("no-numeric-rule",))
    assert found.reading.incidence is not None
    assert found.reading.incidence.pct == 90


def test_unknown_lesions_take_back_a_no() -> None:
    """Where lesions could not be named, "under the line" cannot be told; a resistant hybrid can."""
    unknown = row(2, "unknown", with_it=4)
    counts = [*rows(1, stops=1), unknown, *(row(stop, with_it=0) for stop in (3, 4, 5))]
    assert unknown_seen(counts)
    assert not unknown_seen([replace(unknown, with_it=0), row(1, with_it=4)])
    found = judged(counts)
    assert (found.verdict, found.reasons) == ("cannot-tell", ("unknown-lesions",))
    resistant = judged(counts, ratings={GLS: "resistant"})
    assert (resistant.verdict, resistant.reasons) == ("not-met", ("resistant",))
    assert {one.disease for one in judge_visit(counts, stage=None, ratings={}, risks=Risks())} == {
        GLS,
        NLB,
    }


@given(
    high=st.lists(st.integers(0, 20), min_size=1, max_size=6),
    rating=st.sampled_from(RATINGS),
    rule=st.sampled_from(RULES),
)
def test_no_plant_high_up_never_meets(high: list[int], rating: str, rule: str) -> None:
    """No rule is met with fewer than half of the plants high up, whatever else holds."""
    counts = [
        row(stop, with_it=20, high=plants, severity_pct=50)
        for stop, plants in enumerate(high, start=1)
    ]
    found = judged(counts, rule=rule, ratings={GLS: rating}, risks=ALL_RISKS)
    assert found.verdict != "met" or sum(high) / len(high) > 10


def test_visit_without_leaves_has_no_result() -> None:
    """Nobody looked at leaves: nothing is said."""
    assert judge_visit([], stage="VT", ratings={}, risks=Risks()) == ()


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"rule": "ohio-1999"}, "no rule"),
        ({"stage": "R9"}, "no stage"),
        ({"ratings": {GLS: "good"}}, "no rating"),
    ],
)
def test_keys_that_do_not_exist_are_refused(more: dict[str, Any], message: str) -> None:
    """A rule, stage, rating or disease that does not exist is a mistake of the program."""
    with pytest.raises(ValueError, match=message):
        judged(rows(16), **more)
    with pytest.raises(ValueError, match="no disease"):
        judged(rows(16, "measles"), "measles")
