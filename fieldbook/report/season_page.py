"""The page of a season for its team: every field in a row, on one page that needs no network."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from urllib.parse import quote

from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Problem, line
from fieldbook.report.amounts import Amounts
from fieldbook.report.context import ReportContext
from fieldbook.report.drawings import NARROW, Drawing, StageRow, draw_ahead
from fieldbook.report.page import rendered
from fieldbook.report.stagewords import last_seen, span_words, when_words
from fieldbook.report.words import round_words, stage_words
from fieldbook.season.result import FieldResult, StageResult, VisitResult
from fieldbook.words import say

_STYLES = (
    ("all", "report/page"),
    ("all", "season/page"),
    ("screen", "season/screen"),
    ("screen and (max-width: 1079px)", "season/cards"),
)


@dataclass(frozen=True, kw_only=True)
class Walked:
    """How far a round is: fields taken in, of all, and the last day that somebody walked."""

    round_: str
    done: str
    last_day: str


@dataclass(frozen=True, kw_only=True)
class Row:
    """One field in words; ``link`` is where its report lies beside the page."""

    field: str
    ground: str
    link: str
    grower: str
    scout: str
    stage: str
    seen: str
    ahead: Drawing | None
    no_dates: str
    yield_lines: tuple[str, ...]
    questions: int


@dataclass(frozen=True, kw_only=True)
class SeasonView:
    """Everything that the template of the season's page lays out."""

    language: str
    paper: str
    season: str
    day: str
    lead: tuple[str, ...]
    walked: tuple[Walked, ...]
    rows: tuple[Row, ...]
    notes: tuple[str, ...]


def season_page(
    fields: Sequence[FieldResult],
    context: ReportContext,
    *,
    reports: Mapping[str, str],
    scouts: Mapping[str, str],
    problems: Sequence[Problem] = (),
    templates: Path | None = None,
) -> str:
    """Write the page of a season.

    Parameters
    ----------
    fields
        The results of every field on one day, at least one, in the order of the rows.
    context
        Paper, language and units.
    reports
        The file name of each field's report, by field ID.
    scouts
        Who walks the field, by field ID; where that is open, whoever looked last is named.
    problems
        What is to say of roster and weather.
    templates
        A folder of templates of the user's own, which win over the shipped ones.

    Returns
    -------
    str
        A whole HTML page for screens of any width and for print; nothing is fetched.
    """
    page = season_view(fields, context, reports=reports, scouts=scouts, problems=problems)
    return rendered("season/page", page, _STYLES, paper=context.paper, templates=templates)


def season_view(
    fields: Sequence[FieldResult],
    context: ReportContext,
    *,
    reports: Mapping[str, str],
    scouts: Mapping[str, str],
    problems: Sequence[Problem] = (),
) -> SeasonView:
    """Turn the results of a season's fields into rows of words; see `season_page`."""
    amounts = Amounts(units=context.units, language=context.language)
    today = fields[0].as_of
    ends = _ends(fields, today)
    return SeasonView(
        language=context.language,
        paper=context.paper,
        season=fields[0].season_name,
        day=f"{amounts.day(today)} {today.year}",
        lead=(_size(fields, amounts), _asked(fields, context.language)),
        walked=tuple(_walked(name, fields, amounts) for name in ROUNDS),
        rows=tuple(
            _row(
                field,
                amounts,
                ends,
                link=quote(reports[field.field_id]),
                scout=scouts.get(field.field_id),
            )
            for field in fields
        ),
        notes=tuple(line(found, context.language) for found in problems),
    )


# ---- the head of the page ------------------------------------------------------------------


def _size(fields: Sequence[FieldResult], amounts: Amounts) -> str:
    count = len(fields)
    text = "{count} field, {area}." if count == 1 else "{count} fields, {area} in all."
    area = amounts.area(sum(field.acres for field in fields))
    return say(text, amounts.language, count=count, area=area)


def _asked(fields: Sequence[FieldResult], language: str) -> str:
    count = sum(len(field.questions) for field in fields)
    asked = sum(bool(field.questions) for field in fields)
    if not count:
        return say("No question is open.", language)
    text = "{count} questions are open in {asked} of the fields."
    if asked == 1:
        text = "{count} questions are open in one field."
    if count == 1:
        text = "One question is open."
    return say(text, language, count=count, asked=asked)


def _walked(round_: str, fields: Sequence[FieldResult], amounts: Amounts) -> Walked:
    language = amounts.language
    visits = [[visit for visit in field.visits if visit.round == round_] for field in fields]
    days = [visit.date for some in visits for visit in some if visit.date]
    return Walked(
        round_=round_words(round_, language),
        done=say("{done} of {all}", language, done=sum(map(bool, visits)), all=len(fields)),
        last_day=amounts.day(max(days)) if days else "–",
    )


# ---- one field -----------------------------------------------------------------------------


def _row(
    field: FieldResult,
    amounts: Amounts,
    ends: tuple[date, date],
    *,
    link: str,
    scout: str | None,
) -> Row:
    language = amounts.language
    seen = last_seen(field.visits)
    ahead = _ahead(field)
    return Row(
        field=field.field,
        ground=f"{field.field_id}, {amounts.area(field.acres)}",
        link=link,
        grower=field.grower,
        scout=scout or _last_scout(field) or say("nobody yet", language),
        stage=stage_words(seen.stage, language) if seen and seen.stage else _unseen(language),
        seen=amounts.day(seen.date) if seen and seen.date else "",
        ahead=_picture(field, ahead, ends, amounts),
        no_dates="" if ahead else _no_dates(field, seen, amounts),
        yield_lines=_yield_lines(field, amounts),
        questions=len(field.questions),
    )


def _unseen(language: str) -> str:
    return say("not looked at yet", language)


def _last_scout(field: FieldResult) -> str | None:
    return field.visits[-1].scout if field.visits else None


def _ahead(field: FieldResult) -> list[StageResult]:
    return [stage for stage in field.stages if not stage.passed and _days(stage)]


def _days(stage: StageResult) -> list[date]:
    return [day for day in (stage.earliest, stage.date, stage.latest) if day]


def _ends(fields: Sequence[FieldResult], today: date) -> tuple[date, date]:
    """Return the days that the strips of all rows span."""
    days = [day for field in fields for stage in _ahead(field) for day in _days(stage)]
    return min([today, *days]), max([today, *days])


def _picture(
    field: FieldResult, ahead: Sequence[StageResult], ends: tuple[date, date], amounts: Amounts
) -> Drawing | None:
    language = amounts.language
    said = [f"{stage_words(one.stage, language)}: {when_words(one, amounts)}" for one in ahead]
    return draw_ahead(
        [StageRow(name=one.stage, stage=one, when=_when(one, amounts)) for one in ahead],
        field.as_of,
        ends,
        width=NARROW,
        title=say("Dates ahead of {field}", language, field=field.field),
        about="; ".join(said) + ".",
        language=language,
    )


def _when(stage: StageResult, amounts: Amounts) -> str:
    """Say a stage's range of days in few letters, or its day where it has no range."""
    from babel.dates import format_date

    span = span_words(stage, amounts, month="MMM")
    if span or stage.date is None:
        return span
    return format_date(stage.date, "EEE d MMM", locale=amounts.language)


def _no_dates(field: FieldResult, seen: VisitResult | None, amounts: Amounts) -> str:
    """Say why a field has no dates ahead: its last stage is past, or none can be dated."""
    last = field.stages[-1] if field.stages else None
    if last is None or last.date is None:
        return say("none known yet", amounts.language)
    text = "none; {stage} should have come about {day}, but was not seen yet"
    if seen and seen.stage == last.stage:
        text = "none; {stage} came about {day}"
    return say(text, amounts.language, stage=last.stage, day=amounts.day(last.date))


def _yield_lines(field: FieldResult, amounts: Amounts) -> tuple[str, ...]:
    """Say kernels and yield; a yield never stands without its range."""
    language = amounts.language
    lines = []
    if field.ears and field.ears.kernels_per_ear is not None:
        count = f"{10 * round(field.ears.kernels_per_ear / 10):,}"
        lines.append(say("about {count} kernels an ear", language, count=count))
    found = field.yield_
    if found:
        lines.append(f"{amounts.yield_range(found.range_bu_ac)} {amounts.yield_unit}")
    if found and found.interval_95_bu_ac is None:
        lines.append(say("by kernel weight alone", language))
    if not found and field.stops:
        lines.append(say("no stop counts for a yield", language))
    return tuple(lines) or (say("not counted yet", language),)
