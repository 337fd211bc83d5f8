"""Stalks and ear mould before harvest in words: shares against the lines, and what moulds carry."""

from collections.abc import Iterator

from fieldbook.agronomy.stalks import OLIVE_POWDER, AgainstLine, Mould, WalkReading
from fieldbook.agronomy.wilson import ABOVE, BELOW, CANNOT_TELL, Share
from fieldbook.figures import Figures
from fieldbook.report.amounts import Amounts
from fieldbook.report.mouldlook import mould_look, ripe_stage
from fieldbook.report.sharewords import in_hundred, more_words
from fieldbook.report.words import joined
from fieldbook.results.due import mould_reason
from fieldbook.results.looks_result import RipeResult, SeenMould
from fieldbook.results.result import FieldResult
from fieldbook.words import number_words, say

RIPE_FIGURES = (
    "stalks.line_pct",
    "stalks.high_line_pct",
    "mould.line_pct",
    "mould.dry_below_pct",
    "walk.plants",
    "walk.places",
    "sampling.confidence_pct",
    "share.least_places",
)
"""Figures that stalks and ear mould are held against."""

_LOOKS = {
    "pink-tip": "pink-red mould from the tip",
    "white-scattered": "white to pink mould on scattered kernels",
    "white-mat": "a white mat from the butt",
    "olive-powder": "olive-green powder",
    "blue-green": "blue-green powder",
    "other": "a mould of another look",
}
_FUNGI = {
    "gibberella": "Gibberella",
    "fusarium": "Fusarium",
    "diplodia": "Diplodia",
    "aspergillus": "Aspergillus",
    "penicillium": "Penicillium",
}
_TOXINS = {
    "deoxynivalenol": "vomitoxin (DON)",
    "zearalenone": "zearalenone",
    "fumonisin": "fumonisin",
    "aflatoxin": "aflatoxin",
}


def stalk_sentences(result: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say how many stalks gave way, and where that lies against both published lines."""
    found = result.ripe
    if found is None or found.stalks is None:
        return (_not_looked("Stalks", _ripe_when(result, amounts), result, amounts.language),)
    text = "{hits} of {looked} stalks gave way on {day}; of all stalks it may be {span}."
    if found.stalks.share.looked == 1:
        text = "{hits} of 1 stalk gave way on {day}; of all stalks it may be {span}."
    meaning = say("such a field is among the first to harvest", amounts.language)
    is_cut = result.is_harvested
    return (
        _walk_words(text, found.stalks.share, found, amounts),
        *_sides(found.stalks, "" if is_cut else meaning, amounts.language, is_cut=is_cut),
        *_short(found.stalks, amounts.language),
    )


def mould_sentences(result: FieldResult, amounts: Amounts, figures: Figures) -> tuple[str, ...]:
    """Say how many ears had mould, what it looked like, and what that may carry.

    What that proves and whom to ask stands among the cautions of every page.
    """
    found = result.ripe
    if found is None or (found.mouldy is None and not found.moulds):
        return (_not_looked("Ear mould", _mould_when(result, amounts), result, amounts.language),)
    language = amounts.language
    return (
        *(_mouldy(found.mouldy, result, amounts, figures) if found.mouldy else ()),
        *(_seen(one, language) for one in found.moulds),
    )


# ---- not looked at -------------------------------------------------------------------------


def _not_looked(what: str, when: str, result: FieldResult, language: str) -> str:
    name = say(what, language)
    if result.is_harvested:
        return say("{name}: not looked at before the harvest.", language, name=name)
    text = "{name}: not looked at yet; due {when}." if when else "{name}: not looked at yet."
    return say(text, language, name=name, when=when)


def _mould_when(result: FieldResult, amounts: Amounts) -> str:
    """Say when ears are to be opened for mould, or since when: black layer where no watch asks."""
    look = mould_look(result)
    if look is None or mould_reason(result) is None:
        return _ripe_when(result, amounts)
    text = "since about {day}" if look.is_late(result.as_of) else "about {day}"
    return say(text, amounts.language, day=amounts.day(look.day))


def _ripe_when(result: FieldResult, amounts: Amounts) -> str:
    """Say when black layer is due, or since when; empty where that is not known."""
    ripe = ripe_stage(result)
    if ripe is None:
        return ""
    if ripe.date:
        text = "since about {day}" if ripe.passed else "about {day}"
        return say(text, amounts.language, day=amounts.day(ripe.date))
    if ripe.earliest and ripe.latest:
        return amounts.days(ripe.earliest, ripe.latest)
    return ""


# ---- shares and lines ----------------------------------------------------------------------


def _walk_words(text: str, share: Share, found: RipeResult, amounts: Amounts) -> str:
    return say(
        text,
        amounts.language,
        hits=share.hits,
        looked=share.looked,
        day=amounts.day(found.day),
        span=in_hundred(share, amounts),
    )


def _sides(walk: WalkReading, meaning: str, language: str, *, is_cut: bool) -> Iterator[str]:
    """Hold a share against its lines: together where it is told from all alike, else one by one.

    `meaning` says, in the reader's language, what it means to be over them; empty for nothing.
    More looking is no way to tell once the field `is_cut`.
    """
    sides = {line.side for line in walk.lines}
    if len(walk.lines) > 1 and sides in ({ABOVE}, {BELOW}) and not _touches(walk.lines[0], walk):
        lines = joined([number_words(line.line_pct) for line in walk.lines], language)
        text = "That is under both published lines, {lines} in 100."
        if ABOVE in sides:
            text = "That is over both published lines, {lines} in 100."
            if meaning:
                text = "That is over both published lines, {lines} in 100: {meaning}."
        yield say(text, language, lines=lines, meaning=meaning)
        return
    for line in walk.lines:
        name = "the line of {at} in 100"
        if line is not walk.lines[0]:
            name, meaning = "the other published line of {at} in 100", ""
        named = say(name, language, at=number_words(line.line_pct))
        if is_cut and line.side == CANNOT_TELL:
            yield say("Whether it is over {line} cannot be told.", language, line=named)
        else:
            yield _side(line, walk, named, meaning, language)


def _side(line: AgainstLine, walk: WalkReading, named: str, meaning: str, language: str) -> str:
    if line.side == CANNOT_TELL:
        text = "Whether it is over {line} cannot be told; {more}."
        return say(text, language, line=named, more=more_words(line, language))
    if line.side == BELOW:
        text = "It is barely under {line}." if _touches(line, walk) else "It is under {line}."
        return say(text, language, line=named)
    text = "It is over {line}: {meaning}." if meaning else "It is over {line}."
    return say(text, language, line=named, meaning=meaning)


def _touches(line: AgainstLine, walk: WalkReading) -> bool:
    """Say whether the range as printed ends at a line that the share is told to be under."""
    return line.side == BELOW and round(walk.share.sure.high_pct) == line.line_pct


def _short(walk: WalkReading, language: str) -> Iterator[str]:
    """Say what a walk lacks of the published size."""
    wanted = walk.share.looked + walk.plants_short
    places = walk.share.places + walk.places_short
    if walk.plants_short:
        text = "The usual walk is {wanted} plants at {places} places; this one was smaller."
        yield say(text, language, wanted=wanted, places=places)
    elif walk.places_short:
        text = "The usual walk has {places} places, this one {had}."
        yield say(text, language, places=places, had=walk.share.places)


# ---- moulds --------------------------------------------------------------------------------


def _mouldy(
    walk: WalkReading, result: FieldResult, amounts: Amounts, figures: Figures
) -> Iterator[str]:
    found, is_cut = result.ripe, result.is_harvested
    if found is None:
        return
    text = "{hits} of {looked} opened ears had mould on {day}; of all ears it may be {span}."
    if walk.share.looked == 1:
        text = "{hits} of 1 opened ear had mould on {day}; of all ears it may be {span}."
    yield _walk_words(text, walk.share, found, amounts)
    dry = number_words(figures.number("mould.dry_below_pct"))
    text = "such fields are harvested early, the grain is tested, and dried below {dry} %"
    if is_cut:
        text = "such grain is tested, and dried below {dry} %"
    meaning = say(text, amounts.language, dry=dry)
    yield from _sides(walk, meaning, amounts.language, is_cut=is_cut)
    yield from _short(walk, amounts.language)


def _seen(one: SeenMould, language: str) -> str:
    """Say what a mould looked like, and what such a mould may carry."""
    text = (
        "Seen at one stop: {look}, {carries}."
        if one.stops == 1
        else ("Seen at {stops} stops: {look}, {carries}.")
    )
    return say(
        text,
        language,
        stops=one.stops,
        look=say(_LOOKS[one.mould.look], language),
        carries=_carries(one.mould, language),
    )


def _carries(found: Mould, language: str) -> str:
    if found.fungus is None:
        return say("which fits no one mould: send ears to a plant clinic", language)
    fungus = _FUNGI[found.fungus]
    if found.toxins is None:
        text = "which is like {fungus}; no source at hand says what it carries"
        return say(text, language, fungus=fungus)
    if not found.toxins:
        text = "which is like {fungus}; no toxin of it is known in the grain"
        return say(text, language, fungus=fungus)
    toxins = joined([say(_TOXINS[toxin], language) for toxin in found.toxins], language)
    text = "which is like {fungus} and may carry {toxins}"
    if found.look == OLIVE_POWDER:
        text = (
            "which is like {fungus} and may carry {toxins}: test the grain before it is fed or sold"
        )
    return say(text, language, fungus=fungus, toxins=toxins)
