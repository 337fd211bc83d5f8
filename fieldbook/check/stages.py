"""Checks of the stage: with its round, its silks and tassels, the heat so far, other visits."""

import math
from collections.abc import Iterable, Iterator
from datetime import date

from fieldbook.check.context import Context
from fieldbook.check.heat import stage_and_heat
from fieldbook.check.history import PastVisit
from fieldbook.check.rows import Finding
from fieldbook.check.visit import Located, VisitCheck, VisitDraft, at_head, visit_date
from fieldbook.forms.fields import PLANTS_LOOKED_AT
from fieldbook.forms.stages import stage_rank
from fieldbook.problems import Param, problem
from fieldbook.words import phrase

# Half of the plants make R1. So near to a half a scout may see it either way (assumed), and
# chance alone takes a count of n plants three standard errors of sqrt(0.25 / n) away.
_HALF, _EITHER_WAY, _CHANCE = 0.5, 0.2, 3 * 0.5


def flowers_and_stage(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a stage that silks or tassels do not go with; one wrong stage is told once."""
    told = [*_silks_and_stage(visit)]
    yield from told or _tassels_and_stage(visit)


def _silks_and_stage(visit: VisitDraft) -> Iterator[Located]:
    """Find a stage before silking where most plants have silks, or the other way round."""
    head, stage = visit.head, visit.stage
    counts = [
        d.values["silked"]
        for d in (*visit.drafts("stops"), *visit.drafts("fields"))
        if d.stands("silked")
    ]
    if head is None or stage is None or not counts:
        return
    plants = PLANTS_LOOKED_AT * len(counts)
    share = sum(counts) / plants
    off = _HALF - share if stage_rank(stage) >= stage_rank("R1") else share - _HALF
    if off > max(_EITHER_WAY, _CHANCE / math.sqrt(plants)):
        params = {"share": round(100 * share), "plants": plants}
        found = problem("silks-against-stage", head.place("stage"), stage=stage, **params)
        yield at_head(Finding(problem=found, marks=("stage",)))


def _tassels_and_stage(visit: VisitDraft) -> Iterator[Located]:
    """Find tassels that do not go with the stage: none open after silking, spent before it.

    Where most stops say so the stage is in doubt, else those stops are.
    """
    head, stage = visit.head, visit.stage
    if head is None or stage is None:
        return
    against = "not-yet" if stage_rank(stage) > stage_rank("R1") else "finished"
    read = {k: d for k, d in visit.rows.get("stops", {}).items() if d.has("tassel")}
    odd = {k: d for k, d in read.items() if d.values["tassel"] == against}
    if stage == "R1" or not odd:
        return
    code, typed = "tassel-against-stage", next(iter(odd.values())).typed("tassel")
    if 2 * len(odd) > len(read):
        found = problem(code, head.place("stage"), typed=typed, stage=stage)
        yield at_head(Finding(problem=found, marks=("stage",)))
        return
    for key, draft in odd.items():
        found = problem(code, draft.place("tassel"), typed=typed, stage=stage)
        yield "stops", key, Finding(problem=found, marks=("tassel",))


def stage_in_doubt(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find what speaks hardest against a stage; one wrong stage is told once.

    A mild question never hides a hard one, whose answer would then be the mild one's. So other
    visits come first, then kernels that were counted before milk, the heat so far, and last a
    stage that only its round is not for. Silent where silks or tassels put the stage in doubt; a
    date in doubt is held against nothing.
    """
    found = [*visit_date(visit, context), *flowers_and_stage(visit, context)]
    if _marks(found, "stage"):
        return
    if _marks(found, "visit_date"):
        yield from _first((kernels_too_early, stage_and_round), visit, context)
        return
    exchanged = [one for one in stage_and_heat(visit, context) if _marks([one], "visit_date")]
    gravest_first = (stage_backwards, kernels_too_early, stage_and_heat, stage_and_round)
    yield from exchanged or _first(gravest_first, visit, context)


def _marks(found: Iterable[Located], column: str) -> bool:
    return any(column in finding.marks for _, _, finding in found)


def _first(checks: Iterable[VisitCheck], visit: VisitDraft, context: Context) -> list[Located]:
    """Return what the first check finds that finds anything."""
    told = ([*check(visit, context)] for check in checks)
    return next(filter(None, told), [])


def kernels_too_early(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find kernels that were counted before milk, in a round that begins with it."""
    head, stage = visit.head, visit.stage
    if head is None or stage is None or stage_rank(stage) >= stage_rank(visit.round_.stages[0]):
        return
    if any(draft.has("kernels_set") for draft in visit.drafts("ears")):
        found = problem("stage-too-early", head.place("stage"), stage=stage)
        yield at_head(Finding(problem=found, marks=("stage",)))


def stage_and_round(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a stage that the round is not for."""
    head, stages, stage = visit.head, visit.round_.stages, visit.stage
    if head is None or stage is None or stage in stages:
        return
    words: dict[str, Param] = {
        "round": phrase(visit.round_.label),
        "first": stages[0],
        "last": stages[-1],
    }
    found = problem("stage-outside-round", head.place("stage"), stage=stage, **words)
    yield at_head(Finding(problem=found, marks=("stage",)))


def stage_backwards(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a stage that is earlier than one seen before, or later than one seen after.

    Books may come in any order, so a later visit may be known already. Where that one's stage
    was asked about and confirmed, it is not asked again from this side.
    """
    head, stage, day = visit.head, visit.stage, visit.day
    if head is None or stage is None or day is None:
        return
    for seen in context.seen(visit.slip):
        if not _backwards(stage, day, seen):
            continue
        code = "stage-backwards" if seen.day <= day else "stage-ahead-of-later"
        words = {"stage": stage, "typed": day.isoformat()}
        others = {"before": seen.stage or "", "before_date": seen.day.isoformat()}
        found = problem(code, head.place("stage"), **words, **others)
        yield at_head(Finding(problem=found, marks=("stage",)))
        return


def _backwards(stage: str, day: date, seen: PastVisit) -> bool:
    """Say whether the earlier of two visits saw the later stage; on one day nothing is earlier."""
    if seen.stage is None:
        return False
    ahead = stage_rank(stage) - stage_rank(seen.stage)
    if seen.day <= day:
        return ahead < 0
    return ahead > 0 and not seen.stage_confirmed


STAGE_CHECKS: tuple[VisitCheck, ...] = (flowers_and_stage, stage_in_doubt)
