"""What an entry cell accepts, as the spreadsheet app enforces it, with a plain message."""

from datetime import date
from typing import Any

from fieldbook.schema import Column, Kind
from fieldbook.words import number_words, say
from fieldbook.workbook.grid import Grid


def validation(column: Column, grid: Grid, year: int) -> dict[str, Any] | None:
    """Return what a cell accepts, with a plain message; None for free text."""
    language = grid.language
    label = say(column.label, language)
    prompt = {"input_title": label[:32], "input_message": say(column.help, language)[:255]}
    shown = prompt if column.help else {}
    if column.choices or column.picks:
        words = say("Pick a value from the list.", language)
        source = f"={grid.lists[f'{grid.form.sheet.name}.{column.name}']}"
        return {"validate": "list", "source": source, **_refusal(label, words), **shown}
    if column.kind is Kind.DAY:
        words = say("Type a date in {year}.", language, year=year)
        days = {"minimum": date(year, 1, 1), "maximum": date(year, 12, 31)}
        between = {"validate": "date", "criteria": "between", **days}
        return {**between, **_refusal(label, words), **shown}
    limits = column.limits_in(grid.units)
    if limits is None:
        return None
    low, high = (
        round(column.unit.shown(limit, grid.units), 4) for limit in (limits.least, limits.most)
    )
    least = column.unit.shown_limit(limits.least, grid.units, is_least=True)
    most = column.unit.shown_limit(limits.most, grid.units, is_least=False)
    words = say(
        "{least} to {most}: {why}.",
        language,
        least=number_words(least),
        most=number_words(most),
        why=say(limits.why, language),
    )
    kind = "integer" if column.kind is Kind.WHOLE else "decimal"
    between = {"validate": kind, "criteria": "between", "minimum": low, "maximum": high}
    return {**between, **_refusal(label, words), **shown}


def _refusal(label: str, words: str) -> dict[str, str]:
    return {"error_title": label[:32], "error_message": words[:255]}
