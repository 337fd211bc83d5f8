"""The results as a short list for the terminal."""

from collections.abc import Iterable, Iterator

from fieldbook.results.result import FieldResult
from fieldbook.units import YIELD, System
from fieldbook.words import day_words, say, say_count


def results_lines(fields: Iterable[FieldResult], units: System, language: str) -> Iterator[str]:
    """Say one line a field: yield, kernels, what is ahead, what is open."""
    for field in fields:
        parts = [part for part in _parts(field, units, language) if part]
        yield f"{field.field_id:8} {field.field[:24]:24} {'; '.join(parts)}"


def _parts(field: FieldResult, units: System, language: str) -> Iterator[str]:
    if field.is_harvested:
        yield from _cut(field, units, language)
    if field.yield_:
        low, high = (YIELD.shown(part, units) for part in field.yield_.range_bu_ac)
        likely = YIELD.shown(field.yield_.likely_bu_ac, units)
        digits = 1 if units is System.METRIC else 0
        unit = YIELD.label(units, language)
        text = "{likely} {unit} ({low} to {high})"
        if not field.yield_.interval_95_bu_ac:
            text = "{likely} {unit} ({low} to {high} by kernel weight alone)"
        if field.is_harvested:
            text = "counted {likely} {unit} ({low} to {high})"
        said = {"likely": likely, "low": low, "high": high}
        numbers = {name: f"{value:.{digits}f}" for name, value in said.items()}
        yield say(text, language, unit=unit, **numbers)
    else:
        yield say("not counted yet", language)
        yield from _silks(field, language)
    if field.ears and field.ears.kernels_per_ear is not None:
        count = round(field.ears.kernels_per_ear)
        yield say("{count} kernels an ear", language, count=count)
    ahead = next((stage for stage in field.stages if not stage.passed and stage.date), None)
    if ahead and ahead.date and not field.is_harvested:
        yield f"{ahead.stage} {day_words(ahead.date, language)}"
    if field.questions:
        one, many = "one open question", "{count} open questions"
        yield say_count(len(field.questions), one, many, language)


def _cut(field: FieldResult, units: System, language: str) -> Iterator[str]:
    """Say that a field is harvested, on which day, and what was weighed."""
    day = day_words(field.harvested_on, language) if field.harvested_on else ""
    yield say("harvested {day}" if day else "harvested", language, day=day)
    if field.harvest:
        digits = 1 if units is System.METRIC else 0
        number = f"{YIELD.shown(field.harvest.yield_bu_ac, units):.{digits}f}"
        unit = YIELD.label(units, language)
        yield say("weighed {number} {unit}", language, number=number, unit=unit)


def _silks(field: FieldResult, language: str) -> Iterator[str]:
    """Say where pollination stands: when half silked, and how many silks had let go."""
    found = field.pollination
    if found is None:
        return
    silking = found.silking
    if silking and silking.day:
        yield say("half silked about {day}", language, day=day_words(silking.day, language))
    elif silking and silking.within.latest:
        day = day_words(silking.within.latest, language)
        yield say("half silked by {day}", language, day=day)
    if found.shaken:
        pct = f"{found.shaken.ears.mean.mean:.0f}"
        yield say("{pct} % of silks let go", language, pct=pct)
