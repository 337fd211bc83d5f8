"""What a fault in the roster costs: one cell, or the whole field.

A cell that a field can do without is left out alone. What it needs, what says whether it is field
corn at all, and what keeps people safe must be right: a spray that is not known is worse than a
field that is not there.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from fieldbook.check.cells import typed_text
from fieldbook.check.roster_rows import NEEDED
from fieldbook.check.rows import Draft, Finding
from fieldbook.forms.roster import OTHER_CORN, ROSTER_FORM
from fieldbook.problems import Param, Place, Problem, Weight, problem
from fieldbook.schema import Kind
from fieldbook.words import Phrase, listed, phrase

# A name must fit into the identity of a book, beside the ID of its visit.
LONGEST_NAME = 100
SAFETY = ("sprayed_on", "product", "reentry_ends", "pre_harvest_days")
_KEEP_OUT = frozenset((*NEEDED, *SAFETY, "use"))
# Nobody recounts a roster: the same faults in words that fit it.
_ROSTER_CODES = {"out-of-range": "roster-impossible", "unusual": "roster-rare"}
# What a cell says of itself and the roster says better, or does not care about.
_TOLD_BETTER = ("part-missing", "text-cut")
# Nobody can tell which of the two is wrong.
_BOTH = {"silk-after-ripe": ("silk_gdd_f", "black_layer_gdd_f")}
_OTHER_CORN_CODE = "roster-other-corn"


@dataclass(frozen=True, kw_only=True)
class JudgedRow:
    """A row without the cells that can't be used, all that is told of it, and what that costs.

    ``unused`` are the columns of these cells; ``keeping_out`` the problems for which the row can't
    be used at all.
    """

    draft: Draft
    problems: tuple[Problem, ...]
    keeping_out: tuple[Problem, ...]
    unused: tuple[str, ...]

    @property
    def is_usable(self) -> bool:
        """Say whether the row may stand for a field."""
        return not self.keeping_out

    @property
    def is_unsafe(self) -> bool:
        """Say whether nobody knows what the row says of a spray."""
        return any(found.place.column in SAFETY for found in self.keeping_out)

    @property
    def field_id(self) -> str | None:
        """The ID of the row's field, where it can be read."""
        typed = self.draft.values.get("field_id")
        return None if typed is None else str(typed)


def judged_row(draft: Draft) -> JudgedRow:
    """Say of a row what is wrong with it, and take out the cells that can't be used."""
    faults = [*_cell_faults(draft), *_row_faults(draft)]
    errors = [found for found in faults if found.problem.weight is Weight.ERROR]
    keeping_out = tuple(found.problem for found in errors if _KEEP_OUT.intersection(found.marks))
    unused = {} if keeping_out else dict.fromkeys(name for one in errors for name in one.marks)
    return JudgedRow(
        draft=replace(draft, values={**draft.values, **unused}),
        problems=tuple(found.problem for found in faults),
        keeping_out=keeping_out,
        unused=tuple(unused),
    )


def _cell_faults(draft: Draft) -> Iterator[Finding]:
    for finding in draft.findings:
        code = finding.problem.code
        if code not in _TOLD_BETTER:
            found = replace(finding.problem, code=_ROSTER_CODES.get(code, code))
            yield Finding(problem=found, marks=_BOTH.get(code, finding.marks))


def _row_faults(draft: Draft) -> Iterator[Finding]:
    for name in NEEDED:
        if draft.values.get(name) is None and not draft.is_faulty(name):
            column = phrase(ROSTER_FORM.sheet.column(name).label)
            found = problem("roster-needs", draft.place(name), column=column)
            yield Finding(problem=found, marks=(name,))
    yield from _too_long(draft)
    use = draft.values.get("use")
    if use in OTHER_CORN:
        name = str(draft.values.get("field") or draft.values.get("field_id") or "This field")
        label = phrase(ROSTER_FORM.sheet.column("use").choice_label(str(use)))
        found = problem(_OTHER_CORN_CODE, draft.place("use"), field=name, use=label)
        yield Finding(problem=found, marks=("use",))


def _too_long(draft: Draft) -> Iterator[Finding]:
    for column in ROSTER_FORM.entries:
        length = len(str(draft.values.get(column.name) or ""))
        if column.kind is Kind.TEXT and length > LONGEST_NAME:
            words: dict[str, Param] = {"column": phrase(column.label), "count": length}
            place = draft.place(column.name)
            found = problem("roster-long", place, most=LONGEST_NAME, **words)
            yield Finding(problem=found, marks=(column.name,))


def left_out(rows: Sequence[JudgedRow], differing: Iterable[Problem] = ()) -> Iterator[Problem]:
    """Say that a field is left out, and which cells have to be mended.

    Nothing is said of what is no field corn, which has been told to stay out, nor of a row that
    names no field.
    """
    first = rows[0].draft
    name = first.values.get("field_id") or first.values.get("field")
    faults = [*(found for row in rows for found in row.keeping_out), *differing]
    if name and any(found.code != _OTHER_CORN_CODE for found in faults):
        cells = listed(dict.fromkeys(_cell(found.place) for found in faults))
        place = replace(first.place("field_id"), field_id=rows[0].field_id)
        yield problem("roster-left-out", place, field=typed_text(name), cells=cells)


def stands_without(rows: Iterable[JudgedRow]) -> Iterator[Problem]:
    """Say of a field that stands which of its cells are not used."""
    for row in rows:
        if row.unused:
            cells = listed(_named_cell(row.draft, name) for name in row.unused)
            field = typed_text(row.field_id)
            yield problem(
                "roster-cell-unused", row.draft.place("field_id"), field=field, cells=cells
            )


def _named_cell(draft: Draft, name: str) -> Phrase:
    label = phrase(ROSTER_FORM.sheet.column(name).label)
    return phrase("{column} ({cell})", column=label, cell=_cell(draft.place(name)))


def _cell(place: Place) -> str | Phrase:
    """Name a cell; one whose column the sheet has lost is its row."""
    cell = place.cell or ""
    is_row = cell.startswith("row ")
    return phrase("row {number}", number=cell.removeprefix("row ")) if is_row else cell
