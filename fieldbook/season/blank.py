"""Write the blank books of a round: who walks which fields, with which stops."""

import base64
import hashlib
import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from fieldbook.agronomy.yields import kernel_counts
from fieldbook.check.roster import Field
from fieldbook.entries import Identity, VisitSlip
from fieldbook.figures import Figures
from fieldbook.forms.fields import GRAIN_FILL
from fieldbook.forms.rounds import ROUNDS, Round
from fieldbook.ledger.folder import digest
from fieldbook.ledger.ledger import Ledger
from fieldbook.ledger.safely import write_safely
from fieldbook.problems import Place, Problem, problem
from fieldbook.season.layout import plan_stops
from fieldbook.season.season import Season
from fieldbook.settings.figures import season_figures
from fieldbook.words import Phrase, phrase
from fieldbook.workbook.lists import identity_json
from fieldbook.workbook.plan import BookPlan, EntryKey, EntryValue, VisitPlan
from fieldbook.workbook.read import read_book
from fieldbook.workbook.write import write_book

FIELDS_A_BOOK = 10
ANYONE = "anyone"
_LONGEST_NAME, _LONGEST_NAME_BYTES = 40, 100
_DEVICES = re.compile(r"con|prn|aux|nul|com\d|lpt\d", re.IGNORECASE)  # no file names on Windows


@dataclass(frozen=True, kw_only=True)
class Order:
    """What books are wanted: of one scout or all, of one field or all, one book a field.

    With ``walked`` only these fields get a place, in this order: that of the plan's walks.
    """

    round_: Round
    full: bool = False
    scout: str | None = None
    field_id: str | None = None
    one_field: bool = False
    stops: int | None = None
    walked: tuple[str, ...] | None = None


def book_plans(
    season: Season,
    order: Order,
    *,
    entries: Mapping[str, Mapping[EntryKey, EntryValue]] | None = None,
) -> Iterator[BookPlan]:
    """Plan the books of a round: one a scout, at most ten fields each.

    `entries` fills cells beforehand, by field id; the demo's scouts use it.
    """
    with Ledger(season.folder) as ledger:
        visited = ledger.walked()
    figures = season_figures(season.settings)
    most = 1 if order.one_field else FIELDS_A_BOOK
    for scout, fields in _shares(season, order).items():
        for start in range(0, len(fields), most):
            some = fields[start : start + most]
            yield _plan(season, order, scout, some, visited, figures, entries or {})


def _shares(season: Season, order: Order) -> dict[str, list[Field]]:
    shares: dict[str, list[Field]] = {}
    known = season.roster.fields
    wanted = known if order.walked is None else [one for one in order.walked if one in known]
    for field in map(known.__getitem__, wanted):
        scout = field.scout or ANYONE
        if order.field_id not in (None, field.field_id):
            continue
        if order.scout and order.scout != scout:
            continue
        shares.setdefault(scout, []).append(field)
    return shares


def _plan(
    season: Season,
    order: Order,
    scout: str,
    fields: list[Field],
    visited: list[tuple[str, str]],
    figures: Figures,
    entries: Mapping[str, Mapping[EntryKey, EntryValue]],
) -> BookPlan:
    visits = tuple(_visit(season, order, field, visited) for field in fields)
    settings = season.settings
    slips = tuple(visit.slip for visit in visits)
    start = Identity(
        book_id="",
        season_id=settings.season_id,
        round=order.round_.name,
        full=order.full,
        form_version=order.round_.form_version,
        units=str(settings.units),
        language=season.language_of(scout),
        scout=scout,
        visits=slips,
    )
    filled: dict[EntryKey, EntryValue] = {}
    for field in fields:
        filled |= entries.get(field.field_id, {})
    return BookPlan(
        identity=named(start, order.round_, settings.year),
        season_name=settings.name,
        year=settings.year,
        paper=settings.paper,
        kernel_counts=live_kernel_counts(figures),
        visits=visits,
        entries=filled,
    )


def live_kernel_counts(figures: Figures) -> dict[str, float]:
    """Return the likely thousands of kernels per bushel by grain fill, for the live yield."""
    return {grain.key: kernel_counts(grain.key, figures=figures).likely for grain in GRAIN_FILL}


def named(identity: Identity, round_: Round, year: int) -> Identity:
    """Give a book its short name, the same for the same content."""
    whole = json.dumps(asdict(identity), sort_keys=True).encode()
    short = base64.b32encode(hashlib.sha256(whole).digest()).decode()[:5]
    return replace(identity, book_id=f"{round_.code}{year % 100:02d}-{short}")


def _visit(season: Season, order: Order, field: Field, visited: list[tuple[str, str]]) -> VisitPlan:
    round_, language = order.round_, season.language_of(field.scout)
    number = 1 + visited.count((field.field_id, round_.name))
    slip = VisitSlip(
        visit_id=f"{field.field_id}.{round_.code}{number}",
        field_id=field.field_id,
        field=field.field,
        grower=field.grower,
        row_width_in=field.row_width_in,
        rows=_rows(order, field),
    )
    return visit_plan(season, field, slip, round_, language)


def visit_plan(
    season: Season, field: Field, slip: VisitSlip, round_: Round, language: str
) -> VisitPlan:
    """Plan one field's part of a book: the same slip gives the same stops at the same places."""
    return VisitPlan(
        slip=slip,
        hybrid=field.main_planting.hybrid or "",
        acres=field.acres,
        may_enter=may_enter(field).said(language),
        stops=plan_stops(
            field,
            slip.rows.get("stop", 0),
            seed=f"{season.settings.season_id}/{field.field_id}/{round_.name}",
            units=season.settings.units,
            language=language,
        ),
    )


def _rows(order: Order, field: Field) -> dict[str, int]:
    """Count the numbered rows that a field gets; a wish for stops only counts where stops are."""
    rows = dict(order.round_.form(full=order.full).rows)
    wanted = order.stops or field.stops_wanted
    return rows | {"stop": wanted} if wanted and "stop" in rows else rows


def may_enter(field: Field) -> Phrase:
    """Say whether and when the field may be walked, as far as the roster knows."""
    if field.reentry_ends:
        return phrase("From {day}", day=field.reentry_ends)
    if field.sprayed_on:
        return phrase("Sprayed {day}: call first", day=field.sprayed_on)
    return phrase("Ask the grower first")


def write_books(
    season: Season, order: Order
) -> Iterator[tuple[Path, tuple[str, ...], Problem | None]]:
    """Write the books of a round; yields each path, its fields, and why one was not written."""
    for plan, path in _placed(season, order):
        fields = tuple(visit.slip.field_id for visit in plan.visits)
        if _is_filled(path):
            place = Place(file=path.name)
            yield path, fields, problem("blank-filled", place, folder=path.parent.name)
            continue
        keep_identity(season, plan)
        write_safely(path, write_book(plan))
        yield path, fields, None


def keep_identity(season: Season, plan: BookPlan) -> None:
    """Keep what a book is, for the day it comes back without its hidden sheet."""
    path = season.folder.identities / f"{plan.identity.book_id}.json"
    write_safely(path, identity_json(plan.identity).encode("utf-8"))


def _placed(season: Season, order: Order) -> Iterator[tuple[BookPlan, Path]]:
    """Say where each book goes: blank/ROUND/SCOUT.xlsx, numbered where one is not enough.

    A book of one field, or of a chosen one, carries the field in its name.
    """
    folder = season.folder.blank / order.round_.name
    seen: dict[str, int] = {}
    for plan in book_plans(season, order):
        scout = plan.identity.scout
        seen[scout] = seen.get(scout, 0) + 1
        parts = [own_name(scout)]
        if order.one_field or order.field_id:
            parts.append(own_name(plan.visits[0].slip.field_id))
        elif seen[scout] > 1:
            parts.append(str(seen[scout]))
        if order.full:
            parts.append("full")
        yield plan, folder / f"{'-'.join(parts)}.xlsx"


def safe_name(text: str) -> str:
    """Turn a person's text into a file name that every system takes."""
    kept = "".join(letter if letter.isalnum() or letter in "-_" else "_" for letter in text)
    short = kept.strip("_")[:_LONGEST_NAME].encode()[:_LONGEST_NAME_BYTES].decode(errors="ignore")
    return f"{short}_" if _DEVICES.fullmatch(short) else short or "book"


def words_name(text: str) -> str:
    """Turn a name into a file name: its words in small letters, with hyphens between them."""
    words = "".join(letter if letter.isalnum() else " " for letter in text.lower()).split()
    return safe_name("-".join(words))


def own_name(text: str) -> str:
    """Turn an ID into a file name that no other ID gets.

    One that no file can be named after is told apart from its likes by its hash.
    """
    plain = safe_name(text)
    return plain if plain == text else f"{plain}-{digest(text.encode())[:6]}"


def _is_filled(path: Path) -> bool:
    """Say whether a file that would be written over holds entries of somebody."""
    if not path.is_file():
        return False
    read = read_book(path.read_bytes(), path.name)
    if read.book is None:
        return True
    forms = ROUNDS[read.book.identity.round].form(full=read.book.identity.full).sheets
    entries = {form.sheet.name: form.entry_names for form in forms}
    return any(
        row.cells.is_filled(entries[name])
        for name, sheet in read.book.sheets.items()
        for row in sheet.rows
    )
