"""Whose a row is: every row of a sheet, by its printed keys and the place where it was printed."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from fieldbook.check.rows import Draft
from fieldbook.check.visit import RowKey
from fieldbook.entries import VisitSlip
from fieldbook.forms.layout import SheetForm
from fieldbook.problems import Problem, problem
from fieldbook.words import Phrase, listed, phrase

_Place = tuple[str, RowKey]


def matched(
    form: SheetForm, drafts: Sequence[Draft], by_field: Mapping[str, VisitSlip]
) -> tuple[list[tuple[str, RowKey, Draft]], list[Problem]]:
    """Give each row of a sheet to its visit, and tell of those that can't be given to one."""
    printed = _printed(form, by_field)
    names = [column.name for column in form.sheet.keys]
    places = [_place(draft, *names) for draft in drafts]
    moved = _of_other_fields(drafts, places, printed)
    kept: dict[_Place, Draft] = {}
    doubled: dict[_Place, Draft] = {}
    strays: list[Problem] = []
    for at, (draft, place) in enumerate(zip(drafts, places, strict=True)):
        if at in moved:
            strays.append(_of_other_field(draft, moved[at]))
            kept[moved[at]] = replace(_emptied(draft), is_aside=True)
            continue
        if place is None or place not in printed:
            if draft.is_filled:
                strays.append(_stray("row-unknown", draft))
            continue
        if not draft.is_filled and place in kept:
            continue
        if place in kept and kept[place].is_filled:
            first = kept[place].number
            doubled[place] = draft
            strays.append(_stray("row-doubled", draft, first=first))
            continue
        kept[place] = draft
    emptied = {
        place: _emptied(draft) if place in doubled else draft for place, draft in kept.items()
    }
    return [(*place, draft) for place, draft in emptied.items()], strays


def _printed(form: SheetForm, by_field: Mapping[str, VisitSlip]) -> dict[_Place, int]:
    """Return the rows that a sheet was printed with, each with its place from the top."""
    rows = (
        (field_id, row)
        for field_id, slip in by_field.items()
        for row in form.sheet.planned_rows(slip.rows)
    )
    return {place: at for at, place in enumerate(rows)}


def _of_other_fields(
    drafts: Sequence[Draft], places: Sequence[_Place | None], printed: Mapping[_Place, int]
) -> dict[int, _Place]:
    """Find filled rows that bear another field than was printed there; with what was printed.

    Such a row leaves a hole where it stands and doubles a row that is there as well. Rows that
    were only sorted do neither, and in a sheet with rows added or gone no place is sure.
    """
    if len(drafts) != len(printed) or places == list(printed):
        return {}
    seen = Counter(places)
    return {
        at: place
        for (place, at), found, draft in zip(printed.items(), places, drafts, strict=True)
        if found is not None
        and found in printed
        and found[0] != place[0]
        and seen[found] > 1
        and place not in seen
        and draft.is_filled
    }


def _of_other_field(draft: Draft, printed: _Place) -> Problem:
    name = draft.form.sheet.keys[0].name
    params = {"typed": draft.typed(name), "printed": printed[0]}
    return problem("row-of-other-field", draft.place(name), row=row_words(draft), **params)


def _emptied(draft: Draft) -> Draft:
    """Return a row as if nothing had been typed: two filled rows of one key cancel each other."""
    keys = {key.name for key in draft.form.sheet.keys}
    cells = draft.cells.only(keys)
    values = {name: value for name, value in draft.values.items() if name in keys}
    return replace(draft, cells=cells, values=values, findings=())


def _place(draft: Draft, field: str, *counts: str) -> _Place | None:
    """Return the field and the numbers that a row bears; None where one of them can't be read."""
    values = draft.values
    field_id, numbers = values[field], tuple([values[name] for name in counts])
    if field_id is None or not all(isinstance(number, int) for number in numbers):
        return None
    return str(field_id), numbers


def _stray(code: str, draft: Draft, **params: int) -> Problem:
    row = row_words(draft)
    return problem(code, draft.place(), row=row, **params)


def row_words(draft: Draft) -> Phrase:
    """Name a row by its printed keys, for example "Field D14, Stop 2, Ear 3"."""
    return listed(
        [
            phrase("{name} {value}", name=phrase(key.label), value=draft.typed(key.name) or "?")
            for key in draft.form.sheet.keys
        ]
    )
