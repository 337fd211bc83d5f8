"""What a named rule says of leaf diseases, with its reasons in words; it never orders."""

from collections.abc import Iterable, Iterator, Sequence

from fieldbook.agronomy.leafrules import (
    BACTERIAL,
    DELAWARE_2014,
    ILLINOIS_2015,
    MET,
    NEVER,
    NO_RULE,
    NOT_MET,
    RuleResult,
)
from fieldbook.agronomy.leaves import UNKNOWN
from fieldbook.agronomy.wilson import CANNOT_TELL
from fieldbook.figures import Figures
from fieldbook.forms.leaves import DISEASES
from fieldbook.report.amounts import Amounts
from fieldbook.report.sharewords import of_plants
from fieldbook.report.words import joined
from fieldbook.results.looks_result import LeavesResult
from fieldbook.words import number_words, say

_PERSON = "Goss"  # keeps its capital in the middle of a sentence
_NAMES = {one.key: one.label for one in DISEASES} | {UNKNOWN: "lesions without a name"}
_HEIGHTS = {
    "above-2": "up to the second leaf above the ear leaf, or higher",
    "above-1": "up to the leaf above the ear leaf",
    "ear-leaf": "up to the ear leaf",
    "below-1": "up to the leaf below the ear leaf",
    "below-2": "up to the second leaf below the ear leaf",
    "below-3": "up to the third leaf below the ear leaf",
    "lower": "only lower than the third leaf below the ear leaf",
}
_RULES = {
    ILLINOIS_2015: "the rule of Illinois (2015)",
    DELAWARE_2014: "the rule of Delaware (2014)",
}
_VERDICTS = {
    MET: "{name}: {rule} says that a fungicide is worth weighing: {reasons}.",
    NOT_MET: "{name}: {rule} does not ask for a fungicide: {reasons}.",
    CANNOT_TELL: "{name}: what {rule} says cannot be told: {reasons}.",
}
_PLANTS = {
    "plants-over-line": "{high} have it on the third leaf below the ear leaf or higher, over the "
    "line of {line} %",
    "plants-under-line": "{high} have it on the third leaf below the ear leaf or higher, under "
    "the line of {line} %",
    "plants-near-line": "{high} have it on the third leaf below the ear leaf or higher, too near "
    "the line of {line} % to tell",
}
_RISKS = {
    "history": "the roster's history of the field names it",
    "corn-after-corn": "corn follows corn",
    "residue": "at least {residue} % of the ground is under residue",
    "warm-humid": "the two weeks before were warm and wet",
    "no-history": "the roster's history of the field does not name it",
    "no-corn-after-corn": "corn does not follow corn",
    "no-residue": "less than {residue} % of the ground is under residue",
    "no-warm-humid": "the two weeks before were not both warm and wet",
    "history-unknown": "the roster does not say whether the field had it before",
    "corn-after-corn-unknown": "the roster does not say what grew before",
    "residue-unknown": "the roster does not say how much residue there is",
    "warm-humid-unknown": "the weather of the two weeks before is not on file",
}
_REASONS = {
    **_RISKS,
    "plants-not-counted": "plants with it on the third leaf below the ear leaf or higher were not "
    "counted",
    "rating-unknown": "the roster does not say how the hybrid is rated",
    "resistant": "the hybrid is rated resistant",
    "unknown-lesions": "some of the lesions that nobody could name may be it",
    "severity-below-ear-not-read": "it asks for more than {severity} % of any of the three leaves "
    "below the ear to be diseased on at least {line} % of the plants, and only the ear leaf is "
    "read: look at those leaves before deciding",
}
_LATE = "read-after-tassel"
_CAN_DOUBT_A_CLEAN_ONE = "unknown-lesions"


def disease_words(disease: str, language: str, *, first: bool = False) -> str:
    """Name a disease, for the middle of a sentence or its first word."""
    name = say(_NAMES.get(disease, disease), language)
    if first or name.startswith(_PERSON):
        return first_upper(name)
    return name[:1].lower() + name[1:]


def first_upper(text: str) -> str:
    """Begin a text as a sentence begins."""
    return text[:1].upper() + text[1:]


def height_words(leaf: str, language: str) -> str:
    """Say how high a disease reached, counted from the ear leaf."""
    return say(_HEIGHTS[leaf], language)


def rule_sentences(found: LeavesResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say what the rule makes of each disease of the visit that it judges.

    A disease with a rule is left out where it was neither seen nor may hide among lesions that
    nobody could name.
    """
    judged = [one for one in found.judged if one.rule and _is_told(one)]
    return (
        *_by_rule(judged, amounts, figures),
        *_cautions(judged, amounts, figures),
        *_without_rule(found.judged, amounts.language),
    )


def _is_told(one: RuleResult) -> bool:
    share = one.reading.incidence
    return share is None or share.hits > 0 or _CAN_DOUBT_A_CLEAN_ONE in one.reasons


def _by_rule(judged: Sequence[RuleResult], amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say each verdict with its reasons; diseases of which the same is to say share a sentence."""
    language = amounts.language
    alike: dict[tuple[str, str, str], list[str]] = {}
    for one in judged:
        said = (one.verdict, one.rule or "", _reasons(one, amounts, figures))
        alike.setdefault(said, []).append(disease_words(one.disease, language))
    for (verdict, rule, reasons), names in alike.items():
        name, ruled = first_upper(joined(names, language)), say(_RULES[rule], language)
        yield say(_VERDICTS[verdict], language, name=name, rule=ruled, reasons=reasons)


def _reasons(one: RuleResult, amounts: Amounts, figures: Figures) -> str:
    """Join the reasons, after the rating that they rest on where they do not name it."""
    said = [_reason(key, one, amounts, figures) for key in one.reasons]
    if any(key in _RISKS for key in one.reasons):
        rated = "for this hybrid, rated intermediate, it asks more than diseased plants"
        said.insert(0, say(rated, amounts.language))
    elif one.verdict == MET:
        said.insert(0, say("the hybrid is rated susceptible", amounts.language))
    return "; ".join(said)


def _reason(key: str, one: RuleResult, amounts: Amounts, figures: Figures) -> str:
    language = amounts.language
    if key in _PLANTS and one.reading.high:
        high = of_plants(one.reading.high, amounts)
        line = _line("leaf_rule.high_plants_pct", figures)
        return say(_PLANTS[key], language, high=high, line=line)
    return _filled(key, language, figures)


def _filled(key: str, language: str, figures: Figures) -> str:
    names = {"line": "high_plants_pct", "residue": "residue_pct", "severity": "severity_pct"}
    lines = {name: _line(f"leaf_rule.{figure}", figures) for name, figure in names.items()}
    return say(_REASONS[key], language, **lines)


def _line(key: str, figures: Figures) -> str:
    return number_words(figures.number(key))


def _cautions(judged: Sequence[RuleResult], amounts: Amounts, figures: Figures) -> Iterator[str]:
    """Say once what stands beside the verdicts and changes none of them."""
    language = amounts.language
    keys = dict.fromkeys(key for one in judged for key in one.cautions)
    if _LATE in keys:
        yield say(
            "Such rules are for a look before or at tassel; this one came later, so take it as a "
            "hint.",
            language,
        )
    less = [_filled(key, language, figures) for key in keys if key != _LATE]
    if less:
        yield say("The need is less, since {reasons}.", language, reasons=joined(less, language))


def _without_rule(judged: Iterable[RuleResult], language: str) -> Iterator[str]:
    """Name diseases without a published number, and those that never raise the question."""
    groups: dict[str, list[str]] = {}
    for one in judged:
        kind = "bacterial" if one.disease in BACTERIAL else one.verdict
        groups.setdefault(kind, []).append(disease_words(one.disease, language))
    texts = {
        NO_RULE: "No number is published from which a fungicide pays against {names}: look again, "
        "see whether it rises, and mind the days left.",
        NEVER: "No rule here asks for a fungicide against {names}.",
        "bacterial": "Bacteria cause {names}, and no fungicide works on them.",
    }
    for kind, text in texts.items():
        if kind in groups:
            yield say(text, language, names=joined(groups[kind], language))
