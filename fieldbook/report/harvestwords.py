"""One field's turn at harvest in words: why it stands there, how wet it is, when it is ready."""

from collections.abc import Iterator
from dataclasses import dataclass

from fieldbook.agronomy.drying import DryDates
from fieldbook.agronomy.harvest_order import MOULD, STALKS, Turn
from fieldbook.agronomy.stalks import WalkReading
from fieldbook.report.amounts import Amounts
from fieldbook.results.looks_result import RipeResult
from fieldbook.results.result import FieldResult
from fieldbook.words import number_words, say

_WALKED = {
    STALKS: "Stalks: {hits} of {looked} gave way, {side}.",
    MOULD: "Ears: {hits} of {looked} had mould, {side}.",
}
_SIDES = {
    "over-line": "over the line of {line} in 100",
    "under-line": "under the line of {line} in 100",
    "near-line": "not sure on which side of the line of {line} in 100",
}
_LACKING = {
    "stalks-not-looked-at": "Stalks: not tried.",
    "mould-not-looked-at": "Ears: not opened.",
    "moisture-not-measured": "Moisture: not measured.",
}
_AHEAD = {
    (STALKS, True): "Ahead of the next by its stalks.",
    (STALKS, False): "Ahead of the next by its stalks, too little to be sure.",
    (MOULD, True): "Ahead of the next by its mould.",
    (MOULD, False): "Ahead of the next by its mould, too little to be sure.",
}


@dataclass(frozen=True, kw_only=True)
class HarvestRow:
    """One field in words; ``link`` is where its report lies beside the page, empty for none."""

    turn: int
    field: str
    ground: str
    link: str
    grower: str
    scout: str
    reasons: tuple[str, ...]
    ahead: str
    moisture: tuple[str, ...]
    ready: tuple[str, ...]


def harvest_row(
    turn: Turn, field: FieldResult, found: RipeResult, amounts: Amounts, *, link: str, scout: str
) -> HarvestRow:
    """Put the turn of a field into words."""
    return HarvestRow(
        turn=turn.turn,
        field=field.field,
        ground=f"{field.field_id}, {amounts.area(field.acres)}",
        link=link,
        grower=field.grower,
        scout=scout,
        reasons=tuple(_reason(key, found, amounts.language) for key in turn.reasons),
        ahead=_ahead(turn, amounts.language),
        moisture=_moisture(found, amounts),
        ready=tuple(_ready(field, found, amounts)),
    )


def _reason(key: str, found: RipeResult, language: str) -> str:
    what, _, side = key.partition("-")
    walk = {STALKS: found.stalks, MOULD: found.mouldy}.get(what)
    if walk is None or side not in _SIDES:
        return say(_LACKING[key], language)
    return _walked(what, side, walk, language)


def _walked(what: str, side: str, walk: WalkReading, language: str) -> str:
    line = number_words(walk.lines[0].line_pct)
    return say(
        _WALKED[what],
        language,
        hits=walk.share.hits,
        looked=walk.share.looked,
        side=say(_SIDES[side], language, line=line),
    )


def _ahead(turn: Turn, language: str) -> str:
    """Say what puts a field before the next; of moisture it is plain from the column."""
    if turn.ahead_by not in (STALKS, MOULD):
        return ""
    return say(_AHEAD[turn.ahead_by, turn.ahead_for_sure], language)


def _moisture(found: RipeResult, amounts: Amounts) -> tuple[str, ...]:
    day = amounts.short_day(found.day)
    if found.moisture_pct is None:
        return (say("not measured", amounts.language),)
    return (f"{found.moisture_pct:.1f} %", day)


def _ready(field: FieldResult, found: RipeResult, amounts: Amounts) -> Iterator[str]:
    """Say when the grain is dry enough, and until when a label may forbid to harvest it."""
    language = amounts.language
    outlook = field.outlook
    if found.moisture_pct is not None and found.moisture_pct <= outlook.dry_to_pct:
        yield say("there when last weighed", language)
    else:
        yield from _dry(outlook.dry, amounts)
    interval = field.fungicide.pre_harvest
    if interval and interval.first_day > field.as_of:
        text = "not before {day}: pre-harvest interval of the label"
        yield say(text, language, day=amounts.short_day(interval.first_day))


def _dry(dry: DryDates | None, amounts: Amounts) -> Iterator[str]:
    language = amounts.language
    if dry is None:
        yield say("cannot be dated", language)
        return
    if dry.date is None:
        yield say("not by the end of the year in most past years", language)
    else:
        yield say("about {day}", language, day=amounts.short_day(dry.date))
    if dry.earliest and dry.latest:
        yield amounts.days(dry.earliest, dry.latest, month="MMM")
    elif dry.earliest:
        yield say("not before {day}", language, day=amounts.short_day(dry.earliest))
