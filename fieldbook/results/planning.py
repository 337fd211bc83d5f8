"""The plan of a season: who walks which field on which day, and which cannot be reached in time."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from fieldbook.check.roster import Field
from fieldbook.forms.rounds import ROUNDS
from fieldbook.problems import Param, Place, Problem, problem
from fieldbook.results.due import RoundWindow, field_rounds
from fieldbook.results.result import FieldResult
from fieldbook.results.results import SeasonResults, season_results
from fieldbook.results.walks import Placed, Spot, Walk, lay_out
from fieldbook.season.blank import ANYONE
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.settings.settings import Settings
from fieldbook.words import phrase

USUAL_DAYS = 14


class State(StrEnum):
    """Where a round of a field stands in the plan."""

    PLANNED = "planned"
    LATER = "later"
    FULL = "not reached: days full"
    REENTRY = "not reached: re-entry"
    CLOSED = "not reached: closed"


_CODES = {
    State.FULL: "plan-full",
    State.REENTRY: "plan-reentry",
    State.CLOSED: "plan-closed",
}
UNREACHED = tuple(_CODES)
UNREACHED_CODES = tuple(_CODES.values())


@dataclass(frozen=True, kw_only=True)
class PlannedRound:
    """One round of one field still to walk.

    ``day`` and ``number`` (the place in that day's order) are set where it is planned; ``miles``
    is the way from the field before it, None for the first of a day or without coordinates.
    ``may_walk_from`` is the day on which the re-entry interval ends; ``call_first`` is True where
    that day is not known, or a spray is still to come.
    """

    field_id: str
    field: str
    grower: str
    scout: str
    round: str
    window: RoundWindow
    spot: Spot | None
    may_walk_from: date | None
    call_first: bool
    sprayed_on: date | None
    state: State = State.LATER
    day: date | None = None
    number: int | None = None
    miles: float | None = None

    @property
    def name(self) -> str:
        """The field's id and name."""
        return f"{self.field_id} {self.field}"

    @property
    def is_before_spray(self) -> bool:
        """Whether it is planned for a day before a spray that is still to come."""
        return bool(self.day and self.sprayed_on and self.day < self.sprayed_on)


@dataclass(frozen=True, kw_only=True)
class SeasonPlan:
    """The plan from ``as_of`` to ``through``, both included.

    ``rounds`` are all rounds still to walk, by field in the roster's order. ``fields_a_day`` is
    each scout's limit.
    """

    season_name: str
    year: int
    as_of: date
    through: date
    fields_a_day: Mapping[str, int]
    scout_names: Mapping[str, str]
    rounds: tuple[PlannedRound, ...]
    problems: tuple[Problem, ...]

    def walks(self, scout: str) -> tuple[PlannedRound, ...]:
        """Return a scout's planned walks in walking order."""
        planned = [one for one in self.rounds if one.day and one.scout == scout]
        return tuple(sorted(planned, key=lambda one: (one.day or self.as_of, one.number or 0)))

    def unreached(self, scout: str) -> tuple[PlannedRound, ...]:
        """Return a scout's rounds that cannot be walked in time."""
        return tuple(one for one in self.rounds if one.scout == scout and one.state in UNREACHED)


def season_plan(
    season: Season, *, as_of: date, days: int, results: SeasonResults | None = None
) -> SeasonPlan:
    """Plan the walks of all scouts for so many days, the first of them `as_of`.

    Rounds whose window opens within these days are laid out, each scout for himself, up to the
    end of their windows; what falls beyond these days is shown as later. `results` of that day
    save working them out anew.
    """
    through = as_of + timedelta(days=days - 1)
    found = results or season_results(season, as_of=as_of)
    rounds, undated = _rounds(season, found.fields)
    scouts = list(dict.fromkeys(one.scout for one in rounds))
    limits = {scout: _limit(season.settings, scout) for scout in scouts}
    names = {scout.scout_id: scout.name for scout in season.settings.scouts}
    placed = [
        one
        for scout in scouts
        for one in _placed([r for r in rounds if r.scout == scout], limits[scout], as_of, through)
    ]
    order = {(one.field_id, one.round): at for at, one in enumerate(rounds)}
    placed.sort(key=lambda one: order[one.field_id, one.round])
    said = [found for one in placed for found in _unreached_problem(one, names)]
    return SeasonPlan(
        season_name=season.settings.name,
        year=season.settings.year,
        as_of=as_of,
        through=through,
        fields_a_day=limits,
        scout_names={scout: names.get(scout, scout) for scout in scouts},
        rounds=tuple(placed),
        problems=(*found.problems, *said, *undated),
    )


def _limit(settings: Settings, scout: str) -> int:
    own = {one.scout_id: one.fields_a_day for one in settings.scouts}.get(scout)
    return own or settings.fields_a_day


def _rounds(
    season: Season, results: Iterable[FieldResult]
) -> tuple[list[PlannedRound], list[Problem]]:
    """Return every field's rounds still to walk, and a problem where a field has no dates."""
    figures = season_figures(season.settings)
    rounds: list[PlannedRound] = []
    undated: list[Problem] = []
    for result in results:
        field = season.roster.fields[result.field_id]
        found = field_rounds(field, result, figures)
        rounds += [_round(field, window) for window in found.windows]
        if found.undated:
            why = phrase(found.undated)
            place = Place(field_id=field.field_id)
            name = f"{field.field_id} {field.field}"
            undated.append(problem("plan-no-dates", place, field=name, detail=why))
    return rounds, undated


def _round(field: Field, window: RoundWindow) -> PlannedRound:
    ends, sprayed = field.reentry_ends, field.sprayed_on
    known = ends is not None and (sprayed is None or sprayed <= ends)
    return PlannedRound(
        field_id=field.field_id,
        field=field.field,
        grower=field.grower,
        scout=field.scout or ANYONE,
        round=window.round,
        window=window,
        spot=_spot(field),
        may_walk_from=ends if known else None,
        call_first=not known,
        sprayed_on=sprayed,
    )


def _spot(field: Field) -> Spot | None:
    if field.latitude is None or field.longitude is None:
        return None
    return field.latitude, field.longitude


def _placed(
    rounds: Sequence[PlannedRound], fields_a_day: int, as_of: date, through: date
) -> list[PlannedRound]:
    """Give one scout's rounds their days, or say why they have none."""
    walks = [_walk(one, as_of) for one in rounds]
    soon = [walk for walk in walks if walk.opens <= min(walk.closes, through)]
    layout = lay_out(soon, first=as_of, fields_a_day=fields_a_day)
    days = {one.walk: one for one in layout.placed}
    return [
        _with_day(one, walk, days.get(walk), as_of, through)
        for one, walk in zip(rounds, walks, strict=True)
    ]


def _walk(one: PlannedRound, as_of: date) -> Walk:
    opens, closes = _open_days(one, as_of)
    return Walk(field_id=one.field_id, round=one.round, opens=opens, closes=closes, spot=one.spot)


def _open_days(one: PlannedRound, as_of: date) -> tuple[date, date]:
    """Return the days from and to which a field may be walked; from behind to means never.

    A spray still to come parts them. Of the days before and behind it the longer stretch is taken.
    """
    opens, closes = max(one.window.opens.day, as_of), one.window.closes.day
    if one.may_walk_from is None:
        return opens, closes
    behind = max(opens, one.may_walk_from), closes
    if one.sprayed_on is None or one.sprayed_on <= as_of:
        return behind
    before = opens, min(closes, one.sprayed_on - timedelta(days=1))
    return max(behind, before, key=lambda days: days[1] - days[0])


def _with_day(
    one: PlannedRound, walk: Walk, placed: Placed | None, as_of: date, through: date
) -> PlannedRound:
    if placed and placed.day <= through:
        day = replace(
            one, state=State.PLANNED, day=placed.day, number=placed.number, miles=placed.miles
        )
        return replace(day, call_first=day.call_first or day.is_before_spray)
    if walk.closes < as_of:
        return replace(one, state=State.CLOSED)
    if walk.closes < walk.opens:
        return replace(one, state=State.REENTRY)
    return one if placed or walk.opens > through else replace(one, state=State.FULL)


def _unreached_problem(one: PlannedRound, names: Mapping[str, str]) -> Iterable[Problem]:
    code = _CODES.get(one.state)
    if code is None:
        return
    entry = one.may_walk_from
    said: dict[str, Param] = {
        "field": one.name,
        "round": phrase(ROUNDS[one.round].label),
        "closes": one.window.closes.day,
        "scout": names.get(one.scout, one.scout),
        "entry": entry or "",
    }
    yield problem(code, Place(field_id=one.field_id), **said)
