"""What lies ahead of a field, in words: frost, harvest moisture, ear mould. Never a verdict."""

from collections.abc import Iterator

from fieldbook.agronomy.drying import DryDates
from fieldbook.agronomy.windows import NO_SIGNAL, RAISED, SOME, GibberellaWatch
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.mouldlook import mould_look
from fieldbook.report.words import joined, stage_words
from fieldbook.results.due import mould_looked_on, mould_reason
from fieldbook.results.looks_result import OutlookResult
from fieldbook.results.result import FieldResult
from fieldbook.units import TEMPERATURE
from fieldbook.words import number_words, say


def ahead_sentences(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say what is known of frost, harvest moisture and ear mould; unknown parts are left out.

    Of a harvested field only what the weather was for moulds is left to say.
    """
    outlook = result.outlook
    if result.is_harvested:
        looking_back = (
            _mould(outlook, result, amounts, figures),
            _was_hot_and_dry(outlook, amounts),
        )
        return tuple(sentence for part in looking_back for sentence in part)
    parts = (
        _frost(result, amounts, figures),
        _dry(outlook, result, amounts),
        _mould(outlook, result, amounts, figures),
        _hot_and_dry(outlook, amounts),
    )
    return tuple(sentence for part in parts for sentence in part)


def _frost(result: FieldResult, amounts: Amounts, figures: Figures) -> Iterator[str]:
    found, language = result.outlook.freezes, amounts.language
    if found is None or not found.years:
        return
    text = (
        "In {possible} of {years} past years a night of {light} came before black layer, in "
        "{killing} a killing one of {hard}."
    )
    none = say("none", language)
    yield say(
        text,
        language,
        possible=found.possible or none,
        years=found.years,
        killing=found.killing or none,
        light=amounts.temperature(figures.number("frost.possible_f")),
        hard=amounts.temperature(figures.number("frost.killing_f")),
    )
    reached = [stage.stage for stage in result.stages if stage.passed]
    if result.outlook.freeze_loss_pct and reached:
        text = "Corn killed at {stage} loses about {pct} % of its yield."
        stage, pct = stage_words(reached[-1], language), f"{result.outlook.freeze_loss_pct:.0f}"
        yield say(text, language, stage=stage, pct=pct)


def _dry(outlook: OutlookResult, result: FieldResult, amounts: Amounts) -> Iterator[str]:
    dry, language = outlook.dry, amounts.language
    if dry is None:
        return
    pct = number_words(dry.moisture_pct)
    if dry.date is None:
        yield _not_dry(dry, pct, amounts)
        return
    text = "Grain is first likely to be at {pct} % moisture about {day}{span}."
    if dry.date <= result.as_of:
        text = "Grain has likely been at {pct} % moisture since about {day}{span}."
    span = ""
    if dry.earliest and dry.latest and dry.earliest != dry.latest:
        span = f" ({amounts.days(dry.earliest, dry.latest)})"
    elif dry.earliest and not dry.latest and dry.earliest != dry.date:
        span = say(" (not before {day})", amounts.language, day=amounts.day(dry.earliest))
    yield say(text, language, pct=pct, day=amounts.day(dry.date), span=span)


def _not_dry(dry: DryDates, pct: str, amounts: Amounts) -> str:
    text = "In {short} of {years} past years grain would not dry to {pct} % in the field{first}."
    first = ""
    if dry.earliest:
        day = amounts.day(dry.earliest)
        first = say("; the earliest is about {day}", amounts.language, day=day)
    return say(text, amounts.language, short=dry.years_short, years=dry.years, pct=pct, first=first)


def _mould(
    outlook: OutlookResult, result: FieldResult, amounts: Amounts, figures: Figures
) -> Iterator[str]:
    watch, language = outlook.gibberella, amounts.language
    if watch is None:
        return
    text = {
        RAISED: "Ear mould: the weather after silking raises the watch for Gibberella: {why}.",
        SOME: "Ear mould: conditions after silking suited Gibberella somewhat: {why}.",
        NO_SIGNAL: "Ear mould: no signal for Gibberella in the weather after silking.",
    }.get(
        watch.level, "Ear mould: too much weather is missing after silking to tell of Gibberella."
    )
    yield say(text, language, why=_signals(watch, amounts, figures))
    yield say("Other moulds are not ruled out.", language)
    yield from _look_again(result, amounts)


def _signals(watch: GibberellaWatch, amounts: Amounts, figures: Figures) -> str:
    language = amounts.language
    parts = []
    if watch.wet:
        parts.append(say("{count} wet days", language, count=watch.weather.wet_days))
    if watch.cool and watch.weather.mean_f is not None:
        mean, line = _apart(watch.weather.mean_f, figures.number("gibberella.mean_f"), amounts)
        parts.append(say("a mean of {mean}, under {line}", language, mean=mean, line=line))
    if watch.late_silks:
        parts.append(say("silks still open late", language))
    return joined(parts, language)


def _apart(mean_f: float, line_f: float, amounts: Amounts) -> tuple[str, str]:
    """Write a mean and its line with as many digits as show that one is under the other."""
    mean, line = (TEMPERATURE.shown(one, amounts.units) for one in (mean_f, line_f))
    digits = next((one for one in (1, 2) if round(mean, one) < round(line, one)), 3)
    degree = "°C" if amounts.metric else "°F"
    return f"{mean:.{digits}f} {degree}", f"{number_words(round(line, digits))} {degree}"


def _look_again(result: FieldResult, amounts: Amounts) -> Iterator[str]:
    """Ask for a look at ears until it was taken; nobody asks once the field is cut."""
    language, look = amounts.language, mould_look(result)
    again = mould_looked_on(result)
    if again and mould_reason(result):
        yield say("Ears were looked at again on {day}.", language, day=amounts.day(again))
    if again or result.is_harvested:
        return
    text = "Husk 100 ears in 5 places before the harvest: only that shows what is there."
    if look and look.is_late(result.as_of):
        text = (
            "Husk 100 ears in 5 places now, before the harvest (the best time was {when}): only "
            "that shows what is there."
        )
    elif look:
        text = "Husk 100 ears in 5 places, {when}: only that shows what is there."
    yield say(text, language, when=look.words(amounts) if look else "")


def _hot_and_dry(outlook: OutlookResult, amounts: Amounts) -> Iterator[str]:
    if outlook.hot_and_dry:
        text = (
            "Grain filled in hot and dry weather: look for olive-green powder on ears; where any "
            "is seen, test grain before feeding or selling."
        )
        yield say(text, amounts.language)


def _was_hot_and_dry(outlook: OutlookResult, amounts: Amounts) -> Iterator[str]:
    if outlook.hot_and_dry:
        text = (
            "Grain filled in hot and dry weather: where olive-green powder was seen, test grain "
            "before feeding or selling."
        )
        yield say(text, amounts.language)
