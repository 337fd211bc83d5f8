"""Strip trials of the roster: which yields are compared, and what keeps one from being fair."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from fieldbook.agronomy.lsd import Pairs, paired_strips
from fieldbook.agronomy.strips import BLOCKS, Comparison, Strip, compare_strips
from fieldbook.check.printed import own_visits, printed_problems
from fieldbook.check.roster import Field
from fieldbook.check.verdict import State
from fieldbook.figures import Figures
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.stored import visit_day
from fieldbook.problems import Param, Place, Problem, problem
from fieldbook.results.counts import counted_visits, counts_in_use
from fieldbook.results.harvest import harvests
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.units import YIELD, System
from fieldbook.words import phrase

HARVESTED, COUNTED = "harvested", "counted"
_PAIR = 2


@dataclass(frozen=True, kw_only=True)
class StripResult:
    """One strip of a trial: a field of the roster with a treatment; `value_bu_ac` may miss."""

    field_id: str
    field: str
    treatment: str
    block: str | None
    value_bu_ac: float | None


@dataclass(frozen=True, kw_only=True)
class TrialResult:
    """One trial: its strips, what was compared, and the comparison; None where nothing could be.

    ``basis`` is ``harvested`` or ``counted``. ``pairs`` are first minus second of
    ``pair_names``, only for two treatments in blocks.
    """

    trial: str
    basis: str
    strips: tuple[StripResult, ...]
    comparison: Comparison | None
    pair_names: tuple[str, str] | None
    pairs: Pairs | None
    problems: tuple[Problem, ...]

    @property
    def without_problems(self) -> "TrialResult":
        """The same trial, for who tells its problems apart."""
        return replace(self, problems=())


@dataclass(frozen=True, kw_only=True)
class _Yields:
    """What is known of every field: harvested and counted [bu/ac]."""

    by_basis: Mapping[str, Mapping[str, float]]

    def of(self, basis: str, field: Field) -> float | None:
        return self.by_basis[basis].get(field.field_id)


def trial_names(season: Season) -> tuple[str, ...]:
    """Return the trials of the roster, in its order."""
    named = (field.trial for field in season.roster.fields.values())
    return tuple(dict.fromkeys(name for name in named if name))


def trial_results(
    season: Season, *, as_of: date, trial: str | None = None, level_pct: float | None = None
) -> tuple[tuple[TrialResult, ...], tuple[Problem, ...]]:
    """Compare the strips of one trial or of all, as known on `as_of`.

    Parameters
    ----------
    trial
        The name of one trial; None for all.
    level_pct
        The level of the F test and the LSD [%]; None for the season's own.

    Returns
    -------
    tuple
        The trials, and what keeps a harvest of their fields from being used.
    """
    figures = season_figures(season.settings)
    if level_pct is not None:
        figures = figures.changed({"strips.level_pct": level_pct})
    yields, problems = _yields(season, figures, as_of)
    names = (trial,) if trial is not None else trial_names(season)
    found = tuple(_trial(name, season, yields, figures) for name in names)
    wanted = {strip.field_id for one in found for strip in one.strips}
    return found, tuple(said for said in problems if said.place.field_id in wanted)


def _yields(season: Season, figures: Figures, as_of: date) -> tuple[_Yields, tuple[Problem, ...]]:
    with Ledger(season.folder) as ledger:
        taken = ledger.visits()
        questions = ledger.questions(*State)
    named = printed_problems(taken, season.roster)
    ours = own_visits(taken, season.roster)
    visits = [one for one in ours if (visit_day(one) or date.min) <= as_of]
    fields = season.roster.fields
    cut = harvests(visits, questions, fields, figures, season.settings.units)
    made = counted_visits(
        visits,
        fields,
        figures,
        wanted_half_width_bu_ac=season.settings.wanted_half_width_bu_ac,
        own_counts=season.settings.own_counts,
    )
    counted = {
        field_id: one.yield_.likely_bu_ac
        for field_id, one in counts_in_use(made).items()
        if one.yield_
    }
    harvested = {field_id: one.yield_bu_ac for field_id, one in cut.by_field.items()}
    return _Yields(by_basis={HARVESTED: harvested, COUNTED: counted}), (*named, *cut.problems)


def _trial(name: str, season: Season, yields: _Yields, figures: Figures) -> TrialResult:
    fields = [field for field in season.roster.fields.values() if field.trial == name]
    treated = [field for field in fields if field.treatment]
    basis = _basis(treated, yields)
    strips = tuple(
        StripResult(
            field_id=field.field_id,
            field=field.field,
            treatment=field.treatment or "",
            block=field.block,
            value_bu_ac=yields.of(basis, field),
        )
        for field in treated
    )
    problems = [*_untreated(name, fields), *_basis_problems(name, treated, basis, yields)]
    used = [
        Strip(treatment=strip.treatment, block=strip.block, value=strip.value_bu_ac)
        for strip in strips
        if strip.value_bu_ac is not None
    ]
    empty = TrialResult(
        trial=name,
        basis=basis,
        strips=strips,
        comparison=None,
        pair_names=None,
        pairs=None,
        problems=(*problems, problem("trial-nothing-to-compare", trial=name)),
    )
    return _compared(empty, used, problems, figures, season.settings.units) if used else empty


def _compared(
    empty: TrialResult,
    used: list[Strip],
    problems: list[Problem],
    figures: Figures,
    units: System,
) -> TrialResult:
    comparison = compare_strips(used, figures=figures)
    names, pairs = _pairs(used, comparison, figures)
    reasons = _reasons(empty.trial, comparison, figures, units)
    return replace(
        empty,
        comparison=comparison,
        pair_names=names,
        pairs=pairs,
        problems=(*problems, *reasons),
    )


def _basis(fields: Iterable[Field], yields: _Yields) -> str:
    """Choose what most strips have; never both, since a count and a scale differ by themselves."""
    strips = list(fields)

    def known(basis: str) -> int:
        return sum(yields.of(basis, field) is not None for field in strips)

    return HARVESTED if known(HARVESTED) and known(HARVESTED) >= known(COUNTED) else COUNTED


def _untreated(name: str, fields: Iterable[Field]) -> Iterator[Problem]:
    for field in fields:
        if not field.treatment:
            place, said = Place(field_id=field.field_id), f"{field.field_id} {field.field}"
            yield problem("trial-no-treatment", place, field=said, trial=name)


def _basis_problems(
    name: str, fields: list[Field], basis: str, yields: _Yields
) -> Iterator[Problem]:
    cut = [field for field in fields if yields.of(HARVESTED, field) is not None]
    have = [field for field in fields if yields.of(basis, field) is not None]
    if cut and len(cut) < len(fields):
        yield problem("trial-mixed", trial=name, basis=phrase(basis))
    elif not cut and have:
        yield problem("trial-counted", trial=name)
    for field in fields if have else ():
        if field not in have:
            yield problem(
                "trial-strip-without-yield",
                Place(field_id=field.field_id),
                field=f"{field.field_id} {field.field}",
                treatment=field.treatment or "",
                trial=name,
                basis=phrase(basis),
            )


def _pairs(
    used: list[Strip], comparison: Comparison, figures: Figures
) -> tuple[tuple[str, str] | None, Pairs | None]:
    """Pair two treatments block by block, the higher one first."""
    if comparison.design != BLOCKS or len(comparison.means) != _PAIR:
        return None, None
    first, second = (mean.treatment for mean in comparison.means)
    at = {(strip.block, strip.treatment): strip.value for strip in used}
    blocks = dict.fromkeys(strip.block for strip in used)
    whole = [block for block in blocks if (block, first) in at and (block, second) in at]
    values = [(at[block, first], at[block, second]) for block in whole]
    return (first, second), paired_strips(values, figures=figures)


def _reasons(
    name: str, comparison: Comparison, figures: Figures, units: System
) -> Iterator[Problem]:
    alike = figures.numbers("strips.alike_bu_ac")
    differed = YIELD.shown(max(alike) - min(alike), units)
    digits = 1 if units is System.METRIC else 0
    words: dict[str, Param] = {
        "trial": name,
        "blocks": ", ".join(comparison.left_out),
        "replicates": min((mean.strips for mean in comparison.means), default=0),
        "least": int(figures.number("strips.least_replicates")),
        "cv": round(comparison.cv_pct or 0.0, 1),
        "most": figures.number("strips.cv_pct"),
        "level": comparison.level_pct,
        "alike": YIELD.amount(f"{differed:.{digits}f}", units),
    }
    for reason in comparison.reasons:
        yield problem(f"trial-{reason}", **words)
