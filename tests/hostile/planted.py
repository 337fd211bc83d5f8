"""One invented season with a hostile string in every text column, and all commands run on it."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from click.testing import CliRunner
from harvested import harvest_of
from parts import pango_missing
from seasons import ROWS, good_visit

from fieldbook.cli import main
from fieldbook.forms.rounds import HARVEST, KERNEL_COUNT, POLLINATION, RIPENING, Round
from fieldbook.schema import Kind
from fieldbook.season.blank import Order, book_plans
from fieldbook.season.season import Season, open_season
from fieldbook.season.start import TIME_ZONE, begin_season
from fieldbook.settings.look import Look
from fieldbook.settings.settings import Scout, Settings, Station
from fieldbook.simulate.weather import daily_weather, weather_csv
from fieldbook.units import System
from fieldbook.workbook.plan import EntryKey, EntryValue
from fieldbook.workbook.write import write_book
from hostile.books import repacked

AS_OF = "2026-10-20"
MARK = "zqx"
HOSTILE = (
    '=HYPERLINK("http://zqx.example/","zqx")',
    "@SUM(zqx1)",
    "+1+zqx1",
    "-1-zqx1",
    "http://zqx.example/",
    "file:///etc/zqx",
    "javascript:zqx()",
    "<script>zqx()</script>",
    '"><img src=x onerror=zqx()>',
    "</style></title><a href='http://zqx.example/'>zqx</a>",
    "{{ 7 * 7 }}{% include 'zqx' %}",
    "]]>zqx<!-- --><?zqx ?>",
    "\x1b]0;zqx\x07\x1b[2Jzqx\x9b31m",
    "zqx\nERROR  forged zqx\r\x85zqx\u2028zqx",
    "\u202ezqx\u2066\u200f",
    "{typed} {zqx} %s %(zqx)s",
    "internal:'Ears'!A1 zqx",
    "| calc zqx`id`$(id);&&",
    "zqx" * 13_334,
)
FIELD_IDS = (
    *("../zqx", "CON", ".hidden", "a/b", "a_b", "a\\b", "nul.txt", "=1+1", "A1", "con", "B;2"),
    *("<b>zqx</b>", "x" * 100, "\U0001f33d" * 90, "\u202ezqx", "..", "LPT1", "a\nb"),
)
STRING_OF_CSS = re.compile(r'"(?:[\w ]|\\[0-9a-f]+ )*"')
"""A text in a style sheet: every sign but letters, digits and blanks is a number."""
STEERING = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069]")
LONG = HOSTILE[-1]  # no writer of ours lets it into a cell: it takes the place of a word
STAND_IN = "longest zqx"


def hostile_roster() -> list[Any]:
    """Give every field another hostile ID, and each text column another hostile text."""
    rows = []
    for at, field_id in enumerate(FIELD_IDS):
        texts = [HOSTILE[(at + more) % (len(HOSTILE) - 1)] for more in range(8)]
        names = ("grower", "field", "hybrid", "previous_crop", "disease_history", "product")
        row = replace(
            ROWS[0],
            field_id=field_id,
            grower_id=texts[6],
            acres=10,
            scout=("ana", "../ana", "<i>zqx", "CON")[at % 4],
            trial=HOSTILE[8],
            treatment=("+1+zqx1", "<b>zqx</b>")[at % 2],
            block=str(at // 2),
            **dict(zip(names, texts, strict=False)),
        )
        rows.append(row)
    return rows


def hostile_settings() -> Settings:
    """Fill the season's own settings with what they may hold."""
    return Settings(
        season_id="test-2026",
        name="<b>zqx</b> =1+1 &P&[File]",
        year=2026,
        units=System.US,
        time_zone=TIME_ZONE,
        sender="<script>zqx()</script> {{ 7 * 7 }}",
        look=Look(
            house="<script>zqx()</script>",
            footer='"; } </style><script>zqx()</script> {{ 7 * 7 }} \\" url(zqx)',
        ),
        stations={"home": Station(name="home", units=System.US)},
        scouts=(Scout(scout_id="ana", name="=zqx1 <b>Ana</b>"),),
    )


def hostile_season(path: Path) -> Season:
    """Make a season of hostile names, with weather."""
    begin_season(path, hostile_settings(), hostile_roster())
    weather = weather_csv(daily_weather(date(2021, 1, 1), date(2026, 10, 20), seed="hostile"))
    (path / "weather" / "home.csv").write_text(weather, "utf-8")
    season, problems = open_season(path)
    assert season is not None, problems
    return season


def typed(round_: Round, field_id: str, at: int) -> dict[EntryKey, EntryValue]:
    """Fill a field well, and then put a hostile text into every text cell and some others."""
    entries: dict[EntryKey, EntryValue] = {("fields", (field_id,), "visit_date"): date(2026, 8, 12)}
    if round_ is KERNEL_COUNT:
        entries |= good_visit(field_id, stops=3)
    if round_ is HARVEST:
        entries |= harvest_of(field_id, 150 + at)
    for form in round_.form(full=True).sheets:
        rows = [() if form.sheet.name == "fields" else (1,) * (len(form.sheet.keys) - 1)]
        for number, column in enumerate(form.entries):
            key = (form.sheet.name, (field_id, *rows[0]), column.name)
            wrong = round_ is not HARVEST and column.name not in ("visit_date", "stage")
            wrong = wrong and number % 3 == at % 3
            if column.kind is Kind.TEXT or (wrong and column.name != "answer"):
                text = HOSTILE[(at + number) % len(HOSTILE)]
                entries[key] = STAND_IN if text == LONG else text
    return entries


def filled(season: Season, round_: Round) -> Iterator[bytes]:
    """Write the filled books of a round."""
    ids = list(season.roster.fields)
    entries = {field_id: typed(round_, field_id, at) for at, field_id in enumerate(ids)}
    for plan in book_plans(season, Order(round_=round_, full=True), entries=entries):
        strings = {"xl/sharedStrings.xml": with_long}
        yield repacked(write_book(plan), strings)


def with_long(strings: bytes) -> bytes:
    """Put the long text into the table of strings."""
    return strings.replace(STAND_IN.encode(), LONG.encode())


@dataclass
class Ran:
    """A hostile season after all commands: its folder, and what each command printed."""

    season: Season
    outside: Path
    said: dict[str, str] = field(default_factory=dict)

    def files(self, ending: str) -> list[Path]:
        """Return what was written, without the scouts' own books."""
        found = self.season.folder.path.rglob(f"*{ending}")
        own = ("incoming", "kept")
        return [path for path in found if not set(own) & set(path.parts)]


BY_OPTION = ("intake", "check", "history")


def command(ran: Ran, name: str, *words: str) -> None:
    """Run a command; it may find much to look at, but it never breaks."""
    folder = str(ran.season.folder.path)
    verb, *rest = words
    where = ["--season", folder] if verb in BY_OPTION else [folder]
    result = CliRunner().invoke(main, [verb, *rest, *where])
    fault = result.exception
    assert fault is None or isinstance(fault, SystemExit), repr(fault)
    assert result.exit_code in (0, 1), result.output
    ran.said[name] = result.output


def all_commands(outside: Path) -> Ran:
    """Run every command on one hostile season, in a folder of nothing else."""
    made = Ran(season=hostile_season(outside / "season"), outside=outside)
    for round_ in (KERNEL_COUNT, POLLINATION, RIPENING, HARVEST):
        command(made, f"blank {round_.name}", "blank", "--round", round_.name)
        for number, data in enumerate(filled(made.season, round_)):
            name = f"\x1b[2J{MARK}\n<b>{MARK}<|b>{round_.name}{number}.xlsx"
            (made.season.folder.incoming / name).write_bytes(data)
    first = next(made.season.folder.incoming.iterdir())
    as_of = ("--as-of", AS_OF)
    command(made, "check", "check", str(first), *as_of)
    command(made, "check json", "check", str(first), "--json", *as_of)
    command(made, "intake", "intake", *as_of)
    command(made, "ask", "ask")
    command(made, "history", "history", "../zqx")
    pdf = () if pango_missing() is None else ("--no-pdf",)
    for verb in ("results", "plan", "compare", "settle"):
        more = () if verb == "results" else ("--no-pdf",)
        command(made, f"{verb} json", verb, "--json", *as_of, *more)
        command(made, verb, verb, *as_of, *(() if verb == "results" else pdf))
    command(made, "report", "report", "--no-pdf", *as_of)
    command(made, "report one", "report", "--field", "../zqx", *pdf, *as_of)
    return made
