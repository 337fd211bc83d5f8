"""One kind of typing mistake, and the rows that it can be made in."""

from collections.abc import Iterator
from dataclasses import dataclass

from fieldbook.forms.rounds import Form, Round
from fieldbook.problems import Weight, weight_of
from fieldbook.rules import Values
from fieldbook.workbook.plan import EntryValue


@dataclass(frozen=True, kw_only=True, eq=False)
class Mistake:
    """One kind of mistake.

    ``to`` are the cells as typed, None for one left out; ``code`` must be found at column ``at``.
    It can be made in rows where the columns ``filled`` hold something and ``empty`` nothing;
    ``again`` are columns that repeat what the field's first row has; ``rounds`` names the rounds
    and ``fields`` the fields it makes sense in, all if empty. ``down`` is how many rows below get
    the same cells; what must be found is then at the first of these.
    """

    name: str
    code: str
    sheet: str
    at: str
    to: Values
    filled: tuple[str, ...] = ()
    empty: tuple[str, ...] = ()
    again: tuple[str, ...] = ()
    rounds: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()
    down: int = 0

    def fits(self, round_: Round, form: Form) -> bool:
        """Say whether a form has what the mistake needs."""
        named = not self.rounds or round_.name in self.rounds
        return named and form.has(self.sheet, self.at, *self.to, *self.filled)

    def fits_row(self, row: Values) -> bool:
        """Say whether a filled row can be spoiled this way."""
        is_filled = all(row.get(name) is not None for name in (*self.filled, *self._left_out))
        return bool(row) and is_filled and all(row.get(name) is None for name in self._empty)

    @property
    def _empty(self) -> tuple[str, ...]:
        """A row that says "Yes, it is true" already would confirm this one as well."""
        return (*self.empty, "answer") if weight_of(self.code) is Weight.ASK else self.empty

    @property
    def _left_out(self) -> Iterator[str]:
        return (name for name, value in self.to.items() if value is None and name not in self.empty)


def typed(name: str, code: str, place: str, value: EntryValue | None, **more: object) -> Mistake:
    """Make a mistake in one cell, named "sheet.column"."""
    sheet, column = place.split(".")
    return Mistake(
        name=name,
        code=code,
        sheet=sheet,
        at=column,
        to={column: value},
        **more,  # type: ignore[arg-type]
    )
