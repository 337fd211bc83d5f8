"""Hold each ear against the others: one that lies far off the field's own, or its hybrid's."""

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass

from fieldbook.agronomy.differ import Middle
from fieldbook.check.context import Context
from fieldbook.check.counted import ears_of
from fieldbook.check.history import EarCount
from fieldbook.check.rows import Draft, Finding
from fieldbook.check.visit import Located, RowKey, VisitCheck, VisitDraft
from fieldbook.figures import shipped_figures
from fieldbook.problems import Problem, Weight, problem
from fieldbook.words import number_words, phrase

_OWN, _HYBRID = "this field's", "this hybrid's"
# Fields of one hybrid differ by soil and stand: a spread over them has twice the floor (assumed).
_FLOORS = {_OWN: 1.0, _HYBRID: 2.0}


@dataclass(frozen=True, kw_only=True)
class _Kind:
    """One kind of reading: its name, how to get it, the cell to ask at, its floor's figure.

    ``at_least`` gives it where parts may be missing from a sum, which can only be too large then.
    """

    what: str
    column: str
    floor: str
    of: Callable[[EarCount], float | None]
    at_least: Callable[[EarCount], float | None]


@dataclass(frozen=True, kw_only=True)
class _Others:
    """What an ear is held against: the middle of so many ears, and whose they are."""

    whose: str
    ears: int
    middle: Middle


_KINDS = (
    _Kind(
        what="kernels set and missing along one row",
        column="kernels_set",
        floor="checks.places_floor_sd",
        of=lambda ear: ear.places if ear.complete else None,
        at_least=lambda ear: ear.places,
    ),
    _Kind(
        what="rows around",
        column="rows_around",
        floor="checks.rows_floor_sd",
        of=lambda ear: ear.rows_around,
        at_least=lambda ear: ear.rows_around,
    ),
)


def far_ears(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find ears far off the spread of the field's own, or else of the hybrid's other fields.

    Kernels that are missing at butt or tip are true variety, so places along a row are compared
    and not the kernels that are set. One question an ear, for what lies farthest off.
    """
    ears = ears_of(visit)
    farthest: dict[RowKey, tuple[float, Problem]] = {}
    for kind in _KINDS:
        others = _others(kind, visit, ears.values(), context)
        if others is None:
            continue
        for key, score, value in _far(kind, ears, others):
            draft = visit.rows["ears"][key]
            if score > farthest.get(key, (0.0,))[0] and _is_clear(draft):
                farthest[key] = score, _problem(kind, draft, value, others)
    for key, (_, found) in farthest.items():
        yield "ears", key, Finding(problem=found, marks=(str(found.place.column),))


def _others(
    kind: _Kind, visit: VisitDraft, ears: Collection[EarCount], context: Context
) -> _Others | None:
    """Return the field's own ears, or its hybrid's where it has too few.

    None for a field with ears enough of which too few were counted in full.
    """
    fewest = shipped_figures().number("checks.outlier_least_ears")
    floor_sd = shipped_figures().number(kind.floor)
    counted = sum(kind.at_least(ear) is not None for ear in ears)
    if not counted:
        return None
    own = counted >= fewest
    whose, sample = (_OWN, ears) if own else (_HYBRID, _of_hybrid(visit, context))
    values = [value for ear in sample if (value := kind.of(ear)) is not None]
    if len(values) < fewest:
        return None
    middle = Middle.of(values, floor_sd=_FLOORS[whose] * floor_sd)
    return _Others(whose=whose, ears=len(values), middle=middle)


def _of_hybrid(visit: VisitDraft, context: Context) -> Iterator[EarCount]:
    """Yield the ears of all other fields with the same hybrid, as far as they were taken in."""
    fields = context.roster.fields
    mine = context.field_of(visit.slip)
    hybrid = mine.main_planting.hybrid if mine else None
    if hybrid is None:
        return
    for field in fields.values():
        if field is not mine and field.main_planting.hybrid == hybrid:
            for past in context.past.get(field.field_id, ()):
                yield from past.ears


def _far(
    kind: _Kind, ears: Mapping[RowKey, EarCount], others: _Others
) -> Iterator[tuple[RowKey, float, float]]:
    """Yield the ears beyond the limit: their keys, how far off they are, and their readings."""
    limit = shipped_figures().number("checks.outlier_z")
    for key, ear in ears.items():
        whole, value = kind.of(ear), kind.at_least(ear)
        if value is None:
            continue
        score = others.middle.score(value)
        if (abs(score) if whole is not None else score) > limit:
            yield key, abs(score), value


def _is_clear(draft: Draft) -> bool:
    """Say whether nothing else is asked about a row: one fault is told once."""
    return all(finding.problem.weight is Weight.NOTE for finding in draft.findings)


def _problem(kind: _Kind, draft: Draft, value: float, others: _Others) -> Problem:
    return problem(
        "ear-far-off",
        draft.place(kind.column),
        what=phrase(kind.what),
        typed=number_words(value),
        usual=number_words(round(others.middle.value, 1)),
        whose=phrase(others.whose),
        ears=others.ears,
    )


SPREAD_CHECKS: tuple[VisitCheck, ...] = (far_ears,)
