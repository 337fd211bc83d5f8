"""The roster as typed records: growers' fields with their plantings."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from fieldbook.agronomy.stages import Needs, hybrid_needs
from fieldbook.check.cells import typed_text
from fieldbook.check.roster_faults import (
    SAFETY,
    JudgedRow,
    judged_row,
    left_out,
    stands_without,
)
from fieldbook.check.roster_places import far_fields
from fieldbook.check.roster_rows import (
    TRIAL,
    grower_names,
    part_problems,
    row_differences,
    same_name,
    spelled_alike,
)
from fieldbook.check.rows import Draft, drafts_of
from fieldbook.entries import SheetEntries
from fieldbook.figures import Figures
from fieldbook.forms.leaves import GRAY_LEAF_SPOT, NORTHERN_BLIGHT
from fieldbook.forms.roster import FROM_EMERGENCE, ROSTER_FORM
from fieldbook.problems import Problem, problem
from fieldbook.units import System


@dataclass(frozen=True, kw_only=True)
class Planting:
    """One hybrid and planting date on part of a field; ``ratings`` are the hybrid's by disease."""

    planted: date
    acres: float
    hybrid: str | None
    relative_maturity: float | None
    silk_gdd_f: float | None
    black_layer_gdd_f: float | None
    from_emergence: bool
    ratings: Mapping[str, str | None]

    def needs(self, figures: Figures) -> Needs | None:
        """Return the heat that the hybrid needs; None where the roster tells nothing of it."""
        try:
            return hybrid_needs(
                silk_gdd_f=self.silk_gdd_f,
                black_layer_gdd_f=self.black_layer_gdd_f,
                relative_maturity=self.relative_maturity,
                basis=FROM_EMERGENCE if self.from_emergence else "planting",
                figures=figures,
            )
        except ValueError:
            return None


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field of a grower."""

    field_id: str
    field: str
    grower_id: str
    grower: str
    acres: float
    row_width_in: float
    plantings: tuple[Planting, ...]
    latitude: float | None
    longitude: float | None
    scout: str | None
    station: str | None
    own_average_bu_ac: float | None
    sprayed_on: date | None
    product: str | None
    reentry_ends: date | None
    pre_harvest_days: int | None
    stops_wanted: int | None
    use: str | None
    previous_crop: str | None
    residue_pct: float | None
    disease_history: str | None
    trial: str | None = None
    treatment: str | None = None
    block: str | None = None
    formerly: str | None = None

    @property
    def main_planting(self) -> Planting:
        """The planting on most of the acres; the first of equals."""
        return max(self.plantings, key=lambda planting: planting.acres)


@dataclass(frozen=True, kw_only=True)
class Roster:
    """All fields of a season, by their id, in the order of the roster.

    ``left_out`` are the ids of fields that stand there with a fault for which they can't be used.
    """

    fields: Mapping[str, Field]
    left_out: frozenset[str] = frozenset()

    def names(self, field_id: str) -> bool:
        """Say whether a field stands in the roster, be it left out for a fault."""
        return field_id in self.fields or field_id in self.left_out

    @cached_property
    def by_names(self) -> Mapping[tuple[str, str], list[str]]:
        """The IDs of the fields by their own and their grower's name, as `same_name` has them."""
        found: dict[tuple[str, str], list[str]] = {}
        for field in self.fields.values():
            key = (same_name(field.field), same_name(field.grower))
            found.setdefault(key, []).append(field.field_id)
        return found


def check_roster(
    sheet: SheetEntries, file: str, units: System, language: str
) -> tuple[Roster, tuple[Problem, ...]]:
    """Turn a roster sheet into fields.

    A cell with an error is left out, or its whole field, as `roster_faults` says; the others stand.
    """
    tidy = (_tidy(draft) for draft in drafts_of(ROSTER_FORM, sheet, units, language))
    drafts = list(spelled_alike(tidy))
    rows = [judged_row(draft) for draft in drafts]
    problems = [found for row in rows for found in row.problems]
    groups = _groups(rows)
    fields: dict[str, Field] = {}
    for field_id, group in groups.items():
        field, more = _made(field_id, group)
        problems += more
        if field:
            fields[field_id] = field
    for row in rows:
        if row.field_id is None:
            problems += left_out([row])
    problems += grower_names(drafts)
    problems += far_fields((_standing(groups[field_id])[0].draft for field_id in fields), units)
    if not fields:
        problems.append(problem("roster-empty"))
    roster = Roster(fields=fields, left_out=frozenset(groups.keys() - fields.keys()))
    return roster, tuple(found.in_file(file) for found in problems)


def _tidy(draft: Draft) -> Draft:
    """Return a row whose names stand on one line: they name files, sheets and pages."""
    values = {
        name: " ".join(value.split()) if isinstance(value, str) else value
        for name, value in draft.values.items()
    }
    return replace(draft, values=values)


def _groups(rows: Iterable[JudgedRow]) -> dict[str, list[JudgedRow]]:
    """Gather the rows of each field; a row with an error still says whose ID it has."""
    groups: dict[str, list[JudgedRow]] = {}
    for row in rows:
        if row.field_id is not None:
            groups.setdefault(row.field_id, []).append(row)
    return groups


def _standing(group: Iterable[JudgedRow]) -> list[JudgedRow]:
    """Return the rows of a field that can be used."""
    return [row for row in group if row.is_usable]


def _made(field_id: str, group: Sequence[JudgedRow]) -> tuple[Field | None, list[Problem]]:
    """Make the field of its usable rows; what is said of a spray must be right in all of them."""
    drafts = [row.draft for row in group]
    whole = _standing(group)
    differing = list(row_differences(field_id, drafts))
    if not whole or differing or any(row.is_unsafe for row in group):
        return None, [*differing, *left_out(group, differing)]
    usable = [row.draft for row in whole]
    told = (*part_problems(field_id, drafts, usable), *stands_without(whole))
    return _field(field_id, usable), list(told)


def _field(field_id: str, group: list[Draft]) -> Field:
    first: Mapping[str, Any] = group[0].values
    plantings = tuple(_planting(draft.values) for draft in group)
    return Field(
        field_id=field_id,
        field=first["field"],
        grower_id=typed_text(first["grower_id"]),
        grower=first["grower"],
        acres=sum(planting.acres for planting in plantings),
        row_width_in=first["row_width_in"],
        plantings=plantings,
        latitude=first.get("latitude"),
        longitude=first.get("longitude"),
        scout=first.get("scout"),
        station=first.get("station"),
        own_average_bu_ac=first.get("own_average_bu_ac"),
        **_spray([draft.values for draft in group]),
        stops_wanted=first.get("stops_wanted"),
        use=first.get("use"),
        previous_crop=first.get("previous_crop"),
        residue_pct=first.get("residue_pct"),
        disease_history=first.get("disease_history"),
        **_strip(first),
        formerly=_formerly(group),
    )


def _strip(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: _name(row.get(name)) for name in TRIAL}


def _spray(rows: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """Return the last spray that any row of a field tells of; people walk the whole field.

    They wait for the last day that any row names.
    """
    last = max(rows, key=lambda row: row.get("sprayed_on") or date.min)
    ends = [row["reentry_ends"] for row in rows if row.get("reentry_ends")]
    return {name: last.get(name) for name in SAFETY} | {"reentry_ends": max(ends, default=None)}


def _formerly(group: Iterable[Draft]) -> str | None:
    named = (draft.values.get("formerly") for draft in group)
    return ";".join(dict.fromkeys(typed_text(name) for name in named if name is not None)) or None


def _name(typed: object) -> str | None:
    """Return a name as people compare it: a number or odd spaces make no other name."""
    return " ".join(str(typed).split()) if typed is not None else None


def _planting(values: Mapping[str, Any]) -> Planting:
    return Planting(
        planted=values["planted"],
        acres=values["acres"],
        hybrid=values.get("hybrid"),
        relative_maturity=values.get("relative_maturity"),
        silk_gdd_f=values.get("silk_gdd_f"),
        black_layer_gdd_f=values.get("black_layer_gdd_f"),
        from_emergence=values.get("gdd_from") == FROM_EMERGENCE,
        ratings={
            GRAY_LEAF_SPOT: values.get("gray_leaf_spot_rating"),
            NORTHERN_BLIGHT: values.get("northern_blight_rating"),
        },
    )
