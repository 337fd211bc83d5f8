"""Every estimate of a season held against its harvest, and what next season may learn from it."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from fieldbook.agronomy.settle import Settled, Suggestion, TooFew, suggest
from fieldbook.agronomy.yields import AVERAGE, kernel_counts
from fieldbook.check.printed import own_visits, printed_problems
from fieldbook.check.roster import Field
from fieldbook.check.verdict import State
from fieldbook.figures import Figures
from fieldbook.forms.roster import SILAGE
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.stored import visit_day
from fieldbook.problems import Place, Problem, problem
from fieldbook.results.estimates import COUNTED, Estimate, estimates_before
from fieldbook.results.harvest import HarvestResult, harvests
from fieldbook.results.result import StageResult
from fieldbook.results.results import season_results
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures

ALL, BY_ROUND, BY_SCOUT, BY_HYBRID = "all", "round", "scout", "hybrid"


@dataclass(frozen=True, kw_only=True)
class Group:
    """How far estimates that belong together were off.

    ``mean_miss_pct`` shows a lean to one side, ``typical_miss_pct`` the mean size of a miss.
    ``held`` of ``with_range`` ranges held.
    """

    by: str
    name: str
    estimates: int
    fields: int
    mean_miss_pct: float
    typical_miss_pct: float
    held: int
    with_range: int


@dataclass(frozen=True, kw_only=True)
class HybridSuggestion:
    """Thousands of kernels a bushel for next season; ``hybrid`` None: all fields together."""

    hybrid: str | None
    found: Suggestion | TooFew


@dataclass(frozen=True, kw_only=True)
class SettledSeason:
    """One season's estimates, harvests and misses; suggestions rest on all seasons given."""

    season_name: str
    year: int
    as_of: date
    units: str
    fields: int
    harvests: tuple[HarvestResult, ...]
    estimates: tuple[Estimate, ...]
    groups: tuple[Group, ...]
    base_thousand: float
    settled: tuple[Settled, ...]
    suggestions: tuple[HybridSuggestion, ...]
    problems: tuple[Problem, ...]


def settle(season: Season, *, as_of: date, others: Iterable[Season] = ()) -> SettledSeason:
    """Hold a season's estimates against its harvest; `others` only feed the suggestions.

    An estimate made on the day of the harvest or later is none, and is left out.
    """
    figures = season_figures(season.settings)
    cut, estimates, problems = _held_against(season, figures, as_of)
    settled = _settled(estimates, figures)
    more = [one for other in others for one in _settled_of(other, figures)]
    base = kernel_counts(AVERAGE, figures=figures).likely
    return SettledSeason(
        season_name=season.settings.name,
        year=season.settings.year,
        as_of=as_of,
        units=str(season.settings.units),
        fields=len(season.roster.fields),
        harvests=cut,
        estimates=estimates,
        groups=tuple(_groups(estimates)),
        base_thousand=base,
        settled=settled,
        suggestions=tuple(_suggestions([*settled, *more], base, figures)),
        problems=problems,
    )


def _settled_of(season: Season, usual: Figures) -> tuple[Settled, ...]:
    figures = season_figures(season.settings)
    _, estimates, _ = _held_against(season, figures, date(season.settings.year, 12, 31))
    return _settled(estimates, usual)


def _held_against(
    season: Season, figures: Figures, as_of: date
) -> tuple[tuple[HarvestResult, ...], tuple[Estimate, ...], tuple[Problem, ...]]:
    with Ledger(season.folder) as ledger:
        taken = ledger.visits()
        questions = ledger.questions(*State)
    named = printed_problems(taken, season.roster)
    ours = own_visits(taken, season.roster)
    visits = [one for one in ours if (visit_day(one) or date.min) <= as_of]
    fields = season.roster.fields
    cut = harvests(visits, questions, fields, figures, season.settings.units)
    grain = {one: found for one, found in cut.by_field.items() if fields[one].use != SILAGE}
    estimates = estimates_before(visits, grain, season, figures)
    early = _cut_early(season, grain.values(), as_of) if grain else ()
    apart = (_not_grain(fields[one]) for one in cut.by_field if one not in grain)
    return tuple(grain.values()), estimates, (*named, *cut.problems, *early, *apart)


def _not_grain(field: Field) -> Problem:
    name = f"{field.field_id} {field.field}"
    return problem("harvest-of-silage", Place(field_id=field.field_id), field=name)


def _cut_early(season: Season, cut: Iterable[HarvestResult], as_of: date) -> Iterator[Problem]:
    """Tell which fields were cut before the first likely day of black layer."""
    results = {one.field_id: one for one in season_results(season, as_of=as_of).fields}
    for harvest in cut:
        field = results[harvest.field_id]
        ripe = next((stage for stage in field.stages if stage.stage == "R6"), None)
        first = _first_likely(ripe)
        if harvest.day and first and harvest.day < first:
            place, name = Place(field_id=field.field_id), f"{field.field_id} {field.field}"
            said = {"day": harvest.day.isoformat(), "ripe": first.isoformat()}
            yield problem("harvest-before-forecast", place, field=name, **said)


def _first_likely(stage: StageResult | None) -> date | None:
    return (stage.earliest or stage.date) if stage else None


def _settled(estimates: Iterable[Estimate], usual: Figures) -> tuple[Settled, ...]:
    """Keep the count that stood before each field's harvest: one field and year, one correction.

    Whatever count of kernels an estimate was made with, it is held here as the usual one would
    have made it: else a season that used a suggestion would unlearn it.
    """
    return tuple(
        _as_usual(one, one.thousand_kernels, usual)
        for one in estimates
        if one.in_use and one.thousand_kernels and one.estimated_bu_ac > 0
    )


def _as_usual(one: Estimate, thousand: float, usual: Figures) -> Settled:
    would_be = kernel_counts(one.grain_fill, figures=usual).likely
    return Settled(
        field_id=one.field_id,
        year=one.year,
        hybrid=one.hybrid,
        thousand_kernels=would_be,
        estimated_bu_ac=one.estimated_bu_ac * thousand / would_be,
        harvested_bu_ac=one.harvested_bu_ac,
    )


def _groups(estimates: Sequence[Estimate]) -> Iterator[Group]:
    """Sum up by round, and the counts by scout and by hybrid."""
    counts = [one for one in estimates if one.method == COUNTED]
    yield from _grouped(ALL, counts, lambda one: ALL)
    yield from _grouped(BY_ROUND, estimates, lambda one: one.round)
    yield from _grouped(BY_SCOUT, counts, lambda one: one.scout)
    yield from _grouped(BY_HYBRID, counts, lambda one: one.hybrid)


def _grouped(
    by: str, estimates: Iterable[Estimate], name: Callable[[Estimate], str | None]
) -> Iterator[Group]:
    found: dict[str, list[Estimate]] = {}
    for one in estimates:
        found.setdefault(name(one) or "", []).append(one)
    for called in sorted(found):
        some = found[called]
        told = [one.held for one in some if one.held is not None]
        yield Group(
            by=by,
            name=called,
            estimates=len(some),
            fields=len({one.field_id for one in some}),
            mean_miss_pct=fmean(one.miss_pct for one in some),
            typical_miss_pct=fmean(abs(one.miss_pct) for one in some),
            held=sum(told),
            with_range=len(told),
        )


def _suggestions(
    settled: Sequence[Settled], base: float, figures: Figures
) -> Iterator[HybridSuggestion]:
    yield HybridSuggestion(hybrid=None, found=suggest(settled, base, figures=figures))
    for hybrid in sorted({one.hybrid for one in settled if one.hybrid}):
        own = [one for one in settled if one.hybrid == hybrid]
        yield HybridSuggestion(hybrid=hybrid, found=suggest(own, base, figures=figures))
