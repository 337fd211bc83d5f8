"""The page that says how good our estimates were, for the team; growers do not get it."""

from collections.abc import Iterator
from datetime import date

from fieldbook.agronomy.settle import Suggestion, TooFew
from fieldbook.problems import sentence
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext, report_context
from fieldbook.report.drawings.against import Against, draw_against
from fieldbook.report.next_season import rests, short_of
from fieldbook.report.pictures import Picture
from fieldbook.report.plain import Part, PlainView, picture
from fieldbook.report.sources import sources_of
from fieldbook.report.tables import Table
from fieldbook.report.words import round_words
from fieldbook.results.estimates import COUNTED, Estimate
from fieldbook.results.settle import (
    ALL,
    BY_HYBRID,
    BY_ROUND,
    BY_SCOUT,
    Group,
    HybridSuggestion,
    SettledSeason,
)
from fieldbook.season.season import Season
from fieldbook.units import YIELD
from fieldbook.words import day_words, say, say_count

PAGE_NAME = "settle"
_FIGURES = (
    "kernels.average_thousand_per_bu",
    "bushel.weight_lb",
    "bushel.moisture_pct",
    "settle.least_fields",
    "settle.least_years",
    "settle.prior_sd_pct",
    "settle.spread_pct",
)
_HIDES = (
    "This count hides whatever else made the estimate miss: edges and end rows that no stop "
    "stood in, acres that are not exact, grain that the combine left, and the weight of kernels."
)
_GROUPS = {
    BY_SCOUT: "Counts by scout",
    BY_HYBRID: "Counts by hybrid",
    BY_ROUND: "By round",
}
_LEAN_PCT = 2.0


def settle_pages(season: Season, found: SettledSeason) -> dict[str, PlainView]:
    """Return the one page by its file name."""
    return {PAGE_NAME: settle_view(found, report_context(season))}


def settle_view(found: SettledSeason, context: ReportContext) -> PlainView:
    """Turn a settled season into words, a picture and tables."""
    amounts = Amounts(units=context.units, language=context.language)
    language = context.language
    sources = sources_of(_FIGURES, context.figures, language)
    return PlainView(
        language=language,
        title=say("How good were our estimates?", language),
        season=found.season_name,
        day=amounts.full_day(found.as_of),
        signature=context.signature,
        lead=tuple(_lead(found, amounts)),
        parts=tuple(_parts(found, amounts)),
        sources=sources,
    )


# ---- sentences -----------------------------------------------------------------------------


def _lead(found: SettledSeason, amounts: Amounts) -> Iterator[str]:
    language = amounts.language
    yield _cut(len(found.harvests), found.fields, language)
    overall = next((group for group in found.groups if group.by == ALL), None)
    if overall is None:
        yield say("No kernel count stands against a harvest yet.", language)
        return
    yield _size(overall, language)
    yield _lean(overall, language)
    if overall.with_range:
        yield _held(overall, language)


def _cut(cut: int, fields: int, language: str) -> str:
    text = "{cut} of {all} fields have a harvest that can be used."
    if fields == 1:
        one = "The one field has a harvest that can be used."
        text = one if cut else "The one field has no harvest that can be used."
    return say(text, language, cut=cut, all=fields)


def _held(group: Group, language: str) -> str:
    text = "The range that we told held the harvest in {held} of {all} counts."
    if group.with_range == 1:
        one = "The range that we told held the harvest in the one count."
        text = one if group.held else "The range that we told did not hold the harvest."
    return say(text, language, held=group.held, all=group.with_range)


def _size(group: Group, language: str) -> str:
    many = "{count} kernel counts in {fields} fields missed the harvest by {miss} % on average."
    if group.fields == 1:
        many = "{count} kernel counts in one field missed the harvest by {miss} % on average."
    return say_count(
        group.estimates,
        "One kernel count missed the harvest by {miss} %.",
        many,
        language,
        fields=group.fields,
        miss=f"{group.typical_miss_pct:.0f}",
    )


def _lean(group: Group, language: str) -> str:
    if abs(group.mean_miss_pct) < _LEAN_PCT:
        return say("Taken together they were neither too high nor too low.", language)
    words = "Taken together they were {lean} % too high." if group.mean_miss_pct > 0 else _LOW
    return say(words, language, lean=f"{abs(group.mean_miss_pct):.0f}")


_LOW = "Taken together they were {lean} % too low."


# ---- parts ---------------------------------------------------------------------------------


def _parts(found: SettledSeason, amounts: Amounts) -> Iterator[Part]:
    language = amounts.language
    drawn = _picture(found, amounts)
    if drawn:
        yield Part(heading=say("Estimate against harvest", language), picture=drawn)
    tables = tuple(_groups(found, amounts))
    if tables:
        yield Part(heading=say("Where the misses are", language), tables=tables)
    if found.settled:
        yield _next_season(found, language)
    if found.estimates:
        heading, table = say("Every estimate", language), _estimates(found, amounts)
        yield Part(heading=heading, tables=(table,))
    if found.problems:
        lines = tuple(sentence(said, language) for said in found.problems)
        yield Part(heading=say("To mind", language), lines=lines)


def _picture(found: SettledSeason, amounts: Amounts) -> Picture | None:
    language = amounts.language
    counts = [one for one in found.estimates if one.method == COUNTED]
    points = [_point(one, amounts) for one in counts]
    held = sum(one.held is True for one in counts)
    about = say_count(
        len(counts),
        "One kernel count; the range of {held} held the harvest.",
        "{count} kernel counts; the range of {held} held the harvest.",
        language,
        held=held,
    )
    words = (
        "A dot is a kernel count with the range that we told; on the dashed line it equals the "
        "harvest, above it was too high. Hollow dots: the range missed the harvest."
    )
    return picture(
        lambda width: draw_against(
            points,
            unit=amounts.yield_unit,
            width=width,
            title=say("Estimate against harvest", language),
            about=about,
            language=language,
        ),
        say(words, language),
    )


def _point(one: Estimate, amounts: Amounts) -> Against:
    ends = one.range_bu_ac
    return Against(
        harvest=YIELD.shown(one.harvested_bu_ac, amounts.units),
        estimate=YIELD.shown(one.estimated_bu_ac, amounts.units),
        ends=None
        if ends is None
        else (YIELD.shown(ends[0], amounts.units), YIELD.shown(ends[1], amounts.units)),
        held=one.held,
    )


def _groups(found: SettledSeason, amounts: Amounts) -> Iterator[Table]:
    language = amounts.language
    heads = ("", "Estimates", "Fields", "Usual miss, %", "Lean, %", "Ranges that held")
    for by, caption in _GROUPS.items():
        some = [group for group in found.groups if group.by == by]
        if not some:
            continue
        yield Table(
            caption=say(caption, language),
            heads=tuple(say(head, language) for head in heads),
            rows=tuple(_group(group, language) for group in some),
            numbers=(False, True, True, True, True, True),
        )


def _group(group: Group, language: str) -> tuple[str, ...]:
    name = round_words(group.name, language) if group.by == BY_ROUND else group.name
    return (
        name or say("several hybrids", language),
        str(group.estimates),
        str(group.fields),
        f"{group.typical_miss_pct:.0f}",
        _signed(group.mean_miss_pct),
        say("{held} of {all}", language, held=group.held, all=group.with_range),
    )


def _next_season(found: SettledSeason, language: str) -> Part:
    """Say what count of kernels would have been right, and what next season may use."""
    together, *hybrids = found.suggestions
    right = say(
        "The counts took {base} thousand kernels for a bushel where grain filled as usual.",
        language,
        base=f"{found.base_thousand:g}",
    )
    heads = ("", "Kernels in a bushel, thousand", "Range for a next field", "Rests on")
    rows = [_suggested(one, language) for one in (together, *hybrids)]
    table = Table(
        caption=say("What would have been right, drawn towards the usual count", language),
        heads=tuple(say(head, language) for head in heads),
        rows=tuple(rows),
        numbers=(False, True, True, False),
    )
    return Part(
        heading=say("For next season", language),
        sentences=(right, say(_HIDES, language)),
        tables=(table,),
    )


def _suggested(one: HybridSuggestion, language: str) -> tuple[str, ...]:
    name = one.hybrid or say("All fields", language)
    if isinstance(one.found, TooFew):
        return (name, "–", "–", short_of(one.found, language))
    return (name, *_numbers(one.found, language))


def _numbers(found: Suggestion, language: str) -> tuple[str, str, str]:
    low, high = f"{found.low:.0f}", f"{found.high:.0f}"
    return (
        f"{found.likely:.1f}",
        say("{low} to {high}", language, low=low, high=high),
        rests(found, language),
    )


def _estimates(found: SettledSeason, amounts: Amounts) -> Table:
    language = amounts.language
    heads = ("Field", "Round", "Scout", "Day", "Estimate", "Range", "Harvest", "Miss, %", "Right")
    return Table(
        caption=say(
            "Estimate and harvest, {unit}; right: thousand kernels in a bushel",
            language,
            unit=amounts.yield_unit,
        ),
        heads=tuple(say(head, language) for head in heads),
        rows=tuple(_estimate(one, amounts) for one in found.estimates),
        numbers=(False, False, False, False, True, True, True, True, True),
    )


def _estimate(one: Estimate, amounts: Amounts) -> tuple[str, ...]:
    return (
        f"{one.field_id} {one.field}",
        round_words(one.round, amounts.language),
        one.scout,
        _day(one.day, amounts.language),
        amounts.yield_number(one.estimated_bu_ac),
        amounts.yield_range(one.range_bu_ac) if one.range_bu_ac else "–",
        amounts.yield_number(one.harvested_bu_ac),
        _signed(one.miss_pct),
        "–" if one.corrected_thousand is None else f"{one.corrected_thousand:.0f}",
    )


def _signed(pct: float) -> str:
    """Write a miss with its sign, and none where it rounds to nothing."""
    whole = round(pct)
    return f"{whole:+d}" if whole else "0"


def _day(day: date | None, language: str) -> str:
    return day_words(day, language, "d MMM") if day else "–"
