"""The keys of ``season.toml``, each declared once with its rule, its default and its remark."""

from dataclasses import replace

from fieldbook.agronomy.leafrules import RULES
from fieldbook.settings.mail_keys import MAIL
from fieldbook.settings.report_keys import LOOK, PHOTOS, REPORT
from fieldbook.settings.rules import (
    DATABASE_URL,
    FIGURE,
    FILE_NAMES,
    ID,
    KERNELS,
    MAIL_ADDRESS,
    STATION_NAME,
    TEXT,
    TIME_ZONE,
    number,
    one_of,
    whole,
)
from fieldbook.settings.shape import Key, Section
from fieldbook.units import System
from fieldbook.words import ENGLISH, SHIPPED_LANGUAGES

FORMAT = 1
DEFAULT_HALF_WIDTH_BU_AC = 15.0
DEFAULT_FIELDS_A_DAY = 8  # half an hour a field and the ways between: our own, no source


_SYSTEM = one_of(*System)
_LANGUAGE = one_of(*SHIPPED_LANGUAGES)
_FIELDS_A_DAY = whole("a whole number from 1 to 40", least=1, most=40)
TOP = Section(
    name="",
    comment="Settings of a season, read by silkbook. Change what you like and save.\n"
    "A line that starts with # is a remark. Never write a password here.",
    keys=(
        Key(name="format", rule=whole(str(FORMAT), least=FORMAT, most=FORMAT), needed=True),
        Key(
            name="season",
            attribute="season_id",
            rule=ID,
            needed=True,
            comment="The short id that is printed in every book. Keep it: books of another id "
            "are refused.",
        ),
        Key(name="name", rule=TEXT, needed=True, comment="The name that people read."),
        Key(name="year", rule=whole("a year such as 2025", least=2000, most=2099), needed=True),
        Key(
            name="units",
            rule=_SYSTEM,
            needed=True,
            comment='"us" (acres, bushels, F) or "metric" (hectares, tonnes, C).',
        ),
        Key(
            name="language",
            rule=_LANGUAGE,
            default=ENGLISH,
            comment="Of pages and messages; a scout or a grower may have another one: "
            + ", ".join(f'"{language}"' for language in SHIPPED_LANGUAGES)
            + ".",
        ),
        Key(
            name="paper",
            rule=one_of("letter", "a4"),
            default="letter",
            comment='"letter" or "a4".',
        ),
        Key(
            name="time_zone",
            rule=TIME_ZONE,
            needed=True,
            comment="Where the fields are; it decides which day is today.",
        ),
    ),
)
_MARKET = Section(
    name="market",
    comment="The market.",
    keys=(
        Key(
            name="price_per_bu",
            rule=number("a price above 0, up to 1000", least=0, most=1000, above_least=True),
            comment="Price of one bushel, in your money. Leave it out and no report speaks of "
            "money.",
            example="4.2",
        ),
    ),
)
_SAMPLING = Section(
    name="sampling",
    comment="How sure a yield estimate should be.",
    keys=(
        Key(
            name="wanted_half_width_bu_ac",
            rule=number("a number from 1 to 100", least=1, most=100),
            default=DEFAULT_HALF_WIDTH_BU_AC,
            comment="Counting goes on until the estimate is within so many bushels an acre.",
        ),
    ),
)
_PLAN = Section(
    name="plan",
    comment="How the walks are planned.",
    keys=(
        Key(
            name="fields_a_day",
            rule=_FIELDS_A_DAY,
            default=DEFAULT_FIELDS_A_DAY,
            comment="Fields that a scout walks in a day; below, a scout may have another number.",
        ),
    ),
)
STATIONS = Section(
    name="stations",
    comment="Weather stations: one table a station; the roster says which field uses which.\n"
    "Their files lie in the folder weather. Columns: date, tmax, tmin, rain; or daily summaries\n"
    'as downloaded. "units" says what the files are in: "us" (F, inches) or "metric" (C, mm).',
    names=STATION_NAME,
    keys=(
        Key(name="files", rule=FILE_NAMES),
        Key(name="units", rule=_SYSTEM),
        Key(
            name="latitude",
            rule=number("degrees from -90 to 90", least=-90, most=90),
        ),
        Key(
            name="longitude",
            rule=number("degrees from -180 to 180, west with a minus", least=-180, most=180),
        ),
    ),
    example='[stations.home]\nfiles = ["home.csv"]\nunits = "us"',
)
SCOUTS = Section(
    name="scouts",
    comment="Scouts: one table a person, under the id that the roster names.",
    names=ID,
    keys=(
        Key(name="name", rule=TEXT, needed=True),
        Key(name="mail", rule=MAIL_ADDRESS, example='"ana@example.org"'),
        Key(name="language", rule=_LANGUAGE, example='"es"'),
        Key(name="fields_a_day", rule=_FIELDS_A_DAY, example="10"),
    ),
    example='[scouts.ana]\nname = "Ana"\nmail = "ana@example.org"',
)
HYBRIDS = Section(
    name="hybrids",
    comment="Kernels in a bushel of a hybrid, in thousands: heavy, likely, light, as earlier\n"
    "harvests suggest; 'silkbook settle' writes such tables. They stand in for the usual count\n"
    "where kernels fill as usual, on reports; the live yield in a book keeps the usual one.",
    names=TEXT,
    keys=(
        Key(name="thousand_kernels_per_bu", rule=KERNELS, needed=True),
        Key(name="rests_on", rule=TEXT),
    ),
    example='[hybrids."A hybrid"]\nthousand_kernels_per_bu = [78.5, 88, 98]\n'
    'rests_on = "5 fields in 2 years"',
)
_FUNGICIDE = Section(
    name="fungicide",
    comment="The fungicide question. Reports weigh it; the label and a licensed adviser decide.\n"
    "Without a cost there is no break-even, without trials no chance to reach it.",
    keys=(
        Key(
            name="rule",
            attribute="leaf_rule",
            rule=one_of(*RULES),
            default=RULES[0],
            comment='Which published rule: "illinois-2015", or the stricter "delaware-2014". That '
            "one asks\nhow much of the leaves below the ear is diseased, which no book holds: it "
            "can only say no.",
        ),
        Key(
            name="cost_per_ac",
            attribute="fungicide_cost_per_ac",
            rule=number("a cost above 0, up to 500", least=0, most=500, above_least=True),
            comment="Product and application on one acre, in your money.",
            example="26",
        ),
        Key(
            name="gain_bu_ac",
            attribute="fungicide_gain_bu_ac",
            rule=number("a gain from -50 to 100", least=-50, most=100),
            comment="Mean gain of the trials that you trust, their spread, and whose they are.",
            example="4.5",
        ),
        Key(
            name="gain_sd_bu_ac",
            attribute="fungicide_gain_sd_bu_ac",
            rule=number("a spread above 0, up to 100", least=0, most=100, above_least=True),
            example="6.0",
        ),
        Key(
            name="gain_source",
            attribute="fungicide_gain_source",
            rule=TEXT,
            example='"Whose trials, of which years"',
        ),
    ),
)
GROWERS = Section(
    name="growers",
    comment="Growers who get letters by mail, or whose pages are in another language or look\n"
    "otherwise: one table each, under the Grower ID of the roster, with any key of [look]. What\n"
    "it leaves out of those is as above.",
    names=TEXT,
    keys=(
        Key(name="mail", rule=MAIL_ADDRESS),
        Key(name="language", rule=_LANGUAGE),
        *(replace(key, comment="", example="") for key in LOOK.keys),
    ),
    example='[growers.G01]\nmail = "grower@example.org"\nlanguage = "es"\nlogo = "farm.png"',
)
_LEDGER = Section(
    name="ledger",
    comment="The ledger of a team, in a PostgreSQL database; without it season.db in this folder.\n"
    "'silkbook rebuild --ledger URL' moves a season there and says which line to write here.",
    keys=(
        Key(
            name="url",
            attribute="ledger_url",
            rule=DATABASE_URL,
            example='"postgresql://ana@db.example.org/corn"',
        ),
    ),
)
FIGURES = Section(
    name="figures",
    comment="Figures of your own in place of the printed ones. Every report says so.",
    free=FIGURE,
    example='[figures]\n"heat.base_f" = 50',
)
SECTIONS = (
    TOP,
    _MARKET,
    _SAMPLING,
    _PLAN,
    _FUNGICIDE,
    REPORT,
    LOOK,
    PHOTOS,
    MAIL,
    _LEDGER,
    STATIONS,
    SCOUTS,
    GROWERS,
    HYBRIDS,
    FIGURES,
)
