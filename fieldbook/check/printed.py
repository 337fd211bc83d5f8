"""Whose a visit is: the names printed in its book, held against the roster's field of that ID.

A field ID may come to stand at another field, as when one column of the roster is sorted alone.
The names in the book still say where the scout walked.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from fieldbook.check.roster import Field, Roster
from fieldbook.check.roster_rows import same_name
from fieldbook.problems import Param, Place, Problem, problem

_EXCHANGED, _OTHER, _NEW_GROWER, _NEW_NAME = (
    *("field-exchanged", "field-of-other-names"),
    *("field-grower-changed", "field-renamed"),
)
_MOST_NAMED = 6


class Printed(Protocol):
    """A visit with what its book was printed with: the field's ID and name, and the grower's."""

    @property
    def visit_id(self) -> str: ...  # noqa: D102
    @property
    def field_id(self) -> str: ...  # noqa: D102
    @property
    def field(self) -> str: ...  # noqa: D102
    @property
    def grower(self) -> str: ...  # noqa: D102


P = TypeVar("P", bound=Printed)


@dataclass(frozen=True, kw_only=True)
class PrintedVisit:
    """The names of one visit, without its readings."""

    visit_id: str
    field_id: str
    field: str
    grower: str


def has_other_names(visit: Printed, roster: Roster) -> bool:
    """Say whether a visit's names are in any way not those of the roster's field of its ID."""
    return _difference(visit, roster) is not None


def is_of_field(visit: Printed, roster: Roster) -> bool:
    """Say whether a visit's counts may stand for the roster's field of its ID.

    They may not where both names differ, or where they are those of another field. A field that
    the roster lacks has no names to hold them against.
    """
    return _difference(visit, roster) not in (_EXCHANGED, _OTHER)


def own_visits(visits: Iterable[P], roster: Roster) -> list[P]:
    """Return the visits whose counts may stand for the roster's fields of their IDs."""
    return [visit for visit in visits if is_of_field(visit, roster)]


def printed_problems(visits: Iterable[Printed], roster: Roster) -> Iterator[Problem]:
    """Tell where names differ, once for each field ID and the names that were printed with it."""
    groups: dict[tuple[str, str, str], list[Printed]] = {}
    for visit in visits:
        if has_other_names(visit, roster):
            key = (visit.field_id, same_name(visit.field), same_name(visit.grower))
            groups.setdefault(key, []).append(visit)
    for some in groups.values():
        yield _problem(some, roster)


def _difference(visit: Printed, roster: Roster) -> str | None:
    """Return the code of what differs; None where nothing does."""
    field = roster.fields.get(visit.field_id)
    if field is None or (visit.field, visit.grower) == (field.field, field.grower):
        return None
    is_named, is_growers = (
        _is_known_as(printed, now, field)
        for printed, now in ((visit.field, field.field), (visit.grower, field.grower))
    )
    if is_named and is_growers:
        return None
    if _others(visit, roster):
        return _EXCHANGED
    if not (is_named or is_growers):
        return _OTHER
    return _NEW_NAME if is_growers else _NEW_GROWER


def _is_known_as(printed: str, now: str, field: Field) -> bool:
    formerly = (field.formerly or "").split(";")
    return same_name(printed) in {same_name(name) for name in (now, *formerly)}


def _others(visit: Printed, roster: Roster) -> list[str]:
    """Return the other fields of the roster that have the printed names."""
    named = roster.by_names.get((same_name(visit.field), same_name(visit.grower)), ())
    return [field_id for field_id in named if field_id != visit.field_id]


def _problem(visits: Sequence[Printed], roster: Roster) -> Problem:
    first = visits[0]
    field, code = roster.fields[first.field_id], _difference(first, roster)
    assert code
    named = [visit.visit_id for visit in visits]
    params: dict[str, Param] = {
        "field_id": first.field_id,
        "visits": ", ".join((*named[:_MOST_NAMED], *(["..."] if named[_MOST_NAMED:] else []))),
        "printed": first.field,
        "printed_grower": first.grower,
        "now": field.field,
        "grower": field.grower,
    }
    if code == _EXCHANGED:
        params["other"] = ", ".join(_others(first, roster)[:_MOST_NAMED])
    return problem(code, Place(field_id=first.field_id), **params)
