"""One field on the board in words: where it stands, its ears, what to watch."""

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import quote

from fieldbook.agronomy.wilson import ABOVE
from fieldbook.agronomy.windows import NO_SIGNAL, RAISED, SOME
from fieldbook.forms.stages import STAGE_ORDER, stage_rank
from fieldbook.report.amounts import Amounts
from fieldbook.report.cutwords import cut_on
from fieldbook.report.duewords import BoardField, Cell, due_cell, windows_cell
from fieldbook.report.field_sections import ASKED
from fieldbook.report.mouldlook import mould_look
from fieldbook.report.sections import address
from fieldbook.report.stagewords import last_seen, next_stage, span_words
from fieldbook.report.words import of_ten, stage_words
from fieldbook.results.due import mould_looked_on, mould_reason
from fieldbook.results.harvest import HarvestResult
from fieldbook.results.result import FieldResult, StageResult, VisitResult
from fieldbook.words import say

_MOULDY, _RAISED, _SOME, _UNKNOWN, _NONE = range(5)
_WATCHES = {
    RAISED: (_RAISED, "Gibberella: raised"),
    SOME: (_SOME, "Gibberella: some signal"),
    NO_SIGNAL: (_NONE, "Gibberella: no signal"),
}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One field in words.

    ``link`` is the address of its report and ``questions_link`` that of its open questions.
    ``round_`` is the key of the round due next, ``when`` how near its window is: one of ``over``,
    ``open``, ``soon``, ``later``, ``undated``, ``done``.
    """

    field: str
    ground: str
    link: str
    grower: str
    scout: str
    stage: Cell
    due: Cell
    round_: str
    when: str
    windows: Cell
    kernel_set: Cell
    yield_: Cell
    mould: Cell
    questions: int
    questions_link: str


def board_row(one: BoardField, amounts: Amounts) -> Row:
    """Put one field into words."""
    field, link = one.result, quote(one.report)
    due, when = due_cell(one, amounts)
    return Row(
        field=field.field,
        ground=f"{field.field_id}, {amounts.area(field.acres)}",
        link=link,
        grower=field.grower,
        scout=one.scout or _last_scout(field, amounts.language),
        stage=stage_cell(field, amounts),
        due=due,
        round_=one.rounds.windows[0].round if one.rounds.windows else "",
        when=when,
        windows=windows_cell(one, amounts),
        kernel_set=_kernel_set(field, amounts.language),
        yield_=yield_cell(field, amounts),
        mould=_mould(field, amounts),
        questions=len(field.questions),
        questions_link=f"{link}#{quote(address(field.field_id, ASKED))}" if link else "",
    )


def _last_scout(field: FieldResult, language: str) -> str:
    return field.visits[-1].scout if field.visits else say("nobody yet", language)


# ---- stages --------------------------------------------------------------------------------


def stage_cell(field: FieldResult, amounts: Amounts) -> Cell:
    """Say the stage that was seen and when, the one reached since, and the next with its days."""
    if field.is_harvested:
        return Cell(lines=(cut_on(field, amounts),), key=len(STAGE_ORDER))
    language, seen = amounts.language, last_seen(field.visits) or _last_visit(field)
    lines = [say("not looked at yet", language)]
    if seen:
        stage = stage_words(seen.stage, language) if seen.stage else ""
        day = amounts.short_day(seen.date) if seen.date else ""
        lines = [
            stage or say("stage not read", language),
            say("seen {day}" if day else "day unknown", language, day=day),
        ]
    ranks = [stage_rank(seen.stage)] if seen and seen.stage else []
    reached = [stage.stage for stage in field.stages if stage.passed]
    if reached and stage_rank(reached[-1]) > max(ranks, default=-1):
        ranks.append(stage_rank(reached[-1]))
        text = "by now likely {stage}"
        lines.append(say(text, language, stage=stage_words(reached[-1], language)))
    known = max(ranks, default=-1)
    coming = next_stage(one for one in field.stages if stage_rank(one.stage) > known)
    if coming:
        when = span_words(coming, amounts, month="MMM") or _likely_day(coming, amounts)
        stage = stage_words(coming.stage, language)
        lines.append(say("next {stage}, {when}", language, stage=stage, when=when))
    return Cell(lines=tuple(lines), key=max(ranks, default=None))


def _last_visit(field: FieldResult) -> VisitResult | None:
    """Return the last visit that read a stage on a day not known, else the last of all."""
    read = [visit for visit in field.visits if visit.stage]
    return next(reversed(read or field.visits), None)


def _likely_day(stage: StageResult, amounts: Amounts) -> str:
    if stage.date is None:
        return ""
    return say("about {day}", amounts.language, day=amounts.short_day(stage.date))


# ---- ears ----------------------------------------------------------------------------------


def _kernel_set(field: FieldResult, language: str) -> Cell:
    ears = field.ears
    if ears is None or (ears.kernel_set_pct is None and ears.kernels_per_ear is None):
        return Cell(lines=(say("not counted yet", language),), key=None)
    lines = []
    if ears.kernel_set_pct is not None:
        share = of_ten(ears.kernel_set_pct, language)
        lines.append(say("{share} filled", language, share=share))
    if ears.kernels_per_ear is not None:
        count = f"{10 * round(ears.kernels_per_ear / 10):,}"
        lines.append(say("{count} kernels an ear", language, count=count))
    return Cell(lines=tuple(lines), key=ears.kernel_set_pct)


def yield_cell(field: FieldResult, amounts: Amounts) -> Cell:
    """Say the yield as weighed, before that as counted, which never stands without its range."""
    language, found = amounts.language, field.yield_
    if field.harvest:
        return _weighed(field, field.harvest, amounts)
    if found is None:
        text = "no stop counts for a yield" if field.stops else "not counted yet"
        return Cell(lines=(say(text, language),), key=None)
    likely = amounts.yield_number(found.likely_bu_ac)
    span = f"{amounts.rough_range(found.range_bu_ac)} {amounts.yield_unit}"
    lines = [say("likely {likely}", language, likely=likely), span]
    if found.interval_95_bu_ac is None:
        lines.append(say("by kernel weight alone", language))
    if field.is_harvested:
        lines.append(say("the harvest is not settled yet", language))
    return Cell(lines=tuple(lines), key=found.likely_bu_ac)


def _weighed(field: FieldResult, cut: HarvestResult, amounts: Amounts) -> Cell:
    number = amounts.yield_number(cut.yield_bu_ac)
    text, unit = "weighed {number} {unit}", amounts.yield_unit
    lines = [say(text, amounts.language, number=number, unit=unit)]
    if field.yield_:
        span = amounts.rough_range(field.yield_.range_bu_ac)
        lines.append(say("the count had said {span}", amounts.language, span=span))
    return Cell(lines=tuple(lines), key=cut.yield_bu_ac)


def _mould(field: FieldResult, amounts: Amounts) -> Cell:
    """Say what was seen of ear mould and what the weather says to watch for."""
    said = [*_mouldy(field, amounts), *_watched(field, amounts)]
    if field.outlook.hot_and_dry:
        text = "hot, dry fill: look for olive-green powder"
        if field.is_harvested:
            text = "hot, dry fill"
        said.append((_SOME, say(text, amounts.language)))
    if said and field.is_harvested:
        said.append((_NONE, cut_on(field, amounts)))
    if not said:
        return Cell(lines=(say("not known yet", amounts.language),), key=None)
    return Cell(lines=tuple(line for _, line in said), key=min(rank for rank, _ in said))


def _mouldy(field: FieldResult, amounts: Amounts) -> Iterator[tuple[int, str]]:
    walk = field.ripe.mouldy if field.ripe else None
    if walk is None:
        return
    text = "{hits} of {looked} ears mouldy"
    if walk.share.looked == 1:
        text = "{hits} of 1 ear mouldy"
    yield (
        _MOULDY if walk.share.pct > walk.lines[0].line_pct else _SOME if walk.share.hits else _NONE,
        say(text, amounts.language, hits=walk.share.hits, looked=walk.share.looked),
    )
    if walk.lines[0].side == ABOVE:
        yield _MOULDY, say("over the line", amounts.language)


def _watched(field: FieldResult, amounts: Amounts) -> Iterator[tuple[int, str]]:
    watch, language = field.outlook.gibberella, amounts.language
    if watch is None:
        return
    rank, text = _WATCHES.get(watch.level, (_UNKNOWN, "Gibberella: cannot tell yet"))
    yield rank, say(text, language)
    again, look = mould_looked_on(field), mould_look(field)
    if again and mould_reason(field):
        yield rank, say("looked again {day}", language, day=amounts.short_day(again))
    elif look and not again and not field.is_harvested:
        text = "look about {day}"
        if look.is_late(field.as_of):
            text = "look before harvest; best was {day}"
        yield rank, say(text, language, day=amounts.short_day(look.day))
