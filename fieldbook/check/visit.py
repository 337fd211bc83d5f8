"""Checks that look at a whole field visit: dates, stops and their ears, weights."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from fieldbook.check.cells import typed_text
from fieldbook.check.context import Context
from fieldbook.check.rows import Draft, Finding
from fieldbook.entries import VisitSlip
from fieldbook.forms.rounds import Form, Round
from fieldbook.forms.stops import INTERIOR
from fieldbook.problems import Place, Problem, problem
from fieldbook.units import GRAIN_WEIGHT, KG_PER_LB, ROW_WIDTH, System
from fieldbook.words import phrase

ROW_WIDTH_SLACK_IN = 0.1
# What an ear and a kernel weigh without a question (common practice, no source).
_USUAL_EAR_LB = (0.1, 0.7)
_USUAL_KERNEL_MG = (150, 450)
RowKey = tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class VisitDraft:
    """All rows of one field visit, by sheet and by stop and ear."""

    slip: VisitSlip
    round_: Round
    form: Form
    rows: Mapping[str, Mapping[RowKey, Draft]]
    book_scout: str = ""
    book_units: System = System.US

    @property
    def head(self) -> Draft | None:
        """The visit's row in the Fields sheet."""
        return self.rows.get("fields", {}).get(())

    @property
    def is_filled(self) -> bool:
        """Say whether anything was typed for this field."""
        return any(draft.is_filled for rows in self.rows.values() for draft in rows.values())

    def drafts(self, sheet: str) -> Iterable[Draft]:
        """Return the visit's rows of one sheet."""
        return self.rows.get(sheet, {}).values()

    @property
    def stage(self) -> str | None:
        """The stage that the visit saw."""
        return self.head.values.get("stage") if self.head else None

    @property
    def day(self) -> date | None:
        """The day of the visit, as typed."""
        return self.head.values.get("visit_date") if self.head else None

    @property
    def scout(self) -> str:
        """Who walked: whom the visit's row names, else the book's own scout."""
        return (self.head.values.get("scout") if self.head else None) or self.book_scout

    @property
    def name(self) -> str:
        """The field's id and name, for messages."""
        return f"{self.slip.field_id} {self.slip.field}"


Located = tuple[str, RowKey, Finding]
VisitCheck = Callable[[VisitDraft, Context], Iterator[Located]]


def at_head(finding: Finding) -> Located:
    """Place a finding in the visit's row of the Fields sheet."""
    return ("fields", (), finding)


def unknown_field(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a field that the roster does not have; one that is left out stands there."""
    if not context.roster.names(visit.slip.field_id):
        place = visit.head.place("field_id") if visit.head else Place()
        yield at_head(Finding(problem=problem("field-unknown", place, field=visit.name)))


def sent_by_another(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a field that a scout mailed a book of, though the roster gives it to another one."""
    field = context.field_of(visit.slip)
    given = field.scout if field else None
    if context.sent_by is None or given in (None, context.sent_by):
        return
    place = visit.head.place("field_id") if visit.head else Place()
    params = {"field": visit.name, "scout": given or "", "sender": context.sent_by}
    yield at_head(Finding(problem=problem("mail-field-not-given", place, **params)))


def identity_edited(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find locked cells that read otherwise than printed."""
    head = visit.head
    if head is None:
        return
    for name, printed in (("field", visit.slip.field), ("grower", visit.slip.grower)):
        cell = head.cells.get(name)
        if cell is None or cell.is_empty or typed_text(cell.value) == typed_text(printed):
            continue
        found = problem(
            "identity-edited", head.place(name), typed=head.typed(name), printed=printed
        )
        yield at_head(Finding(problem=found))


def row_width_differs(name: str, printed_in: float, roster_in: float, units: System) -> Problem:
    """Say that a book was printed for another row width than the roster has."""
    printed, now = (ROW_WIDTH.about(width, units, 1) for width in (printed_in, roster_in))
    return problem("row-width-differs", field=name, printed=printed, now=now)


def row_width(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a book whose printed row width is no longer the roster's."""
    field = context.field_of(visit.slip)
    if field is None or abs(field.row_width_in - visit.slip.row_width_in) <= ROW_WIDTH_SLACK_IN:
        return
    found = row_width_differs(
        visit.name, visit.slip.row_width_in, field.row_width_in, context.units
    )
    yield at_head(Finding(problem=found))


def visit_date(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a date that is missing or cannot be."""
    head = visit.head
    if head is None or head.is_faulty("visit_date"):
        return
    place, day = head.place("visit_date"), head.values.get("visit_date")
    if day is None:
        yield at_head(Finding(problem=problem("date-missing", place, field=visit.name)))
        return
    field = context.field_of(visit.slip)
    planted = min(planting.planted for planting in field.plantings) if field else None
    said = {"typed": day.isoformat()}
    found = None
    if day.year != context.year:
        found = problem("date-other-season", place, year=context.year, **said)
    elif day > context.today:
        found = problem("date-in-future", place, today=context.today.isoformat(), **said)
    elif context.received and day > context.received:
        found = problem("date-after-sent", place, sent=context.received.isoformat(), **said)
    elif planted and day < planted:
        planted_said = planted.isoformat()
        found = problem(
            "date-before-planting", place, field=visit.name, planted=planted_said, **said
        )
    if found:
        yield at_head(Finding(problem=found, marks=("visit_date",)))


def counts_and_ears(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find stops where ears were pulled but not counted, or counted but not pulled."""
    if not (visit.form.has("stops", "ears") and visit.form.has("ears", "kernels_set")):
        return
    pulled = {
        key[0] for key, draft in visit.rows.get("ears", {}).items() if draft.has("kernels_set")
    }
    for key, draft in visit.rows.get("stops", {}).items():
        if draft.is_doubted("ears"):
            continue
        counted = draft.values.get("ears") is not None
        params: dict[str, str | int] = {"stop": key[0], "field": visit.name}
        place = draft.place("ears")
        if key[0] in pulled and not counted:
            yield "stops", key, Finding(problem=problem("ears-without-count", place, **params))
        elif counted and key[0] not in pulled:
            yield "stops", key, Finding(problem=problem("count-without-ears", place, **params))


def off_the_figure(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a field whose every stop lies where it cannot stand for the field."""
    stops = [d for d in visit.rows.get("stops", {}).values() if d.values.get("ears") is not None]
    places = [draft.values.get("place") or INTERIOR for draft in stops]
    if places and INTERIOR not in places:
        found = problem("all-off-figure", stops[0].place("place"), field=visit.name)
        yield at_head(Finding(problem=found))


def beetle_kinds(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find beetles that were counted without saying which; none counted needs no name."""
    for key, draft in visit.rows.get("stops", {}).items():
        if (draft.values.get("beetles") or 0) > 0 and not draft.has("beetles_on"):
            count, kind = map(draft.form.sheet.column, ("beetles", "beetles_on"))
            words = {"column": phrase(count.label), "needs": phrase(kind.label)}
            found = problem("part-missing", draft.place("beetles_on"), **words)
            yield "stops", key, Finding(problem=found)


def bag_weights(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a bag whose grain does not fit its number of ears."""
    for key, draft in visit.rows.get("stalks", {}).items():
        if not draft.stands("bag_grain_lb", "bag_ears"):
            continue
        each = draft.values["bag_grain_lb"] / draft.values["bag_ears"]
        least, most = _USUAL_EAR_LB
        if least <= each <= most:
            continue
        words = {
            name: GRAIN_WEIGHT.about(value, context.units, 2)
            for name, value in (("each", each), ("least", least), ("most", most))
        }
        found = problem("bag-weight-odd", draft.place("bag_grain_lb"), **words)
        yield "stalks", key, Finding(problem=found, marks=("bag_grain_lb", "bag_ears"))


def kernel_weights(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find an ear whose grain does not fit its number of kernels."""
    for key, draft in visit.rows.get("ears", {}).items():
        if not draft.stands("grain_weight_lb", "rows_around", "kernels_set"):
            continue
        kernels = draft.values["rows_around"] * draft.values["kernels_set"]
        each_mg = draft.values["grain_weight_lb"] * KG_PER_LB * 1e6 / max(kernels, 1)
        least, most = _USUAL_KERNEL_MG
        if least <= each_mg <= most:
            continue
        found = problem(
            "kernel-weight-odd",
            draft.place("grain_weight_lb"),
            each=round(each_mg),
            least=least,
            most=most,
        )
        yield "ears", key, Finding(problem=found, marks=("grain_weight_lb",))


def photo_stops(visit: VisitDraft, context: Context) -> Iterator[Located]:
    """Find a photo said to be of a stop that the field does not have."""
    stops = visit.slip.rows.get("stop", 0)
    for key, draft in visit.rows.get("photos", {}).items():
        if draft.stands("at_stop") and draft.values["at_stop"] > stops:
            place, typed = draft.place("at_stop"), draft.typed("at_stop")
            found = problem("photo-stop-unknown", place, field=visit.name, stops=stops, typed=typed)
            yield "photos", key, Finding(problem=found, marks=("at_stop",))


VISIT_CHECKS: tuple[VisitCheck, ...] = (
    unknown_field,
    sent_by_another,
    identity_edited,
    row_width,
    visit_date,
    counts_and_ears,
    off_the_figure,
    beetle_kinds,
    bag_weights,
    kernel_weights,
    photo_stops,
)
