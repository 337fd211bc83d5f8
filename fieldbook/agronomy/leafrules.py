"""Published rules for the fungicide question, by disease and hybrid rating; they never decide.

A rule's result is data: met, not met or cannot tell, with reasons as keys.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from fieldbook.agronomy.leaves import NONE, UNKNOWN, LeafCount, LeafReading, leaf_reading
from fieldbook.agronomy.stages import R_STAGES
from fieldbook.agronomy.wilson import ABOVE, BELOW, CANNOT_TELL, Share, told
from fieldbook.figures import Figures, shipped_figures

GRAY_LEAF_SPOT, NORTHERN_BLIGHT = "gray-leaf-spot", "northern-leaf-blight"
RULED = (GRAY_LEAF_SPOT, NORTHERN_BLIGHT)
NO_NUMERIC_RULE = ("southern-rust", "tar-spot")
BACTERIAL = ("bacterial-streak", "goss-wilt")
NEVER_RAISE = (
    *BACTERIAL,
    "common-rust",
    "anthracnose",
    "eyespot",
    "physoderma",
    "diplodia-streak",
)

ILLINOIS_2015, DELAWARE_2014 = "illinois-2015", "delaware-2014"
RULES = (ILLINOIS_2015, DELAWARE_2014)
SUSCEPTIBLE, INTERMEDIATE, RESISTANT = "susceptible", "intermediate", "resistant"
RATINGS = (SUSCEPTIBLE, INTERMEDIATE, RESISTANT)

MET, NOT_MET, NO_RULE, NEVER = "met", "not-met", "no-rule", "never"


@dataclass(frozen=True, kw_only=True)
class Risks:
    """What an intermediate hybrid also needs; None: not known.

    ``history``: the disease was in this field before. ``corn_after_corn``: last crop was corn.
    ``residue_pct``: share of the ground under residue. ``warm_humid``: the weather, as the
    reader of the forecast judges it.
    """

    history: bool | None = None
    corn_after_corn: bool | None = None
    residue_pct: float | None = None
    warm_humid: bool | None = None


@dataclass(frozen=True, kw_only=True)
class RuleResult:
    """What a rule says of one disease at one visit.

    ``verdict`` is ``met``, ``not-met``, ``cannot-tell``; ``no-rule`` where none is published,
    ``never`` where the disease never raises the question. ``reasons`` are what made the verdict;
    ``cautions`` stand beside it and change nothing. ``rule`` is the rule used, None without one.
    """

    disease: str
    rule: str | None
    verdict: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    reading: LeafReading


Part = tuple[str, bool | None]
"""The key of a condition, and whether it holds; None: cannot be told."""


def judge_visit(
    counts: Sequence[LeafCount],
    *,
    stage: str | None,
    rule: str = ILLINOIS_2015,
    ratings: Mapping[str, str | None],
    risks: Risks,
    figures: Figures | None = None,
) -> tuple[RuleResult, ...]:
    """Judge one visit: gray leaf spot and northern leaf blight always, others where seen.

    Parameters
    ----------
    counts
        The rows of one visit; none give no result.
    stage
        Stage of the field that day, V, VT or R1 to R6.
    ratings
        The hybrid's rating by disease; a disease that is missing counts as not known.

    Raises
    ------
    ValueError
        For a rule, stage or rating that does not exist.

    Notes
    -----
    Delaware's rule (`delaware-gray-leaf-spot-2014`) wants over 5 % severity on any of the three
    leaves below the ear on half of the plants. A visit counts plants with lesions there and reads
    the ear leaf: too few such plants make it not met; that it is met can never be told.
    """
    if rule not in RULES:
        raise ValueError(f"no rule {rule!r}")
    if not counts:
        return ()
    known = figures or shipped_figures()
    seen = {row.disease for row in counts if row.with_it != 0} - {NONE, UNKNOWN}
    ruled = [
        _by_rule(disease, counts, _rule_for(disease, rule), stage, ratings, risks, known)
        for disease in RULED
    ]
    others = [leaf_reading(one, counts, figures=known) for one in sorted(seen - set(RULED))]
    return (*ruled, *(_without_rule(reading) for reading in others))


def unknown_seen(counts: Iterable[LeafCount]) -> bool:
    """Return whether lesions that nobody could name were seen: send leaves to a plant clinic."""
    return any(row.disease == UNKNOWN and row.with_it != 0 for row in counts)


def _by_rule(
    disease: str,
    counts: Sequence[LeafCount],
    rule: str,
    stage: str | None,
    ratings: Mapping[str, str | None],
    risks: Risks,
    figures: Figures,
) -> RuleResult:
    reading = leaf_reading(disease, counts, figures=figures)
    parts = _parts(reading, rule, ratings.get(disease), risks, figures)
    cautions = _cautions(rule, stage, risks, figures)
    return _judged(reading, rule, _doubted(parts, counts), cautions)


def _without_rule(reading: LeafReading) -> RuleResult:
    disease = reading.disease
    if disease in NEVER_RAISE:
        reason = "bacterial" if disease in BACTERIAL else "never-raises"
        return _result(reading, None, NEVER, (reason,))
    if disease in NO_NUMERIC_RULE:
        return _result(reading, None, NO_RULE, ("no-numeric-rule",))
    raise ValueError(f"no disease {disease!r}")


def _judged(
    reading: LeafReading, rule: str, parts: Sequence[Part], cautions: tuple[str, ...]
) -> RuleResult:
    """Let one condition that fails decide, then one that cannot be told."""
    for verdict, holds in ((NOT_MET, False), (CANNOT_TELL, None)):
        reasons = tuple(key for key, state in parts if state is holds)
        if reasons:
            return _result(reading, rule, verdict, reasons, cautions)
    return _result(reading, rule, MET, tuple(key for key, _ in parts), cautions)


def _parts(
    reading: LeafReading, rule: str, rating: str | None, risks: Risks, figures: Figures
) -> list[Part]:
    """Return the conditions of a rule and whether each holds."""
    if rating not in (None, *RATINGS):
        raise ValueError(f"no rating {rating!r}")
    parts = [_plants_part(reading.high, figures)]
    if rating is None:
        parts.append(("rating-unknown", None))
    if rating == RESISTANT:
        parts.append(("resistant", False))
    if rating == INTERMEDIATE:
        parts += _risk_parts(risks, figures)
    if rule == DELAWARE_2014:
        # It asks for over 5 % of any of the three leaves below the ear on half of the plants. What
        # is read is the mean of the ear leaf, which is none of them and says nothing of a share.
        parts.append(("severity-below-ear-not-read", None))
    return parts


def _plants_part(high: Share | None, figures: Figures) -> Part:
    if high is None:
        return "plants-not-counted", None
    side = told(high, figures.number("leaf_rule.high_plants_pct"))
    states = {
        ABOVE: ("plants-over-line", True),
        BELOW: ("plants-under-line", False),
        CANNOT_TELL: ("plants-near-line", None),
    }
    return states[side]


def _risk_parts(risks: Risks, figures: Figures) -> list[Part]:
    line = figures.number("leaf_rule.residue_pct")
    residue = None if risks.residue_pct is None else risks.residue_pct >= line
    return [
        _part("history", risks.history),
        _part("corn-after-corn", risks.corn_after_corn),
        _part("residue", residue),
        _part("warm-humid", risks.warm_humid),
    ]


def _part(key: str, holds: bool | None) -> Part:
    words = {True: key, False: f"no-{key}", None: f"{key}-unknown"}
    return words[holds], holds


def _doubted(parts: list[Part], counts: Sequence[LeafCount]) -> list[Part]:
    """Take back "under the line" where lesions without a name may belong to the disease."""
    if not unknown_seen(counts):
        return parts
    doubt: dict[Part, Part] = {("plants-under-line", False): ("unknown-lesions", None)}
    return [doubt.get(part, part) for part in parts]


def _cautions(rule: str, stage: str | None, risks: Risks, figures: Figures) -> tuple[str, ...]:
    """Return what stands beside a verdict: a late reading, and what lessens Delaware's need."""
    late = ("read-after-tassel",) if stage in R_STAGES else ()
    if stage not in (None, "V", "VT", *R_STAGES):
        raise ValueError(f"no stage {stage!r}")
    if rule != DELAWARE_2014:
        return late
    lacking = (key for key, holds in _risk_parts(risks, figures) if holds is False)
    return (*late, *lacking)


def _rule_for(disease: str, rule: str) -> str:
    """Return the rule that holds for a disease: Delaware's is for gray leaf spot alone."""
    return rule if disease == GRAY_LEAF_SPOT else ILLINOIS_2015


def _result(
    reading: LeafReading,
    rule: str | None,
    verdict: str,
    reasons: tuple[str, ...],
    cautions: tuple[str, ...] = (),
) -> RuleResult:
    return RuleResult(
        disease=reading.disease,
        rule=rule,
        verdict=verdict,
        reasons=reasons,
        cautions=cautions,
        reading=reading,
    )
