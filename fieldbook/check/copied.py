"""Numbers that were not counted: rows copied down, and counts rounded to fives."""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from math import comb, prod

from fieldbook.check.context import Context
from fieldbook.check.names import printed_names
from fieldbook.check.rows import Draft, Finding
from fieldbook.check.visit import Located, RowKey, VisitCheck, VisitDraft
from fieldbook.figures import shipped_figures
from fieldbook.problems import Place, Problem, problem

_FEWEST_NUMBERS, _FEWEST_ROWS = 3, 3
_ROUND_TO = 5
Numbers = Mapping[str, float]
Run = Sequence[tuple[RowKey, Draft, Numbers]]
BookCheck = Callable[[Sequence[VisitDraft], Context], Iterator[Problem]]


def copied_rows(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find ears in a row with all the same numbers, more of them than chance would bring.

    Asked once for each run, at its first copy. Only rows of counted ears: shaken silks come in
    fives and stands of plants are alike, so that equal rows of these say nothing.
    """
    runs = [*_runs(visit)]
    rows = sum(map(len, runs))
    for run in runs:
        if len(run) < _FEWEST_ROWS or rows * _chance(run, runs) > _copied_chance():
            continue
        key, draft, numbers = run[1]
        params = {"count": len(run), "numbers": len(numbers)}
        found = problem("rows-copied", draft.place("kernels_set"), **params)
        yield "ears", key, Finding(problem=found, marks=tuple(numbers))


def _copied_chance() -> float:
    return shipped_figures().number("checks.copied_chance")


def _runs(visit: VisitDraft) -> Iterator[Run]:
    """Gather the counted ears, in their printed order, into runs of equal numbers."""
    rows = (
        (key, draft, _numbers(draft)) for key, draft in sorted(visit.rows.get("ears", {}).items())
    )
    counted = [row for row in rows if "kernels_set" in row[2] and len(row[2]) >= _FEWEST_NUMBERS]
    for _, run in groupby(counted, key=lambda row: row[2]):
        yield [*run]


def _numbers(draft: Draft) -> Numbers:
    read = ((name, draft.values.get(name)) for name in draft.form.numbers)
    return {name: value for name, value in read if value is not None}


def _chance(run: Run, runs: Iterable[Run]) -> float:
    """Return the chance that every row after the first has its numbers (derived).

    A column's chance is that of two rows of this visit to agree in it, each run counted once.
    """
    kept = [one[0][2] for one in runs]
    return prod(_agree([row.get(name) for row in kept]) for name in run[0][2]) ** (len(run) - 1)


def _agree(values: Iterable[float | None]) -> float:
    """Return the share of pairs that agree; not under a floor, and assumed for few values."""
    known = [value for value in values if value is not None]
    least, assumed = shipped_figures().numbers("checks.copied_agree")
    if len(known) < shipped_figures().number("checks.outlier_least_ears"):
        return assumed
    pairs = sum(comb(count, 2) for count in Counter(known).values())
    return max(least, pairs / comb(len(known), 2))


def rounded_counts(visits: Sequence[VisitDraft], context: Context) -> Iterator[Problem]:
    """Find a book whose kernel counts end in 0 or 5 far more often than counted ones do."""
    drafts = [draft for visit in visits for draft in visit.drafts("ears")]
    counted = [draft for draft in drafts if draft.stands("kernels_set")]
    counts = [draft.values["kernels_set"] for draft in counted]
    figures = shipped_figures()
    if len(counts) < figures.number("checks.digits_least_ears"):
        return
    rounded = sum(count % _ROUND_TO == 0 for count in counts)
    share = figures.number("checks.digits_usual_share")
    if _chance_of(rounded, len(counts), share) < figures.number("checks.digits_chance"):
        params = {"count": len(counts), "share": round(100 * rounded / len(counts))}
        place = Place(sheet=counted[0].title)
        yield problem("counts-rounded", place, scout=visits[0].book_scout, **params)


def _chance_of(hits: int, tries: int, share: float) -> float:
    """Return the chance of so many hits or more: the upper end of a binomial."""
    return sum(
        comb(tries, n) * share**n * (1 - share) ** (tries - n) for n in range(hits, tries + 1)
    )


COPY_CHECKS: tuple[VisitCheck, ...] = (copied_rows,)
BOOK_CHECKS: tuple[BookCheck, ...] = (rounded_counts, printed_names)
