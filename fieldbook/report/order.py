"""Which pages a season has, for each grower and for the team, and what each is made of."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fieldbook.check.roster import Field
from fieldbook.export.plan_file import planned_days, planned_span
from fieldbook.report.growers import grower_name, report_name
from fieldbook.report.harvest_page import HARVEST_STEM
from fieldbook.report.look import Looks
from fieldbook.report.made import Output, inputs_of, maker
from fieldbook.season.known import FieldState
from fieldbook.season.season import Season

BOARD, PLAN = "board", "plan"


@dataclass(frozen=True, kw_only=True)
class Grower:
    """A grower's fields, and what is made for him; without a dated visit there is no letter.

    ``days`` are those on which each field was scouted, by field ID.
    """

    grower_id: str
    fields: tuple[Field, ...]
    days: Mapping[str, tuple[date, ...]]
    reports: Mapping[str, Output]
    packet: Output
    letter: Output | None

    @property
    def outputs(self) -> tuple[Output, ...]:
        """Everything, the reports first."""
        letter = (self.letter,) if self.letter else ()
        return (*self.reports.values(), self.packet, *letter)


@dataclass(frozen=True, kw_only=True)
class Order:
    """All pages of a season."""

    growers: tuple[Grower, ...]
    plan: Output
    board: Output
    harvest: Output

    @property
    def outputs(self) -> tuple[Output, ...]:
        """Everything, the pages for the team last."""
        of_growers = (one for grower in self.growers for one in grower.outputs)
        return (*of_growers, *self.of_team)

    @property
    def of_team(self) -> tuple[Output, ...]:
        """The pages that speak of all fields."""
        return self.plan, self.board, self.harvest


def order_of(
    season: Season,
    states: Mapping[str, FieldState],
    looks: Looks,
    *,
    strangers: Iterable[str],
    templates: Path | None,
    pdf: bool,
) -> Order:
    """Say which pages the season has on a day; nothing is worked out for that.

    `states` has each field's on that day; `strangers` are fields with visits that the roster lacks.
    """
    how = (maker(templates), pdf)
    shown = {one: inputs_of(one) for one in {looks.own, *looks.growers.values()}}
    stand = sorted((field_id, state.inputs) for field_id, state in states.items())
    everything = (how, shown[looks.own], stand, sorted(strangers))
    by_grower: dict[tuple[str, str], list[Field]] = {}
    for field in season.roster.fields.values():
        by_grower.setdefault((field.grower_id, field.grower), []).append(field)
    return Order(
        growers=tuple(
            _grower(name, fields, states, (*how, shown[looks.of(name[0])]))
            for name, fields in by_grower.items()
        ),
        plan=Output(name=PLAN, inputs=inputs_of(PLAN, everything, planned_span(season.folder))),
        board=Output(
            name=BOARD,
            inputs=inputs_of(BOARD, everything, sorted(planned_days(season.folder).items())),
        ),
        harvest=Output(name=HARVEST_STEM, inputs=inputs_of(HARVEST_STEM, everything)),
    )


def _grower(
    name: tuple[str, str],
    fields: list[Field],
    states: Mapping[str, FieldState],
    how: tuple[str, bool, str],
) -> Grower:
    stem, days = grower_name(*name), {one.field_id: states[one.field_id].days for one in fields}
    own = [(one.field_id, states[one.field_id].inputs) for one in fields]
    letter = Output(name=f"letter.{stem}", inputs=inputs_of("letter", how, own))
    return Grower(
        grower_id=name[0],
        fields=tuple(fields),
        days=days,
        reports={
            one.field_id: Output(
                name=report_name(one), inputs=inputs_of("report", how, states[one.field_id].inputs)
            )
            for one in fields
        },
        packet=Output(name=f"packet.{stem}", inputs=inputs_of("packet", how, own)),
        letter=letter if any(days.values()) else None,
    )
