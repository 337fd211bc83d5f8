"""Rows of the roster held against one another: one field, one grower, one name."""

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from fieldbook.check.cells import typed_text
from fieldbook.check.rows import Draft
from fieldbook.forms.roster import ROSTER_FORM
from fieldbook.problems import Problem, problem
from fieldbook.words import phrase

NEEDED = tuple(column.name for column in ROSTER_FORM.entries if column.needed)
TRIAL = ("trial", "treatment", "block")
_SAME_IN_A_FIELD = ("grower_id", "grower", "field", "row_width_in", "scout", "station", *TRIAL)


def same_name(name: str) -> str:
    """Return a name as people compare it: neither case nor spaces make it another one."""
    return " ".join(unicodedata.normalize("NFC", name).casefold().split())


def spelled_alike(drafts: Iterable[Draft]) -> Iterator[Draft]:
    """Yield rows whose trials, treatments and blocks are spelled as the first row spells them.

    Strips of "Biostim" and of "biostim" have one treatment.
    """
    spelled: dict[tuple[str, str], object] = {}
    for draft in drafts:
        names = {
            name: spelled.setdefault((name, same_name(typed_text(draft.values[name]))), typed)
            for name in TRIAL
            if (typed := draft.values.get(name)) is not None
        }
        yield replace(draft, values={**draft.values, **names})


def row_differences(field_id: str, group: Sequence[Draft]) -> Iterable[Problem]:
    """Tell where rows of one field ID disagree, or tell of the same planting.

    A row with an error still says what it says; each is held against the first that does.
    """
    for other in group[1:]:
        for name in _SAME_IN_A_FIELD:
            first = next((one for one in group if not _is_unsaid(one, name)), other)
            if other.values.get(name) not in (None, first.values.get(name)):
                yield problem(
                    "roster-field-differs",
                    other.place(name),
                    field=field_id,
                    column=phrase(ROSTER_FORM.sheet.column(name).label),
                    first=first.number,
                )
    plantings: dict[tuple[object, object], int] = {}
    for draft in group:
        what = (draft.values.get("hybrid"), draft.values.get("planted"))
        if _is_unsaid(draft, "planted"):
            continue
        if what in plantings:
            place, first_row = draft.place("field_id"), plantings[what]
            yield problem("roster-row-twice", place, field=field_id, first=first_row)
        plantings.setdefault(what, draft.number)


def part_problems(
    field_id: str, group: Sequence[Draft], whole: Sequence[Draft]
) -> Iterable[Problem]:
    """Tell of a field that stands without the rows that have an error."""
    for draft in group:
        if draft.number not in {one.number for one in whole}:
            place = draft.place("field_id")
            yield problem("roster-field-part", place, field=field_id, first=whole[0].number)


def grower_names(drafts: Iterable[Draft]) -> Iterable[Problem]:
    """Tell of a grower's ID that stands with another name than before, once for each name.

    Rows of one field that differ are told as such.
    """
    known: dict[str, dict[str, Draft]] = {}
    firsts: dict[object, Draft] = {}
    for draft in drafts:
        firsts.setdefault(draft.values.get("field_id") or draft.number, draft)
    for draft in firsts.values():
        grower_id, name = (draft.values.get(part) for part in ("grower_id", "grower"))
        if grower_id is None or name is None:
            continue
        names = known.setdefault(typed_text(grower_id), {})
        if names and same_name(str(name)) not in names:
            first = next(iter(names.values()))
            yield problem(
                "roster-grower-differs",
                draft.place("grower"),
                grower_id=typed_text(grower_id),
                typed=str(name),
                named=str(first.values["grower"]),
                first=first.number,
            )
        names.setdefault(same_name(str(name)), draft)


def _is_unsaid(draft: Draft, name: str) -> bool:
    """Say whether a row's fault keeps one from knowing what it means by a column."""
    return draft.is_faulty(name) or (name in NEEDED and draft.values.get(name) is None)
