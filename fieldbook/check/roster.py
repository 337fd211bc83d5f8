"""The roster as typed records: growers' fields with their plantings."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

from fieldbook.agronomy.stages import Needs, hybrid_needs
from fieldbook.check.cells import typed_text
from fieldbook.check.roster_rows import (
    NEEDED,
    TRIAL,
    grower_names,
    part_problems,
    row_differences,
    same_name,
)
from fieldbook.check.rows import Draft, drafts_of
from fieldbook.entries import SheetEntries
from fieldbook.figures import Figures
from fieldbook.forms.leaves import GRAY_LEAF_SPOT, NORTHERN_BLIGHT
from fieldbook.forms.roster import FROM_EMERGENCE, OTHER_CORN, ROSTER_FORM
from fieldbook.problems import Param, Problem, Weight, problem
from fieldbook.schema import Kind
from fieldbook.units import System
from fieldbook.words import phrase

# Nobody recounts a roster: the same faults in words that fit it.
_ROSTER_CODES = {"out-of-range": "roster-impossible", "unusual": "roster-rare"}
# A name must fit into the identity of a book, beside the ID of its visit.
_LONGEST_NAME = 100
# What a cell says of itself and the roster says better, or does not care about.
_TOLD_BETTER = ("part-missing", "text-cut")


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
    """All fields of a season, by their id, in the order of the roster."""

    fields: Mapping[str, Field]

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
    """Turn a roster sheet into fields; a row with an error is left out, the others stand."""
    drafts = [_tidy(draft) for draft in drafts_of(ROSTER_FORM, sheet, units, language)]
    problems = [
        replace(finding.problem, code=_ROSTER_CODES.get(finding.problem.code, finding.problem.code))
        for draft in drafts
        for finding in draft.findings
        if finding.problem.code not in _TOLD_BETTER
    ]
    usable: set[int] = set()
    for draft in drafts:
        faults = list(_row_faults(draft))
        problems += faults
        if not faults and not _has_error(draft):
            usable.add(draft.number)
    fields, more = _fields(drafts, usable)
    problems += [*more, *grower_names(drafts)]
    if not fields:
        problems.append(problem("roster-empty"))
    return Roster(fields=fields), tuple(found.in_file(file) for found in problems)


def _tidy(draft: Draft) -> Draft:
    """Return a row whose names stand on one line: they name files, sheets and pages."""
    values = {
        name: " ".join(value.split()) if isinstance(value, str) else value
        for name, value in draft.values.items()
    }
    return replace(draft, values=values)


def _has_error(draft: Draft) -> bool:
    return any(finding.problem.weight is Weight.ERROR for finding in draft.findings)


def _row_faults(draft: Draft) -> Iterable[Problem]:
    for name in NEEDED:
        if draft.values.get(name) is None and not draft.is_faulty(name):
            column = ROSTER_FORM.sheet.column(name)
            yield problem("roster-needs", draft.place(name), column=phrase(column.label))
    yield from _too_long(draft)
    use = draft.values.get("use")
    if use in OTHER_CORN:
        name = str(draft.values.get("field") or draft.values.get("field_id") or "This field")
        label = ROSTER_FORM.sheet.column("use").choice_label(str(use))
        yield problem("roster-other-corn", draft.place("use"), field=name, use=phrase(label))


def _too_long(draft: Draft) -> Iterable[Problem]:
    for column in ROSTER_FORM.entries:
        length = len(str(draft.values.get(column.name) or ""))
        if column.kind is Kind.TEXT and length > _LONGEST_NAME:
            words: dict[str, Param] = {"column": phrase(column.label), "count": length}
            yield problem("roster-long", draft.place(column.name), most=_LONGEST_NAME, **words)


def _fields(
    drafts: Iterable[Draft], usable: Collection[int]
) -> tuple[dict[str, Field], list[Problem]]:
    """Make the fields of the usable rows; a row with an error still says whose ID it has."""
    groups: dict[str, list[Draft]] = {}
    for draft in drafts:
        if draft.values.get("field_id") is not None:
            groups.setdefault(str(draft.values["field_id"]), []).append(draft)
    fields: dict[str, Field] = {}
    problems: list[Problem] = []
    for field_id, group in groups.items():
        differing = list(row_differences(field_id, group))
        problems += differing
        whole = [draft for draft in group if draft.number in usable]
        if whole and not differing:
            fields[field_id] = _field(field_id, whole)
            problems += part_problems(field_id, group, whole)
    return fields, problems


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
        sprayed_on=first.get("sprayed_on"),
        product=first.get("product"),
        reentry_ends=first.get("reentry_ends"),
        pre_harvest_days=first.get("pre_harvest_days"),
        stops_wanted=first.get("stops_wanted"),
        use=first.get("use"),
        previous_crop=first.get("previous_crop"),
        residue_pct=first.get("residue_pct"),
        disease_history=first.get("disease_history"),
        **{name: _name(first.get(name)) for name in TRIAL},
        formerly=_formerly(group),
    )


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
