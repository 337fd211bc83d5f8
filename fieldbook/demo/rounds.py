"""The rounds of the invented season: books written, filled as scouts would, sent and taken in."""

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

from fieldbook.forms.roster import GRAIN
from fieldbook.forms.rounds import HARVEST, KERNEL_COUNT, POLLINATION, RIPENING, ROADSIDE, Round
from fieldbook.jobs import many
from fieldbook.ledger.safely import write_safely
from fieldbook.season.blank import ANYONE, Order, book_plans, write_books
from fieldbook.season.intake import take_in
from fieldbook.season.season import Season
from fieldbook.season.taken import Taken
from fieldbook.simulate import place
from fieldbook.simulate.field import FieldTruth, Harvest, harvest
from fieldbook.simulate.files import cut_off, with_sheet_renamed
from fieldbook.simulate.mistake_kinds import MISTAKES
from fieldbook.simulate.mistakes import plant
from fieldbook.simulate.photos import photographed
from fieldbook.simulate.scout import Entries, Walk, walk_field
from fieldbook.workbook.plan import BookPlan
from fieldbook.workbook.write import write_book

SEED = "marrow-creek-24"
_FULL_FORM = ("ana",)
_HALF_STOPS = 2
# Fields where a scout types what is only a mistake: round, field and the mistake's name.
_SPOILED = {
    (KERNEL_COUNT.name, "T04"): ("an odd number of rows", "a word beside the number"),
    (KERNEL_COUNT.name, "B21"): ("a rare number of rows, not confirmed",),
    (KERNEL_COUNT.name, "F63"): ("the count of ears forgotten", "the letter O for a zero"),
    (POLLINATION.name, "H53"): ("no date",),
    (POLLINATION.name, "K43"): ("more than there can be",),
    (RIPENING.name, "H51"): ("more stalks failed than were tried", "a decimal comma"),
    (HARVEST.name, "B21"): ("one ticket twice",),
    (HARVEST.name, "T05"): ("a load whose moisture nobody copied",),
}


# Fields of which a scout took photos, and how many.
_PHOTOGRAPHED = {(KERNEL_COUNT.name, "D15"): 4, (KERNEL_COUNT.name, "T04"): 2}


@dataclass(frozen=True, kw_only=True)
class Leg:
    """One round of the season: walked so many days after a field reaches a stage."""

    round_: Round
    stage: str
    days_after: int


LEGS = (
    Leg(round_=ROADSIDE, stage="R1", days_after=-1),
    Leg(round_=POLLINATION, stage="R1", days_after=9),
    Leg(round_=KERNEL_COUNT, stage="R4", days_after=3),
    Leg(round_=RIPENING, stage="R6", days_after=2),
)


def walk_leg(
    season: Season, leg: Leg, truths: Mapping[str, FieldTruth], *, until: date
) -> tuple[Taken, ...]:
    """Walk a round in every field that gets there in time, and take its books in."""
    days = {
        field_id: truth.stage_days[leg.stage] + timedelta(days=leg.days_after)
        for field_id, truth in truths.items()
    }
    walked = {field_id: day for field_id, day in days.items() if day <= until}
    return tuple(_taken(season, leg.round_, truths, walked))


def bring_home(season: Season, truths: Mapping[str, FieldTruth]) -> tuple[Taken, ...]:
    """Harvest all that is cut for grain, and take in the books with the scale tickets."""
    grain = {name: truth for name, truth in truths.items() if truth.plot.row.use == GRAIN}
    days = {field_id: cut(truth).day for field_id, truth in grain.items()}
    return tuple(_taken(season, HARVEST, grain, days))


def cut(truth: FieldTruth) -> Harvest:
    """Return what a field truly gives, the same whenever it is asked."""
    return harvest(truth, random.Random(f"{SEED}/{truth.plot.field_id}/harvest"))


def _taken(
    season: Season, round_: Round, truths: Mapping[str, FieldTruth], walked: Mapping[str, date]
) -> Iterator[Taken]:
    """Write a round's blank books, fill them as three scouts would, and take them in."""
    who = {truths[field_id].plot.row.scout or ANYONE for field_id in walked}
    plans = [
        plan
        for scout in (*(short for short, _ in place.SCOUTS), ANYONE)
        if scout in who
        for plan in _filled_plans(season, round_, scout, truths, walked)
    ]
    books = list(zip(plans, many(write_book, plans), strict=True))
    paths = []
    for name, data in [*_sent(round_, books), *_mishaps(round_, books)]:
        paths.append(season.folder.incoming / name)
        write_safely(paths[-1], data)
    last = max(walked.values())
    evening = datetime(last.year, last.month, last.day, 23, tzinfo=UTC)
    yield from take_in(season, sorted(paths), now=evening)


def _filled_plans(
    season: Season,
    round_: Round,
    scout: str,
    truths: Mapping[str, FieldTruth],
    walked: Mapping[str, date],
) -> Iterator[BookPlan]:
    order = Order(round_=round_, scout=scout, full=scout in _FULL_FORM)
    for _ in write_books(season, order):
        pass  # the blank books, as the scouts get them
    entries = {
        field_id: _filled(round_, full=order.full, truth=truths[field_id], day=day)
        for field_id, day in walked.items()
        if (truths[field_id].plot.row.scout or ANYONE) == scout
    }
    shots = {
        field_id: photographed(
            truths[field_id],
            walked[field_id],
            seed=SEED,
            most=_PHOTOGRAPHED.get((round_.name, field_id), 0),
        )
        for field_id in entries
    }
    filled = {field_id: cells | shots[field_id].entries for field_id, cells in entries.items()}
    pictures = {key: one for shot in shots.values() for key, one in shot.pictures.items()}
    for plan in book_plans(season, order, entries=filled):
        yield replace(plan, pictures=pictures)


def _filled(round_: Round, *, full: bool, truth: FieldTruth, day: date) -> Entries:
    """Fill one field as its scout would, with the mistakes that this field is for."""
    form = round_.form(full=full)
    entries = walk_field(truth, Walk(day=day, form=form, rows=form.rows, forgets=0.002), seed=SEED)
    field_id = truth.plot.field_id
    draw = random.Random(f"{SEED}/{round_.name}/{field_id}/mistakes")
    kinds = {mistake.name: mistake for mistake in MISTAKES}
    for name in _SPOILED.get((round_.name, field_id), ()):
        spoiled = plant(entries, kinds[name], field_id, draw)
        entries = spoiled.entries if spoiled else entries
    return entries


Books = list[tuple[BookPlan, bytes]]


def _sent(round_: Round, books: Books) -> Iterator[tuple[str, bytes]]:
    """Name the books as the scouts send them; in ripening somebody renamed a sheet."""
    for plan, data in books:
        scout = plan.identity.scout
        renames = round_ is RIPENING and scout == "ana"
        sent = with_sheet_renamed(data, "Stops", "Stops (2)") if renames else data
        yield f"{round_.name} {scout}.xlsx", sent


def _mishaps(round_: Round, books: Books) -> Iterator[tuple[str, bytes]]:
    """Send along what comes in every season, one of each common kind."""
    by_scout = {plan.identity.scout: (plan, data) for plan, data in books}
    plan, data = by_scout["joss"]
    if round_ is ROADSIDE:
        yield "field notes.xlsx", b"D14 looks fine, T03 ask again. Call Ines about the gate.\n"
    elif round_ is POLLINATION:
        yield "pollination joss from the phone.xlsx", cut_off(data)
    elif round_ is KERNEL_COUNT:
        yield "kernel-count sent twice.xlsx", data
        yield "kernel-count half done.xlsx", write_book(_half(by_scout["mirek"][0]))
    elif round_ is RIPENING:
        yield "ripening of last year.xlsx", write_book(_of_last_year(plan))


def _half(plan: BookPlan) -> BookPlan:
    """Return a book as it is when the scout has done two stops of each field."""
    done = {key: value for key, value in plan.entries.items() if key[1][1:2] <= (_HALF_STOPS,)}
    return replace(plan, entries=done)


def _of_last_year(plan: BookPlan) -> BookPlan:
    before = place.YEAR - 1
    identity = replace(
        plan.identity, season_id=f"marrow-creek-{before}", book_id=f"RP{before % 100}-LOST1"
    )
    return replace(plan, identity=identity)
