"""What a settled season suggests for the next one, as lines to paste into its season.toml."""

from collections.abc import Iterator
from pathlib import Path

from fieldbook.agronomy.settle import Suggestion, TooFew
from fieldbook.ledger.safely import write_safely
from fieldbook.report.words import joined
from fieldbook.results.settle import (
    HybridSuggestion,
    SettledSeason,
)
from fieldbook.season.season import Season
from fieldbook.settings.fresh import toml_value
from fieldbook.words import say


def keep_suggestion(season: Season, found: SettledSeason) -> Path | None:
    """Write the suggestion beside the page, ready for next season's settings."""
    text = next_season_toml(found, language=season.language)
    if text is None:
        return None
    path = season.folder.reports / "settle-next-season.toml"
    write_safely(path, text.encode("utf-8"))
    return path


def next_season_toml(found: SettledSeason, *, language: str = "en") -> str | None:
    """Write the suggestions as lines for next season's settings; None while there is none.

    A hybrid without enough fields and years gets a remark that says what is missing.
    """
    together, *hybrids = found.suggestions
    if isinstance(together.found, TooFew):
        return None
    words = (
        "Suggested by 'silkbook settle': thousand kernels in a bushel, heavy, likely, light. Of "
        "ten next fields about eight lie between the first and the last. Copy what you agree with "
        "into season.toml. All fields together rest on {rests}:"
    )
    remark = say(words, language, rests=rests(together.found, language))
    row = _row(together.found)
    lines = [f"# {remark}", "[figures]", f'"kernels.average_thousand_per_bu" = {row}']
    lines += [line for one in hybrids for line in _hybrid_lines(one, language)]
    return "\n".join(lines) + "\n"


def _hybrid_lines(one: HybridSuggestion, language: str) -> Iterator[str]:
    """Write one hybrid's table, or the remark that stands in its place."""
    name = toml_value(one.hybrid or "")
    if isinstance(one.found, TooFew):
        yield f"# {name}: {short_of(one.found, language)}."
        return
    yield f"[hybrids.{name}]"
    yield f"thousand_kernels_per_bu = {_row(one.found)}"
    yield f"rests_on = {toml_value(rests(one.found, language))}"


def _row(found: Suggestion) -> str:
    return "[" + ", ".join(f"{one:.1f}" for one in (found.low, found.likely, found.high)) + "]"


def rests(found: Suggestion, language: str) -> str:
    """Say how many fields and years a suggestion rests on."""
    words = "{fields} fields in {years} years"
    return say(words, language, fields=found.fields, years=found.years)


def short_of(found: TooFew, language: str) -> str:
    """Say what is missing for a suggestion."""
    parts = []
    if found.fields:
        words = "1 more field" if found.fields == 1 else "{count} more fields"
        parts.append(say(words, language, count=found.fields))
    if found.years:
        words = "1 more year" if found.years == 1 else "{count} more years"
        parts.append(say(words, language, count=found.years))
    return say("not yet: needs {more}", language, more=joined(parts, language))
