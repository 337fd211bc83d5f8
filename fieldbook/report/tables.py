"""The small tables of a report: stops and visits."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from itertools import compress

from fieldbook.report.amounts import Amounts, count_words
from fieldbook.report.words import REASONS, round_words, short, visit_words
from fieldbook.results.result import FieldResult, VisitResult
from fieldbook.results.yield_result import StopResult
from fieldbook.words import say

_MOST_ROWS = 14
_MARK, _NOTHING = " *", "–"


@dataclass(frozen=True, kw_only=True)
class Table:
    """A small table; the first column names the row, the others hold numbers or words.

    ``remarks`` stand beneath it, where they take less room than in a column of their own.
    """

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[bool, ...]
    remarks: str = ""

    @property
    def is_long(self) -> bool:
        """Whether the table is set in two columns on paper."""
        return len(self.rows) > _MOST_ROWS


def tables(result: FieldResult, amounts: Amounts) -> tuple[Table, ...]:
    """Return the tables of what we saw: the stops, and the visits where there is more to say.

    The only visit, without a remark, is told in full by its stops and by the facts.
    """
    made = []
    if result.stops:
        made.append(_stops_table(result.stops, _confirmed_stops(result), amounts))
    if result.visits:
        confirmed = {found.place.visit_id for found in result.confirmed}
        visits = _visits_table(result.visits, confirmed, amounts)
        if not made or len(visits.rows) > 1 or visits.remarks:
            made.append(visits)
    return tuple(map(_filled, made))


def _filled(table: Table) -> Table:
    """Leave out columns in which nothing is known."""
    known = [any(cell != _NOTHING for cell in column) for column in zip(*table.rows, strict=True)]
    return replace(
        table,
        heads=tuple(compress(table.heads, known)),
        rows=tuple(tuple(compress(row, known)) for row in table.rows),
        numbers=tuple(compress(table.numbers, known)),
    )


def _confirmed_stops(result: FieldResult) -> set[str]:
    """Return the stops of the count that have a rare value which the scout confirmed."""
    places = (found.place for found in result.confirmed)
    return {
        (place.row or "").split(", ")[0]
        for place in places
        if place.table in ("stops", "ears") and place.visit_id == result.count_visit
    }


def _marks(marked: bool, language: str) -> tuple[str, ...]:
    """Say beneath a table what its mark means, if anything is marked."""
    return (say("* rare, but confirmed by the scout", language),) if marked else ()


def _stops_table(stops: tuple[StopResult, ...], confirmed: set[str], amounts: Amounts) -> Table:
    language = amounts.language
    marked = any(str(stop.stop) in confirmed for stop in stops)
    remarks = _joined((str(stop.stop), _stop_remark(stop, language)) for stop in stops)
    heads = (
        say("Stop", language),
        say("Ears {unit}", language, unit=amounts.per_area_unit),
        say("Plants {unit}", language, unit=amounts.per_area_unit),
        say("Kernels an ear", language),
        say("Ears", language),
        amounts.yield_unit,
    )
    return Table(
        caption=say("Stops", language),
        heads=heads,
        rows=tuple(_stop_row(stop, confirmed, amounts) for stop in stops),
        numbers=(False, True, True, True, True, True),
        remarks="; ".join(part for part in (remarks, *_marks(marked, language)) if part),
    )


def _stop_row(stop: StopResult, confirmed: set[str], amounts: Amounts) -> tuple[str, ...]:
    yielded = _NOTHING if stop.yield_bu_ac is None else amounts.yield_number(stop.yield_bu_ac)
    number = str(stop.stop)
    return (
        f"{number}{_MARK}" if number in confirmed else number,
        amounts.per_area(stop.ears_per_ac),
        amounts.per_area(stop.plants_per_ac),
        count_words(stop.kernels_per_ear),
        str(stop.ears_used),
        yielded,
    )


def _stop_remark(stop: StopResult, language: str) -> str:
    out = say(REASONS.get(stop.left_out, stop.left_out), language) if stop.left_out else ""
    return ", ".join(part for part in (out, short(stop.remark)) if part)


def _joined(remarks: Iterable[tuple[str, str]]) -> str:
    """Write remarks one after another, each with what it belongs to."""
    return "; ".join(f"{name}: {remark}" for name, remark in remarks if remark)


def _visits_table(
    visits: tuple[VisitResult, ...], confirmed: Collection[str | None], amounts: Amounts
) -> Table:
    language = amounts.language
    marked = any(visit.visit_id in confirmed for visit in visits)
    remarks = _joined((_visit_day(visit, amounts), short(visit.remark)) for visit in visits)
    return Table(
        caption=say("Visits", language),
        heads=(
            say("Day and scout", language),
            say("Round", language),
            say("Stage", language),
            say("Stops", language),
            say("Ears", language),
        ),
        rows=tuple(_visit_row(visit, confirmed, amounts) for visit in visits),
        numbers=(False, False, False, True, True),
        remarks="; ".join(part for part in (remarks, *_marks(marked, language)) if part),
    )


def _visit_day(visit: VisitResult, amounts: Amounts) -> str:
    return amounts.day(visit.date) if visit.date else say("day unknown", amounts.language)


def _visit_row(
    visit: VisitResult, confirmed: Collection[str | None], amounts: Amounts
) -> tuple[str, ...]:
    mark = _MARK if visit.visit_id in confirmed else ""
    return (
        f"{visit_words(visit, amounts)}{mark}",
        round_words(visit.round, amounts.language),
        visit.stage or _NOTHING,
        str(visit.stops),
        str(visit.ears),
    )
