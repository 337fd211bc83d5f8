"""The page of a strip trial: what was compared, what counts as a difference, and what does not."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from fieldbook.agronomy.strips import Anova, Comparison, Row, TreatmentMean
from fieldbook.ledger.folder import digest
from fieldbook.problems import sentence
from fieldbook.render import NO_BREAK
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext, report_context
from fieldbook.report.drawings.trial import TreatmentRow, draw_trial
from fieldbook.report.pictures import Picture
from fieldbook.report.plain import Part, PlainView, picture
from fieldbook.report.sources import sources_of
from fieldbook.report.tables import Table
from fieldbook.results.trials import HARVESTED, StripResult, TrialResult, trial_names
from fieldbook.season.blank import words_name
from fieldbook.season.season import Season
from fieldbook.units import YIELD
from fieldbook.words import say

_LEAST_P = 0.001
_BLOCKS = "A dot is a strip with the number of its block, the line through them the mean."
_NO_BLOCKS = "A dot is a strip, the line through them the mean."
_FIGURES = ("strips.level_pct", "strips.cv_pct", "strips.least_replicates")
_OF_HARVEST = ("bushel.weight_lb", "bushel.moisture_pct")
_OF_COUNT = ("kernels.average_thousand_per_bu",)
_UNREPLICATED = ("strips.alike_bu_ac",)


def trial_page_name(trial: str, among: Iterable[str]) -> str:
    """Return the file name of a trial's page without its ending.

    Where another trial would get the same name, a hash tells them apart.
    """
    plain = _plain_name(trial)
    alike = [other for other in among if _plain_name(other) == plain]
    return f"{plain}-{digest(trial.encode())[:6]}" if len(alike) > 1 else plain


def _plain_name(trial: str) -> str:
    return f"trial-{words_name(trial)}"


def trial_pages(
    season: Season, trials: Iterable[TrialResult], *, as_of: date, level_pct: float | None
) -> dict[str, PlainView]:
    """Return the page of every trial by its file name; `level_pct` is the level asked for."""
    context = report_context(season)
    if level_pct is not None:
        figures = context.figures.changed({"strips.level_pct": level_pct})
        context = replace(context, figures=figures)
    name = season.settings.name
    return {
        trial_page_name(one.trial, trial_names(season)): trial_view(
            one, context, season_name=name, as_of=as_of
        )
        for one in trials
    }


def trial_view(
    found: TrialResult, context: ReportContext, *, season_name: str, as_of: date
) -> PlainView:
    """Turn a trial's results into words, a picture and tables."""
    amounts = Amounts(units=context.units, language=context.language)
    language = context.language
    sources = sources_of(_keys(found), context.figures, language)
    return PlainView(
        language=language,
        title=say("Trial: {trial}", language, trial=found.trial),
        season=season_name,
        day=amounts.full_day(as_of),
        signature=context.signature,
        lead=tuple(_lead(found, amounts)),
        parts=tuple(_parts(found, amounts)),
        sources=sources,
    )


def _keys(found: TrialResult) -> tuple[str, ...]:
    basis = _OF_HARVEST if found.basis == HARVESTED else _OF_COUNT
    tested = found.comparison is not None and found.comparison.anova is not None
    return (*(_FIGURES if tested else _UNREPLICATED), *basis)


# ---- sentences -----------------------------------------------------------------------------


def _lead(found: TrialResult, amounts: Amounts) -> Iterator[str]:
    language, comparison = amounts.language, found.comparison
    if comparison is None or not comparison.means:
        yield say("These strips can't be compared yet; the reasons stand below.", language)
        return
    highest = comparison.means[0]
    words = "{name} gave the highest mean, {mean} {unit}, {basis}."
    basis = "over the scale" if found.basis == HARVESTED else "by count"
    yield say(
        words,
        language,
        name=highest.treatment,
        mean=_fine(highest.mean, amounts),
        unit=amounts.yield_words,
        basis=say(basis, language),
    )
    yield _verdict(comparison, amounts)


def _verdict(comparison: Comparison, amounts: Amounts) -> str:
    language = amounts.language
    if comparison.anova is None:
        return say(
            "Every treatment stands in one strip, so no difference can be called real.", language
        )
    if comparison.lsd is None:
        return say("The differences are no larger than chance would make them.", language)
    return say(
        "The treatments differ: two means count as different where they are more than {lsd} "
        "{unit} apart (at {level} %); those that share a letter do not.",
        language,
        lsd=_fine(comparison.lsd, amounts),
        unit=amounts.yield_words,
        level=f"{comparison.level_pct:g}",
    )


def _fine(value_bu_ac: float, amounts: Amounts) -> str:
    """Write a yield or a difference one digit finer than elsewhere: differences are small."""
    return f"{YIELD.shown(value_bu_ac, amounts.units):.{2 if amounts.metric else 1}f}"


# ---- parts ---------------------------------------------------------------------------------


def _parts(found: TrialResult, amounts: Amounts) -> Iterator[Part]:
    language, comparison = amounts.language, found.comparison
    drawn = _picture(found, comparison, amounts) if comparison else None
    if found.strips:
        heading, table = say("Means and strips", language), _strips(found, amounts)
        yield Part(heading=heading, picture=drawn, tables=(table,))
    if found.pairs and found.pair_names:
        yield Part(heading=say("Pair by pair", language), sentences=tuple(_pairs(found, amounts)))
    if comparison and comparison.anova:
        tables = (_analysis(comparison, comparison.anova, amounts),)
        yield Part(heading=say("Analysis", language), tables=tables)
    if found.problems:
        lines = tuple(sentence(said, language) for said in found.problems)
        yield Part(heading=say("To mind", language), lines=lines)


def _picture(found: TrialResult, comparison: Comparison, amounts: Amounts) -> Picture | None:
    language = amounts.language
    rows = [
        TreatmentRow(
            name=mean.treatment,
            told=" ".join(filter(None, (_fine(mean.mean, amounts), mean.letters))),
            mean=YIELD.shown(mean.mean, amounts.units),
            dots=tuple(_dots(found, comparison, mean.treatment, amounts)),
        )
        for mean in comparison.means
    ]
    lsd = comparison.lsd
    has_blocks = any(strip.block for strip in found.strips)
    words = say("less than this apart is not called different", language)
    about = "; ".join(f"{row.name} {row.told}" for row in rows)
    return picture(
        lambda width: draw_trial(
            rows,
            None if lsd is None else YIELD.shown(lsd, amounts.units),
            words,
            unit=amounts.yield_unit,
            width=width,
            title=say("Yield of the strips", language),
            about=f"{about}.",
        ),
        say(_BLOCKS if has_blocks else _NO_BLOCKS, language),
    )


def _dots(
    found: TrialResult, comparison: Comparison, treatment: str, amounts: Amounts
) -> Iterator[tuple[str, float]]:
    """Give the strips that the means rest on; those of blocks left out are not among them."""
    for strip in found.strips:
        is_used = strip.block is None or strip.block not in comparison.left_out
        if strip.treatment == treatment and strip.value_bu_ac is not None and is_used:
            yield strip.block or "", YIELD.shown(strip.value_bu_ac, amounts.units)


def _strips(found: TrialResult, amounts: Amounts) -> Table:
    """List means and strips, a row a treatment, so that a large trial still fits a page."""
    language = amounts.language
    basis = "harvested" if found.basis == HARVESTED else "counted"
    words = "Yield of each treatment and its strips, {basis}, {unit}"
    means = {mean.treatment: mean for mean in found.comparison.means} if found.comparison else {}
    given = dict.fromkeys(strip.treatment for strip in found.strips)
    order = [*means, *(name for name in given if name not in means)]
    heads = ("Treatment", "Mean", "Below the highest", "Letters", "Block: yield (field)")
    return Table(
        caption=say(words, language, basis=say(basis, language), unit=amounts.yield_unit),
        heads=tuple(say(head, language) for head in heads),
        rows=tuple(
            (name, *_mean(means.get(name), amounts), _strips_of(found, name, amounts))
            for name in order
        ),
        numbers=(False, True, True, False, False),
    )


def _mean(mean: TreatmentMean | None, amounts: Amounts) -> tuple[str, str, str]:
    if mean is None:
        return "–", "–", "–"
    below = _fine(mean.below_highest, amounts)
    return _fine(mean.mean, amounts), below, mean.letters or "–"


def _strips_of(found: TrialResult, treatment: str, amounts: Amounts) -> str:
    some = (strip for strip in found.strips if strip.treatment == treatment)
    return "; ".join(_strip(strip, amounts) for strip in some)


def _pairs(found: TrialResult, amounts: Amounts) -> Iterator[str]:
    pairs, names, language = found.pairs, found.pair_names, amounts.language
    assert pairs
    assert names
    first, second = names
    several = ", ".join(_fine(one, amounts) for one in pairs.differences)
    yield say(
        "{first} minus {second}, block by block: {several}; {mean} {unit} on average.",
        language,
        first=first,
        second=second,
        several=several,
        mean=_fine(pairs.mean, amounts),
        unit=amounts.yield_words,
    )
    if pairs.low is not None and pairs.high is not None:
        yield say(
            "With {sure} % confidence the true difference lies from {low} to {high}.",
            language,
            sure=f"{100 - pairs.level_pct:g}",
            low=_fine(pairs.low, amounts),
            high=_fine(pairs.high, amounts),
        )


def _analysis(comparison: Comparison, anova: Anova, amounts: Amounts) -> Table:
    language = amounts.language
    named = (
        ("Blocks", anova.blocks),
        ("Treatments", anova.treatments),
        ("Error", anova.error),
        ("Total", anova.total),
    )
    tested = (_number(anova.f), _p(anova.p, language))
    rows = [
        (
            say(name, language),
            *_squares(row, amounts),
            *(tested if name == "Treatments" else ("", "")),
        )
        for name, row in named
        if row is not None
    ]
    words = "Analysis of variance, {unit}; varies by {cv} % beyond treatments and blocks"
    cv = "–" if comparison.cv_pct is None else f"{comparison.cv_pct:.1f}"
    return Table(
        caption=say(words, language, unit=amounts.yield_unit, cv=cv),
        heads=tuple(
            say(head, language)
            for head in ("Source", "Sum of squares", "df", "Mean square", "F", "p")
        ),
        rows=tuple(rows),
        numbers=(False, True, True, True, True, True),
    )


def _squares(row: Row, amounts: Amounts) -> tuple[str, str, str]:
    """Write a row in the season's unit; a square of tonnes is small and has finer digits."""
    scale, digits = YIELD.shown(1.0, amounts.units) ** 2, 4 if amounts.metric else 2
    ss, ms = (None if one is None else one * scale for one in (row.ss, row.ms))
    return _number(ss, digits), str(row.df), _number(ms, digits)


def _number(value: float | None, digits: int = 2) -> str:
    return "–" if value is None else f"{value:,.{digits}f}"


def _p(p: float | None, language: str) -> str:
    if p is None:
        return "–"
    return say("under {p}", language, p=f"{_LEAST_P:g}") if p < _LEAST_P else f"{p:.3f}"


def _strip(strip: StripResult, amounts: Amounts) -> str:
    value = "–" if strip.value_bu_ac is None else _fine(strip.value_bu_ac, amounts)
    block = f"{strip.block}:{NO_BREAK}" if strip.block else ""
    return f"{block}{value} ({strip.field_id})"
