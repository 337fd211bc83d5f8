"""What the curve of heat is drawn with: stages, months, and the words beneath."""

from datetime import date, timedelta

from fieldbook.report.amounts import Amounts
from fieldbook.report.drawings.heat import Mark
from fieldbook.report.words import years_held
from fieldbook.results.result import FieldResult, HeatCurve
from fieldbook.words import day_words, say

_C_OF_F = 5 / 9


def heat_factor(amounts: Amounts) -> float:
    """Return what a heat unit of degrees F is in the reader's."""
    return _C_OF_F if amounts.metric else 1.0


def heat_marks(result: FieldResult) -> list[Mark]:
    """Return the stages with a likely day up to its harvest, in order; one a day, the later."""
    cut = result.harvested_on or date.max
    dated = {one.date: one.stage for one in result.stages if one.date and one.date <= cut}
    return [Mark(name=dated[day], day=day) for day in sorted(dated)]


def month_starts(curve: HeatCurve, language: str) -> list[tuple[date, str]]:
    """Return the first days of the months of a year with their short names."""
    firsts = [date(curve.planted.year, month, 1) for month in range(1, 13)]
    return [(first, day_words(first, language, "MMM")) for first in firsts]


def heat_caption(result: FieldResult, curve: HeatCurve, amounts: Amounts) -> str:
    """Say how this year stands against past ones, and what is what."""
    known = _heat_words(curve, amounts)
    ends = curve.planted + timedelta(days=len(curve.own_f) - 1)
    if any(mark.day > ends for mark in heat_marks(result)):
        return f"{known} {say('Rings: stages ahead.', amounts.language)}"
    return known


def _heat_words(curve: HeatCurve, amounts: Amounts) -> str:
    at = len(curve.own_f) - 1
    ours, usual = amounts.heat(curve.own_f[at]), amounts.heat(curve.middle_f[at])
    return say(
        "Heat since planting: {ours} so far, {usual} by this day in the middle of {years} past "
        "years. Heavy line: this year; dashed: that middle; grey: {band}.",
        amounts.language,
        ours=ours,
        usual=usual,
        years=curve.years,
        band=years_held(curve.held_pct, amounts.language),
    )
