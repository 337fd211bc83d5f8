"""The fungicide question in words: it weighs and never orders, and the label stands beside it."""

from collections.abc import Iterator

from fieldbook.agronomy.fungicide import (
    BEFORE,
    CANNOT_TELL,
    CLOSED,
    FITS,
    FITS_NOT,
    LAST,
    LATE,
    OPEN,
    PreHarvest,
    SeverityClass,
    SprayWindow,
)
from fieldbook.report.amounts import Amounts
from fieldbook.report.leafwords import is_seen
from fieldbook.report.sharewords import chance_words
from fieldbook.report.tables import Table
from fieldbook.results.looks_result import FungicideResult
from fieldbook.results.result import FieldResult
from fieldbook.units import BUSHELS, HA_PER_AC, YIELD
from fieldbook.words import number_words, say

FUNGICIDE_FIGURES = (
    "fungicide.severity_from_pct",
    "fungicide.severity_share_pct",
    "fungicide.severity_least_gain_bu_ac",
)
"""Figures that the published shares rest on; break-even and chance rest on what was entered."""

_STATES = {
    BEFORE: "The window for a fungicide is not open yet: it opens at tassel.",
    OPEN: "The window for a fungicide is open: tassel (VT) to blister (R2) is its main part.",
    LAST: "The field is at milk (R3), where the window for a fungicide ends: later sprays gained "
    "less in trials, and milk counts only where disease rises on a susceptible hybrid.",
    LATE: "The window for a fungicide is over: at dough (R4) a spray is generally too late. "
    "Sources differ: Purdue and Ohio end at milk, Alabama at soft dough, and Kentucky leaves "
    "dough open where southern rust is severe.",
    CLOSED: "The window for a fungicide is closed: at dent (R5) or later it is too late.",
}
_AT_MOST = {
    OPEN: "By its dates the field may already be inside the window.",
    LAST: "By its dates the field may already be at milk (R3), where it ends.",
    LATE: "By its dates the field may already be at dough (R4), generally too late.",
    CLOSED: "By its dates the field may already be at dent (R5), too late.",
}
_INTERVALS = {
    FITS: "The pre-harvest interval of the label ends on {day}, at least {least} days before the "
    "first likely harvest.",
    FITS_NOT: "The pre-harvest interval of the label ends on {day}, after the grain is likely to "
    "be ready: harvest has to wait for it.",
    CANNOT_TELL: "The pre-harvest interval of the label ends on {day}; the grain may be ready up "
    "to {early} days before that, so check the day before the first load.",
}
_ONE_DAY = {
    FITS: "The pre-harvest interval of the label ends on {day}, at least one day before the first "
    "likely harvest.",
    CANNOT_TELL: "The pre-harvest interval of the label ends on {day}; the grain may be ready up "
    "to one day before that, so check the day before the first load.",
}


def fungicide_sentences(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say where the window stands, what a spray must gain, how likely that is, and the cautions.

    Nothing where no spray is in question: the field is harvested, or none is on record, no disease
    was seen, and the window is closed or not known.
    """
    language = amounts.language
    if result.is_harvested:
        return ()
    said = [*_question(result, amounts)]
    if result.fungicide.pre_harvest:
        said.append(_interval(result.fungicide.pre_harvest, result, amounts))
    return (*said, spray_caution(language)) if said else ()


def spray_caution(language: str) -> str:
    """Say what stands beside every word on spraying."""
    return say(
        "Before any spray follow the label and local rules: a licensed applicator or adviser "
        "decides, and re-entry time and pre-harvest interval are those of the label.",
        language,
    )


def price_table(result: FieldResult, amounts: Amounts) -> Table | None:
    """Return what a spray must gain by cost and price; None without both, or too late."""
    table, language = result.fungicide.table, amounts.language
    if table is None or result.is_harvested or not _is_in_question(result.fungicide.window):
        return None
    caption = "Gain that pays for a spray [{unit}], by its cost and the price of grain"
    first = "Cost a hectare" if amounts.metric else "Cost an acre"
    head = "{price} a tonne" if amounts.metric else "{price} a bushel"
    prices = [_money(_per_grain(price, amounts)) for price in table.prices_per_bu]
    return Table(
        caption=say(caption, language, unit=amounts.yield_unit),
        heads=(say(first, language), *(say(head, language, price=price) for price in prices)),
        rows=tuple(
            (_money(_per_area(cost, amounts)), *(_gain(gain, amounts) for gain in gains))
            for cost, gains in zip(table.costs_per_ac, table.break_even_bu_ac, strict=True)
        ),
        numbers=(True, *(True for _ in prices)),
    )


def _is_in_question(window: SprayWindow | None) -> bool:
    return window is not None and window.state != CLOSED


def _has_disease(result: FieldResult) -> bool:
    return result.leaves is not None and any(is_seen(one) for one in result.leaves.readings)


# ---- what is weighed -----------------------------------------------------------------------


def _question(result: FieldResult, amounts: Amounts) -> Iterator[str]:
    """Say where the window stands; once it is late, or unknown, only where disease was seen."""
    window, is_sick = result.fungicide.window, _has_disease(result)
    if (window is None or window.state in (LATE, CLOSED)) and not is_sick:
        return
    if window is None:
        text = "Where the window for a fungicide stands is not known, since no stage is."
        yield say(text, amounts.language)
        return
    yield from _window(window, amounts.language)
    if window.state != CLOSED:
        yield from _weighed(result.fungicide, amounts, is_sick=is_sick)


def _weighed(found: FungicideResult, amounts: Amounts, *, is_sick: bool) -> Iterator[str]:
    yield from _break_even(found, amounts)
    yield from _chance(found, amounts)
    if found.severity and is_sick:
        yield _published(found.severity, amounts)


def _window(window: SprayWindow, language: str) -> Iterator[str]:
    yield say(_STATES[window.state], language)
    if window.at_most != window.state:
        yield say(_AT_MOST[window.at_most], language)
    yield from _days_left(window, language)
    if window.state == BEFORE:
        yield say(
            "From about V12 until the whole field has tasselled, additives in the tank have been "
            "linked to stunted or missing ears.",
            language,
        )


def _days_left(window: SprayWindow, language: str) -> Iterator[str]:
    if window.days_to_r3 is None or window.days_to_r3[1] == 0:
        return
    fewest, most = window.days_to_r3
    if fewest == most:
        text = "One day is left" if most == 1 else "{most} days are left"
    elif fewest == 0:
        text = "At most one day is left" if most == 1 else "At most {most} days are left"
    else:
        text = "{fewest} to {most} days are left"
    left = say(text, language, fewest=fewest, most=most)
    yield say("{left} until milk (R3).", language, left=left)


def _break_even(found: FungicideResult, amounts: Amounts) -> Iterator[str]:
    """Say the gain that pays; without a cost and a price nothing speaks of money."""
    if found.break_even_bu_ac is None or not found.cost_per_ac or not found.price_per_bu:
        return
    text = "At a cost of {cost} an acre and a price of {price} a bushel"
    if amounts.metric:
        text = "At a cost of {cost} a hectare and a price of {price} a tonne"
    money = say(
        text,
        amounts.language,
        cost=_money(_per_area(found.cost_per_ac, amounts)),
        price=_money(_per_grain(found.price_per_bu, amounts)),
    )
    gain = f"{_gain(found.break_even_bu_ac, amounts)} {amounts.yield_words}"
    yield say(
        "{money} a spray has to gain {gain} to pay for itself.",
        amounts.language,
        money=money,
        gain=gain,
    )


def _chance(found: FungicideResult, amounts: Amounts) -> Iterator[str]:
    """Say how likely the gain is, and by whose trials."""
    if found.chance is None or found.gain_bu_ac is None or found.gain_sd_bu_ac is None:
        return
    mean, spread = found.gain_bu_ac, found.gain_sd_bu_ac
    text = (
        "In the trials that this season goes by ({source}) sprays gained {mean} on average, two "
        "in three from {low} to {high}; by that {chance} such fields gain enough to pay."
    )
    language = amounts.language
    yield say(
        text,
        language,
        source=found.gain_source or say("whose is not said", language),
        mean=_gain(mean, amounts),
        low=_gain(mean - spread, amounts),
        high=_gain(mean + spread, amounts),
        chance=chance_words(found.chance, language),
    )


def _published(found: SeverityClass, amounts: Amounts) -> str:
    text = (
        "For comparison: where {severity} of the ear leaf was diseased without a spray, {share} % "
        "of the trials gained at least {gain} (Illinois 2008 to 2010, about 20 places and years in "
        "all). That was read weeks after spraying, so it is no forecast for this field."
    )
    language = amounts.language
    return say(
        text,
        language,
        severity=_class_words(found, language),
        share=number_words(found.share_pct),
        gain=f"{_gain(found.gain_bu_ac, amounts)} {amounts.yield_words}",
    )


def _class_words(found: SeverityClass, language: str) -> str:
    start = number_words(found.from_pct)
    if found.to_pct is None:
        return say("{start} % or more", language, start=start)
    end = number_words(found.to_pct)
    if found.from_pct == 0:
        return say("less than {end} %", language, end=end)
    return say("{start} % to under {end} %", language, start=start, end=end)


def _interval(found: PreHarvest, result: FieldResult, amounts: Amounts) -> str:
    day = amounts.day(found.first_day)
    if found.first_day <= result.as_of:
        text = "The pre-harvest interval of the label ended on {day}."
        return say(text, amounts.language, day=day)
    least = found.spare_days[0]
    text = _INTERVALS[found.verdict]
    if abs(least) == 1:
        text = _ONE_DAY.get(found.verdict, text)
    return say(text, amounts.language, day=day, least=max(least, 0), early=-least)


# ---- numbers -------------------------------------------------------------------------------


def _gain(gain_bu_ac: float, amounts: Amounts) -> str:
    """Write a gain finer than a yield: a bushel more or less decides."""
    shown = YIELD.shown(gain_bu_ac, amounts.units)
    return f"{shown:.2f}" if amounts.metric else f"{shown:.1f}".removesuffix(".0")


def _per_area(per_ac: float, amounts: Amounts) -> float:
    return per_ac / HA_PER_AC if amounts.metric else per_ac


def _per_grain(per_bu: float, amounts: Amounts) -> float:
    return per_bu / BUSHELS.factor if amounts.metric else per_bu


def _money(amount: float) -> str:
    """Write an amount in the season's own money, which nothing here names."""
    return f"{amount:,.2f}".removesuffix(".00")
