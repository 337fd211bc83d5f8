"""How a book of the form before is read: what each step of a form's version changed, declared.

A book may lie in a truck for weeks, so the version before the present one is read too, and no
older one. A step says only what a reader must know. How many rows a field has need not be told:
every book carries that itself. A unit or a meaning that changes is no step: such a column gets a
new name.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from fieldbook.forms.layout import SheetForm
from fieldbook.forms.rounds import HARVEST, KERNEL_COUNT, ROUNDS, Round
from fieldbook.problems import Problem, problem
from fieldbook.words import Phrase, listed, phrase


@dataclass(frozen=True, kw_only=True)
class Former:
    """What a column was called in the form before: its key and its header."""

    name: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Step:
    """What changed from one form version of a round to the next, by sheet and column of now.

    Sheets and columns that were added count as not looked at. ``choices`` gives the choice's key
    of now for each label, or key, that it had before.
    """

    round: str
    since: int
    sheets_added: tuple[str, ...] = ()
    columns_added: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    columns_renamed: Mapping[tuple[str, str], Former] = field(default_factory=dict)
    choices: Mapping[tuple[str, str], Mapping[str, str]] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class ReadForm:
    """How a book is to be read: its sheets, the step that leads to now, and what to tell."""

    sheets: tuple[SheetForm, ...]
    step: Step | None = None
    notes: tuple[Problem, ...] = ()


STEPS: tuple[Step, ...] = (
    Step(
        round=KERNEL_COUNT.name,
        since=1,
        sheets_added=("leaves", "photos"),
        columns_added={"fields": ("milk_line",), "stops": ("lowest_green_leaf",)},
    ),
    Step(
        round=HARVEST.name,
        since=1,
        columns_renamed={("harvest", "wet_bu"): Former(name="wet_bu", label="Wet bushels")},
    ),
)


def form_to_read(round_name: str, version: int, *, full: bool) -> ReadForm | Problem:
    """Say how a book of a form version is read; a problem with the way out where it can't be."""
    round_ = ROUNDS.get(round_name)
    if round_ is None:
        return problem("book-unknown-form", form=round_name, known=", ".join(ROUNDS))
    known = round_.form_version
    if version == known:
        return ReadForm(sheets=round_.form(full=full).sheets)
    if version > known:
        return problem("book-form-newer", form=round_name, version=version, known=known)
    steps = {one.since: one for one in STEPS if one.round == round_name}
    if version == known - 1 and version in steps:
        return _older(round_, steps[version], full=full)
    read = f"{known - 1} and {known}" if known - 1 in steps else str(known)
    return problem("book-form-too-old", form=round_name, version=version, read=read)


def _older(round_: Round, step: Step, *, full: bool) -> ReadForm:
    sheets = round_.form(full=full).sheets
    added = tuple(_added(sheets, step))
    return ReadForm(
        sheets=tuple(
            _without(one, step.columns_added.get(one.sheet.name, ()))
            for one in sheets
            if one.sheet.name not in step.sheets_added
        ),
        step=step,
        notes=(_less_asked(round_, step, added),) if added else (),
    )


def _less_asked(round_: Round, step: Step, added: tuple[Phrase, ...]) -> Problem:
    words = listed(added)
    return problem("book-form-older", form=round_.name, version=step.since, added=words)


def _without(form: SheetForm, added: tuple[str, ...]) -> SheetForm:
    return SheetForm(
        sheet=form.sheet, names=tuple(name for name in form.names if name not in added)
    )


def _added(sheets: tuple[SheetForm, ...], step: Step) -> Iterator[Phrase]:
    """Name what the book could not ask, for a person."""
    for form in sheets:
        sheet = form.sheet
        if sheet.name in step.sheets_added:
            yield phrase(sheet.label)
        for name in step.columns_added.get(sheet.name, ()):
            if name in form.names:
                column = phrase(sheet.column(name).label)
                yield phrase("{sheet} {column}", sheet=phrase(sheet.label), column=column)
