"""What a sheet is: a record class of declared columns, and the rules of a row.

A sheet is one frozen dataclass whose fields are made by `key`, `printed`, `whole`, `number`,
`choice`, `tick`, `day` and `text`. That declaration is the only place where a column is
described; the blank book, the reader, the checks, the ledger's table and the tests are made
from it.
"""

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from itertools import product
from typing import Any

from fieldbook.rules import Rule
from fieldbook.units import COUNT, HA_PER_AC, System, Unit

_META = "column"


class Kind(StrEnum):
    """What sort of value a column holds."""

    WHOLE = "whole"
    NUMBER = "number"
    CHOICE = "choice"
    TICK = "tick"
    DAY = "day"
    TEXT = "text"


class Role(StrEnum):
    """Who fills a column: a key and a printed cell are locked, an entry is the scout's."""

    KEY = "key"
    PRINTED = "printed"
    ENTRY = "entry"


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One value of a list: stored as its key, shown as its label."""

    key: str
    label: str


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a number may be, in stored units.

    Outside ``least``..``most`` it is impossible; outside ``usual_least``..``usual_most`` it is
    rare and asked about. ``why`` says it in words a scout accepts.
    """

    least: float
    most: float
    usual_least: float | None = None
    usual_most: float | None = None
    why: str = ""


@dataclass(frozen=True, kw_only=True)
class Column:
    """One declared column.

    A ``late`` one was added when rosters were kept already: that one lacks it is no question.
    """

    name: str
    kind: Kind
    role: Role
    label: str
    help: str = ""
    unit: Unit = COUNT
    limits: Limits | None = None
    choices: tuple[Choice, ...] = ()
    picks: tuple[float, ...] = ()
    width: int = 10
    needed: bool = False
    per_area: bool = False
    late: bool = False

    @property
    def is_number(self) -> bool:
        """Say whether the column holds numbers."""
        return self.kind in (Kind.WHOLE, Kind.NUMBER)

    def limits_in(self, system: System) -> Limits | None:
        """Return the limits as they hold in a book of a unit system, in stored units.

        A count on the printed length of row is a count on 1/1000 ac, or on 1/1000 ha in metric.
        """
        limits = self.limits
        if limits is None or not self.per_area or system is System.US:
            return limits

        def scaled(limit: float) -> float:
            return float(round(limit / HA_PER_AC))

        return replace(
            limits,
            least=scaled(limits.least),
            most=scaled(limits.most),
            usual_least=None if limits.usual_least is None else scaled(limits.usual_least),
            usual_most=None if limits.usual_most is None else scaled(limits.usual_most),
        )

    def choice_label(self, key: str) -> str:
        """Return the English label of a stored choice."""
        return next(choice.label for choice in self.choices if choice.key == key)


def _declare(kind: Kind, role: Role, label: str, **more: Any) -> Any:
    made = {"kind": kind, "role": role, "label": label, **more}
    default = dataclasses.MISSING if role is Role.KEY else None
    return dataclasses.field(default=default, metadata={_META: made})


def key(label: str, *, kind: Kind = Kind.TEXT, **more: Any) -> Any:
    """Declare a locked column that is part of the row's key."""
    return _declare(kind, Role.KEY, label, **more)


def printed(label: str, *, kind: Kind = Kind.TEXT, **more: Any) -> Any:
    """Declare a locked column that the tool fills for the scout to read."""
    return _declare(kind, Role.PRINTED, label, **more)


def whole(label: str, **more: Any) -> Any:
    """Declare an entry column of whole numbers."""
    return _declare(Kind.WHOLE, Role.ENTRY, label, **more)


def number(label: str, **more: Any) -> Any:
    """Declare an entry column of numbers."""
    return _declare(Kind.NUMBER, Role.ENTRY, label, **more)


def choice(label: str, choices: tuple[Choice, ...], **more: Any) -> Any:
    """Declare an entry column with a list of values."""
    return _declare(Kind.CHOICE, Role.ENTRY, label, choices=choices, **more)


def tick(label: str, **more: Any) -> Any:
    """Declare an entry column that is ticked or left empty."""
    return _declare(Kind.TICK, Role.ENTRY, label, choices=(YES,), **more)


def day(label: str, **more: Any) -> Any:
    """Declare an entry column of dates."""
    return _declare(Kind.DAY, Role.ENTRY, label, **more)


def text(label: str, **more: Any) -> Any:
    """Declare an entry column of free text."""
    return _declare(Kind.TEXT, Role.ENTRY, label, **more)


YES = Choice(key="yes", label="Yes")


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet of a book: its record class and the rules that hold in one row.

    ``pictures`` says that the scout may place a picture in each row, which is tall enough for it.
    """

    name: str
    label: str
    hint: str
    record: type[Any]
    rules: tuple[Rule, ...] = ()
    pictures: bool = False

    @cached_property
    def columns(self) -> tuple[Column, ...]:
        """All declared columns, in the order of the record class."""
        return tuple(
            Column(name=field.name, **field.metadata[_META])
            for field in dataclasses.fields(self.record)
        )

    @cached_property
    def _by_name(self) -> dict[str, Column]:
        return {column.name: column for column in self.columns}

    def column(self, name: str) -> Column:
        """Return one column; KeyError for a name that is not declared."""
        return self._by_name[name]

    def has(self, name: str) -> bool:
        """Say whether the sheet declares a column of this name."""
        return name in self._by_name

    @cached_property
    def keys(self) -> tuple[Column, ...]:
        """The columns that together name a row."""
        return tuple(column for column in self.columns if column.role is Role.KEY)

    def planned_rows(self, rows: Mapping[str, int]) -> Iterator[tuple[int, ...]]:
        """Return the numbers of every row that a field has on this sheet, in book order.

        `rows` says how many there are of each numbered key, for example 5 stops and 3 ears each.
        """
        return product(*(range(1, rows.get(key.name, 0) + 1) for key in self.keys[1:]))

    @cached_property
    def entries(self) -> tuple[Column, ...]:
        """The columns that the scout fills."""
        return tuple(column for column in self.columns if column.role is Role.ENTRY)
