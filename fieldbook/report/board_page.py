"""The board of a season: every field in a row, on one page that needs no network."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Problem, line
from fieldbook.report.amounts import Amounts
from fieldbook.report.board_columns import Column, Filter, columns, filters
from fieldbook.report.boardwords import Row, board_row
from fieldbook.report.context import ReportContext
from fieldbook.report.duewords import NOW, OVER, BoardField
from fieldbook.report.fungicidewords import spray_caution
from fieldbook.report.page import in_pieces
from fieldbook.report.words import round_words
from fieldbook.results.result import FieldResult
from fieldbook.words import say

_STYLES = (
    ("all", "report/page"),
    ("all", "board/page"),
    ("screen", "board/screen"),
    ("screen and (min-width: 1120px)", "board/table"),
    ("screen and (max-width: 1119px)", "board/cards"),
)


@dataclass(frozen=True, kw_only=True)
class Walked:
    """How far a round is: fields taken in, of all, and the last day that somebody walked."""

    round_: str
    done: str
    last_day: str


@dataclass(frozen=True, kw_only=True)
class BoardView:
    """Everything that the template of the board lays out."""

    language: str
    season: str
    day: str
    lead: tuple[str, ...]
    columns: tuple[Column, ...]
    filters: tuple[Filter, ...]
    rows: tuple[Row, ...]
    walked: tuple[Walked, ...]
    notes: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Counted:
    """What the head of the board counts of one field: days walked by round, open questions."""

    acres: float
    questions: int
    walks: Mapping[str, Sequence[date | None]]


def board_page(
    fields: Iterable[BoardField],
    context: ReportContext,
    *,
    problems: Sequence[Problem] = (),
    templates: Path | None = None,
) -> Iterator[str]:
    """Write the board of a season, piece by piece.

    Parameters
    ----------
    fields
        Every field on one day, at least one, in the order of the roster.
    context
        Paper, language and units.
    problems
        What is to say of roster and weather.
    templates
        A folder of templates of the user's own, which win over the shipped ones.

    Yields
    ------
    str
        The next piece of an HTML page for screens of any width and for print; nothing is fetched.
        A script of its own sorts and filters; without it every row is there.
    """
    page = board_view(fields, context, problems=problems)
    return in_pieces("board/page", page, _STYLES, context, templates)


def board_view(
    fields: Iterable[BoardField], context: ReportContext, *, problems: Sequence[Problem] = ()
) -> BoardView:
    """Turn the fields of a season into rows of words, what is due soonest first.

    A field's results are let go as soon as its row is made.
    """
    amounts, language = Amounts(units=context.units, language=context.language), context.language
    rows, counted = [], []
    for field in fields:
        rows.append(board_row(field, amounts))
        counted.append(_counted(field.result))
        season, today = field.result.season_name, field.result.as_of
    rows.sort(key=_soonest)
    return BoardView(
        language=language,
        season=season,
        day=amounts.full_day(today),
        lead=(_size(counted, amounts), *_due(rows, language), _asked(counted, language)),
        columns=columns(language),
        filters=filters(rows, language),
        rows=tuple(rows),
        walked=tuple(_walked(name, counted, amounts) for name in ROUNDS),
        notes=tuple(line(found, language) for found in problems),
        cautions=_cautions(language),
    )


def _counted(result: FieldResult) -> _Counted:
    walks: dict[str, list[date | None]] = {}
    for visit in result.visits:
        walks.setdefault(visit.round, []).append(visit.date)
    return _Counted(acres=result.acres, questions=len(result.questions), walks=walks)


def _soonest(row: Row) -> tuple[bool, float]:
    return row.due.key is None, row.due.key or 0


# ---- the head of the page ------------------------------------------------------------------


def _size(fields: Sequence[_Counted], amounts: Amounts) -> str:
    count = len(fields)
    text = "{count} field, {area}." if count == 1 else "{count} fields, {area} in all."
    area = amounts.area(sum(field.acres for field in fields))
    return say(text, amounts.language, count=count, area=area)


def _due(rows: Sequence[Row], language: str) -> tuple[str, ...]:
    """Say how many fields have a round open, and how many one that is over."""
    said = []
    for when, one, several in (
        (NOW, "In one field a round is due now.", "In {count} fields a round is due now."),
        (
            OVER,
            "In one field the window of a round is over.",
            "In {count} fields the window of a round is over.",
        ),
    ):
        count = sum(row.when == when for row in rows)
        if count:
            said.append(say(one if count == 1 else several, language, count=count))
    return tuple(said)


def _asked(fields: Sequence[_Counted], language: str) -> str:
    count = sum(field.questions for field in fields)
    asked = sum(bool(field.questions) for field in fields)
    if not count:
        return say("No question is open.", language)
    text = "{count} questions are open in {asked} of the fields."
    if asked == 1:
        text = "{count} questions are open in one field."
    if count == 1:
        text = "One question is open."
    return say(text, language, count=count, asked=asked)


# ---- beneath the rows ----------------------------------------------------------------------


def _walked(round_: str, fields: Sequence[_Counted], amounts: Amounts) -> Walked:
    language = amounts.language
    walks = [field.walks.get(round_, ()) for field in fields]
    days = [day for some in walks for day in some if day]
    return Walked(
        round_=round_words(round_, language),
        done=say("{done} of {all}", language, done=sum(map(bool, walks)), all=len(fields)),
        last_day=amounts.day(max(days)) if days else "–",
    )


def _cautions(language: str) -> tuple[str, ...]:
    return (
        say(
            "Windows of rounds are worked out from the forecast of stages: in half of the years "
            "they come earlier, in half later. Yields are estimates, not promises.",
            language,
        ),
        say(
            "Never walk in before a re-entry interval ends. A field without a re-entry day here "
            "may have been sprayed all the same: ask the grower first.",
            language,
        ),
        spray_caution(language),
        say(
            "A watch for ear mould rests on the weather and asks for a look, it is no verdict. "
            "Mould seen does not prove a toxin, and clean ears do not rule one out: check with "
            "your buyer and feed adviser.",
            language,
        ),
    )
