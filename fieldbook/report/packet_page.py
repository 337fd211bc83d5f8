"""A grower's packet: his fields on one page, and the report of each behind it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fieldbook.agronomy.harvest_order import MOISTURE, MOULD, STALKS, Turn
from fieldbook.report.amounts import Amounts
from fieldbook.report.boardwords import stage_cell, yield_cell
from fieldbook.report.context import ReportContext
from fieldbook.report.doubts import cautions
from fieldbook.report.page import FIELD_STYLES, rendered
from fieldbook.report.sections import address
from fieldbook.report.step import Step
from fieldbook.report.steps import nothing_due, steps
from fieldbook.report.words import joined
from fieldbook.results.result import FieldResult
from fieldbook.results.ripe import order_of_harvest
from fieldbook.words import say

if TYPE_CHECKING:
    from markupsafe import Markup

_STYLES = (
    *FIELD_STYLES,
    ("all", "packet/page"),
    ("screen", "packet/screen"),
    ("screen and (max-width: 719px)", "packet/cards"),
)
_STEPS, _MOST_NAMED = 2, 4
_WHY = {
    STALKS: "{field}, by its stalks",
    MOULD: "{field}, by its mould",
    MOISTURE: "{field}, by its moisture",
}


@dataclass(frozen=True, kw_only=True)
class PacketRow:
    """One field of the summary: ``link`` leads to its report further down."""

    field: str
    ground: str
    link: str
    stands: tuple[str, ...]
    yields: tuple[str, ...]
    steps: tuple[Step, ...]


@dataclass(frozen=True, kw_only=True)
class PacketView:
    """Everything that the template of a packet lays out.

    ``reports`` are the fields' reports as HTML, empty for the summary alone.
    """

    language: str
    title: str
    grower: str
    season: str
    day: str
    lead: tuple[str, ...]
    rows: tuple[PacketRow, ...]
    nothing: str
    harvest: tuple[str, ...]
    cautions: tuple[str, ...]
    signature: str | None
    is_crowded: bool = False
    reports: "tuple[Markup, ...]" = ()


def packet_html(view: PacketView, context: ReportContext, templates: Path | None = None) -> str:
    """Write the page of a view: one whole HTML file that fetches nothing."""
    return rendered("packet/page", view, _STYLES, context, templates)


def with_reports(view: PacketView, reports: "Iterable[Markup]") -> PacketView:
    """Return a packet with its fields' reports; see `fieldbook.report.page.field_part`."""
    return replace(view, reports=tuple(reports))


def packet_views(fields: Sequence[FieldResult], context: ReportContext) -> Iterator[PacketView]:
    """Turn the results of one grower's fields, at least one, into the summary of a packet.

    The next one takes less room: set smaller, then with the first thing to do alone and without
    the stage that comes next.
    """
    amounts = Amounts(units=context.units, language=context.language)
    whole = _packet_view(fields, context, amounts)
    yield whole
    yield (small := replace(whole, is_crowded=True))
    rows = (replace(row, steps=row.steps[:1], stands=row.stands[:2]) for row in small.rows)
    yield replace(small, rows=tuple(rows))


def _packet_view(
    fields: Sequence[FieldResult], context: ReportContext, amounts: Amounts
) -> PacketView:
    first, language = fields[0], context.language
    day = amounts.full_day(first.as_of)
    to_do = {one.field_id: steps(one, amounts, context.figures) for one in fields}
    return PacketView(
        language=language,
        title=f"{first.grower}, {day}",
        grower=first.grower,
        season=first.season_name,
        day=day,
        lead=tuple(_lead(fields, to_do, amounts)),
        rows=tuple(_row(one, to_do[one.field_id], amounts) for one in fields),
        nothing=nothing_due(language),
        harvest=_harvest(fields, context),
        cautions=cautions(language),
        signature=context.signature,
    )


def _row(field: FieldResult, to_do: Sequence[Step], amounts: Amounts) -> PacketRow:
    return PacketRow(
        field=field.field,
        ground=f"{field.field_id}, {amounts.area(field.acres)}",
        link=address(field.field_id),
        stands=stage_cell(field, amounts).lines,
        yields=yield_cell(field, amounts).lines,
        steps=tuple(to_do[:_STEPS]),
    )


# ---- the first lines -----------------------------------------------------------------------


def _lead(
    fields: Sequence[FieldResult], to_do: dict[str, tuple[Step, ...]], amounts: Amounts
) -> Iterator[str]:
    """Say how much ground this is, what is not looked at or still asked, and what comes first."""
    language = amounts.language
    area = amounts.area(sum(one.acres for one in fields))
    text = "One field, {area}." if len(fields) == 1 else "{count} fields, {area}."
    yield say(text, language, count=len(fields), area=area)
    blank = [one.field for one in fields if not one.visits and not one.has_left_out]
    if len(blank) == len(fields):
        yield say("Nobody has looked at them yet.", language)
    elif blank:
        yield say("Not looked at yet: {fields}.", language, fields=some_fields(blank, language))
    asked = [one.field for one in fields if one.questions]
    if asked:
        yield say("With open questions: {fields}.", language, fields=some_fields(asked, language))
    yield from _most_pressing(fields, to_do, language)


def _most_pressing(
    fields: Sequence[FieldResult], to_do: dict[str, tuple[Step, ...]], language: str
) -> Iterator[str]:
    """Say which step with a day comes first of all fields."""
    dated = [
        (step.by, one.field, step)
        for one in fields
        for step in to_do[one.field_id]
        if step.by and one.visits
    ]
    if dated:
        _, field, step = min(dated, key=lambda found: found[0])
        text = "The next date is in {field}: {what}, {when}."
        yield say(text, language, field=field, what=step.what, when=step.when)


def some_fields(names: Sequence[str], language: str) -> str:
    """Name fields, or say how many they are where a line would not hold them."""
    if len(names) > _MOST_NAMED:
        return say("{count} fields", language, count=len(names))
    return joined(names, language)


# ---- harvest -------------------------------------------------------------------------------


def _harvest(fields: Sequence[FieldResult], context: ReportContext) -> tuple[str, ...]:
    """Say the order of harvest of these fields, and on what each place rests; empty where none."""
    turns = order_of_harvest(fields, figures=context.figures)
    if len(turns) < 2:  # noqa: PLR2004  (one field has no order)
        return ()
    language = context.language
    names = {one.field_id: one.field for one in fields}
    lines = [f"{'; '.join(_turn(turn, names, language) for turn in turns)}."]
    missing = [one.field for one in fields if one.ripe is None and not one.is_harvested]
    if missing:
        text = "Not in the order, since nobody tried stalks there yet: {fields}."
        lines.append(say(text, language, fields=some_fields(missing, language)))
    text = "An order to start from; a lead may be too small to be sure. The reports say more."
    return (*lines, say(text, language))


def _turn(turn: Turn, names: dict[str, str], language: str) -> str:
    field = f"{turn.turn}. {names[turn.field_id]}"
    return say(_WHY.get(turn.ahead_by or "", "{field}"), language, field=field)
