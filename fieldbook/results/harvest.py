"""What came over the scale, field by field: used only where nothing of it is in question."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from statistics import fmean

from fieldbook.agronomy.scale import Weighed, harvested_bu_ac
from fieldbook.check.harvest import weighed
from fieldbook.check.roster import Field
from fieldbook.check.verdict import Question, State
from fieldbook.figures import Figures
from fieldbook.forms.harvest import Load
from fieldbook.forms.rounds import HARVEST
from fieldbook.ledger.stored import StoredVisit, visit_day
from fieldbook.problems import Place, Problem, Weight, problem
from fieldbook.units import AREA, System


@dataclass(frozen=True, kw_only=True)
class HarvestResult:
    """The harvest of one field, all its loads together, at market moisture.

    ``acres_typed`` is False where nobody typed the area cut and the roster's stands for it.
    """

    field_id: str
    day: date | None
    loads: int
    acres: float
    acres_typed: bool
    wet_lb: float
    moisture_pct: float
    test_weight_lb_bu: float | None
    yield_bu_ac: float


@dataclass(frozen=True, kw_only=True)
class Harvests:
    """All harvests that can be used, by field, and why others cannot."""

    by_field: Mapping[str, HarvestResult]
    problems: tuple[Problem, ...]


def harvests(
    visits: Iterable[StoredVisit],
    questions: Iterable[Question],
    fields: Mapping[str, Field],
    figures: Figures,
    units: System,
) -> Harvests:
    """Add up the loads of every field; a lost or questioned load would make a sum too small."""
    doubted = {question.visit_id for question in questions if _spoils(question)}
    cut: dict[str, list[StoredVisit]] = {}
    for visit in visits:
        if visit.round == HARVEST.name and visit.field_id in fields:
            cut.setdefault(visit.field_id, []).append(visit)
    found: dict[str, HarvestResult] = {}
    problems: list[Problem] = []
    for field_id, some in cut.items():
        made, said = _harvest(fields[field_id], some, doubted, figures, units)
        problems += said
        if made:
            found[field_id] = made
    return Harvests(by_field=found, problems=tuple(problems))


def field_harvest(
    field: Field,
    visits: Iterable[StoredVisit],
    questions: Mapping[State, Iterable[Problem]],
    figures: Figures,
    units: System,
) -> HarvestResult | None:
    """Add up the loads of one field; None where there are none, or not all of them count."""
    asked = [
        Question(visit_id=one.place.visit_id or "", problem=one, state=state)
        for state, some in questions.items()
        for one in some
    ]
    fields = {field.field_id: field}
    return harvests(visits, asked, fields, figures, units).by_field.get(field.field_id)


def _spoils(question: Question) -> bool:
    """Say whether a question leaves a harvest's sum open: of a load, the area or the day."""
    found = question.problem
    of_harvest = found.place.table == "harvest" or found.code.startswith("harvest-")
    of_harvest = of_harvest or found.place.column == "acres_cut"
    if question.state is State.LOST:
        return of_harvest
    counts = found.weight is not Weight.NOTE or found.code == "part-missing"
    return question.state is State.OPEN and of_harvest and counts


def _harvest(
    field: Field,
    visits: Sequence[StoredVisit],
    doubted: set[str],
    figures: Figures,
    units: System,
) -> tuple[HarvestResult | None, list[Problem]]:
    place, name = Place(field_id=field.field_id), f"{field.field_id} {field.field}"
    if any(visit.visit_id in doubted for visit in visits):
        return None, [problem("harvest-in-question", place, field=name)]
    rows: list[Load] = [row for visit in visits for row in visit.records["harvest"]]
    loads = [load for row in rows if (load := weighed(asdict(row)))]
    if not loads:
        return None, [problem("harvest-without-loads", place, field=name)]
    acres = [head.acres_cut for visit in visits for head in visit.records["fields"]]
    typed = [one for one in acres if one is not None]
    if typed and len(typed) < len(visits):
        return None, [problem("harvest-acres-some", place, field=name)]
    slack = 1 + figures.number("settle.acres_slack_pct") / 100
    if len(typed) > 1 and sum(typed) > slack * field.acres:
        both, has = (AREA.about(acres, units, 1) for acres in (sum(typed), field.acres))
        return None, [problem("harvest-visits-over", place, field=name, typed=both, has=has)]
    said = [] if typed else [problem("harvest-acres-of-roster", place, field=name)]
    return _added(field, visits, rows, loads, sum(typed) or None, figures), said


def _added(
    field: Field,
    visits: Sequence[StoredVisit],
    rows: Sequence[Load],
    loads: Sequence[Weighed],
    acres: float | None,
    figures: Figures,
) -> HarvestResult:
    wet_lb = sum(load.wet_lb for load in loads)
    weights = [row.test_weight_lb_bu for row in rows if row.test_weight_lb_bu is not None]
    days = [day for visit in visits if (day := visit_day(visit))]
    return HarvestResult(
        field_id=field.field_id,
        day=max(days, default=None),
        loads=len(loads),
        acres=acres or field.acres,
        acres_typed=acres is not None,
        wet_lb=wet_lb,
        moisture_pct=sum(load.wet_lb * load.moisture_pct for load in loads) / wet_lb,
        test_weight_lb_bu=fmean(weights) if weights else None,
        yield_bu_ac=harvested_bu_ac(loads, acres or field.acres, figures=figures),
    )
